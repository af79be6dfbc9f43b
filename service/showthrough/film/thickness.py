"""How much film hides a ground: the critical film thickness.

For one paint over one ground the difference to the chip falls with the film. The
critical thickness is the film beyond which it stays within the tolerance. It
depends on the two colours and the paint, not on how the paint is put on, so one
root gives every method, every count and the whole distribution.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray, weights, white_point
from showthrough.colour.space import xyz_to_lab
from showthrough.film.optics import K1, K2

FULL_COLOUR_TOLERANCE = 1.0
"""CIEDE2000 to the chip below which a painter calls the colour reached. Published 50:50
thresholds are 0.8 (seen) and 1.8 (accepted): Paravina et al. 2015."""

EVEN_TOLERANCE = 1.0
"""CIEDE2000 between patches below which the old surface no longer shows."""

_LEAST_ABSORPTION = 1e-7
_CHUNK = 1024
# The search runs on u = (S + K) X of the greatest band, which lies between about 1 and 60 for
# ordinary paints and reaches 800 for a vivid transparent one that hardly scatters.
_LADDER_U = (2048.0, 96.0, 32.0, 16.0, 8.0, 4.0, 1.5, 0.4, 0.0)
_RELATIVE = 4e-6
_FEW = 64


@dataclass(frozen=True, slots=True)
class FilmTable:
    """Films of n paints over n grounds, made ready for many thicknesses.

    R = (r0 - r1 q) / (d0 - d1 q) with q = exp(-rate X): the exponential form of
    Kubelka-Munk with the Saunderson surface folded in, one division a band.
    """

    r0: FloatArray
    r1: FloatArray
    d0: FloatArray
    d1: FloatArray
    rate: FloatArray

    @classmethod
    def of(cls, absorption: FloatArray, scattering: FloatArray, ground: FloatArray) -> FilmTable:
        """Films of paints K, S (1/µm) over grounds (reflectance inside); shapes (n, 31)."""
        ratio = np.maximum(absorption / scattering, _LEAST_ABSORPTION)
        b = np.sqrt(ratio * (ratio + 2.0))
        deep = 1.0 / (1.0 + ratio + b)
        shallow = 1.0 / deep
        above, below = shallow - ground, deep - ground
        n0, n1 = deep * above, below * shallow
        scale = (1.0 - K1) * (1.0 - K2)
        return cls(scale * n0, scale * n1, above - K2 * n0, below - K2 * n1, 2.0 * b * scattering)

    def take(self, index: np.ndarray) -> FilmTable:
        """The films at these places."""
        return FilmTable(
            self.r0[index], self.r1[index], self.d0[index], self.d1[index], self.rate[index]
        )

    def reflectance(self, thickness_um: FloatArray) -> FloatArray:
        """Outside reflectance at dry films, shape (n,) -> (n, 31)."""
        q = self.rate * -thickness_um[:, None]
        np.exp(q, out=q)
        top = self.r1 * q
        np.subtract(self.r0, top, out=top)
        q *= self.d1
        np.subtract(self.d0, q, out=q)
        top /= q
        return top

    def lab(self, thickness_um: FloatArray) -> FloatArray:
        """CIELAB (D65, 2 degrees) at dry films, shape (n,) -> (n, 3)."""
        return xyz_to_lab(self.reflectance(thickness_um) @ weights(), white_point())


def film_lab(
    absorption: FloatArray, scattering: FloatArray, thickness_um: FloatArray, ground: FloatArray
) -> FloatArray:
    """Colour of films as seen, CIELAB (D65, 2 degrees).

    Args:
        absorption: K per band, 1/µm, shape (..., 31).
        scattering: S per band, 1/µm, > 0, shape (..., 31).
        thickness_um: dry film, µm, >= 0, shape (...).
        ground: reflectance inside of the ground, shape (..., 31).

    Returns:
        Shape (..., 3), the shapes broadcast together.
    """
    k, s, g = np.broadcast_arrays(absorption, scattering, ground)
    x = np.asarray(thickness_um, dtype=float)
    shape = np.broadcast_shapes(k.shape[:-1], x.shape)
    k, s, g = (
        np.broadcast_to(v, (*shape, v.shape[-1])).reshape(-1, v.shape[-1]) for v in (k, s, g)
    )
    flat = np.broadcast_to(x, shape).reshape(-1)
    return FilmTable.of(k, s, g).lab(flat).reshape(*shape, 3)


def full_colour_thickness(
    absorption: FloatArray,
    scattering: FloatArray,
    ground: FloatArray,
    chip_lab: FloatArray,
    tolerance: float = FULL_COLOUR_TOLERANCE,
    *,
    relative: float = _RELATIVE,
) -> FloatArray:
    """Dry film beyond which a paint over a ground keeps the chip's colour.

    Args:
        absorption: K per band, 1/µm, shape (n, 31).
        scattering: S per band, 1/µm, > 0, shape (n, 31).
        ground: reflectance inside of the ground, shape (n, 31).
        chip_lab: CIELAB of the chip, shape (n, 3).
        tolerance: CIEDE2000 allowed, > 0.
        relative: how near the film is found, as a part of it.

    Returns:
        Dry film in µm, shape (n,); 0 where the bare ground already passes, inf
        where no film up to an optical thickness of 2048 does.
    """

    def miss(part: FilmTable, x: FloatArray, index: np.ndarray) -> FloatArray:
        return ciede2000(part.lab(x), chip_lab[index])

    table = FilmTable.of(absorption, scattering, ground)
    return _last_crossing(table, absorption, scattering, miss, tolerance, relative)


def even_thickness(
    absorption: FloatArray,
    scattering: FloatArray,
    ground_1: FloatArray,
    ground_2: FloatArray,
    tolerance: float = EVEN_TOLERANCE,
) -> FloatArray:
    """Dry film beyond which two grounds under one paint look the same; as above."""
    second = FilmTable.of(absorption, scattering, ground_2)

    def miss(part: FilmTable, x: FloatArray, index: np.ndarray) -> FloatArray:
        return ciede2000(part.lab(x), second.take(index).lab(x))

    return _last_crossing(
        FilmTable.of(absorption, scattering, ground_1), absorption, scattering, miss, tolerance
    )


def thickness_shift(
    absorption: FloatArray,
    scattering: FloatArray,
    ground: FloatArray,
    other_ground: FloatArray,
    chip_lab: FloatArray,
    critical_um: FloatArray,
    tolerance: float = FULL_COLOUR_TOLERANCE,
) -> FloatArray:
    """Change of ln critical film when the ground changes a little, to first order.

    At the critical film the difference to the chip changes by some factor; the slope of
    ln difference over film says how much more film makes up for it. Two evaluations
    instead of a new root.

    Args:
        absorption: K, shape (n, 31).
        scattering: S, shape (n, 31).
        ground: the ground that ``critical_um`` belongs to, shape (n, 31).
        other_ground: the changed ground, shape (n, 31).
        chip_lab: shape (n, 3).
        critical_um: shape (n,), finite and > 0 where the result is to mean anything.
        tolerance: CIEDE2000 that ``critical_um`` belongs to.

    Returns:
        Shape (n,), ln(changed critical film / critical film).
    """
    step = 0.02
    here = np.log(tolerance)  # what makes a film critical
    grounds = np.stack([ground, other_ground])
    lab = film_lab(
        absorption, scattering, np.stack([critical_um * (1 + step), critical_um]), grounds
    )
    more, there = np.log(np.maximum(ciede2000(lab, chip_lab), 1e-9))
    slope = np.minimum((more - here) / step, -0.05)
    # ln X changes by the ln difference over the slope in X, per X.
    return np.clip((there - here) / -slope, -2.0, 2.0)


_Miss = Callable[[FilmTable, FloatArray, np.ndarray], FloatArray]


def _last_crossing(
    table: FilmTable,
    absorption: FloatArray,
    scattering: FloatArray,
    miss: _Miss,
    tolerance: float,
    relative: float = _RELATIVE,
) -> FloatArray:
    """Largest film at which the difference equals the tolerance, for n pairs.

    The thickness comes down a ladder from far beyond any paint until the tolerance is
    missed, which brackets the last crossing; Illinois' false position on log
    difference then closes in (the difference falls nearly exponentially).
    """
    n = table.rate.shape[0]
    budget = (absorption + scattering).max(axis=1)
    out = np.empty(n)
    for start in range(0, n, _CHUNK):
        index = np.arange(start, min(start + _CHUNK, n))
        out[index] = _crossing_of(table, miss, tolerance, index, 1.0 / budget[index], relative)
    return out


def _log_gap(difference: FloatArray, tolerance: float) -> FloatArray:
    return np.log(np.maximum(difference, 1e-12) / tolerance)


def _bracket_at_once(
    table: FilmTable,
    miss: _Miss,
    tolerance: float,
    index: np.ndarray,
    unit: FloatArray,
    bracket: tuple[FloatArray, FloatArray, FloatArray, FloatArray],
) -> np.ndarray:
    """Fill the brackets of a few pairs from all rungs in one go; returns those always under.

    For a few pairs the calls cost more than the numbers in them.
    """
    m, rungs = index.size, len(_LADDER_U)
    x = (np.array(_LADDER_U)[:, None] * unit).ravel()
    here = np.tile(index, rungs)
    gap = _log_gap(miss(table.take(here), x, here), tolerance).reshape(rungs, m)
    at = x.reshape(rungs, m)
    over = gap > 0.0
    first = np.where(over.any(axis=0), over.argmax(axis=0), rungs)
    column = np.arange(m)
    low, high, f_low, f_high = bracket
    crossed = first < rungs
    low[crossed] = at[first[crossed], column[crossed]]
    f_low[crossed] = gap[first[crossed], column[crossed]]
    above = first > 0
    high[above] = at[first[above] - 1, column[above]]
    f_high[above] = gap[first[above] - 1, column[above]]
    return np.flatnonzero(~crossed)


def _crossing_of(
    table: FilmTable,
    miss: _Miss,
    tolerance: float,
    index: np.ndarray,
    unit: FloatArray,
    relative: float,
) -> FloatArray:
    m = index.size
    low, high = np.zeros(m), np.full(m, np.inf)
    f_low, f_high = np.zeros(m), np.zeros(m)
    own = table.take(index)

    def gap_at(rows: np.ndarray, x: FloatArray) -> FloatArray:
        part = own if rows.size == m else own.take(rows)
        return _log_gap(miss(part, x, index[rows]), tolerance)

    if m <= _FEW:
        todo = _bracket_at_once(table, miss, tolerance, index, unit, (low, high, f_low, f_high))
    else:
        todo = np.arange(m)
        for u in _LADDER_U[1:]:
            x = u * unit[todo]
            gap = gap_at(todo, x)
            over = gap > 0.0
            if u == _LADDER_U[1] and over.any():
                # Few are not hidden by then; only those are asked about the top rung.
                late = todo[over]
                top = _LADDER_U[0] * unit[late]
                beyond = gap_at(late, top)
                high[late] = np.where(beyond > 0.0, np.inf, top)
                f_high[late] = beyond
            low[todo[over]], f_low[todo[over]] = x[over], gap[over]
            under = ~over
            high[todo[under]], f_high[todo[under]] = x[under], gap[under]
            todo = todo[under]
            if todo.size == 0:
                break
    never = np.isinf(high)
    high[todo] = low[todo] = 0.0
    open_ = np.flatnonzero(~never & (high > low))
    side = np.zeros(m)
    for _ in range(40):
        if open_.size == 0:
            break
        a, b, fa, fb = low[open_], high[open_], f_low[open_], f_high[open_]
        x = (a * fb - b * fa) / (fb - fa)
        f = gap_at(open_, x)
        over = f > 0.0
        was = side[open_]
        # Illinois: an end that stays twice has its value halved.
        low[open_] = np.where(over, x, a)
        f_low[open_] = np.where(over, f, np.where(was < 0.0, 0.5 * fa, fa))
        high[open_] = np.where(over, b, x)
        f_high[open_] = np.where(over, np.where(was > 0.0, 0.5 * fb, fb), f)
        side[open_] = np.where(over, 1.0, -1.0)
        near = (np.abs(f) < relative) | (high[open_] - low[open_] < relative * high[open_])
        done = open_[near]
        low[done] = high[done] = x[near]
        open_ = open_[~near]
    return np.where(never, np.inf, high)
