"""Ways from a wanted colour to colours that hide better, and the nearest ones on them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour
from showthrough.colour.spectrum import recover_spectra
from showthrough.film.hiding import Paint, budget_of, constants_from_colour
from showthrough.film.undercoat import opaque_lab
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.case.topcoats import (
    Covered,
    Topcoats,
    covered,
    topcoats_of,
    topcoats_of_colours,
)

WHITE_LAB = (96.0, -0.5, 2.0)
BLACK_LAB = (18.0, 0.0, 0.0)

REAL_GAIN = 0.75
"""Least chance of the smaller count for a softer colour to be worth anything.

The likely count changes where the chance crosses one half: 0.51 in place of 0.49 is the same
gamble in another colour. The wanted colour's own chance is below one half, so three in four is
a rise of at least one in four, and a painter who plans by it runs short once in four jobs.
"""

_FARTHER = (0.0, 0.1, 0.25, 0.5, 1.0)
"""Parts of the rest of a way that are tried where a colour as read is not enough."""

_AT_ONCE = 4
"""Swatches whose readings are tried together."""

_COARSE = 20
_FINE = 12


@dataclass(frozen=True, slots=True)
class Way:
    """A way from the wanted colour; ``lab(t)`` for t from 0 (wished) to 1."""

    kind: str
    start: FloatArray
    end: FloatArray
    paints: tuple[FloatArray, FloatArray, FloatArray, FloatArray] | None = None

    def lab(self, t: FloatArray) -> FloatArray:
        """Colours along the way, shape (n,) -> (n, 3), rounded as they are shown.

        A colour that just fits must still fit as the painter reads it.
        """
        if self.paints is None:
            return np.round(self.start + t[:, None] * (self.end - self.start), 2)
        k0, s0, k1, s1 = self.paints
        # Half of a mix by volume is far along in colour; the square spreads the steps.
        part = (t * t)[:, None]
        mixed = opaque_lab((1.0 - part) * k0 + part * k1, (1.0 - part) * s0 + part * s1)
        return np.round(mixed, 2)


def reckon_colours(
    job: PreparedJob,
    lab: FloatArray,
    *,
    move: bool = True,
    as_read: bool = False,
) -> Covered:
    """Colours (D65, 2 degrees), shape (n, 3), as topcoats of one paint over the surface."""
    return covered(job, topcoats_of(lab, job.topcoat.paint, move=move), as_read=as_read)


def reckon_own(job: PreparedJob) -> Covered:
    """The job's own topcoat, of the very paint that the job knows."""
    paint = job.topcoat.paint
    own = Topcoats(
        job.topcoat.chip_lab[None],
        paint.absorption[None],
        paint.scattering[None],
        job.topcoat.reflectance[None],
        np.array([paint.sigma_ln]),
        np.ones(1, dtype=bool),
        paint_and_film_sigma_ln=None if job.learned is None else job.paint_and_film_sigma_ln,
    )
    return covered(job, own)


@cache
def _white_and_black() -> FloatArray:
    return recover_spectra([WHITE_LAB, BLACK_LAB]).reflectance


def ways_from(wished: FloatArray, like: Paint) -> list[Way]:
    """Towards grey, white, pastel and shade."""
    k, s = constants_from_colour(
        np.concatenate([recover_spectra(wished).reflectance, _white_and_black()]),
        budget_of(like),
        like.facts,
    )
    grey = np.array([wished[0], 0.0, 0.0])
    return [
        Way("grey", wished, grey),
        Way("white", wished, np.array(WHITE_LAB)),
        Way("pastel", wished, np.array(WHITE_LAB), (k[0], s[0], k[1], s[1])),
        Way("deep", wished, np.array(BLACK_LAB), (k[0], s[0], k[2], s[2])),
    ]


Found = tuple[str, FloatArray | None]


def along(job: PreparedJob, paths: list[Way], goals: list[int]) -> dict[int, list[Found]]:
    """For each goal, on each path, the nearest colour that really gains it, or None."""
    coarse = np.linspace(0.0, 1.0, _COARSE + 1)
    labs = np.concatenate([path.lab(coarse[1:]) for path in paths])
    reckoned = reckon_colours(job, labs, as_read=True)
    enough = {goal: reckoned.suffice(goal, REAL_GAIN).reshape(len(paths), -1) for goal in goals}
    brackets: dict[tuple[int, int], tuple[float, float]] = {}
    for goal in goals:
        for i in range(len(paths)):
            fits = enough[goal][i]
            if fits.any():
                first = int(fits.argmax())
                brackets[goal, i] = (float(coarse[first]), float(coarse[first + 1]))
    for _ in range(2 if brackets else 0):
        grids = {key: np.linspace(*ends, _FINE + 1) for key, ends in brackets.items()}
        labs = np.concatenate([paths[i].lab(grid[1:]) for (_, i), grid in grids.items()])
        reckoned = reckon_colours(job, labs, as_read=True)
        for row, (goal, i) in enumerate(grids):
            fits = reckoned.suffice(goal, REAL_GAIN).reshape(len(grids), -1)[row]
            # The far end fits already, so a rounding at it alone changes nothing.
            first = int(fits.argmax()) if fits.any() else _FINE - 1
            grid = grids[goal, i]
            brackets[goal, i] = (float(grid[first]), float(grid[first + 1]))
    ends = {key: high for key, (_, high) in brackets.items()}
    if job.readings is not None:
        ends = _held_by_readings(job, paths, ends)
    return {
        goal: [
            (path.kind, path.lab(np.array([ends[goal, i]]))[0] if (goal, i) in ends else None)
            for i, path in enumerate(paths)
        ]
        for goal in goals
    }


def _held_by_readings(
    job: PreparedJob,
    paths: list[Way],
    ends: dict[tuple[int, int], float],
) -> dict[tuple[int, int], float]:
    """Places on the ways that meet their goal for unsure colours too; farther where they must."""
    out: dict[tuple[int, int], float] = {}
    for step in _FARTHER:
        todo = {key: t + step * (1.0 - t) for key, t in ends.items() if key not in out}
        if not todo:
            break
        labs = np.concatenate([paths[i].lab(np.array([t])) for (_, i), t in todo.items()])
        reckoned = reckon_colours(job, labs)
        out |= {
            key: t
            for i, (key, t) in enumerate(todo.items())
            if reckoned.suffice(key[0], REAL_GAIN)[i]
        }
    return out


def nearest_swatch(
    job: PreparedJob,
    wished: FloatArray,
    names: list[str],
    colours: list[Colour],
    goals: list[int],
) -> dict[int, list[Found]]:
    """For each goal the swatch least different from the wanted colour that really gains it."""
    none: list[Found] = [("swatch", None)]
    if not goals or not colours:
        return dict.fromkeys(goals, none)
    topcoats = topcoats_of_colours(colours, job.topcoat.paint)
    reckoned = covered(job, topcoats, as_read=True)
    delta_e = ciede2000(wished, topcoats.lab)
    out: dict[int, list[Found]] = {}
    for goal in goals:
        fits = np.flatnonzero(reckoned.suffice(goal, REAL_GAIN))
        fits = fits[np.argsort(delta_e[fits], kind="stable")]
        if job.readings is not None:
            fits = _first_held(job, topcoats, fits, goal)
        out[goal] = [(f"swatch:{names[i]}", topcoats.lab[i]) for i in fits[:1]] or none
    return out


def _first_held(job: PreparedJob, topcoats: Topcoats, order: np.ndarray, goal: int) -> np.ndarray:
    """The first of some topcoats, and what comes after it, that meet a goal for unsure colours."""
    for start in range(0, len(order), _AT_ONCE):
        part = order[start : start + _AT_ONCE]
        held = covered(job, topcoats.take(part)).suffice(goal, REAL_GAIN)
        if held.any():
            return np.asarray(part[held])
    return order[:0]
