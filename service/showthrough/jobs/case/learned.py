"""What the painter's finished jobs change in a prepared job: paint, film, transfer, pace, drying.

It enters where a label or a drawdown does: the paint's K and S and the film of a coat are moved
before anything is reckoned from them. Leaving an entry out gives back the answer without it, bit
for bit, as nothing is kept.

Two paints are the same where the painter calls them the same, capitals and spaces aside; of
paints without a name, where their colours agree to the whole numbers of CIELAB. The hand with a
tool is that of its light or full coats; where the film was stated or worked out from paint used,
it is a hand of its own, since what was stated is then what it departs from.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from showthrough.defaults import usual
from showthrough.film.coats import USUAL_SOLIDS_GEOMETRIC_SD
from showthrough.film.hiding import paint_from_colour
from showthrough.jobs.case.paints import PreparedTopcoat, film_build
from showthrough.jobs.case.parts import usual_transfer
from showthrough.records.learning.likelihood import JOB_SIGMA, JobCount
from showthrough.records.learning.logs import Laid, Rate, laid_of, rate_of
from showthrough.records.learning.posterior import Effects, learn, relevant
from showthrough.workshop.paint.transfer import USUAL_OPENNESS, tool_class, transfer_of

if TYPE_CHECKING:
    from showthrough.jobs.case.prepared import PreparedJob
    from showthrough.jobs.schema.finished import Finished
    from showthrough.jobs.schema.job import Application

_PACE = [
    math.log(usual(f"learning.{key}")) for key in ("spread of minutes", "minutes between jobs")
]
_DRYING = [
    math.log(usual(f"learning.{key}")) for key in ("spread of drying", "drying between jobs")
]
_FILMS = frozenset({"topcoat", "clear"})
"""Work whose minutes are those of a tool."""


class Learned(NamedTuple):
    """What finished jobs made of a prepared job."""

    before: PreparedJob
    """The job without them."""
    jobs: int
    """How many say something of its coats."""
    hiding_factor: float = 1.0
    """Films that hide are so many times what they were."""
    covariance: float = 0.0
    """Of ln hiding film and of ln 1 / film of a coat, which jobs know best together."""
    transfer: Rate | None = None
    """What stays on the piece over what is usual; a stated part stands whatever jobs say."""
    pace: Mapping[str, Rate] = MappingProxyType({})
    """Own minutes over the expected ones, by step of the plan."""
    drying: Rate | None = None
    """Own hours until the next coat over the expected ones."""


def paint_key(topcoat: PreparedTopcoat) -> str:
    """What tells a paint from others; see the module's heading."""
    if topcoat.name is not None and topcoat.name.strip():
        return _plain(topcoat.name)
    lab = ", ".join(f"{round(float(v)) + 0}" for v in topcoat.chip_lab)
    return f"lab({lab})"


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def is_measured(topcoat: PreparedTopcoat) -> bool:
    """Whether its paint was measured by drawdown, so that jobs tell nothing of it."""
    return topcoat.paint.evidence in {"drawdown", "spectrum"}


def evidence_factor(topcoat: PreparedTopcoat) -> float:
    """Scattering by all that is known of a paint over that by its colour alone."""
    alone = paint_from_colour(topcoat.reflectance)
    return topcoat.paint.scattering_per_um / alone.scattering_per_um


def with_finished(
    job: PreparedJob, finished: Sequence[Finished], application: Application
) -> PreparedJob:
    """A job with what finished jobs teach; the job itself where they teach nothing of it.

    Args:
        job: the prepared job.
        finished: the entries, the latest last.
        application: how the job says that it is painted.
    """
    hand = _Hand.of(job, application)
    laid, with_logs = hand.laid(finished)
    effects, with_counts = _effects(job, finished, hand, laid)
    rates = Learned(
        job,
        len(with_logs | with_counts),
        transfer=None
        if laid is None or not laid.used
        else laid.transfer_given(
            -effects.tool if effects else laid.film, effects.tool_var if effects else laid.film_var
        ),
        pace=_paces(finished, hand),
        drying=rate_of(
            [
                math.log(entry.dried_h / entry.expected_h)
                for entry in finished
                if entry.dried_h is not None
                and entry.expected_h is not None
                and (entry.chemistry or "water-borne") == (job.topcoat.chemistry or "water-borne")
            ],
            *_DRYING,
        ),
    )
    if effects is None and not (rates.transfer or rates.pace or rates.drying):
        return job
    if effects is None:
        return replace(job, learned=rates)
    return _moved(job, application, effects, rates)


class _Hand(NamedTuple):
    """A painter's hand with one tool, and what is known of its film before any job."""

    tool: str
    kind: str
    """By what it loses."""
    openness: str | None
    wet_film_thickness_um: float
    sigma: float
    """Standard deviation of ln dry film."""
    film_sigma: float
    """Of ln wet film alone."""
    transfer_sigma: float
    """Of ln transfer; 0 where it is stated."""
    scale: float
    """Part of the variances that one painter keeps from job to job."""
    noise: float
    """Variance of u from job to job."""

    @classmethod
    def of(cls, job: PreparedJob, application: Application) -> _Hand:
        """The hand of a job, with the scale that leaves its total sigma as it was."""
        paint, film = job.topcoat.paint.sigma_ln, math.log(job.build.geometric_sd)
        # Above 0: no film of a coat is known better than a painter reads one.
        total = paint**2 + film**2
        # At most half of what is unsure is taken to change from job to job.
        noise = min(JOB_SIGMA**2, total / 2.0)
        scale = 1.0 - noise / total
        solids = 0.0 if job.topcoat.solids_stated else math.log(USUAL_SOLIDS_GEOMETRIC_SD)
        stated = application.transfer_efficiency is not None
        return cls(
            hand_key(job.film.tool, job.film.coat, job.film.basis),
            tool_class(job.film.tool, application.gun),
            application.openness,
            job.build.wet_film_thickness_um,
            math.sqrt(scale) * film,
            math.sqrt(scale * (film**2 - solids**2)),
            0.0 if stated else math.log(usual_transfer(application).geometric_sd.value),
            scale,
            noise,
        )

    def laid(self, finished: Sequence[Finished]) -> tuple[Laid | None, set[int]]:
        """What logs say of its film and transfer, and which of the entries do."""
        gauged, used, places = [], [], set()
        for place, entry in enumerate(finished):
            if hand_key(entry.tool, entry.coat, entry.film_from) != self.tool:
                continue
            wet = entry.wet_film_um or (
                self.wet_film_thickness_um if entry.film_from == "tool" else None
            )
            if wet is None:
                continue
            if entry.gauge_um is not None:
                gauged.append(math.log(entry.gauge_um / wet))
                places.add(place)
            if entry.paint_ml is None or entry.area_m2 is None or entry.coats is None:
                continue
            each = entry.paint_ml / (entry.area_m2 * entry.coats)
            if entry.transfer is not None:
                gauged.append(math.log(each * entry.transfer / wet))
            elif self._loses_alike(entry):
                part = transfer_of(entry.tool, entry.gun, entry.openness).part.value
                used.append(math.log(each * part / wet))
            else:
                continue
            places.add(place)
        return laid_of(gauged, used, self.film_sigma, self.transfer_sigma), places

    def _loses_alike(self, entry: Finished) -> bool:
        kind = tool_class(entry.tool, entry.gun)
        openness = entry.openness or USUAL_OPENNESS
        return kind == self.kind and openness == (self.openness or USUAL_OPENNESS)


def hand_key(tool: str, coat: str, film_from: str) -> str:
    """What tells the painter's hand with a tool from others; see the module's heading."""
    return f"{tool}, {coat}" if film_from == "tool" else f"{tool}, stated"


def _effects(
    job: PreparedJob, finished: Sequence[Finished], hand: _Hand, laid: Laid | None
) -> tuple[Effects | None, set[int]]:
    """Effects of paint and tool after all entries, and the places of those with a count."""
    topcoat, paint_sigma = job.topcoat, job.topcoat.paint.sigma_ln
    key, measured = paint_key(topcoat), is_measured(topcoat)
    known = 0.0
    if not measured and any(_plain(entry.paint) == key for entry in finished):
        known = math.log(evidence_factor(topcoat))
    counts, places = [], []
    for place, entry in enumerate(finished):
        if entry.film_coats is None or entry.coats is None or entry.failed_by is not None:
            continue
        need, name = math.log(entry.film_coats), _plain(entry.paint)
        if name == key and not measured and not entry.measured:
            # What was found out of the paint since the job is in its K and S already.
            need += math.log(entry.evidence_factor) - known
        said = (entry.paint_spread, entry.film_spread)
        geometric_sds = [job.topcoat.paint.geometric_sd, job.build.geometric_sd]
        own = [old if new is None else new for old, new in zip(geometric_sds, said, strict=True)]
        counts.append(
            JobCount(
                _named(name, measured=entry.measured),
                hand_key(entry.tool, entry.coat, entry.film_from),
                need,
                entry.coats,
                entry.outcome,
                math.log(own[0]),
                math.log(own[1]),
                entry.lost,
                entry.evenness_cv,
                math.log(entry.other_spread),
            )
        )
        places.append(place)
    film, var = 0.0, hand.sigma**2
    if laid is not None:
        film, var = laid.film, laid.film_var + hand.sigma**2 - hand.film_sigma**2
    paint, scaled = _named(key, measured=measured), math.sqrt(hand.scale) * paint_sigma
    found = learn(
        counts, paint, hand.tool, scaled, math.sqrt(var), tool_mean=-film, measured=measured
    )
    if found is None and laid is not None:
        found = Effects(0, 0.0, -film, scaled**2, var, 0.0, of_paint=False, of_tool=True)
    elif found is not None and laid is not None:
        found = found._replace(of_tool=True)
    taught = relevant(counts, paint, hand.tool, measured=measured)
    return found, {places[i] for i in taught}


def _named(key: str, *, measured: bool) -> str:
    """A paint that was measured departs from another model than the same paint before."""
    return f"measured: {key}" if measured else key


def _moved(
    job: PreparedJob, application: Application, effects: Effects, learned: Learned
) -> PreparedJob:
    """The job with its paint and its film moved."""
    topcoat, film = job.topcoat, math.log(job.build.geometric_sd)
    hand = _Hand.of(job, application)
    old = topcoat.paint.sigma_ln
    total = old**2 + film**2
    # What changes from job to job is shared out as the whole was, so that jobs that say nothing
    # leave each sigma where it is.
    paint_var = effects.paint_var + hand.noise * old**2 / total
    tool_var = effects.tool_var + hand.noise * film**2 / total
    moved = replace(job, learned=learned)
    if effects.of_tool:
        build, shown, assumed = film_build(
            application,
            topcoat.volume_solids,
            solids_stated=topcoat.solids_stated,
            learned=Rate(learned.jobs, -effects.tool, math.sqrt(tool_var)),
        )
        moved = replace(moved, build=build, film=shown, film_assumptions=tuple(assumed))
    if not effects.of_paint:
        return moved
    factor = math.exp(effects.paint)
    paint = replace(
        topcoat.paint,
        absorption=topcoat.paint.absorption / factor,
        scattering=topcoat.paint.scattering / factor,
        geometric_sd=math.exp(math.sqrt(paint_var)),
        evidence="jobs",
    )
    readings = job.readings
    if readings is not None:
        readings = readings._replace(
            absorption=readings.absorption / factor, scattering=readings.scattering / factor
        )
    return replace(
        moved,
        topcoat=topcoat._replace(paint=paint),
        readings=readings,
        learned=learned._replace(hiding_factor=factor, covariance=effects.covariance),
    )


def _paces(finished: Sequence[Finished], hand: _Hand) -> dict[str, Rate]:
    """Own minutes over the expected ones, by step of the plan."""
    logs: dict[str, list[float]] = {}
    for entry in finished:
        for row in entry.work:
            if row.work in _FILMS and tool_class(entry.tool, entry.gun) != hand.kind:
                continue
            logs.setdefault(row.work, []).append(math.log(row.minutes / row.expected))
    rates = {work: rate_of(found, *_PACE) for work, found in logs.items()}
    return {work: rate for work, rate in rates.items() if rate is not None}
