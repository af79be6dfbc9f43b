"""The smoothest spectrum with a given colour: Newton's method for many colours at once.

R = lo + (hi - lo) / (1 + exp(-z)) with the least sum of squared first differences of z
that has exactly the wanted XYZ. Each step is a tridiagonal system with three
multipliers. The start is a polynomial in the colour, which saves a third of the steps;
the answer does not depend on it.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.tables import data_text, rows_of

START_DEGREE = 3
"""Degree of the polynomial start; its table is made by tests/reference/make_start.py."""

_STEPS = 20
_TOLERANCE = 1e-9
_STATIONARY = 1e-8
_MAX_STEP = 3.0
_WIDEST_Z = 28.0
# So many full steps from a start (12 at most) do not reach it.
_SURE = 4
_RIDGE = 1e-7
# A colour that no spectrum within the bounds has drives z away; beyond these, after some
# patience, it does not come back (none of 80,000 random colours would have).
_NO_RETURN = (-22.0, 12.0)
_PATIENCE = 7
# Up to here the whole system costs less than the calls of an elimination.
_FEW = 12


def smoothest(
    target: FloatArray,
    lab: FloatArray,
    weight: FloatArray,
    low: FloatArray,
    high: FloatArray,
    *,
    again: bool = True,
) -> tuple[FloatArray, np.ndarray]:
    """Solve for n colours.

    Args:
        target: XYZ, shape (3, n), Y within the bounds.
        lab: the same colours as CIELAB, shape (n, 3); only the start needs them.
        weight: tristimulus weights, shape (31, 3).
        low: least reflectance, shape (n,).
        high: greatest reflectance, shape (n,).
        again: whether those not met are tried from the grey of the same Y as well.

    Returns:
        z, shape (31, n), and whether each colour was met, shape (n,).
    """
    level = _level(target, low, high)
    guess = _start_table() @ start_terms(level, lab)
    z, done = _newton(target, weight, low, high, np.clip(guess[:-3], -12.0, 8.0), guess[-3:])
    late = np.flatnonzero(~done)
    if again and late.size:
        grey = np.repeat(level[None, late], len(weight), axis=0)
        none = np.zeros((3, late.size))
        z[:, late], done[late] = _newton(target[:, late], weight, low[late], high[late], grey, none)
    return z, done


def _level(target: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """Z of the grey with the same Y, shape (n,)."""
    share = np.clip((target[1] / 100.0 - low) / (high - low), 1e-4, 1.0 - 1e-4)
    return np.log(share / (1.0 - share))


@cache
def _exponents() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Powers of the three variables in each term, total degree up to ``START_DEGREE``."""
    degrees = range(START_DEGREE + 1)
    rows = [
        (i, j, k) for i in degrees for j in degrees for k in degrees if i + j + k <= START_DEGREE
    ]
    i, j, k = np.array(rows).T
    return i, j, k


def start_terms(level: FloatArray, lab: FloatArray) -> FloatArray:
    """Terms of the polynomial start, shape (terms, n), from z of the grey and from a*, b*."""
    powers = []
    for x in (level / 4.0, lab[:, 1] / 60.0, lab[:, 2] / 60.0):
        square = x * x
        powers.append(np.array([np.ones_like(x), x, square, square * x]))
    i, j, k = _exponents()
    return np.asarray(powers[0][i] * powers[1][j] * powers[2][k])


@cache
def _start_table() -> FloatArray:
    """Coefficients, shape (31 + 3, terms)."""
    return np.array(rows_of(data_text(__file__, "start.csv")), dtype=float)


def _newton(
    target: FloatArray,
    weight: FloatArray,
    low: FloatArray,
    high: FloatArray,
    z: FloatArray,
    multipliers: FloatArray,
) -> tuple[FloatArray, np.ndarray]:
    """Newton from a start on the Lagrange conditions; colours that are met drop out."""
    span = high - low
    bands, n = z.shape
    limit = _TOLERANCE * weight.sum()
    found = np.empty((bands, n))
    done = np.zeros(n, dtype=bool)
    active = np.arange(n)
    for turn in range(_STEPS):
        share = 1.0 / (1.0 + np.exp(-z))
        scaled = span * share
        slope = scaled * (1.0 - share)
        miss = target - weight.T @ (low + scaled)
        pull = weight @ multipliers
        gap = z[1:] - z[:-1]
        gradient = slope * pull
        gradient[:-1] += gap
        gradient[1:] -= gap
        met = np.maximum.reduce(np.abs(miss)) < limit
        met &= np.maximum.reduce(np.abs(gradient)) < _STATIONARY
        over = met
        if turn >= _PATIENCE:
            over = met | (z.max(axis=0) > _NO_RETURN[1]) | (z.min(axis=0) < _NO_RETURN[0])
        if np.count_nonzero(over):
            found[:, active] = z
            done[active[met]] = True
            keep = np.flatnonzero(~over)
            active = active[keep]
            if active.size == 0:
                break
            z, multipliers, target = z[:, keep], multipliers[:, keep], target[:, keep]
            low, span, miss = low[keep], span[keep], miss[:, keep]
            share, slope = share[:, keep], slope[:, keep]
            pull, gradient = pull[:, keep], gradient[:, keep]
        bend = slope * (2.0 * share - 1.0) * pull
        diagonal = 2.0 + _RIDGE + bend
        diagonal[0] -= 1.0
        diagonal[-1] -= 1.0
        solve = _whole if active.size <= _FEW else _eliminated
        step, delta = solve(diagonal, slope, weight, gradient, miss)
        if turn < _SURE and np.abs(step).max() <= _MAX_STEP:
            z, multipliers = z + step, multipliers + delta
            continue
        with np.errstate(all="ignore"):
            damp = np.minimum(1.0, _MAX_STEP / np.abs(step).max(axis=0))
        lost = ~np.isfinite(damp)
        if np.count_nonzero(lost):
            damp[lost], step[:, lost], delta[:, lost] = 0.0, 0.0, 0.0
        z = np.clip(z + damp * step, -_WIDEST_Z, _WIDEST_Z)
        multipliers = multipliers + damp * delta
    else:
        found[:, active] = z
    return found, done


def _eliminated(
    diagonal: FloatArray,
    slope: FloatArray,
    weight: FloatArray,
    gradient: FloatArray,
    miss: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """One Newton step by elimination of the tridiagonal part, for many colours at once.

    No pivoting: where that part happens to be singular the step is useless, and the
    colour is tried again with ``_whole``.

    Args:
        diagonal: shape (bands, n); the off-diagonals are -1.
        slope: dR/dz, shape (bands, n).
        weight: shape (bands, 3).
        gradient: what stationarity misses, shape (bands, n).
        miss: what XYZ misses, shape (3, n).

    Returns:
        Steps of z, shape (bands, n), and of the multipliers, (3, n).
    """
    bands, n = diagonal.shape
    rhs = np.empty((bands, 4, n))
    np.multiply(slope[:, None], weight[:, :, None], out=rhs[:, :3])
    rhs[:, 3] = gradient
    inverse = np.empty_like(diagonal)
    with np.errstate(all="ignore"):
        np.divide(1.0, diagonal[0], out=inverse[0])
        for i in range(1, bands):
            np.divide(1.0, diagonal[i] - inverse[i - 1], out=inverse[i])
            rhs[i] += rhs[i - 1] * inverse[i - 1]
        rhs[-1] *= inverse[-1]
        for i in range(bands - 2, -1, -1):
            rhs[i] += rhs[i + 1]
            rhs[i] *= inverse[i]
        # Schur complement of the three multipliers.
        small = (weight.T @ (slope[:, None] * rhs).reshape(bands, -1)).reshape(3, 4, -1)
        delta = _solve_3(small[:, :3], miss - small[:, 3])
        step = rhs[:, 3] + (rhs[:, 0] * delta[0] + rhs[:, 1] * delta[1] + rhs[:, 2] * delta[2])
    return step, delta


@cache
def _neighbours(bands: int) -> FloatArray:
    """The part of the whole system that is always the same, shape (bands + 3, bands + 3)."""
    out = np.zeros((bands + 3, bands + 3))
    row = np.arange(bands - 1)
    out[row, row + 1] = out[row + 1, row] = -1.0
    return out


def _whole(
    diagonal: FloatArray,
    slope: FloatArray,
    weight: FloatArray,
    gradient: FloatArray,
    miss: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """The same step from the whole system with pivoting: sound wherever a step exists."""
    bands, n = diagonal.shape
    size = bands + 3
    matrix = np.empty((n, size, size))
    matrix[:] = _neighbours(bands)
    row = np.arange(bands)
    matrix[:, row, row] = diagonal.T
    jacobian = slope.T[:, :, None] * weight
    matrix[:, :bands, bands:] = -jacobian
    matrix[:, bands:, :bands] = jacobian.transpose(0, 2, 1)
    rhs = np.concatenate([gradient, miss]).T[..., None]
    try:
        solved = np.linalg.solve(matrix, rhs)[..., 0].T
    except np.linalg.LinAlgError:
        return _eliminated(diagonal, slope, weight, gradient, miss)
    return solved[:bands], solved[bands:]


def _solve_3(matrix: FloatArray, rhs: FloatArray) -> FloatArray:
    """Many 3x3 systems by Cramer's rule, shapes (3, 3, n) and (3, n) -> (3, n)."""
    a, b, c = matrix
    minors = (_cross(b, c), _cross(c, a), _cross(a, b))
    det = a[0] * minors[0][0] + a[1] * minors[0][1] + a[2] * minors[0][2]
    first, second, third = rhs
    rows = [minors[0][i] * first + minors[1][i] * second + minors[2][i] * third for i in range(3)]
    return np.stack(rows) / det


def _cross(u: FloatArray, v: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    return (
        u[1] * v[2] - u[2] * v[1],
        u[2] * v[0] - u[0] * v[2],
        u[0] * v[1] - u[1] * v[0],
    )
