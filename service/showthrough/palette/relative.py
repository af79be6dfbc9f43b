"""How much better a pair does than that partner does with most colours.

The raw harmony of a finish hardly depends on the paint: light metals lead
nearly everywhere, dark ones trail. What helps a painter is the difference the
paint makes. So each partner is tried with an even grid of the colours that
paint can have, and its *advantage* with one paint is its harmony less its
median over the grid.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray, frozen
from showthrough.errors import OutOfRangeError
from showthrough.palette.harmony import HarmonyColours, harmony_of
from showthrough.tables import data_text, rows_of


class RelativeScores(NamedTuple):
    """Scores of n partners beside one colour; arrays of shape (n,)."""

    harmony: FloatArray
    """Raw harmony, the sum of its terms."""
    advantage: FloatArray
    """Raw harmony less the partner's median over most colours, in harmony units."""
    beats: FloatArray
    """Of 100 colours, how many the partner does worse with; 0 to 100."""
    lightness_step: FloatArray
    """L* of the partner less L* of the colour."""


@cache
def reference_topcoats() -> FloatArray:
    """The colours that "most colours" means, CIELAB, shape (n, 3)."""
    rows = rows_of(data_text(__file__, "reference_topcoats.csv"))[1:]
    return frozen(np.array(rows, dtype=float))


@lru_cache(maxsize=8)
def _among_most(partners: bytes) -> tuple[HarmonyColours, FloatArray, FloatArray]:
    """Prepared partners, their harmony with the grid (grid, n), and the medians (n,)."""
    prepared = HarmonyColours.from_lab(np.frombuffer(partners, dtype=float).reshape(-1, 3))
    table = harmony_of(HarmonyColours.from_lab(reference_topcoats())[:, None], prepared).total
    # np.median would load numpy.ma, which a start can do without.
    ordered = np.sort(table, axis=0)
    return prepared, table, 0.5 * (ordered[(len(table) - 1) // 2] + ordered[len(table) // 2])


def checked_lab(field: str, lab: ArrayLike, axes: int = 1) -> FloatArray:
    """CIELAB of the wanted number of axes, finite, L* from 0 to 100.

    Raises:
        OutOfRangeError: a colour is not three finite numbers, or L* is out of range.
    """
    colour = np.asarray(lab, dtype=float)
    if colour.ndim != axes or colour.shape[-1:] != (3,) or not np.isfinite(colour).all():
        message = "a colour is three finite numbers L*, a*, b*"
        raise OutOfRangeError.at(field, np.asarray(lab).tolist(), message)
    wrong = (colour[..., 0] < 0.0) | (colour[..., 0] > 100.0)
    if wrong.any():
        worst = np.atleast_2d(colour)[np.flatnonzero(wrong)[0]].tolist()
        raise OutOfRangeError.at(field, worst, "L* of a colour lies between 0 and 100")
    return colour


def relative_scores(lab: ArrayLike, partners: ArrayLike) -> RelativeScores:
    """Raw and relative harmony of partners beside one colour.

    Args:
        lab: CIELAB of the paint, shape (3,).
        partners: CIELAB of what lies beside it, shape (n, 3).

    Raises:
        OutOfRangeError: a colour is not finite, or its L* not within 0 to 100.
    """
    colour = checked_lab("topcoat", lab)
    others = np.ascontiguousarray(checked_lab("partners", partners, axes=2))
    prepared, table, median = _among_most(others.tobytes())
    raw = harmony_of(HarmonyColours.from_lab(colour), prepared).total
    return RelativeScores(
        raw,
        raw - median,
        100.0 * (table < raw).mean(axis=0),
        others[:, 0] - colour[0],
    )


def advantage_table(labs: ArrayLike, partners: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Raw harmony and advantage of every partner with every colour, both (m, n)."""
    others = np.ascontiguousarray(checked_lab("partners", partners, axes=2))
    prepared, _, median = _among_most(others.tobytes())
    colours = HarmonyColours.from_lab(checked_lab("colours", labs, axes=2))
    raw = harmony_of(colours[:, None], prepared).total
    return raw, raw - median
