"""One robust regression for all that is fitted to light: misses far out are soon not heard."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.lights import FloatArray

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Weigh = Callable[[FloatArray, int], FloatArray]
"""Weights of misses, shape (n,), from their size in standard deviations and the round."""

_NORMAL = 1.4826
"""A normal distribution's standard deviation over the median of its sizes."""


class RobustFit(NamedTuple):
    """What a regression found."""

    answer: FloatArray
    """Coefficients, shape (m,)."""
    covariance: FloatArray
    """Of the coefficients, shape (m, m)."""
    spread: float
    """Robust standard deviation of the misses, in units of ``noise``."""


def huber(size: FloatArray, bound: float) -> FloatArray:
    """Huber's weights: 1 up to ``bound``, then falling as its inverse."""
    return np.minimum(1.0, bound / np.maximum(size, 1e-9))


def cauchy_squared(size: FloatArray, turn: int) -> FloatArray:  # noqa: ARG001 - as all weigh
    """Weights that fall by a half at 1.3 standard deviations and as the fourth power far out."""
    return (1.0 + (size / 2.0) ** 2) ** -2.0


def robust_fit(
    design: FloatArray | csr_array[Any, tuple[int, int]],
    target: FloatArray,
    prior: FloatArray,
    weigh: Weigh,
    rounds: int,
    *,
    noise: FloatArray | float = 1.0,
    spread: float = 1.0,
    least: float = 1.0,
    kind: NDArray[np.intp] | None = None,
) -> RobustFit:
    """Linear regression with a normal prior, reweighted by its own misses.

    Args:
        design: shape (n, m); sparse where much of it is nothing.
        target: shape (n,).
        prior: standard deviations of the coefficients about 0, shape (m,).
        weigh: weights for the next round.
        rounds: of solving.
        noise: what the misses are counted in: a standard deviation each, shape (n,), or of all.
        spread: of the misses, as the first round takes it.
        least: least spread.
        kind: which of several levels, free and not asked for, each row has, shape (n,).

    Source: iteratively reweighted least squares, Huber 1981, Robust Statistics.
    """
    weight: FloatArray = np.ones(target.size)
    rows, aim = design, target
    for turn in range(rounds):
        if kind is not None:
            rows = _demeaned(design, weight, kind)
            aim = _demeaned(target[:, None], weight, kind)[:, 0]
        trust = weight / (spread * noise) ** 2
        precision = rows.T @ (rows * trust[:, None])
        dense = precision if isinstance(precision, np.ndarray) else precision.toarray()
        covariance = np.linalg.inv(dense + np.diag(prior**-2.0))
        answer = covariance @ (rows.T @ (trust * aim))
        size = np.abs(aim - rows @ answer) / noise
        spread = max(least, _NORMAL * float(np.median(size)))
        weight = weigh(size / spread, turn)
    return RobustFit(np.asarray(answer), np.asarray(covariance), spread)


def _demeaned(values: FloatArray, weight: FloatArray, kind: NDArray[np.intp]) -> FloatArray:
    """Values less the weighted mean of their kind, shape (n, m)."""
    total = np.maximum(np.bincount(kind, weight), 1e-12)
    mean = np.stack([np.bincount(kind, weight * v) / total for v in values.T], axis=1)
    return np.asarray(values - mean[kind])
