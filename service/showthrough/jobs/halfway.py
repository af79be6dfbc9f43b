"""Half way: topcoats are on, or a test piece was tried, and the question is what is left.

What is seen of a film narrows paint and hand alike: counts, paint and days of the rest are
reckoned among those jobs alone that would have looked so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from showthrough.errors import InputError, ProblemList, shown
from showthrough.film.coats import MOST_COATS, Outlook
from showthrough.jobs.answers.halfway import HalfWay
from showthrough.jobs.answers.prediction import PlanStep
from showthrough.jobs.bench.case import Case, bench_of, part_of
from showthrough.jobs.bench.days import dates_of
from showthrough.jobs.bench.order import whole_of
from showthrough.jobs.case.bench import start_of
from showthrough.jobs.case.prepared import PreparedJob, prepare
from showthrough.jobs.plan import plan_of
from showthrough.jobs.predict import Outline, outlined_groups
from showthrough.jobs.schema.job import TestPiece
from showthrough.jobs.undercoats.ways import Way, Ways, plain_outlook
from showthrough.jobs.whole import (
    all_cautions,
    assumptions_of,
    days_shown,
    product_shown,
    steps_shown,
)
from showthrough.say import halfway as words
from showthrough.say.chances import HARDLY
from showthrough.say.plan import UNDER
from showthrough.say.whole import half_told
from showthrough.workshop.limits import number, whole

LEAST_FORESEEN = 0.005
"""What fewer jobs than these would show is no ground for a count: something else is at work."""

MOST_LEFT_ML = 200_000.0


@dataclass(frozen=True, slots=True)
class _Left:
    """What is left to do, and how it is told."""

    case: Case
    headline: str
    foreseen: float
    """Chance, before, of what was seen."""
    more: dict[int, float]
    counts: tuple[int | None, int | None, int | None] = (None, None, None)
    """Topcoats more: likely, low, high."""
    advice: tuple[str, ...] = ()
    why_not: tuple[str, ...] = ()


def half_way(
    job: Mapping[str, Any] | PreparedJob,
    folder: Path | None = None,
    *,
    enough: bool,
    after: int | None = None,
    test_piece: int | None = None,
    way: str | None = None,
    group: str | None = None,
    left_ml: float | None = None,
    now: datetime | None = None,
) -> HalfWay:
    """What is left of a job once some coats were seen.

    Args:
        job: a job as a mapping (the words of the TOML file), or one already prepared.
        folder: where files that the job names are looked for; None refuses files.
        enough: whether the coats were enough, dry and in two lights.
        after: topcoats that are on the piece; or
        test_piece: topcoats that were tried on a test piece.
        way: key of the way that was taken (a key of ``plan(job).ways``); the leading one if
            absent.
        group: which group; the largest if absent.
        left_ml: topcoat that is left in the tins, ml.
        now: the present, an aware moment; the clock's if absent. Work goes on then.

    Returns:
        Chances of further topcoats, paint and days of the rest.

    Raises:
        InputError: with every problem of the job, by field; neither or both of ``after`` and
            ``test_piece``; a way or group that the job has not; an old finish that does not
            hold, over which nothing is counted.
    """
    with ProblemList() as problems:
        with problems.collecting():
            made = prepare(job, folder)
        check_seen(problems, after, test_piece, left_ml)
    outline = _group(made, group)
    before = _taken(outline, way)
    part = part_of(outline.job)
    if left_ml is not None or after is not None:
        # What the job says of the shelf was before the first coat.
        part = part._replace(stock=part.stock._replace(shelf_ml=(left_ml,) if left_ml else ()))
    case = Case(outline.job, before, tuple(outline.plan), part)
    if after is not None:
        on_it = TestPiece(coats=after, enough=enough)
        left = _on_the_piece(case, before, on_it, left_said=left_ml is not None)
    else:
        assert test_piece is not None
        tried = TestPiece(coats=test_piece, enough=enough)
        left = _on_a_test_piece(case, outline, tried, group)
    return _answer(made, outline, before.ways[0], left, after, test_piece, now, enough=enough)


def check_seen(
    problems: ProblemList, after: int | None, test_piece: int | None, left_ml: float | None
) -> None:
    """Note what cannot be of the coats that were seen."""
    if (after is None) == (test_piece is None):
        both = "" if after is None else f"after {after}, test_piece {test_piece}"
        one = "say one of the two: topcoats on the piece (after), or on a test piece (test_piece)"
        problems.add("after", both, one, "missing")
    for name, value in (("after", after), ("test_piece", test_piece)):
        if value is not None:
            whole(problems, name, value, 1, MOST_COATS)
    if left_ml is not None:
        number(problems, "left_ml", left_ml, 0.0, MOST_LEFT_ML, "ml")


def _group(job: PreparedJob, name: str | None) -> Outline:
    """The group that is asked for, the largest if none is."""
    rows = outlined_groups(job)
    parts = [part_of(row.job) for row in rows]
    if name is None:
        sizes = [part.size.area_m2 for part in parts]
        return rows[sizes.index(max(sizes))]
    names = [part.name for part in parts]
    if name not in names:
        raise _unknown("group", name, names)
    return rows[names.index(name)]


def _taken(outline: Outline, key: str | None) -> Ways:
    """The ways, the one that was taken alone."""
    if outline.ways is None:
        raise InputError.at("surface", "", outline.headline, "no_count")
    keys = [one.under.key for one in outline.ways.ways]
    if key is not None and key not in keys:
        raise _unknown("way", key, keys)
    return replace(outline.ways, ways=(outline.ways.ways[0 if key is None else keys.index(key)],))


def _unknown(field: str, value: str, known: list[str]) -> InputError:
    told = f"{shown(value)} is no {field} of this job; it has {', '.join(known)}"
    return InputError.at(field, value, told, "unknown")


def _on_a_test_piece(case: Case, before: Outline, tried: TestPiece, group: str | None) -> _Left:
    """After a test piece the whole job is still to be done, and better known."""
    job = before.job
    reckoned = before.reckoned
    chance = plain_outlook(job, reckoned.plain_um, reckoned.likely_um).chance(tried.coats)
    told = replace(
        job,
        test_piece=tried,
        groups=tuple(replace(one, test_piece=tried) for one in job.groups),
    )
    outline = _group(told, group)
    assert case.ways is not None
    ways = _taken(outline, case.ways.ways[0].under.key)
    way = ways.ways[0]
    under = way.under.undercoats
    plan = plan_of(outline.job, ways, {})
    foreseen = chance if tried.enough else 1.0 - chance
    doubted = foreseen < LEAST_FORESEEN
    return _Left(
        replace(case, job=outline.job, ways=ways, plan=tuple(plan)),
        words.tried_headline(
            tried.coats,
            [step for step in plan if step.kind in UNDER and step.on == ["all"]],
            way.topcoats,
            way.outlook.chance,
            enough=tried.enough,
        ),
        foreseen,
        _more(way.outlook),
        (way.topcoats, _less(way.low, under), _less(way.high, under)),
        (words.ANOTHER_CAUSE,) if doubted else (),
    )


def _less(count: int | None, undercoats: int) -> int | None:
    return None if count is None else count - undercoats


def _on_the_piece(case: Case, ways: Ways, seen: TestPiece, *, left_said: bool) -> _Left:
    """After coats on the piece: further topcoats, what goes over them, and the cure."""
    outlook, least = ways.ways[0].outlook, case.job.least_topcoats
    chance = outlook.chance(seen.coats)
    if seen.enough:
        rest, _ = _rest(case, ways, seen, Outlook((1.0,) * MOST_COATS))
        further = max(least - seen.coats, 0)
        headline = words.enough_headline(seen.coats, least)
        tins = () if left_said or not further else (words.WHAT_IS_LEFT,)
        return _Left(rest, headline, chance, {0: 1.0}, (further,) * 3, tins)
    if 1.0 - chance < LEAST_FORESEEN:
        return _Left(
            replace(case, plan=(), seen=seen),
            words.unforeseen_headline(seen.coats),
            1.0 - chance,
            {},
            advice=(words.ANOTHER_CAUSE, words.NOT_HIDING, words.LOOK_AGAIN),
            why_not=(words.unforeseen_words(seen.coats, chance),),
        )
    rest, way = _rest(case, ways, seen, outlook.after(chance, enough=False))
    more = _more(way.outlook)
    counted = way.topcoats is not None
    advice = (
        (1.0 - chance < HARDLY, words.ANOTHER_CAUSE),
        (True, words.LOOK_AGAIN),
        (True, words.NOT_HIDING),
        (counted and not left_said, words.WHAT_IS_LEFT),
    )
    return _Left(
        rest,
        words.more_headline(seen.coats, more, way.topcoats),
        1.0 - chance,
        more,
        (way.topcoats, way.low, way.high),
        tuple(told for holds, told in advice if holds),
        () if counted else (words.NO_COUNT,),
    )


def _rest(case: Case, ways: Ways, seen: TestPiece, outlook: Outlook) -> tuple[Case, Way]:
    """The case of what is left and its way; ``outlook`` counts all topcoats, those on it too."""
    job, taken = case.job, ways.ways[0]
    least = max(job.least_topcoats - seen.coats, 1)
    further = outlook.enough[seen.coats :]  # none after 12: more is another method
    rest = Outlook.of((*further, *(outlook.enough[-1],) * seen.coats))
    way = Way.of(taken.under._replace(undercoats=0, spots=()), rest, least)
    plan: list[PlanStep] = []
    if way.topcoats is not None:
        two = replace(ways, ways=(taken._replace(topcoats=2),))  # so that it has all steps
        plan = _tail(plan_of(job, two, {}), way.topcoats, seen, job.least_topcoats)
    left = replace(
        case,
        job=replace(job, least_topcoats=least),
        ways=replace(ways, ways=(way,)),
        plan=tuple(plan),
        seen=seen,
    )
    return left, way


def _tail(plan: list[PlanStep], further: int, seen: TestPiece, least: int) -> list[PlanStep]:
    """The plan from the next topcoat on: dry coats are sanded before it."""
    first = next(i for i, step in enumerate(plan) if step.kind == "topcoat")
    topcoat, *after = plan[first:]
    denib = [step for step in after if step.kind == "denib"]
    others = [step for step in after if step.kind != "denib"]
    if seen.enough and seen.coats >= least:
        return others
    return [*denib, topcoat.model_copy(update={"coats": further}), *others]


def _more(outlook: Outlook) -> dict[int, float]:
    """Chances of 1, 2 ... topcoats, as far as they grow."""
    out: dict[int, float] = {}
    for n, chance in enumerate(outlook.enough, 1):
        if n > 1 and chance == outlook.enough[n - 2]:
            break
        out[n] = round(chance, 4)
        if chance >= 0.99:
            break
    return out


def _answer(
    job: PreparedJob,
    outline: Outline,
    taken: Way,
    left: _Left,
    after: int | None,
    test_piece: int | None,
    now: datetime | None,
    *,
    enough: bool,
) -> HalfWay:
    bench, case = bench_of(job), left.case
    moment = now or datetime.now(UTC)
    start = start_of(bench, moment) if after is None else moment
    found = whole_of((case,), bench) if case.plan and case.lead is not None else None
    dates = None if found is None else dates_of(found.lots, bench, start)
    paint = [] if found is None else [product_shown(p, found) for p in found.materials.products]
    tried = after is None
    paint = [p.model_copy(update={"advice": half_told(p.advice, tried=tried)}) for p in paint]
    cautions = all_cautions([case], bench)
    grouped = len(job.groups) > 1
    likely, low, high = left.counts
    return HalfWay(
        title=job.title,
        units="us" if bench.units == "us" else "metric",
        topcoat_name=outline.topcoat_name,
        group=case.part.name if grouped else None,
        way=taken.under.key,
        way_name=taken.under.name,
        after=after or 0,
        test_piece=test_piece,
        enough=enough,
        headline=left.headline,
        foretold=_more(taken.outlook),
        foreseen=round(left.foreseen, 4),
        more=left.more,
        likely=likely,
        low=low,
        high=high,
        area_m2=round(bench.pieces * case.part.size.area_m2, 4),
        area_stated=case.part.area_stated,
        steps=steps_shown([case], found),
        paint=paint,
        days=None if found is None or dates is None else days_shown(found, dates, start),
        advice=list(left.advice),
        why_not=list(left.why_not),
        cautions=[caution.whole for caution in cautions],
        cautions_short=list(dict.fromkeys(caution.short for caution in cautions)),
        assumptions=[
            *([words.elsewhere(case.part.name)] if grouped else []),
            *([words.FROM_NOW] if after is not None and dates is not None else []),
            *assumptions_of([case], [outline], found, bench),
        ],
    )
