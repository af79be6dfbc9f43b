"""How many coats a topcoat takes over a surface, and what would change that."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.film.coats import (
    MOST_COATS,
    Outlook,
    coats_needed,
)
from showthrough.film.hiding import Paint, paint_from_colour
from showthrough.film.knowledge import NOTHING_KNOWN
from showthrough.film.questions import Question, open_questions
from showthrough.jobs.answers.prediction import (
    Coats,
    ColourShown,
    CountRange,
    GroupShown,
    HidingShown,
    IfKnown,
    LearnedShown,
    Narrowing,
    NeedShown,
    PatchShown,
    PlanStep,
    Prediction,
    WayShown,
    rounded_lab,
)
from showthrough.jobs.case.finishes import finishes_shown
from showthrough.jobs.case.prepared import PreparedJob, prepare, prepare_file
from showthrough.jobs.ladder import Onto, Reached, films_after, ladder_steps
from showthrough.jobs.plan import plan_of
from showthrough.jobs.undercoats.reckon import Reckoned, reckon
from showthrough.jobs.undercoats.shown import (
    WaysShown,
    curve_shown,
    one_more,
    onto,
    options_shown,
    ways_shown,
)
from showthrough.jobs.undercoats.ways import SAME_WITHIN, Ways, plain_outlook, ways_of
from showthrough.palette.beside import rank_finishes
from showthrough.say import words
from showthrough.say.chances import listed
from showthrough.say.ground import need_sentence
from showthrough.say.learned import learned_sentence
from showthrough.say.paint_facts import paint_facts
from showthrough.say.plan import headline
from showthrough.workshop.cautions import Caution, cautions_for
from showthrough.workshop.grounds import Chemistry

if TYPE_CHECKING:
    from showthrough.jobs.case.bench import Part


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
    made = prepare(job, folder)
    answer, found = predicted(made)
    if not made.groups:
        return answer
    rows = [(row, row.job.part) for row in outlined_groups(made, found)]
    shown = [group_shown(row, part) for row, part in rows if part is not None]
    return answer.model_copy(update={"groups": shown})


@dataclass(frozen=True, slots=True)
class Outline:
    """What is chosen for one job, and what a plan is made from: no figures beside it."""

    job: PreparedJob
    ways: Ways | None
    """None over a finish that does not hold."""
    shown: WaysShown | None
    reckoned: Reckoned
    plain: Reached
    """Films over the plain surface."""
    coats: Coats
    plan: list[PlanStep]
    headline: str
    topcoat: ColourShown
    learned: LearnedShown | None

    @property
    def topcoat_name(self) -> str:
        """What the topcoat is called."""
        return words.topcoat_name(self.job.topcoat)

    @property
    def every_way(self) -> list[WayShown]:
        """The ways as they are shown, the leading one first."""
        return [] if self.shown is None else self.shown.ways

    @property
    def patches(self) -> list[PatchShown]:
        """The surface as it is shown."""
        return _patches_shown(self.job, self.reckoned.plain_um, self.plain.beneath)

    @property
    def questions(self) -> list[str]:
        """What a painter is asked."""
        return [f"{listed(q.patches)}: {q.text}" for q in self.job.questions]

    @property
    def assumptions(self) -> list[str]:
        """What is taken for granted."""
        job = self.job
        notes = job.topcoat.notes
        return [*job.film_assumptions, *notes, *words.assumptions(job), *paint_facts(job)]


def outlined_groups(
    job: PreparedJob, first: Outline | None = None, way: str | None = None
) -> list[Outline]:
    """Every group of a job, or the job itself where it has none.

    Groups that share paint, ground and way of painting share one reckoning.

    Args:
        job: the prepared job.
        first: one of them, where it is known already.
        way: key of the way that leads in every group that has it, whatever else would.
    """
    known = [] if first is None else [first]
    out: list[Outline] = []
    lead = _leading(job)
    for group in job.groups or (job,):
        same = next((row for row in known if _alike(row.job, group)), None)
        name = "" if group.part is None else group.part.name
        out.append(
            outlined(group, lead=way or lead.get(name))
            if same is None
            else replace(same, job=group)
        )
        known.append(out[-1])
    return out


def _alike(one: PreparedJob, two: PreparedJob) -> bool:
    """Whether two groups were prepared from the same words but for how much there is of them."""
    if one.substrates is not two.substrates or one.film is not two.film:
        return False
    if one.bench is not None and one.bench.rank_by != "coats":
        return one.part == two.part  # money and days hang on the area
    finishes = [None if job.part is None else job.part.finish for job in (one, two)]
    return finishes[0] == finishes[1]


def group_shown(row: Outline, part: Part) -> GroupShown:
    """A group in the shape of the answer."""
    return GroupShown(
        name=part.name,
        area_m2=round(part.size.area_m2, 4),
        topcoat=row.topcoat,
        topcoat_name=row.topcoat_name,
        headline=row.headline,
        coats=row.coats,
        ways=row.every_way,
        plan=row.plan,
    )


def _leading(job: PreparedJob) -> dict[str, str]:
    """Keys of the leading ways by group, where the whole job's money or days decide."""
    if job.bench is None or job.bench.rank_by == "coats" or not job.groups:
        return {}
    from showthrough.jobs.bench.order import leading_ways

    return leading_ways(job)


def outlined(job: PreparedJob, guesses: Sequence[Paint] = (), lead: str | None = None) -> Outline:
    """The ways of a prepared job and the plan of the leading one.

    Args:
        job: the prepared job.
        guesses: other paints that the topcoat might be, whose films are found in the same search.
        lead: key of the way that leads, where all groups together or the asker decide it.
    """
    reckoned = reckon(job, guesses)
    ways = None if job.unsound else _ordered(job, ways_of(job, reckoned), lead)
    plain_um, films_um = reckoned.plain_um, reckoned.likely_um
    outlook = plain_outlook(job, plain_um, films_um) if ways is None else ways.plain
    likely = None if job.unsound else outlook.first(0.5)
    plainly = None if likely is None else max(likely, job.least_topcoats)
    over = [Onto(job.beneath, MOST_COATS, one_more(plainly), job.seen.lab)]
    every = () if ways is None else (*ways.ways, *ways.unfit)
    over += [one for way in every if (one := onto(way)) is not None]
    chip = job.topcoat.chip_lab
    plain, *films = films_after(job.topcoat.paint, chip, over, job.build)
    even = plain.even_after() if len(job.names) > 1 else None
    shown = None if ways is None else ways_shown(job, ways, plain, films)
    plan = plan_of(job, ways, {} if shown is None else shown.colours)
    return Outline(
        job,
        ways,
        shown,
        reckoned,
        plain,
        _coats(job, outlook, even),
        plan,
        headline(plan, [] if shown is None else shown.ways),
        ColourShown.of(chip),
        _learned(job, outlook, plain_um, films_um),
    )


def predicted(job: PreparedJob) -> tuple[Prediction, Outline]:
    """The answer to a prepared job, beside the outline that it was made from."""
    topcoat, paint = job.topcoat, job.topcoat.paint
    questions = _questions(job)
    alone = _by_colour_alone(job)
    told = [answer.paint for q in questions for answer in q.answers]
    guesses = [*told, *([] if alone is None else [alone])]
    lead = _leading(job).get("" if job.part is None else job.part.name)
    found = outlined(job, guesses, lead)
    reckoned, ways, shown, coats = found.reckoned, found.ways, found.shown, found.coats
    told_um, alone_um = reckoned.guessed_um[: len(told)], reckoned.guessed_um[len(told) :]
    best = None if ways is None else ways.best_coloured
    under = None if best is None or shown is None else shown.ways[best]
    helps = under is not None and under.saves >= SAME_WITHIN and under.total is not None
    hiding = HidingShown(
        scattering_per_um=round(paint.scattering_per_um, 5),
        evidence=paint.evidence,
        spread=round(paint.geometric_sd, 4),
        colour_spread=round((alone or paint).geometric_sd, 4),
        measured=paint.evidence in {"drawdown", "spectrum"},
        rests_on=words.rests_on(paint),
        by_colour_alone=None
        if alone is None
        else CountRange.of(job.counts_with([alone], alone_um)[0]),
        would_narrow=_would_narrow(job, coats, questions, told_um),
    )
    patches = found.patches
    ranking = rank_finishes(topcoat.chip_lab, job.finishes)
    cautions = cautions_of(job)
    prediction = Prediction(
        title=job.title,
        topcoat=found.topcoat,
        topcoat_name=found.topcoat_name,
        topcoat_note=topcoat.moved,
        headline=found.headline,
        recommendation=found.headline,
        plan=found.plan,
        ways=found.every_way,
        questions=found.questions,
        coats=coats,
        learned=found.learned,
        ladder=ladder_steps(job.names, found.plain, one_more(coats.likely)),
        hiding=hiding,
        film=job.film,
        patches=patches,
        undercoats=[] if shown is None or ways is None else options_shown(job, ways, shown),
        grey_curve=curve_shown(job, ways),
        best_undercoat=None if best is None else best + 1,
        undercoat_ladder=under.ladder if under is not None and helps else None,
        needs=[
            NeedShown(
                kind=need.kind,
                patches=list(need.patches),
                coat=need.all_over,
                sentence=need_sentence(need),
            )
            for need in job.needs
        ],
        finishes=finishes_shown(ranking),
        finishes_summary=ranking.summary,
        reasons=([] if found.learned is None else [found.learned.sentence])
        + words.reasons(
            hiding,
            paint,
            topcoat.chip_lab,
            coats,
            patches,
            found.every_way,
            job.build,
            reckoned.own_um,
            delta_e=float(found.plain.delta_e[0, 0].max()),
            learned=1.0 if job.learned is None else job.learned.hiding_factor,
        ),
        cautions=[caution.whole for caution in cautions],
        cautions_short=[caution.short for caution in cautions],
        assumptions=found.assumptions,
    )
    return prediction, found


def _ordered(job: PreparedJob, ways: Ways, lead: str | None) -> Ways:
    """The ways as the job wants them ranked: by coats, or by money or days."""
    found = ways
    if job.bench is not None and job.bench.rank_by != "coats":
        from showthrough.jobs.bench.order import ranked

        found = ranked(job, ways)
    first = [way for way in found.ways if way.under.key == lead]
    rest = [way for way in found.ways if way.under.key != lead]
    return replace(found, ways=(*first, *rest))


def _coats(job: PreparedJob, outlook: Outlook, even: int | None) -> Coats:
    """The topcoat straight onto what the ground needs; no count over an unsound finish."""
    likely, low, high = (None if job.unsound else outlook.first(level) for level in (0.5, 0.1, 0.9))
    sure = outlook.first(0.99) or MOST_COATS
    return Coats(
        likely=likely,
        low=low,
        high=high,
        enough={n: round(p, 4) for n, p in enumerate(outlook.enough[:sure], 1)},
        even_after=even,
        reason=words.why_no_count(likely, high, unsound=[u.work for u in job.unsound]),
        even_reason=_why_not_even(len(job.names), even),
        advised_least=job.least_topcoats,
        ground_coats=sum(need.coats for need in job.needs if need.all_over),
    )


def _learned(
    job: PreparedJob, now: Outlook, hiding_um: FloatArray, films_um: FloatArray | None
) -> LearnedShown | None:
    """How finished jobs moved the count; None where none says anything of it."""
    learned = job.learned
    if learned is None or not learned.jobs or job.unsound:
        return None
    factor = learned.hiding_factor
    films = None if films_um is None else films_um / factor
    told = plain_outlook(learned.before, hiding_um / factor, films)
    before, after = CountRange.of(told), CountRange.of(now)
    return LearnedShown(
        jobs=learned.jobs,
        before=before,
        after=after,
        sentence=learned_sentence(learned.jobs, before, after, job.least_topcoats),
    )


def predict_file(path: str | Path) -> Prediction:
    """Answer a TOML job file; files that it names are read beside it.

    Raises:
        InputError: the file cannot be read, or the job is wrong.
    """
    return predict(prepare_file(path))


def cautions_of(
    job: PreparedJob, tool: str | None = None, chemistry: Chemistry | None = None
) -> tuple[Caution, ...]:
    """What can hurt someone in this job.

    Args:
        job: the prepared job.
        tool: of another product than the topcoat that is laid on the piece; None means the
            topcoat.
        chemistry: of that product.
    """
    return cautions_for(
        [s.ground for s in job.substrates],
        tool=job.film.tool if tool is None else tool,
        wet_film_thickness_um=job.film.wet_film_um if tool is None else 0.0,
        topcoat_chemistry=job.topcoat.chemistry if tool is None else chemistry,
        lead_test=job.lead_test,
        child=job.child,
        antique=job.antique,
    )


def _by_colour_alone(job: PreparedJob) -> Paint | None:
    """The paint as its colour alone would have it, where something better is known."""
    paint = job.topcoat.paint
    if paint.evidence == "jobs" or (paint.evidence == "colour" and paint.facts == NOTHING_KNOWN):
        return None
    return paint_from_colour(job.topcoat.reflectance)


def _questions(job: PreparedJob) -> tuple[Question, ...]:
    """What could be found out about the topcoat's paint, where its hiding is a guess."""
    if job.topcoat.guesses is None or job.unsound or job.test_piece is not None:
        return ()  # nothing to guess, nothing counted, or a coat has told more already
    if job.topcoat.paint.evidence == "jobs":
        return ()
    return open_questions(job.topcoat.guesses, job.topcoat.paint)


def _would_narrow(
    job: PreparedJob, now: Coats, questions: tuple[Question, ...], hiding_um: FloatArray
) -> Narrowing | None:
    """The most telling fact that would change a count, with its answers.

    ``hiding_um`` are the films of all answers of all questions, in order, shape (g, p).
    """
    rows = iter(hiding_um)
    for question in questions:
        paints = [answer.paint for answer in question.answers]
        counts = job.counts_with(paints, np.array(list(islice(rows, len(paints)))))
        answers = [
            IfKnown(
                answer=getattr(told.paint.facts, question.fact),
                **CountRange.of(outlook).model_dump(),
            )
            for told, outlook in zip(question.answers, counts, strict=True)
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


def _patches_shown(
    job: PreparedJob, hiding_um: FloatArray, hexes: Sequence[str]
) -> list[PatchShown]:
    build = job.build
    counts = coats_needed(hiding_um / build.dry_film_thickness_um, 0.0, build.evenness_cv)
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
