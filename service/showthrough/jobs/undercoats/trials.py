"""Every way to prepare the ground, reckoned through as films."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.film import undercoat as uc
from showthrough.film.thickness import thickness_shift
from showthrough.jobs.answers.prediction import OptionKind
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.case.uncertainty import Readings
from showthrough.say.words import undercoat_why

UNDERCOAT_SPREAD = 1.3
"""Spread of an undercoat's film and hiding together (from memory)."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One candidate reckoned through."""

    kind: OptionKind
    name: str
    lab: FloatArray | None
    munsell: str | None
    parts: tuple[float, float, float] | None
    undercoats: int
    critical_um: FloatArray
    lost: FloatArray
    log_spread: FloatArray
    grounds: FloatArray
    undercoat_wet_um: float
    meets_needs: bool
    why: str
    index: int | None = None
    """Its place among the candidates; None for ways without a coat with a colour."""
    films_um: FloatArray | None = None
    """Critical films of equally likely readings of the colours, shape (m, p)."""


@dataclass(frozen=True, slots=True)
class Reckoned:
    """Critical films over the plain ground and over every undercoat, from one search."""

    candidates: uc.Candidates
    films_um: FloatArray
    """Film of one coat of each undercoat on a ground that does not drink, shape (m,)."""
    laid_um: FloatArray
    """Film of each undercoat over each patch, shape (m, p)."""
    grounds: FloatArray
    """Reflectance inside under the topcoat, shape (m, p, 31)."""
    plain_um: FloatArray
    """Critical film over the ground as it is, shape (p,)."""
    under_um: FloatArray
    """Critical film over each undercoat, shape (m, p)."""


def reckon(job: PreparedJob) -> Reckoned:
    """Lay every candidate over every patch and find the topcoat's critical films."""
    paint, surface = job.topcoat.paint, job.surface
    k, s = paint.absorption, paint.scattering
    candidates = uc.usual_candidates(k, s)
    films = np.full(len(candidates), job.undercoat_wet_um * uc.UNDERCOAT_SOLIDS)
    if job.owned is not None:
        candidates = uc.joined(candidates, job.owned.candidates)
        films = np.concatenate([films, job.owned.dry_film_um])
    # A porous patch drinks part of the undercoat instead of the topcoat.
    laid = films[:, None] * (1.0 - job.drinks[None])
    grounds = uc.grounds_under(candidates, surface.grounds, laid)
    every = np.concatenate([surface.grounds[None], grounds])
    found = uc.critical_over(k, s, job.topcoat.chip_lab, every)
    return Reckoned(candidates, films, laid, grounds, found[0], found[1:])


def undercoat_spread(job: PreparedJob, reckoned: Reckoned, chosen: list[int]) -> FloatArray:
    """How far an uncertain undercoat moves ln critical film; shape (chosen, p)."""
    paint = job.topcoat.paint
    part = reckoned.candidates.take(chosen)
    thin = uc.grounds_under(part, job.surface.grounds, reckoned.laid_um[chosen] / UNDERCOAT_SPREAD)
    ground = reckoned.grounds[chosen]
    critical = reckoned.under_um[chosen]
    shape = critical.shape
    flat = critical.ravel()
    sound = np.isfinite(flat) & (flat > 0.0)
    n = flat.size
    shift = thickness_shift(
        np.broadcast_to(paint.absorption, (n, 31)),
        np.broadcast_to(paint.scattering, (n, 31)),
        ground.reshape(n, 31),
        thin.reshape(n, 31),
        np.broadcast_to(job.topcoat.chip_lab, (n, 3)),
        np.where(sound, flat, 1.0),
    )
    return np.where(sound, np.abs(shift), 0.0).reshape(shape)


_FEW_READINGS = 24
"""Readings that tell undercoats apart: a third of those that a count is made from."""


def films_over(
    readings: Readings | None, reckoned: Reckoned, chosen: list[int]
) -> list[FloatArray] | list[None]:
    """Critical films of a few readings over some undercoats, each of shape (readings, p)."""
    if readings is None:
        return [None] * len(chosen)
    few = readings.part(_FEW_READINGS)
    part = reckoned.candidates.take(chosen)
    m, p = few.grounds.shape[:2]
    laid = np.tile(reckoned.laid_um[chosen], (1, m))
    over = uc.grounds_under(part, few.grounds.reshape(m * p, -1), laid)
    films = few.critical_um(np.moveaxis(over.reshape(len(chosen), m, p, -1), 0, 1))
    return list(np.moveaxis(films, 1, 0))


def without(
    job: PreparedJob,
    reckoned: Reckoned,
    films_um: FloatArray | None = None,
    over_white_um: FloatArray | None = None,
) -> list[Trial]:
    """Ways without a pigmented coat over all, as far as the ground lets one choose.

    ``films_um`` and ``over_white_um`` are critical films of the job's readings over the plain
    patches and over white, shape (m, p).
    """
    surface, wet_um = job.surface, job.undercoat_wet_um
    none = np.zeros_like(surface.lost)
    plain = reckoned.plain_um

    def trial(
        kind: OptionKind,
        name: str,
        why: str,
        *,
        coats: int = 0,
        meets: bool = True,
        lost: FloatArray = none,
        critical: FloatArray = plain,
        grounds: FloatArray = surface.grounds,
        films: FloatArray | None = films_um,
    ) -> Trial:
        return Trial(
            kind,
            name,
            None,
            None,
            None,
            coats,
            critical,
            lost,
            surface.sigma_ln,
            grounds,
            wet_um * coats,
            meets,
            why,
            films_um=films,
        )

    if job.coat_needed:
        why = "The surface needs this coat whatever the colour; being clear it changes no colour."
        return [trial("clear", "clear bonding or blocking coat", why, coats=1)]
    if not any(need.kind == "spot sealing" for need in job.needs):
        return [
            trial("none", "no undercoat", "Straight onto the surface as it is.", lost=surface.lost)
        ]
    thirsty = surface.lost > 0.0
    drinks = "Straight onto the surface; the bare spots drink part of the first coat."
    out = [trial("none", "no undercoat", drinks, meets=False, lost=surface.lost)]
    if thirsty.all():
        why = "Seals the whole thirsty surface; the colour under the paint stays as it is."
        out.append(trial("clear", "clear sealer all over", why, coats=1))
        return out
    clear = (
        "Sealed spots no longer drink; the colour under the paint stays as it is. Sealing them is "
        "not counted as a coat."
    )
    white = (
        "Sealed spots no longer drink, and the paint meets white there. Sealing them is not "
        "counted as a coat."
    )
    row = reckoned.candidates.kind.index("white")
    out.append(trial("spot sealing", "clear sealer on the spots alone", clear))
    out.append(
        trial(
            "spot sealing",
            "white sealer on the spots alone",
            white,
            critical=np.where(thirsty, reckoned.under_um[row], plain),
            grounds=np.where(thirsty[:, None], reckoned.grounds[row], surface.grounds),
            films=None
            if films_um is None or over_white_um is None
            else np.where(thirsty, over_white_um, films_um[: len(over_white_um)]),
        )
    )
    return out


def trial_of(
    index: int,
    job: PreparedJob,
    reckoned: Reckoned,
    spread: FloatArray,
    films_um: FloatArray | None = None,
) -> Trial:
    """One candidate as a trial: its name, and whether it does what the ground needs.

    ``spread`` is that of ln critical film on each patch, shape (p,); ``films_um`` as in ``Trial``.
    """
    candidates, wet_um = reckoned.candidates, job.undercoat_wet_um
    kind = cast("OptionKind", candidates.kind[index])
    lab = candidates.lab[index]
    required: set[str] = {need.kind for need in job.needs if need.coat}
    duty = _duty(required)
    meets = True
    munsell = None
    if kind == "grey":
        value = candidates.value[index]
        munsell = f"N {value:g}/"
        name = f"grey {duty} N {value:g}"
    elif kind == "white":
        name = f"white {duty}"
    elif kind == "tint":
        name = f"tinted {duty}"
    else:
        assert job.owned is not None
        own = job.owned.cans[index - (len(candidates) - len(job.owned.cans))]
        name = own.name
        meets = ("adhesion" not in required or own.bonds) and (
            "blocking" not in required or own.blocks
        )
        wet_um = own.wet_film_um or wet_um
    return Trial(
        kind,
        name,
        lab,
        munsell,
        candidates.parts[index],
        1,
        reckoned.under_um[index],
        np.zeros_like(job.surface.lost),
        spread,
        reckoned.grounds[index],
        wet_um,
        meets,
        undercoat_why(kind, lab, job.topcoat.chip_lab),
        index,
        films_um,
    )


def _duty(required: set[str]) -> str:
    if required == {"adhesion", "blocking"}:
        return "bonding, stain-blocking undercoat"
    if required == {"adhesion"}:
        return "bonding undercoat"
    if required == {"blocking"}:
        return "stain-blocking undercoat"
    return "undercoat"
