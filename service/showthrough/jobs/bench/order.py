"""Ways in money and in days, and the order that they give where a painter asks for it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal

from showthrough.jobs.bench.case import Case, bench_of, part_of
from showthrough.jobs.bench.costs import Reckoning, costs_of
from showthrough.jobs.bench.days import Lot, dates_of, lots_of
from showthrough.jobs.bench.products import Materials, materials_of
from showthrough.jobs.case.bench import Bench
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.plan import plan_of
from showthrough.jobs.undercoats.reckon import reckon
from showthrough.jobs.undercoats.ways import Way, Ways, ways_of
from showthrough.workshop.paint.cans import Shopping
from showthrough.workshop.price.money import Money

_A_MONDAY = datetime(2001, 1, 1, 8, tzinfo=UTC)
"""Ways are compared over a week of work that begins on a Monday, whatever today is."""


@dataclass(frozen=True, slots=True)
class Whole:
    """Groups with all that follows from their ways."""

    cases: tuple[Case, ...]
    bench: Bench
    materials: Materials
    shopping: dict[str, Shopping | None]
    lots: tuple[Lot, ...]
    money: Reckoning | None


def whole_of(cases: tuple[Case, ...], bench: Bench) -> Whole:
    """Paint, steps and money of groups whose ways all have a count."""
    materials = materials_of(cases, bench)
    shopping = {p.name: p.shopping(bench) if p.to_buy else None for p in materials.products}
    lots = lots_of(cases, bench)
    largest = max(range(len(cases)), key=lambda i: cases[i].part.size.area_m2)
    main = next(i for i, lot in enumerate(lots) if largest in lot.cases)
    money = costs_of(lots, main, materials, shopping, bench)
    return Whole(cases, bench, materials, shopping, lots, money)


def with_way(case: Case, way: Way) -> Case:
    """A group done in another of its ways."""
    assert case.ways is not None
    rest = tuple(one for one in case.ways.ways if one is not way)
    ways = replace(case.ways, ways=(way, *rest))
    return replace(case, ways=ways, plan=tuple(plan_of(case.job, ways, {})))


@dataclass(frozen=True, slots=True)
class WayWorth:
    """One way in money and days."""

    expected: Money | None
    done: datetime
    """Likely hand-over of work that begins on a Monday."""

    @property
    def days(self) -> float:
        """Days from the first hour to the hand-over."""
        return (self.done - _A_MONDAY).total_seconds() / 86400.0


def worth_of(case: Case, way: Way, bench: Bench) -> WayWorth | None:
    """What one group costs and when it is done in one of its ways; None without a count."""
    if way.topcoats is None:
        return None
    whole = whole_of((with_way(case, way),), bench)
    found = dates_of(whole.lots, bench, _A_MONDAY).likely.hand_over
    return WayWorth(whole.money.expected if whole.money else None, found)


def plain_costs(job: PreparedJob) -> Reckoning | None:
    """What all groups of the job's own paint cost in their simplest way; None without a price.

    There is none over a finish that does not hold, or where no count is enough.
    """
    bench = bench_of(job)
    if bench.prices is None or job.unsound:
        return None
    cases = []
    for group in job.groups or (job,):
        if group.topcoat is not job.topcoat or group.unsound:
            continue
        case = _case(group)
        assert case.ways is not None
        cases.append(with_way(case, case.ways.simplest))
    if any(case.lead is None for case in cases):
        return None
    return whole_of(tuple(cases), bench).money


def ranked(job: PreparedJob, ways: Ways) -> Ways:
    """The ways by money or by days, where the job asks for it; else as they are.

    Equal ones keep their order; ways without a count come last. Without any price the order by
    coats stays.
    """
    bench = bench_of(job)
    if bench.rank_by == "coats":
        return ways
    case = Case(job, ways, (), part_of(job))
    worth = [(place, way, worth_of(case, way, bench)) for place, way in enumerate(ways.ways)]
    by_money = bench.rank_by == "money"
    if by_money and not any(found and found.expected for _, _, found in worth):
        return ways

    def key(row: tuple[int, Way, WayWorth | None]) -> tuple[bool, Decimal, datetime, int]:
        place, _, found = row
        amount, done = Decimal(0), _A_MONDAY
        if found is not None and by_money and found.expected is not None:
            amount = found.expected.amount
        elif found is not None:
            done = found.done
        return found is None, amount, done, place

    return replace(ways, ways=tuple(way for _, way, _ in sorted(worth, key=key)))


def leading_ways(job: PreparedJob) -> dict[str, str]:
    """Keys of the ways that lead, by group, where money or days of the whole job decide.

    Cans are opened once for all groups, so that what is cheapest for one alone may be dearer in
    all: the same way for all groups that have it is tried beside each group's own best.

    Returns:
        Nothing for a job of one group, or one ranked by coats.
    """
    bench = bench_of(job)
    if bench.rank_by == "coats" or len(job.groups) < 2:
        return {}
    if any(group.unsound for group in job.groups):
        return {}
    return _best_of_all([_case(group) for group in job.groups], bench)


def _case(group: PreparedJob) -> Case:
    """A group with all its ways and no plan yet."""
    return Case(group, ways_of(group, reckon(group)), (), part_of(group))


def _best_of_all(cases: list[Case], bench: Bench) -> dict[str, str]:
    """Of ways for all groups at once the cheapest or quickest; by coats among equals."""
    every = [[way for way in case.ways.ways if way.topcoats] for case in cases if case.ways]
    if not all(every):
        return {}
    by_coats = [ways[0] for ways in every]
    own = [ranked(case.job, case.ways).ways[0] for case in cases if case.ways is not None]
    keys = dict.fromkeys(way.under.key for ways in every for way in ways)
    alike = [
        [next((w for w in ways if w.under.key == key), ways[0]) for ways in every] for key in keys
    ]
    best, least = by_coats, None
    for chosen in (by_coats, own, *alike):
        whole = whole_of(tuple(map(with_way, cases, chosen)), bench)
        if bench.rank_by == "money" and whole.money is None:
            return {}
        found: Decimal | datetime = dates_of(whole.lots, bench, _A_MONDAY).likely.hand_over
        if bench.rank_by == "money" and whole.money is not None:
            found = whole.money.expected.amount
        if least is None or found < least:  # type: ignore[operator] # all of one kind
            best, least = chosen, found
    return {case.part.name: way.under.key for case, way in zip(cases, best, strict=True)}
