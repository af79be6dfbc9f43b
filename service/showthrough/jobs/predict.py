"""How many coats a topcoat takes over a surface, and what would change that."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import hexes_of_labs
from showthrough.film.coats import (
    ADVISED_LEAST_COATS,
    MOST_COATS,
    coats_needed,
    count_coats,
)
from showthrough.film.hiding import paint_from_colour
from showthrough.film.knowledge import NOTHING_KNOWN
from showthrough.film.questions import open_questions
from showthrough.jobs.answers.prediction import (
    Coats,
    ColourShown,
    CountRange,
    HidingShown,
    IfKnown,
    Narrowing,
    NeedShown,
    PatchShown,
    Prediction,
    rounded_lab,
)
from showthrough.jobs.case.finishes import finishes_shown
from showthrough.jobs.case.prepared import PreparedJob, Surface, prepare, prepare_file
from showthrough.jobs.ladder import films_after, ladder_of, ladder_steps
from showthrough.jobs.undercoats.search import Search, search_undercoats
from showthrough.jobs.undercoats.trials import reckon
from showthrough.palette.beside import rank_finishes
from showthrough.say import words
from showthrough.workshop.cautions import cautions_for
from showthrough.workshop.grounds import Ground


def predict(job: Mapping[str, Any] | PreparedJob, folder: Path | None = None) -> Prediction:
    """Answer a job.

    Args:
        job: a job as a mapping (the words of the TOML file), or one already prepared.
        folder: where files that the job names are looked for; None refuses files.

    Returns:
        The whole answer; see ``jobs.result``.

    Raises:
        InputError: with every problem of the job, by field.
    """
    return predicted(prepare(job, folder))[0]


def predicted(job: PreparedJob) -> tuple[Prediction, Search]:
    """The answer to a prepared job, beside the undercoats that it was chosen from."""
    topcoat, build, surface = job.topcoat, job.build, job.surface
    paint, chip = topcoat.paint, topcoat.chip_lab
    reckoned = reckon(job)
    hiding_um = reckoned.plain_um
    films_um = None if job.readings is None else job.readings.critical_um()
    counts = count_coats(job.patch_needs(hiding_um, films_um), build)
    names = job.names
    reached = films_after(paint, chip, surface, build, MOST_COATS, job.ground_lab)
    even = reached.even_after() if len(names) > 1 else None
    search = search_undercoats(job, reckoned, films_um)
    last = min((counts.likely or MOST_COATS) + 1, MOST_COATS)
    ladder = ladder_steps(names, reached, last)
    under_ladder = None
    if search.best is not None and search.best_helps:
        sealed = Surface(search.best.grounds, np.zeros_like(surface.lost), surface.sigma_ln)
        topcoats = search.options[search.best.rank - 1].topcoats or 1
        under_ladder = ladder_of(names, paint, chip, sealed, build, min(topcoats + 1, MOST_COATS))
    coats = Coats(
        likely=counts.likely,
        low=counts.low,
        high=counts.high,
        enough={n: round(p, 4) for n, p in counts.enough.items()},
        even_after=even,
        reason=words.why_no_count(counts),
        even_reason=_why_not_even(len(names), even),
        advised_least=ADVISED_LEAST_COATS,
        ground_coats=int(job.coat_needed),
    )
    hiding = HidingShown(
        scattering_per_um=round(paint.scattering_per_um, 5),
        evidence=paint.evidence,
        spread=round(paint.spread, 4),
        colour_spread=round(paint_from_colour(topcoat.reflectance).spread, 4),
        measured=paint.evidence in {"drawdown", "spectrum"},
        rests_on=words.rests_on(paint),
        by_colour_alone=_by_colour_alone(job),
        would_narrow=_would_narrow(job, CountRange.of(counts)),
    )
    patches = _patches_shown(job, hiding_um)
    ranking = rank_finishes(chip, job.finishes)
    prediction = Prediction(
        title=job.title,
        topcoat=ColourShown.of(chip),
        topcoat_name=words.topcoat_name(topcoat),
        topcoat_note=topcoat.moved,
        recommendation=words.recommendation(coats, search.options),
        coats=coats,
        ladder=ladder,
        hiding=hiding,
        film=job.film,
        patches=patches,
        undercoats=search.options,
        grey_curve=search.curve,
        best_undercoat=None if search.best is None else search.best.rank,
        undercoat_ladder=under_ladder,
        needs=[
            NeedShown(kind=n.kind, patches=list(n.patches), coat=n.coat, sentence=n.sentence)
            for n in job.needs
        ],
        finishes=finishes_shown(ranking),
        finishes_summary=ranking.summary,
        reasons=words.reasons(hiding, paint, chip, coats, patches, search, build),
        cautions=_cautions(job),
        assumptions=[*job.film_assumptions, *topcoat.notes, *words.assumptions(job)],
    )
    return prediction, search


def predict_file(path: str | Path) -> Prediction:
    """Answer a TOML job file; files that it names are read beside it.

    Raises:
        InputError: the file cannot be read, or the job is wrong.
    """
    return predict(prepare_file(path))


def _cautions(job: PreparedJob) -> list[str]:
    """Cautions for the job; a patch that does not say what it is counts as unknown."""
    grounds = [
        Ground(
            s.name,
            s.ground.kind if s.kind_stated else "unknown",
            share=s.share,
            bleeds="yes" if s.ground.bleeds else None,
            porous=s.ground.porous or None,
            sanded_through=s.ground.sanded_through,
            bare=s.ground.bare or None,
        )
        for s in job.substrates
    ]
    film = job.film
    found = cautions_for(
        grounds, tool=film.tool, wet_film_um=film.wet_film_um, topcoat_bonds=job.topcoat.bonds
    )
    return [caution.whole for caution in found]


def _by_colour_alone(job: PreparedJob) -> CountRange | None:
    """The counts that the topcoat's colour alone would give, beside better evidence."""
    topcoat = job.topcoat
    if topcoat.paint.evidence == "colour" and topcoat.paint.facts == NOTHING_KNOWN:
        return None
    (counts,) = job.counts_with([paint_from_colour(topcoat.reflectance)])
    return CountRange.of(counts)


def _would_narrow(job: PreparedJob, now: CountRange) -> Narrowing | None:
    """The most telling fact that is not known and would change a count, with its answers."""
    topcoat = job.topcoat
    if topcoat.guess is None:
        return None
    for question in open_questions(topcoat.reflectance, topcoat.paint.facts):
        counts = job.counts_with([topcoat.guess(told.facts) for told in question.answers])
        answers = [
            IfKnown(
                answer=getattr(told.facts, question.fact), likely=n.likely, low=n.low, high=n.high
            )
            for told, n in zip(question.answers, counts, strict=True)
        ]
        if any((a.likely, a.low, a.high) != (now.likely, now.low, now.high) for a in answers):
            asked = words.QUESTIONS[question.fact]
            return Narrowing(fact=question.fact, question=asked, answers=answers)
    return None


def _why_not_even(patches: int, even: int | None) -> str | None:
    """Why there is no count for evenness, or None where there is one."""
    if patches == 1:
        return "There is one patch only, so there is nothing to compare."
    if even is None:
        return f"The patches still differ after {MOST_COATS} coats."
    return None


def _patches_shown(job: PreparedJob, hiding_um: FloatArray) -> list[PatchShown]:
    build = job.build
    counts = coats_needed(hiding_um / build.dry_film_um, job.surface.lost, build.evenness_cv)
    hexes = hexes_of_labs(job.ground_lab)
    return [
        PatchShown(
            name=patch.name,
            share=round(patch.share, 4),
            skin=patch.skin,
            lab=rounded_lab(patch.colour.lab),
            hex=hex_,
            critical_um=round(float(x), 3) if math.isfinite(x) else None,
            coats=int(n) if n <= MOST_COATS else None,
        )
        for patch, hex_, x, n in zip(job.substrates, hexes, hiding_um, counts, strict=True)
    ]
