"""How much film hides a substrate: the hiding film.

For one paint over one substrate the difference to the chip falls with the film. The
hiding film is the one beyond which it stays within the tolerance. It depends on the
two colours and the paint, not on how the paint is put on, so one root gives every
method, every count and the whole distribution.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

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
# ordinary paints and reaches 800 for a vivid transparent one that hardly scatters. Rungs are asked
# about together: calls cost more than the numbers in them.
_HIGH_RUNGS = (2048.0, 96.0, 32.0, 16.0, 8.0)
# Below, each rung is half the last: its exponential is the root of that one's, and a root or a
# square costs a tenth of it.
_LOW_RUNGS = ((4.0, 2.0, 1.0), (0.5, 0.0))
_RELATIVE = 4e-6

# The GNU C library gives memory back to the system beyond twice the largest block ever freed, and
# the next search takes it again page by page, which costs a twentieth of its time. One block
# freed here, of 2 MB that nothing touches, lets it keep what searches need.
np.empty(1 << 18)

_MOST_STRETCH = 2.05
"""CIEDE2000 is at most so many times the distance in CIELAB: a* is stretched by 1.5 at most, the
weights are 1 or more, and the blue rotation adds 87 % to a square (ISO/CIE 11664-6)."""


class FilmTable(NamedTuple):
    """Films of n paints over n substrates, made ready for many thicknesses.

    R = opaque + pull q / (1 - echo q) with q = exp(-rate X): the exponential form of
    Kubelka-Munk with the Saunderson surface folded in, written as what a film still misses of
    an endless one.
    """

    opaque: FloatArray
    pull: FloatArray
    echo: FloatArray
    rate: FloatArray

    @classmethod
    def of(
        cls,
        absorption: FloatArray,
        scattering: FloatArray,
        substrate: FloatArray,
        paint: np.ndarray | None = None,
    ) -> FilmTable:
        """Films of paints K, S (1/µm) over substrates (reflectance inside); shapes (n, 31).

        One paint for all substrates may have shape (1, 31); of some paints ``paint`` says which of
        them lies over each substrate, shape (n,).
        """
        ratio = np.maximum(absorption / scattering, _LEAST_ABSORPTION)
        b = np.sqrt(ratio * (ratio + 2.0))
        shallow = 1.0 + ratio + b
        deep = 1.0 / shallow
        out = 1.0 / (1.0 - K2 * deep)
        seen = (1.0 - K1) * (1.0 - K2) * out
        own = (shallow, deep, out, seen * (deep - shallow), 1.0 - K2 * shallow)
        opaque, rate = seen * deep, 2.0 * b * scattering
        if paint is None:
            return cls(opaque, *_over(own, substrate), rate)
        pull, echo = np.empty((2, *substrate.shape))
        # What lies over most substrates is one paint, which need not be copied for each of them.
        other = int((paint != paint[0]).argmax()) or len(paint)
        for rows, which in ((slice(other), paint[:1]), (slice(other, None), paint[other:])):
            if len(which):
                _over([each[which] for each in own], substrate[rows], pull[rows], echo[rows])
        return cls(opaque[paint], pull, echo, rate[paint])

    def take(self, index: np.ndarray) -> FilmTable:
        """The films at these places."""
        own = (v if len(v) == 1 else v[index] for v in (self.opaque, self.rate))
        opaque, rate = own
        return FilmTable(opaque, self.pull[index], self.echo[index], rate)

    def passed(self, thickness_um: FloatArray) -> FloatArray:
        """q, what light comes through dry films and back, shape (..., n) -> (..., n, 31)."""
        q = self.rate * -thickness_um[..., None]
        np.exp(q, out=q)
        return q

    def reflectance(self, passed: FloatArray) -> FloatArray:
        """Outside reflectance of films that let q pass, shape (..., n, 31) -> the same."""
        rest = self.echo * passed
        np.subtract(1.0, rest, out=rest)
        seen = self.pull * passed
        seen /= rest
        seen += self.opaque
        return seen

    def lab_of(self, passed: FloatArray) -> FloatArray:
        """CIELAB (D65, 2 degrees) of films that let q pass, shape (..., n, 31) -> (..., n, 3)."""
        if passed.ndim == 2:
            return xyz_to_lab(self.reflectance(passed) @ weights(), white_point())
        # Film by film, so that what is worked on stays in the processor's cache.
        xyz = np.empty((*passed.shape[:2], 3))
        for film, out in zip(passed, xyz, strict=True):
            np.matmul(self.reflectance(film), weights(), out=out)
        return xyz_to_lab(xyz, white_point())

    def lab(self, thickness_um: FloatArray) -> FloatArray:
        """CIELAB (D65, 2 degrees) at dry films, shape (..., n) -> (..., n, 3)."""
        return self.lab_of(self.passed(thickness_um))


def _over(
    own: Sequence[FloatArray],
    substrate: FloatArray,
    pull: FloatArray | None = None,
    echo: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Pull and echo over substrates, from a paint's own, into arrays where they are given."""
    shallow, deep, out, pulls, echoes = own
    miss = (deep - substrate) / (shallow - substrate)
    miss *= out
    return np.multiply(pulls, miss, out=pull), np.multiply(echoes, miss, out=echo)


def full_colour_thickness(
    absorption: FloatArray,
    scattering: FloatArray,
    substrate: FloatArray,
    chip_lab: FloatArray,
    tolerance: float = FULL_COLOUR_TOLERANCE,
    *,
    relative: float = _RELATIVE,
    contests: Sequence[np.ndarray] = (),
    paint: np.ndarray | None = None,
) -> FloatArray:
    """Dry film beyond which a paint over a substrate keeps the chip's colour.

    Args:
        absorption: K per band, 1/µm, shape (n, 31), or of each ``paint``.
        scattering: S per band, 1/µm, > 0, the same shape.
        substrate: reflectance inside of the substrate, shape (n, 31).
        chip_lab: CIELAB of the chip, shape (n, 3), or (3,) for all.
        tolerance: CIEDE2000 allowed, > 0.
        relative: how near the film is found, as a part of it.
        contests: places of rivals, each of shape (rivals, p), of which only the one is wanted
            whose greatest film is least. The others may come back as inf.
        paint: which of the paints lies over each substrate, shape (n,), where several substrates
            share one.

    Returns:
        Dry film in µm, shape (n,); 0 where the bare substrate already passes, inf
        where no film up to an optical thickness of 2048 does.
    """
    films = FilmTable.of(absorption, scattering, substrate, paint)
    unit = 1.0 / (absorption + scattering).max(axis=1)
    unit = np.broadcast_to(unit, len(substrate)) if paint is None else unit[paint]
    pairs = _Pairs(films, np.atleast_2d(chip_lab))
    n = unit.size
    if n <= _CHUNK:
        return _crossing_of(pairs, unit, tolerance, relative, contests)
    parts = (np.arange(start, min(start + _CHUNK, n)) for start in range(0, n, _CHUNK))
    return np.concatenate(
        [_crossing_of(pairs.take(part), unit[part], tolerance, relative, ()) for part in parts]
    )


def thickness_shift(
    absorption: FloatArray,
    scattering: FloatArray,
    substrate: FloatArray,
    other_substrate: FloatArray,
    chip_lab: FloatArray,
    hiding_film_um: FloatArray,
    tolerance: float = FULL_COLOUR_TOLERANCE,
) -> FloatArray:
    """Change of ln hiding film when the substrate changes a little, to first order.

    At the hiding film the difference to the chip changes by some factor; the slope of
    ln difference over film says how much more film makes up for it. Two evaluations
    instead of a new root.

    Args:
        absorption: K, shape (n, 31), or (1, 31) for all.
        scattering: S, the same shape.
        substrate: the substrate that ``hiding_film_um`` belongs to, shape (n, 31).
        other_substrate: the changed substrate, shape (n, 31).
        chip_lab: shape (n, 3), or (3,) for all.
        hiding_film_um: shape (n,), finite and > 0 where the result is to mean anything.
        tolerance: CIEDE2000 that ``hiding_film_um`` belongs to.

    Returns:
        Shape (n,), ln(changed hiding film / hiding film).
    """
    step = 0.02
    here = np.log(tolerance)  # the miss at which a film just hides
    n = len(substrate)
    paint = None if len(absorption) == 1 else np.concatenate([np.arange(n)] * 2)
    films = FilmTable.of(
        absorption, scattering, np.concatenate([substrate, other_substrate]), paint
    )
    lab = films.lab(np.concatenate([hiding_film_um * (1 + step), hiding_film_um])).reshape(2, n, 3)
    more, there = np.log(np.maximum(ciede2000(lab, chip_lab), 1e-9))
    slope = np.minimum((more - here) / step, -0.05)
    # ln X changes by the ln difference over the slope in X, per X.
    return np.clip((there - here) / -slope, -2.0, 2.0)


@dataclass(frozen=True, slots=True)
class _Pairs:
    """Films, and the chip that each is held against, shape (n, 3), or (1, 3) for all."""

    films: FilmTable
    chips: FloatArray

    def take(self, index: np.ndarray) -> _Pairs:
        """The pairs at these places, in rising order."""
        if index.size == len(self.films.pull):
            return self
        chips = self.chips if len(self.chips) == 1 else self.chips[index]
        return _Pairs(self.films.take(index), chips)

    def log_gap(self, lab: FloatArray, tolerance: float) -> FloatArray:
        """Ln of the difference to the chip over the tolerance, shape (..., n, 3) -> (..., n)."""
        return np.log(np.maximum(ciede2000(lab, self.chips), 1e-12) / tolerance)

    def settled(self, passed: FloatArray, tolerance: float) -> tuple[np.ndarray, FloatArray]:
        """Which are within the tolerance at these films and at all beyond, and their colours.

        Each band of a film comes ever nearer to that of an endless one, and so do XYZ by less
        than what all bands miss together. The cube root is steepest below.
        """
        films, weight = self.films, weights()
        seen = films.reflectance(passed)
        xyz = np.empty((3, len(passed), 3))
        xyz[0] = films.opaque @ weight
        xyz[1] = seen @ weight
        seen -= films.opaque
        xyz[2] = xyz[0] - np.abs(seen, out=seen) @ weight
        end, lab, worst = xyz_to_lab(xyz)
        light, red, blue = (end - worst).T
        red, blue = red + light * 1000.0 / 116.0, light * 400.0 / 116.0 - blue
        miss = end - self.chips
        bound = np.sqrt(light * light + red * red + blue * blue)
        bound += np.sqrt(np.add.reduce(miss * miss, axis=1))
        return bound * _MOST_STRETCH < tolerance, lab


@dataclass(slots=True)
class _Brackets:
    """Films that miss the tolerance and films from which on it holds, n of each."""

    low: FloatArray
    high: FloatArray
    f_low: FloatArray
    f_high: FloatArray
    """Log gaps at both."""
    contests: list[np.ndarray]
    """Places of rivals that may still win, each of shape (rivals, p)."""
    beaten: np.ndarray
    """Which belong to a rival that cannot win its contest, shape (n,)."""

    def down(
        self,
        part: _Pairs,
        rows: np.ndarray,
        x: FloatArray,
        passed: FloatArray,
        above: FloatArray,
        tolerance: float,
    ) -> np.ndarray:
        """Come down films x, shape (rungs, n), for these rows; returns which are within on all.

        ``passed`` is what they let pass, shape (rungs, n, 31).
        ``above`` holds the colours at the film before the first, shape (n, 3), and those at the
        last film afterwards. Where the tolerance is missed on the first and there is no film
        before (high is inf), no film hides.
        """
        labs = np.concatenate([above[None], part.films.lab_of(passed)])
        gap = part.log_gap(labs, tolerance)
        over = gap[1:] > 0.0
        crossed = over.any(axis=0)
        column = np.flatnonzero(crossed)
        first, here = over.argmax(axis=0)[column], rows[column]
        inner = first > 0
        self.low[here], self.f_low[here] = x[first, column], gap[first + 1, column]
        self.high[here[inner]] = x[first[inner] - 1, column[inner]]
        self.f_high[here] = gap[first, column]
        self.high[rows[~crossed]] = x[-1, ~crossed]
        above[:] = labs[-1]
        return np.asarray(~crossed)

    def judge(self) -> None:
        """Strike out the rivals that cannot win any more; a contest of one is over."""
        for i, rivals in enumerate(self.contests):
            least = np.maximum.reduce(self.low[rivals], axis=1)
            lost = least > np.minimum.reduce(np.maximum.reduce(self.high[rivals], axis=1))
            if np.count_nonzero(lost):
                self.beaten[rivals[lost]] = True
                self.contests[i] = rivals[~lost]
        self.contests = [rivals for rivals in self.contests if len(rivals) > 1]


def _bracketed(
    pairs: _Pairs, unit: FloatArray, tolerance: float, contests: Sequence[np.ndarray]
) -> _Brackets:
    """Brackets of the last crossings; low and high are 0 where the substrate itself passes."""
    m = unit.size
    none = np.zeros(m, dtype=bool)
    out = _Brackets(np.zeros(m), np.full(m, np.inf), np.zeros(m), np.zeros(m), list(contests), none)
    passed = np.empty((3, m, pairs.films.pull.shape[1]))
    passed[2] = one = pairs.films.passed(unit)
    np.multiply(one, one, out=passed[1])
    np.multiply(passed[1], passed[1], out=passed[0])
    settled, above = pairs.settled(passed[0] * passed[0], tolerance)
    out.high[settled] = _HIGH_RUNGS[-1] * unit[settled]
    doubtful = np.flatnonzero(~settled)
    if doubtful.size:
        x, part = np.array(_HIGH_RUNGS)[:, None] * unit[doubtful], pairs.take(doubtful)
        left = out.down(part, doubtful, x, part.films.passed(x), above[doubtful], tolerance)
        settled[doubtful[left]] = True
    todo, above = np.flatnonzero(settled), above[settled]
    passed = passed if todo.size == m else passed[:, todo]
    for rungs in _LOW_RUNGS:
        x = np.array(rungs)[:, None] * unit[todo]
        left = out.down(pairs.take(todo), todo, x, passed, above, tolerance)
        if out.contests:
            out.judge()
            left &= ~out.beaten[todo]
        todo, above = todo[left], above[left]
        if todo.size == 0:
            break
        half = np.sqrt(passed[-1, left])
        passed = np.stack([half, np.ones_like(half)])
    return out


def _crossing_of(
    pairs: _Pairs,
    unit: FloatArray,
    tolerance: float,
    relative: float,
    contests: Sequence[np.ndarray],
) -> FloatArray:
    """Largest film at which the difference equals the tolerance, for n pairs.

    The thickness comes down a ladder from far beyond any paint until the tolerance is
    missed, which brackets the last crossing; interpolation on the log difference, which falls
    nearly exponentially, then closes in: the method of Chandrupatla 1997 (Adv. Eng. Softw. 28,
    145-149).
    """
    found = _bracketed(pairs, unit, tolerance, contests)
    none = found.beaten | np.isinf(found.high)
    open_ = np.flatnonzero(~none & (found.high > found.low))
    part = pairs.take(open_)
    a, fa, b, fb = (v[open_] for v in (found.low, found.f_low, found.high, found.f_high))
    t = fa / (fa - fb)
    for _ in range(60):
        if open_.size == 0:
            break
        x = a + t * (b - a)
        f = part.log_gap(part.films.lab(x), tolerance)
        # The newest point, the end on the other side of the crossing, and the one that leaves.
        same = (f > 0.0) == (fa > 0.0)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, f
        with np.errstate(divide="ignore", invalid="ignore"):
            place, height = (a - b) / (c - b), (fa - fb) / (fc - fb)
            smooth = (height * height < place) & ((1.0 - height) ** 2 < 1.0 - place)
            bent = fa / (fb - fa) * fc / (fb - fc)
            bent = bent + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        t = np.where(smooth, bent, 0.5)
        top = np.maximum(a, b)
        found.low[open_], found.high[open_] = np.minimum(a, b), top
        # The next step from so near needs no proof: it misses by the product of all three gaps.
        near = (np.abs(fa * fb * fc) < 0.1 * relative) & smooth
        met = near | (np.abs(fa) < relative) | (np.abs(b - a) < relative * top)
        done = open_[met]
        found.low[done] = found.high[done] = np.where(near, a + t * (b - a), a)[met]
        going = ~met
        if found.contests:
            found.judge()
            going &= ~found.beaten[open_]
        if not going.all():
            open_, part = open_[going], part.take(np.flatnonzero(going))
            a, fa, b, fb, t = (v[going] for v in (a, fa, b, fb, t))
    return np.where(none | found.beaten, np.inf, found.high)
