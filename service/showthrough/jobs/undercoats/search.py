"""Which preparation to choose: options ranked by coats, then chance, then paint.

Ranking by what a painter spends lives here; the films themselves come from
``film.undercoat``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import hexes_of_labs
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.film import undercoat as uc
from showthrough.film.coats import FilmBuild, PatchNeed, chance_enough, coats_needed, likely_coats
from showthrough.film.hiding import Paint
from showthrough.film.optics import outside_reflectance
from showthrough.jobs.answers.prediction import ColourShown, GreyCurve, UndercoatOption
from showthrough.jobs.case.prepared import PreparedJob, Surface
from showthrough.jobs.undercoats.grey_curve import grey_curve
from showthrough.jobs.undercoats.trials import (
    UNDERCOAT_SPREAD,
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
class Laid:
    """An undercoat with a colour, as it lies under the topcoat."""

    rank: int
    """Its place among the options."""
    paint: Paint
    dry_film_um: float
    grounds: FloatArray
    """Reflectance inside under the topcoat, shape (p, 31)."""


@dataclass(frozen=True, slots=True)
class Search:
    """What the search over undercoats found."""

    options: list[UndercoatOption]
    curve: GreyCurve
    best: Laid | None
    """The best coat with a colour that gives the ground what it needs, whether or not it saves."""

    @property
    def best_helps(self) -> bool:
        """Whether that coat saves one, or alone brings the colour within reach."""
        if self.best is None:
            return False
        option = self.options[self.best.rank - 1]
        return option.total is not None and (option.saved is None or option.saved > 0)


def search_undercoats(
    job: PreparedJob, reckoned: Reckoned, films_um: FloatArray | None = None
) -> Search:
    """Options ranked: total coats, then the chance of finishing in them, then paint.

    ``films_um`` are the critical films of the job's readings over the plain patches, (m, p).
    """
    candidates, critical = reckoned.candidates, reckoned.under_um
    paint, build = job.topcoat.paint, job.build
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
    spread = np.hypot(job.surface.sigma_ln[None], undercoat_spread(job, reckoned, chosen))
    films = films_over(job.readings, reckoned, chosen)
    trials = [
        *without(job, reckoned, films_um, films[1]),
        *(
            trial_of(index, job, reckoned, spread[place], films[place])
            for place, index in enumerate(chosen)
        ),
    ]
    plain_total = _plain_total(trials[0], job)
    own = _own_colours(trials)
    order = _ranked(
        [
            _option(trial, job, plain_total, colour, beneath)
            for trial, colour, beneath in zip(trials, own, _beneath(trials, job), strict=True)
        ]
    )
    curve = grey_curve(worst[greys], build, uc.closed_grey(paint.absorption, paint.scattering))
    return Search([option for option, _ in order], curve, _best(order, trials, reckoned))


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


def _needs(trial: Trial, job: PreparedJob) -> tuple[PatchNeed, ...]:
    left = Surface(trial.grounds, trial.lost, trial.log_spread)
    return job.patch_needs(trial.critical_um, trial.films_um, left)


def _plain_total(first: Trial, job: PreparedJob) -> int | None:
    """Coats of the simplest way that the ground allows: what savings are counted against."""
    likely = likely_coats(_needs(first, job), job.build)
    return None if likely is None else likely + first.undercoats


def _own_colours(trials: list[Trial]) -> list[ColourShown | None]:
    """The colour of each way's coat, where it has one."""
    colours = iter(ColourShown.of_each([t.lab for t in trials if t.lab is not None]))
    return [None if trial.lab is None else next(colours) for trial in trials]


def _beneath(trials: list[Trial], job: PreparedJob) -> list[list[str]]:
    """Hex of each patch as each way leaves it for the topcoat."""
    grounds = np.stack([trial.grounds for trial in trials])
    lab = spectrum_to_lab(outside_reflectance(grounds))
    # What nothing was put on looks as it did.
    bare = (grounds == job.surface.grounds).all(axis=-1)
    lab = np.where(bare[..., None], job.ground_lab, lab)
    hexes = hexes_of_labs(lab)
    count = len(job.substrates)
    return [hexes[i : i + count] for i in range(0, len(hexes), count)]


def _option(
    trial: Trial,
    job: PreparedJob,
    plain_total: int | None,
    colour: ColourShown | None,
    beneath: list[str],
) -> UndercoatOption:
    build = job.build
    needs = _needs(trial, job)
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
        lab=None if colour is None else colour.lab,
        hex=None if colour is None else colour.hex,
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


def _ranked(options: list[UndercoatOption]) -> list[tuple[UndercoatOption, int]]:
    """The options in order, each beside its place in the list given, with ties told."""

    def coarse(option: UndercoatOption) -> tuple[float, ...]:
        total = math.inf if option.total is None else option.total
        # Going against a need is never first, however few coats it takes.
        return (not option.meets_needs, total, -round(option.chance / _CHANCE_TIE))

    def key(place: int) -> tuple[float, ...]:
        option = options[place]
        return (*coarse(option), _SHELF.index(option.kind), option.paint_um or math.inf)

    ordered = sorted(range(len(options)), key=key)
    out = []
    for rank, place in enumerate(ordered, 1):
        option = options[place]
        tie = (
            rank > 1
            and option.total is not None
            and coarse(option) == coarse(options[ordered[rank - 2]])
        )
        out.append((option.model_copy(update={"rank": rank, "tie": tie}), place))
    return out


def _best(
    order: list[tuple[UndercoatOption, int]], trials: list[Trial], reckoned: Reckoned
) -> Laid | None:
    all_ = reckoned.candidates
    for option, place in order:
        index = trials[place].index
        if index is not None and option.meets_needs and option.total is not None:
            paint = Paint(
                all_.absorption[index], all_.scattering[index], UNDERCOAT_SPREAD, "colour"
            )
            return Laid(option.rank, paint, reckoned.films_um[index], trials[place].grounds)
    return None
