"""The whole job: from the lead test to the hand-over, with paint, days and money."""

from __future__ import annotations

import operator
from collections.abc import Collection, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from functools import reduce
from pathlib import Path
from typing import Any, cast
from zoneinfo import ZoneInfo

from showthrough.errors import InputError
from showthrough.jobs.answers.whole import (
    AreaShown,
    CanShown,
    DatesShown,
    DaysShown,
    LeadTestShown,
    LineShown,
    MoneyShown,
    OtherShown,
    ProductShown,
    StayShown,
    StepShown,
    WayCost,
    WholeJob,
)
from showthrough.jobs.bench.case import Case, bench_of, part_of
from showthrough.jobs.bench.days import dates_of, stops_of
from showthrough.jobs.bench.order import Whole, whole_of, with_way, worth_of
from showthrough.jobs.bench.products import Product
from showthrough.jobs.bench.steps import WholeStep, whole_steps
from showthrough.jobs.case.bench import Bench, Stock, start_of
from showthrough.jobs.case.prepared import PreparedJob, prepare, prepare_file
from showthrough.jobs.predict import Outline, cautions_of, group_shown, outlined_groups
from showthrough.say import whole as words
from showthrough.say.taken import taken_words
from showthrough.workshop.cautions import Caution, together
from showthrough.workshop.days.ics import calendar_text
from showthrough.workshop.days.schedule import HandOver, Schedule
from showthrough.workshop.grounds import Chemistry
from showthrough.workshop.paint.cans import Shopping
from showthrough.workshop.paint.transfer import SPRAY_GUNS
from showthrough.workshop.price.cost import clause, saving


def plan(
    job: Mapping[str, Any] | PreparedJob,
    folder: Path | None = None,
    *,
    now: datetime | None = None,
    way: str | None = None,
) -> WholeJob:
    """The whole job: plan, area, paint and cans, days, money.

    Args:
        job: a job as a mapping (the words of the TOML file), or one already prepared.
        folder: where files that the job names are looked for; None refuses files.
        now: the present, an aware moment; the clock's if absent. Work begins then where the
            job states no start.
        way: key of the way to plan by, as ``ways`` has it; the leading one if absent, or in a
            group that has no such way.

    Returns:
        The whole answer. Paint, days and money are left out, with the reason, while an old
        finish is unsound or no count of coats is enough.

    Raises:
        InputError: with every problem of the job, by field.
    """
    return planned(prepare(job, folder), now, way)[0]


def plan_file(path: str | Path, *, now: datetime | None = None) -> WholeJob:
    """The whole job of a TOML file; files that it names are read beside it.

    Raises:
        InputError: the file cannot be read, or the job is wrong.
    """
    return plan(prepare_file(path), now=now)


def calendar(job: Mapping[str, Any] | PreparedJob, folder: Path | None = None, *,
             now: datetime | None = None) -> str:  # fmt: skip
    """The likely stays at the bench and the dates of a job as iCalendar text (RFC 5545).

    Args:
        job: as for ``plan``.
        folder: as for ``plan``.
        now: the present, an aware moment; the clock's if absent.

    Raises:
        InputError: with every problem of the job, by field; or it has no count to plan by.
    """
    made = prepare(job, folder)
    moment = now or datetime.now(UTC)
    answer, dates = planned(made, moment)
    if dates is None:
        raise InputError.at("surface", "", " ".join(answer.why_not), "no_count")
    return calendar_text(dates.likely, answer.title or answer.topcoat_name, moment)


def planned(
    job: PreparedJob, now: datetime | None, way: str | None = None
) -> tuple[WholeJob, HandOver | None]:
    """The answer to a prepared job, beside its schedules."""
    bench = bench_of(job)
    start = start_of(bench, now or datetime.now(UTC))
    rows = outlined_groups(job, way=way)
    parts = [part_of(row.job) for row in rows]
    cases = [
        Case(row.job, row.ways, tuple(row.plan), part)
        for row, part in zip(rows, parts, strict=True)
    ]
    main = max(range(len(cases)), key=lambda i: cases[i].part.size.area_m2)
    lead = rows[main]
    counted = all(case.lead is not None for case in cases)
    whole = whole_of(tuple(cases), bench) if counted else None
    dates = None if whole is None else dates_of(whole.lots, bench, start)
    why_not = _why_not(cases, rows, whole)
    cautions = all_cautions(cases, bench)
    area = _area(cases, bench)
    doubts = filter(None, [words.area_doubt(area, bench.units)])
    return WholeJob(
        title=job.title,
        units="us" if bench.units == "us" else "metric",
        headline=words.headline(
            [(c.part.name, p.headline) for c, p in zip(cases, rows, strict=True)], main
        ),
        topcoat=lead.topcoat,
        topcoat_name=lead.topcoat_name,
        topcoat_note=lead.job.topcoat.moved,
        coats=lead.coats,
        learned=lead.learned,
        patches=lead.patches,
        ways=lead.every_way,
        enough={}
        if lead.ways is None
        else {n: round(p, 4) for n, p in enumerate(lead.ways.ways[0].outlook.enough, 1)},
        plan=lead.plan,
        groups=[group_shown(row, part) for row, part in zip(rows, parts, strict=True)],
        steps=steps_shown(cases, whole),
        area=area,
        paint=[] if whole is None else [product_shown(p, whole) for p in whole.materials.products],
        other=_other(whole),
        days=None if whole is None or dates is None else days_shown(whole, dates, start),
        money=None if whole is None else _money(whole),
        way_costs=_way_costs(cases[main], bench),
        why_not=why_not,
        questions=list(dict.fromkeys((*doubts, *(q for p in rows for q in p.questions)))),
        cautions=[caution.whole for caution in cautions],
        cautions_short=list(dict.fromkeys(caution.short for caution in cautions)),
        lead_tests=[
            LeadTestShown(
                by=test.kind,
                result=test.result,
                date=None if test.date is None else test.date.isoformat(),
            )
            for test in dict.fromkeys(case.job.lead_test for case in cases)
            if test is not None
        ],
        assumptions=assumptions_of(cases, rows, whole, bench),
    ), dates


def all_cautions(cases: list[Case], bench: Bench) -> tuple[Caution, ...]:
    """What can hurt someone: of each group's paint, of what lies under it and of what goes over."""
    found = []
    for case in cases:
        job, finish = case.job, case.part.finish
        found.append(cautions_of(job))
        used = [(_BRUSHED, bench.products.get(step.kind, Stock()).chemistry) for step in case.plan]
        if finish is not None and finish.kind == "clear":
            tool = "spray" if finish.tool in SPRAY_GUNS else finish.tool
            used.append((tool, finish.chemistry))
        found += [
            cautions_of(job, tool, cast("Chemistry", chemistry))
            for tool, chemistry in dict.fromkeys(used)
            if chemistry is not None
        ]
    return together(*found)


_BRUSHED = "brush"
"""How what lies under the topcoat is laid."""


def _why_not(cases: list[Case], answers: list[Outline], whole: Whole | None) -> list[str]:
    if whole is None:
        return [
            words.no_count(case.part.name, answer.headline, single=len(cases) == 1)
            for case, answer in zip(cases, answers, strict=True)
            if case.lead is None
        ]
    return [words.NO_PRICE] if whole.money is None else []


def steps_shown(cases: list[Case], whole: Whole | None) -> list[StepShown]:
    """All steps as one list, with paint where a step has its own."""
    out = []
    products = () if whole is None else whole.materials.products
    for row in whole_steps(cases):
        step = row.step
        alone = len(row.cases) == len(cases)
        names = [cases[i].part.name for i in row.cases]
        half, nine = _amount(row, names, products)
        out.append(
            StepShown(
                **step.model_dump(),
                groups=[] if alone else names,
                ml_50=half,
                ml_90=nine,
            )
        )
    return out


def _amount(
    row: WholeStep, names: Collection[str], products: Sequence[Product]
) -> tuple[float | None, float | None]:
    """Paint of a step, where its product goes into this step alone."""
    step = row.step
    chosen = [
        p
        for p in products
        if p.told == step.product and p.kinds == (step.kind,) and set(p.by_group) & set(names)
    ]
    if len(chosen) != 1 or step.kind == "test piece":
        return None, None
    by_group = chosen[0].by_group
    amounts = chosen[0].amounts
    if not set(by_group) <= set(names):
        amounts = reduce(operator.add, (own for name, own in by_group.items() if name in names))
    return _ml(amounts.ml_at(0.5)), _ml(amounts.ml_at(0.9))


def _ml(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def _area(cases: list[Case], bench: Bench) -> AreaShown:
    each = {case.part.name: round(case.part.size.area_m2, 4) for case in cases}
    return AreaShown(
        total_m2=round(bench.pieces * sum(case.part.size.area_m2 for case in cases), 4),
        stated=all(case.part.area_stated for case in cases),
        spread=max(case.part.size.area_spread for case in cases),
        groups=each,
        pieces=bench.pieces,
    )


def product_shown(product: Product, whole: Whole) -> ProductShown:
    """One product: how much it takes and what to buy."""
    bench, amounts = whole.bench, product.amounts
    bought: Shopping | None = whole.shopping[product.name]
    shelf = sum(product.stock.shelf_ml)
    half = amounts.ml_at(0.5)
    chance = None if bought is None else bought.chance
    coat_50, coat_90 = amounts.coat_ml_at((0.5, 0.9)) or (None, None)
    wanted = amounts.ml_at(bench.wished)
    taken = min(shelf, wanted or shelf) if bought is None else bought.from_shelf_ml
    alone = amounts.chance(shelf) if shelf else None
    if not product.to_buy and product.stock.shelf_ml:
        chance = amounts.chance(shelf)
    return ProductShown(
        product=product.name,
        used_for=list(product.kinds),
        colour=product.colour,
        coat_ml_50=_ml(coat_50),
        coat_ml_90=_ml(coat_90),
        ml_50=_ml(half),
        ml_90=_ml(amounts.ml_at(0.9)),
        thinner_ml=round(amounts.thinner_at(bench.wished) or 0.0, 1),
        from_shelf_ml=round(taken, 1),
        shelf_chance=None if alone is None else round(alone, 4),
        cans=[] if bought is None else [CanShown(ml=ml, count=n) for ml, n in bought.cans.counts],
        sizes_stated=bool(product.stock.cans),
        chance=None if chance is None else round(chance, 4),
        chances={
            size: {n: round(p, 4) for n, p in row.items()}
            for size, row in product.chances(bench).items()
        }
        if product.to_buy
        else {},
        leftover_ml=None if bought is None else _ml(bought.leftover_ml),
        price=_amount_text(bought.cans.price) if bought and bought.cans.price else None,
        advice=words.product_advice(
            bought,
            own_chance=None if product.to_buy else chance,
            to_buy=product.to_buy,
            wished=bench.wished,
            keep_ml=bench.keep_ml,
            units=bench.units,
        ),
    )


def _other(whole: Whole | None) -> OtherShown:
    wax = None if whole is None else whole.materials.wax
    return OtherShown(
        wax_g=None if wax is None else round(wax.likely_g, 1),
        wax_most_g=None if wax is None else round(wax.most_g, 1),
        sheets={} if whole is None else whole.materials.sheets,
    )


def days_shown(whole: Whole, dates: HandOver, start: datetime) -> DaysShown:
    """Which days it takes, in the working hours' own zone."""
    zone = ZoneInfo(whole.bench.hours.zone)

    def told(moment: datetime) -> str:
        return moment.astimezone(zone).isoformat(timespec="minutes")

    def last(schedule: Schedule, key: str) -> str | None:
        found = [d for d in (getattr(row, key) for row in schedule.dates) if d is not None]
        # What is ready within a minute is ready in the minute after it, never before.
        return told(max(found) + timedelta(seconds=59)) if found else None

    likely = dates.likely
    return DaysShown(
        start=told(start),
        zone=whole.bench.hours.zone,
        recoat=last(likely, "recoat"),
        refit=last(likely, "refit"),
        cure=last(likely, "cure"),
        hand_over=DatesShown(
            early=told(dates.early.hand_over),
            likely=told(likely.hand_over),
            late=told(dates.late.hand_over),
        ),
        bench_minutes=likely.bench_minutes,
        waiting_hours=round(likely.waiting_h, 1),
        stops=[stop.message for stop in stops_of(whole.cases, whole.bench)],
        stays=[
            StayShown(
                title=stay.title,
                group=stay.piece,
                start=told(stay.start),
                end=told(stay.end),
                minutes=stay.minutes,
            )
            for stay in likely.bookings
            if stay.minutes
        ],
    )


def _amount_text(money: Any) -> str:
    return f"{money.rounded().amount:f}"


def _money(whole: Whole) -> MoneyShown | None:
    found, text = whole.money, _amount_text
    if found is None:
        return None
    costs, pricing = found.costs, found.prices.pricing
    tax = pricing.tax(found.price)
    return MoneyShown(
        currency=costs.currency,
        expected_cost=text(found.expected),
        price=text(found.price),
        tax=text(tax),
        price_with_tax=text(found.price + tax),
        one_more_coat=text(costs.one_more_coat(found.likely)),
        undercoat_saves=_undercoat_saves(whole),
        clause=str(clause(costs, found.chances, pricing)),
        without_price=list(found.without_price),
        lines=[
            LineShown(kind=line.kind, name=line.name, amount=text(line.money))
            for line in costs.bill(found.likely).lines
        ],
        by_count={n: text(costs.bill(n).total) for n, p in sorted(found.chances.items()) if p},
    )


def _undercoat_saves(whole: Whole) -> str | None:
    """What the leading ways save in money against the simplest ones; None where they are those.

    None too where one of both takes paint of no known price, so that they do not compare.
    """
    plain = []
    for case in whole.cases:
        assert case.ways is not None
        simplest = case.ways.simplest
        if simplest.topcoats is None:
            return None
        plain.append(case if simplest is case.ways.ways[0] else with_way(case, simplest))
    if whole.money is None or all(a is b for a, b in zip(plain, whole.cases, strict=True)):
        return None
    without = whole_of(tuple(plain), whole.bench).money
    if without is None or set(without.without_price) != set(whole.money.without_price):
        return None
    return _amount_text(saving(without.expected, whole.money.expected))


def _way_costs(case: Case, bench: Bench) -> list[WayCost]:
    if bench.rank_by == "coats" or case.ways is None:
        return []
    found = [(way, worth_of(case, way, bench)) for way in case.ways.ways]
    return [
        WayCost(
            key=way.under.key,
            expected_cost=_amount_text(worth.expected) if worth and worth.expected else None,
            days=None if worth is None else round(worth.days, 1),
        )
        for way, worth in found
    ]


def assumptions_of(
    cases: list[Case], answers: list[Outline], whole: Whole | None, bench: Bench
) -> list[str]:
    """What all of it takes for granted, each once."""
    own = words.bench_assumptions(bench, cases)
    if whole is not None:
        used = [use for product in whole.materials.products for use in product.used]
        used += [use for case in cases for use in case.part.size.used if case.part.area_stated]
        used += [use for lot in whole.lots for step in lot.steps for use in step.used()]
        own += map(taken_words, dict.fromkeys(used))
    return list(dict.fromkeys([*(a for p in answers for a in p.assumptions), *own]))
