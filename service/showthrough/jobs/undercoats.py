"""Which preparation to choose: options ranked by coats, then chance, then paint.

Ranking by what a painter spends lives here; the films themselves come from
``film.undercoat``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import hex_of_lab, hexes_of_labs
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.film import undercoat as uc
from showthrough.film.build import FilmBuild, PatchNeed, chance_enough, coats_needed, likely_coats
from showthrough.film.ground import Need
from showthrough.film.hiding import Paint
from showthrough.film.optics import outside_reflectance
from showthrough.jobs.grey_curve import grey_curve
from showthrough.jobs.grounds import Surface, patch_needs
from showthrough.jobs.result import (
    GreyCurve,
    UndercoatOption,
    rounded_lab,
)
from showthrough.jobs.schema import OwnedUndercoat
from showthrough.jobs.uncertainty import Readings
from showthrough.jobs.undercoat_trials import (
    Reckoned,
    Trial,
    films_over,
    trial_of,
    undercoat_spread,
    without,
)

_SHELF = ("none", "spot sealing", "clear", "owned", "white", "grey", "tint")
"""Simpler to come by first; breaks ties."""

_CHANCE_TIE = 0.08
"""Chances closer than this are the same to a painter."""


@dataclass(frozen=True, slots=True)
class Search:
    """What the search over undercoats found."""

    options: list[UndercoatOption]
    curve: GreyCurve
    best_ground: FloatArray | None
    """Grounds under the first coloured option that helps, shape (p, 31)."""


def search_undercoats(
    paint: Paint,
    chip_lab: FloatArray,
    surface: Surface,
    build: FilmBuild,
    reckoned: Reckoned,
    needs: tuple[Need, ...],
    undercoat_wet_um: float,
    owned_cans: tuple[OwnedUndercoat, ...] = (),
    ground_lab: FloatArray | None = None,
    readings: Readings | None = None,
    films_um: FloatArray | None = None,
) -> Search:
    """Options ranked: total coats, then the chance of finishing in them, then paint.

    ``ground_lab`` is how the unpainted patches look, shape (p, 3); ``films_um`` are the
    critical films of ``readings`` over the plain patches, shape (m, p).
    """
    candidates, grounds, critical = reckoned.candidates, reckoned.grounds, reckoned.under_um
    worst = critical.max(axis=1)

    kinds = np.array(candidates.kind)
    greys = np.flatnonzero(kinds == "grey")
    tints = np.flatnonzero(kinds == "tint")
    chosen = [
        int(_best_grey(worst[greys], greys, build)),
        int(np.flatnonzero(kinds == "white")[0]),
        int(tints[np.argmin(worst[tints])]),
        *(int(i) for i in np.flatnonzero(kinds == "owned")),
    ]
    spread = np.hypot(
        surface.log_spread[None], undercoat_spread(paint, chip_lab, surface, reckoned, chosen)
    )
    films = films_over(readings, reckoned, chosen)
    coat_needed = any(need.coat for need in needs)
    spots = any(need.kind == "spot sealing" for need in needs)
    trials = [
        *without(
            surface,
            reckoned,
            coat_needed=coat_needed,
            spots=spots,
            wet_um=undercoat_wet_um,
            films_um=films_um,
            over_white_um=films[1],
        ),
        *(
            trial_of(
                index,
                candidates,
                surface,
                grounds[index],
                critical[index],
                spread[place],
                needs,
                owned_cans,
                undercoat_wet_um,
                chip_lab,
                films[place],
            )
            for place, index in enumerate(chosen)
        ),
    ]
    plain_total = _plain_total(trials, paint, build)
    beneath = _beneath(trials, surface, ground_lab)
    options = _ranked(
        [_option(t, paint, build, plain_total, b) for t, b in zip(trials, beneath, strict=True)]
    )
    curve = grey_curve(worst[greys], build, uc.closed_grey(paint.absorption, paint.scattering))
    return Search(options, curve, _best_ground(options, trials))


def _best_grey(worst: FloatArray, index: np.ndarray, build: FilmBuild) -> int:
    """The grey that asks for least film, rounded to a half Munsell step where that is free."""
    best = int(np.argmin(worst))
    count = coats_needed(worst / build.dry_film_um, 0.0, build.evenness_cv)
    halves = np.arange(len(worst)) % 2 == 0
    same = halves & (count == count[best]) & (worst <= 1.1 * worst[best] + 1e-12)
    if same.any():
        places = np.flatnonzero(same)
        best = int(places[np.argmin(worst[places])])
    return int(index[best])


def _needs(trial: Trial, paint: Paint, build: FilmBuild) -> tuple[PatchNeed, ...]:
    return patch_needs(
        trial.critical_um, trial.lost, trial.log_spread, paint, build, trial.films_um
    )


def _plain_total(trials: list[Trial], paint: Paint, build: FilmBuild) -> int | None:
    """Coats of the simplest way that the ground allows: what savings are counted against."""
    first = trials[0]
    likely = likely_coats(_needs(first, paint, build), build)
    return None if likely is None else likely + first.undercoats


def _beneath(
    trials: list[Trial], surface: Surface, ground_lab: FloatArray | None
) -> list[list[str]]:
    """Hex of each patch as each way leaves it for the topcoat."""
    grounds = np.stack([trial.grounds for trial in trials])
    lab = spectrum_to_lab(outside_reflectance(grounds))
    if ground_lab is not None:
        # What nothing was put on looks as it did.
        bare = (grounds == surface.grounds).all(axis=-1)
        lab = np.where(bare[..., None], ground_lab, lab)
    hexes = hexes_of_labs(lab)
    count = len(surface.grounds)
    return [hexes[i : i + count] for i in range(0, len(hexes), count)]


def _option(
    trial: Trial, paint: Paint, build: FilmBuild, plain_total: int | None, beneath: list[str]
) -> UndercoatOption:
    needs = _needs(trial, paint, build)
    topcoats = likely_coats(needs, build)
    total = None if topcoats is None else topcoats + trial.undercoats
    worst = float(trial.critical_um.max())
    parts = None
    if trial.parts is not None:
        parts = {
            word: round(part, 3)
            for word, part in zip(("topcoat", "white", "black"), trial.parts, strict=True)
        }
    return UndercoatOption(
        rank=0,
        kind=trial.kind,
        name=trial.name,
        lab=None if trial.lab is None else rounded_lab(trial.lab),
        hex=None if trial.lab is None else hex_of_lab(trial.lab),
        munsell=trial.munsell,
        parts=parts,
        undercoats=trial.undercoats,
        topcoats=topcoats,
        total=total,
        saved=None if total is None or plain_total is None else plain_total - total,
        chance=0.0
        if topcoats is None
        else round(chance_enough(needs, build.dry_film_um, topcoats, build.evenness_cv), 4),
        critical_um=round(worst, 3) if math.isfinite(worst) else None,
        paint_um=None
        if topcoats is None
        else topcoats * build.wet_film_um + trial.undercoat_wet_um,
        meets_needs=trial.meets_needs,
        beneath=beneath,
        why=trial.why,
    )


def _ranked(options: list[UndercoatOption]) -> list[UndercoatOption]:
    """Order the options and say which are ties."""

    def coarse(option: UndercoatOption) -> tuple[float, ...]:
        total = math.inf if option.total is None else option.total
        # Going against a need is never first, however few coats it takes.
        return (not option.meets_needs, total, -round(option.chance / _CHANCE_TIE))

    def key(option: UndercoatOption) -> tuple[float, ...]:
        return (*coarse(option), _SHELF.index(option.kind), option.paint_um or math.inf)

    ordered = sorted(options, key=key)
    out = []
    for place, option in enumerate(ordered):
        tie = (
            place > 0 and option.total is not None and coarse(option) == coarse(ordered[place - 1])
        )
        out.append(option.model_copy(update={"rank": place + 1, "tie": tie}))
    return out


def helps(option: UndercoatOption) -> bool:
    """Whether a coloured undercoat saves a coat, or alone brings the colour within reach."""
    reached = option.lab is not None and option.total is not None
    return reached and (option.saved is None or option.saved > 0)


def _best_ground(options: list[UndercoatOption], trials: list[Trial]) -> FloatArray | None:
    for option in options:
        if helps(option):
            trial = next(t for t in trials if t.name == option.name and t.kind == option.kind)
            return trial.grounds
    return None
