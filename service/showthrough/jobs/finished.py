"""A finished job as later jobs are told of it: what was expected, and what it came to."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
from pydantic import ValidationError

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.errors import InputError
from showthrough.film.thickness import EVEN_TOLERANCE, FilmTable
from showthrough.jobs.bench.case import Case, bench_of, part_of
from showthrough.jobs.bench.days import expected_of
from showthrough.jobs.case.learned import evidence_factor, is_measured, paint_key
from showthrough.jobs.case.prepared import PreparedJob, prepare
from showthrough.jobs.predict import outlined
from showthrough.jobs.schema.finished import MOST_SPREAD, Finished
from showthrough.jobs.schema.wrong import problems_of
from showthrough.jobs.undercoats.ways import Under, Ways
from showthrough.records.learning.likelihood import Outcome

_LEAST_NEED, _MOST_NEED = 0.05, 1000.0
"""Films, in coats, between which a count of coats says something of hiding."""


def finished_entry(
    job: Mapping[str, Any] | PreparedJob,
    folder: Path | None = None,
    *,
    coats: int | None = None,
    outcome: Outcome = "enough",
    stopped_by: Literal["colour", "even"] = "colour",
    way: str | None = None,
    minutes: Mapping[str, float] | None = None,
    **logged: Any,
) -> dict[str, Any]:
    """A row of ``finished`` for later jobs of the same painter.

    What was expected is told as it was without earlier jobs, so that each job teaches once.
    "Even" teaches as much as the chip's colour does, as its film is told in place of that: the
    film from which no two patches differ. Of one patch alone it teaches nothing. Where no more
    coats were laid than are laid in any case, nobody saw whether fewer would have done.

    Args:
        job: as for ``predict``; of one with groups its largest group is told of.
        folder: where files that the job names are looked for; None refuses files.
        coats: topcoats that were laid; None where there is no count to tell.
        outcome: whether they were enough, and whether anybody looked before the last one.
        stopped_by: what each coat was judged by: the chip's colour, or whether the patches show.
        way: key of the way that was gone, as the answer's ways have it; the leading one if absent.
        minutes: time by step of the plan, of topcoats for each coat.
        logged: further keys of the row as they were logged: ``failed_by``, ``gauge_um``,
            ``paint_ml``, ``area_m2``, ``transfer``, ``dried_h``.

    Raises:
        InputError: with every problem of the job or of what was logged, by field.
    """
    made = prepare(job, folder)
    if made.learned is not None:
        made = replace(made.learned.before, part=made.part, bench=made.bench)
    found = outlined(replace(made, test_piece=None))
    film, other = None, 1.0
    if found.ways is not None:
        film, other = _film(made, _under(found.ways, way), stopped_by)
    case = Case(made, found.ways, tuple(found.plan), part_of(made))
    expected, recoat = expected_of(case, bench_of(made))
    seen = outcome
    if outcome == "enough" and coats is not None and 1 < coats <= made.least_topcoats:
        seen = "did not look"
    row: dict[str, Any] = {
        "paint": paint_key(made.topcoat),
        "tool": made.film.tool,
        "coat": made.film.coat,
        "film_from": made.film.basis,
        "film_coats": film,
        "paint_spread": made.topcoat.paint.geometric_sd,
        "film_spread": made.build.geometric_sd,
        "other_spread": other,
        "evenness_cv": made.build.evenness_cv,
        "evidence_factor": evidence_factor(made.topcoat),
        "coats": coats,
        "outcome": seen,
        "stopped_by": stopped_by,
        "measured": is_measured(made.topcoat),
        "wet_film_um": made.build.wet_film_thickness_um,
        "chemistry": made.topcoat.chemistry,
        "work": [
            {"work": work, "minutes": spent, "expected": expected[work]}
            for work, spent in (minutes or {}).items()
            if work in expected
        ],
        **_part(made, bench_of(made).pieces),
        **logged,
    }
    if row.get("dried_h") is not None:
        row["expected_h"] = recoat
    try:
        Finished.model_validate(row)
    except ValidationError as error:
        raise InputError(problems_of(error, Finished)) from None
    return {key: value for key, value in row.items() if value not in (None, [])}


def _part(job: PreparedJob, pieces: int) -> dict[str, Any]:
    """How the paint met the piece, where the job says."""
    part = job.part
    if part is None:
        return {}
    gun = part.tool if job.film.tool == "spray" else None
    area = pieces * part.size.area_m2 if part.area_stated else None
    return {"gun": gun, "openness": part.openness, "area_m2": area, "transfer": part.transfer}


def _under(ways: Ways, key: str | None) -> Under:
    """What lay under the topcoat in the way that was gone."""
    if key is None:
        return ways.ways[0].under
    every = [way.under for way in (*ways.ways, *ways.unfit)]
    found = next((under for under in every if under.key == key), None)
    if found is None:
        known = ", ".join(under.key for under in every)
        told = f"“{key}” is no way to do this job; known here: {known}"
        raise InputError.at("way", key, told)
    return found


def _film(job: PreparedJob, under: Under, stopped_by: str) -> tuple[float | None, float]:
    """The film that was asked for, in coats, and the factor by which it may be out besides.

    The film is None where a count of coats would say nothing of hiding.
    """
    if stopped_by == "even":
        film, sigma = _even_um(job, under), float(under.sigma_ln.max())
    else:
        worst = int(np.argmax(under.hiding_um))
        film = float(under.hiding_um[worst])
        sigma = math.hypot(float(under.sigma_ln[worst]), _sigma_of(under.films_um, worst))
    need = film / job.build.dry_film_thickness_um
    known = _LEAST_NEED <= need <= _MOST_NEED
    return (need, min(math.exp(sigma), MOST_SPREAD)) if known else (None, 1.0)


def _sigma_of(films_um: FloatArray | None, worst: int) -> float:
    """Standard deviation of ln film over the readings of a patch."""
    if films_um is None:
        return 0.0
    films = films_um[:, worst]
    sound = films[np.isfinite(films) & (films > 0.0)]
    return float(np.log(sound).std()) if sound.size > 1 else 0.0


_FILMS = 240
_FURTHEST = 4.0
"""Times the film that hides, up to which evenness is sought."""


def _even_um(job: PreparedJob, under: Under) -> float:
    """Film from which no two patches differ, µm; 0 for one patch, inf where they always do."""
    p, most = len(under.hiding_um), float(under.hiding_um.max())
    if p < 2 or not 0.0 < most < math.inf:
        return 0.0
    films = np.geomspace(1e-3, _FURTHEST, _FILMS) * most
    paint = job.topcoat.paint
    table = FilmTable.of(paint.absorption[None], paint.scattering[None], under.substrates)
    lab = table.take(np.tile(np.arange(p), films.size)).lab(np.repeat(films, p))
    lab = lab.reshape(films.size, p, 3)
    first, second = np.triu_indices(p, 1)
    delta_e = ciede2000(lab[:, first], lab[:, second]).max(axis=1)
    uneven = np.flatnonzero(delta_e > EVEN_TOLERANCE)
    if not uneven.size:
        return 0.0
    last = int(uneven[-1])
    if last + 1 == films.size:
        return math.inf
    # Between the last film that shows and the first that does not the difference is as good
    # as straight over the logarithm of the film.
    part = (delta_e[last] - EVEN_TOLERANCE) / (delta_e[last] - delta_e[last + 1])
    return float(films[last] * (films[last + 1] / films[last]) ** part)
