"""Every coat that could go under, laid as a film over every patch."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.space import lab_to_xyz
from showthrough.film import undercoat as uc
from showthrough.film.hiding import Paint
from showthrough.film.thickness import full_colour_thickness, thickness_shift
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.case.uncertainty import Readings

UNDERCOAT_GEOMETRIC_SD = 1.3
"""Spread of an undercoat's film and hiding together (from memory)."""

TINT_ERROR_L = 3.0
"""Standard error of the lightness of a coat tinted or mixed by hand, L* (from memory)."""

_BLACK_AND_WHITE = np.array([[0.02], [0.75]]) * np.ones(31)
"""Reflectance inside of the substrates that a paint is judged on."""

NO_ADVICE_WITHIN = 3.0
"""CIEDE2000 to the topcoat or to white within which a mix of them is no advice."""


@lru_cache(maxsize=256)
def _rows_of(kinds: tuple[str, ...], kind: str) -> np.ndarray:
    found = np.flatnonzero([each == kind for each in kinds])
    found.setflags(write=False)
    return found


class Reckoned(NamedTuple):
    """Hiding films over the plain substrate and over every undercoat, from one search."""

    candidates: uc.Candidates
    films_um: FloatArray
    """Film of one coat of each undercoat on a ground that does not drink, shape (m,)."""
    laid_um: FloatArray
    """Film of each undercoat over each patch, shape (m, p)."""
    substrates: FloatArray
    """Reflectance inside under the topcoat, shape (m, p, 31)."""
    plain_um: FloatArray
    """Hiding film over the substrate as it is, shape (p,)."""
    likely_um: FloatArray | None
    """The same by the job's equally likely readings, shape (readings, p); None where all colours
    are sure."""
    under_um: FloatArray
    """Hiding film over each undercoat, shape (m, p); inf also for mixes that others beat."""
    no_advice: np.ndarray
    """Which mixes lie so near the topcoat or white that they are no other coat, shape (m,)."""
    guessed_um: FloatArray
    """Hiding film of other guesses at the topcoat's paint over the plain substrate, (g, p)."""
    own_um: float
    """Film that hides black and white alike: what the topcoat can do, whatever it goes over."""

    def rows(self, kind: str) -> np.ndarray:
        """Places of the candidates of one kind."""
        return _rows_of(self.candidates.kind, kind)


def reckon(job: PreparedJob, guesses: Sequence[Paint] = ()) -> Reckoned:
    """Lay every candidate over every patch and find the topcoat's hiding films.

    ``guesses`` are other paints that the topcoat might be; their films over the plain patches
    are found in the same search.
    """
    paint = job.topcoat.paint
    k, s = paint.absorption, paint.scattering
    candidates = uc.usual_candidates(k, s)
    films = np.full(len(candidates), uc.UNDERCOAT_WET_UM * uc.UNDERCOAT_SOLIDS)
    if job.owned is not None:
        candidates = uc.joined(candidates, job.owned.candidates)
        films = np.concatenate([films, job.owned.dry_film_thickness_um])
    # A porous patch drinks part of the undercoat instead of the topcoat.
    laid = films[:, None] * (1.0 - job.drinks[None])
    substrates = uc.substrates_under(candidates, job.beneath, laid)
    p, bands = job.beneath.shape
    n = len(candidates) * p
    chip = job.topcoat.chip_lab
    mixed = [_rows_of(candidates.kind, kind) for kind in ("tint", "shop")]
    mixes = np.concatenate(mixed)
    near = ciede2000(candidates.lab[mixes, None], np.array([chip, uc.WHITE_LAB])).min(axis=1)
    no_advice = np.zeros(len(candidates), dtype=bool)
    no_advice[mixes] = near < NO_ADVICE_WITHIN
    own = n + p + len(_BLACK_AND_WHITE)
    beneath = [substrates.reshape(-1, bands), job.beneath, _BLACK_AND_WHITE]
    rivals = (rows[~no_advice[rows]] for rows in mixed)
    found = full_colour_thickness(
        np.array([k, *(guess.absorption for guess in guesses)]),
        np.array([s, *(guess.scattering for guess in guesses)]),
        np.concatenate([*beneath, *(job.beneath for _ in guesses)]),
        chip,
        contests=[r[:, None] * p + np.arange(p) for r in rivals if r.size],
        paint=np.repeat(np.arange(1 + len(guesses)), [own] + [p] * len(guesses)),
    )
    return Reckoned(
        candidates,
        films,
        laid,
        substrates,
        found[n : n + p],
        None if job.readings is None else job.readings.hiding_film_um(),
        found[:n].reshape(-1, p),
        no_advice,
        found[own:].reshape(-1, p),
        float(found[n + p : own].max()),
    )


def best_of(reckoned: Reckoned, rows: np.ndarray) -> int | None:
    """The candidate that asks for least film on the worst patch; None where none is advice."""
    left = rows[~reckoned.no_advice[rows]]
    if not left.size:
        return None
    return int(left[np.argmin(reckoned.under_um[left].max(axis=1))])


def undercoat_sigma(
    job: PreparedJob, reckoned: Reckoned, chosen: list[int], tinted: np.ndarray
) -> FloatArray:
    """How far uncertain undercoats move ln hiding film.

    Args:
        job: the prepared job.
        reckoned: all candidates.
        chosen: places of m of them.
        tinted: which of them are tinted or mixed by hand, shape (m,).

    Returns:
        Standard deviation, shape (m, p).
    """
    paint = job.topcoat.paint
    part = reckoned.candidates.take(chosen)
    thin = uc.substrates_under(part, job.beneath, reckoned.laid_um[chosen] / UNDERCOAT_GEOMETRIC_SD)
    substrate = reckoned.substrates[chosen]
    neutral = part.lab * np.array([1.0, 0.0, 0.0])
    lighter = neutral + np.array([TINT_ERROR_L, 0.0, 0.0])
    after, before = lab_to_xyz(np.stack([lighter, neutral]))[..., 1]
    ratio = after / before
    paler = np.clip(substrate * ratio[:, None, None], 0.0, 1.0)
    hiding_film_um = reckoned.under_um[chosen]
    flat = np.concatenate([hiding_film_um.ravel()] * 2)
    sound = np.isfinite(flat) & (flat > 0.0)
    shift = thickness_shift(
        paint.absorption[None],
        paint.scattering[None],
        np.concatenate([substrate.reshape(-1, 31)] * 2),
        np.concatenate([thin.reshape(-1, 31), paler.reshape(-1, 31)]),
        job.topcoat.chip_lab,
        np.where(sound, flat, 1.0),
    )
    film, tint = np.where(sound, np.abs(shift), 0.0).reshape(2, *hiding_film_um.shape)
    return np.hypot(film, np.where(tinted[:, None], tint, 0.0))


_FEW_READINGS = 24
"""Readings that tell undercoats apart: a third of those that a count is made from."""


def films_over(
    readings: Readings | None, reckoned: Reckoned, chosen: list[int]
) -> list[FloatArray] | list[None]:
    """Hiding films of a few readings over some undercoats, each of shape (readings, p)."""
    if readings is None:
        return [None] * len(chosen)
    few = readings.part(_FEW_READINGS)
    part = reckoned.candidates.take(chosen)
    m, p = few.substrates.shape[:2]
    laid = np.tile(reckoned.laid_um[chosen], (1, m))
    over = uc.substrates_under(part, few.substrates.reshape(m * p, -1), laid)
    films = few.hiding_film_um(np.moveaxis(over.reshape(len(chosen), m, p, -1), 0, 1))
    return list(np.moveaxis(films, 1, 0))
