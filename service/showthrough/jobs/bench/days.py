"""The plan at the bench: minutes and waiting of each step, and the dates that follow."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import count
from typing import TYPE_CHECKING

from showthrough.film.undercoat import UNDERCOAT_WET_UM
from showthrough.jobs.answers.prediction import PlanStep
from showthrough.jobs.bench.case import Case
from showthrough.jobs.bench.products import FILMS
from showthrough.jobs.case.bench import Bench, Stock, film_ratio
from showthrough.workshop.days.drying import CHEMISTRY, Stop, stops
from showthrough.workshop.days.schedule import HandOver, Piece, hand_over
from showthrough.workshop.days.steps import DEFAULTS as BENCH_MINUTES
from showthrough.workshop.days.steps import (
    Own,
    Step,
    bench_minutes,
    recoat_hours,
    tasks_for,
)
from showthrough.workshop.grounds.kinds import BEFORE_ALL
from showthrough.workshop.paint.transfer import usual_wet_film

if TYPE_CHECKING:
    from showthrough.jobs.case.learned import Learned

_AS: Mapping[str, str] = {
    "lead test": "lead test",
    "glue": "glue",
    "test wipe": "test",
    "wax off": "wipe",
    "silicone off": "wipe",
    "brush off": "wash",
    "strip": "scrape",
    "feather": "sand",
    "wash": "wash",
    "degrease": "wipe",
    "chalk test": "test",
    "rust off": "scrape",
    "solvent wipe": "wipe",
    "sand": "sand",
    "raise grain": "raise grain",
    "knock back": "sand",
    "key": "sand",
    "dust off": "dust off",
    "test spot": "test",
    "bleed test": "bleed test",
    "test piece": "test piece",
    "prime": "seal",
    "bind": "seal",
    "block": "seal",
    "bond": "seal",
    "seal": "seal",
    "spot seal": "spot seal",
    "undercoat": "undercoat",
    "topcoat": "coat",
    "clear": "clear",
    "wax": "wax",
}
"""The bench's word for each step of a plan. What is left out takes no time of its own: how the
work is done safely, mixing, and sanding between coats, which each coat holds already."""

_CHEMISTRY = {"block": "shellac"}
"""Of products that nobody named; others are water-borne."""


@dataclass(frozen=True, slots=True)
class Lot:
    """Groups that go through the same steps together."""

    name: str
    cases: tuple[int, ...]
    """Places of its groups; none where it is work on the piece as a whole."""
    groups: tuple[str, ...]
    """Their names."""
    steps: tuple[Step, ...]
    counts: Mapping[int, float]
    after: tuple[str, ...] = ()
    """Lots that must be done before it."""

    def at(self, topcoats: int) -> tuple[Step, ...]:
        """Its steps with one count of topcoats for sure."""
        return tuple(
            replace(s, coats={topcoats: 1.0}) if s.kind == "coat" else s for s in self.steps
        )


_FIRST, _LAST = "whole piece", "assembly"
"""Work on the piece as a whole, before and after its lots."""


def lots_of(cases: Sequence[Case], bench: Bench) -> tuple[Lot, ...]:
    """The groups gathered into lots: those whose steps are alike dry side by side.

    Where there are several, what is done once for the whole piece comes before and after them.
    """
    alike: dict[object, list[int]] = {}
    for i, case in enumerate(cases):
        part = case.part
        plan = tuple((s.kind, s.product, tuple(s.on), s.coats, s.colour) for s in case.plan)
        key = (plan, part.tool, part.flips, part.stock, part.finish,
               case.job.build.wet_film_thickness_um, tuple(case.job.topcoat.chip_lab),
               tuple(case.counts.items()))  # fmt: skip
        alike.setdefault(key, []).append(i)
    off = Step("hardware off", minutes=15.0 * bench.pieces)
    on = Step("hardware on", minutes=20.0 * bench.pieces)
    if len(alike) == 1:
        # Half way the hardware is off and what must stay clean is masked.
        body = tuple(_steps(cases, bench, set()))
        first = sum(step.title in BEFORE_ALL for step in body)
        made_ready = (off,) if cases[0].seen is None else _resumed(cases, bench)
        steps = (*body[:first], *made_ready, *body[first:], on)
        return (_lot(cases, range(len(cases)), steps),)
    tried: set[tuple[float, ...]] = set()
    tests = [step for case in cases for step in case.plan if step.kind == "lead test"][:1]
    shared = (*(_step("lead test", step, cases, bench) for step in tests), off)
    out = [Lot(_FIRST, (), (), shared, {1: 1.0})]
    for indices in alike.values():
        chosen = [cases[i] for i in indices]
        steps = tuple(s for s in _steps(chosen, bench, tried) if s.kind != "lead test")
        made = _lot(chosen, indices, steps)
        name = _unlike(made.name, {lot.name for lot in out} | {_LAST})
        out.append(replace(made, name=name, after=(_FIRST,)))
    return (*out, Lot(_LAST, (), (), (on,), {1: 1.0}, tuple(lot.name for lot in out)))


def _lot(cases: Sequence[Case], places: Sequence[int], steps: tuple[Step, ...]) -> Lot:
    names = tuple(case.part.name for case in cases)
    return Lot(" and ".join(names), tuple(places), names, steps, cases[0].counts)


def _resumed(cases: Sequence[Case], bench: Bench) -> tuple[Step, ...]:
    """What comes first where topcoats are on and dry: sanding, or their last one's hardening."""
    case = cases[0]
    coat = next((step for step in case.plan if step.kind == "topcoat"), None)
    if coat is None:
        chemistry = case.job.topcoat.chemistry or "water-borne"
        last = Step("coat", name="the last topcoat hardens", chemistry=chemistry, minutes=0.0)
        part = case.part
        ratio = film_ratio(part.stock, part.tool, case.job.build.wet_film_thickness_um)
        laid = _film(last, part.stock, {1: 1.0}, ratio)
        return (_at_own_pace(laid, "topcoat", case.job.learned),)
    area = _area(cases, coat, bench)
    minutes = BENCH_MINUTES["light sanding"].value * area
    return (Step("sand", area, "light sanding before the next topcoat", minutes=minutes),)


def _unlike(name: str, taken: set[str]) -> str:
    """The name, numbered where another lot has it."""
    free = (told for n in count(2) if (told := f"{name} ({n})") not in taken)
    return next(free) if name in taken else name


def _steps(cases: Sequence[Case], bench: Bench, tried: set[tuple[float, ...]]) -> Iterator[Step]:
    """The steps of one lot; a paint that another lot has tried is not tried again."""
    first = cases[0]
    masked = first.seen is not None
    for step in first.plan:
        kind = _AS.get(step.kind)
        film = step.coats is not None and step.kind != "test piece"
        if film and not masked and first.part.tool in {"hvlp", "conventional", "aerosol"}:
            masked = True
            yield Step("mask", _area(cases, step, bench))
        if step.kind == "test piece":
            paint = tuple(first.job.topcoat.chip_lab)
            if paint in tried:
                continue
            tried.add(paint)
        if kind is not None:
            yield _at_own_pace(_step(kind, step, cases, bench), step.kind, first.job.learned)


def _area(cases: Sequence[Case], step: PlanStep, bench: Bench) -> float:
    area = sum(case.share_of(step) * case.part.size.area_m2 for case in cases) * bench.pieces
    return max(area, 0.001)


def _step(kind: str, step: PlanStep, cases: Sequence[Case], bench: Bench) -> Step:
    first = cases[0]
    part, job = first.part, first.job
    area = _area(cases, step, bench)
    name = step.kind if step.kind != kind else ""
    if step.kind == "topcoat":
        chemistry: str = job.topcoat.chemistry or "water-borne"
        return _film(
            Step("coat", area, "topcoat", tool=part.tool, chemistry=chemistry, flips=part.flips),
            part.stock,
            first.counts,
            film_ratio(part.stock, part.tool, job.build.wet_film_thickness_um),
        )
    if step.kind == "clear" and part.finish is not None:
        over = part.finish
        wet = over.wet_film_um or usual_wet_film(over.tool).value
        made = Step("clear", area, tool=over.tool, chemistry=over.chemistry, flips=part.flips)
        return _film(
            made, over.stock, {step.coats or 1: 1.0}, film_ratio(over.stock, over.tool, wet)
        )
    if step.kind in FILMS:
        stock = bench.products.get(step.kind, Stock())
        chemistry = _chemistry(step, stock)
        ratio = film_ratio(stock, "brush", UNDERCOAT_WET_UM)
        flips = part.flips and step.on == ["all"]
        made = Step(kind, area, name, chemistry=chemistry, flips=flips)
        laid = _film(made, stock, {step.coats or 1: 1.0}, ratio)
        # What lies under the topcoat is never washed or waxed itself: it cures with it.
        with_it = CHEMISTRY[job.topcoat.chemistry or "water-borne"].cure_d.value
        return replace(laid, cure_d=stock.cure_d or part.stock.cure_d or with_it)
    if step.kind == "wax":
        return Step("wax", area * (step.coats or 1))
    return Step(kind, area, name)


def _at_own_pace(made: Step, work: str, learned: Learned | None) -> Step:
    """A step with what finished jobs have taught of its minutes and of its drying."""
    if learned is None:
        return made
    pace, drying = learned.pace.get(work), learned.drying
    if pace is not None:
        made = replace(made, pace=Own(pace.jobs, math.exp(pace.log_factor)))
    if drying is not None and work == "topcoat":
        made = replace(made, drying=Own(drying.jobs, math.exp(drying.log_factor)))
    return made


def expected_of(case: Case, bench: Bench) -> tuple[dict[str, float], float | None]:
    """What is expected of a group's work, for a log to be set beside.

    Returns:
        Minutes by step of the plan, of coats for each coat; and hours until the next topcoat.
    """
    minutes: dict[str, float] = {}
    recoat = None
    for step in case.plan:
        kind = _AS.get(step.kind)
        if kind is None:
            continue
        made = _step(kind, step, [case], bench)
        minutes[step.kind] = minutes.get(step.kind, 0.0) + bench_minutes(made)
        if step.kind == "topcoat":
            recoat = recoat_hours(made, bench.climate)
    return minutes, recoat


def _chemistry(step: PlanStep, stock: Stock) -> str:
    return stock.chemistry or _CHEMISTRY.get(step.kind, "water-borne")


def _film(step: Step, stock: Stock, coats: Mapping[int, float], ratio: float) -> Step:
    return replace(
        step,
        coats=coats,
        film_ratio=ratio,
        recoat_h=stock.recoat_h,
        handle_h=stock.handle_h,
        cure_d=stock.cure_d,
    )


def dates_of(lots: Sequence[Lot], bench: Bench, start: datetime) -> HandOver:
    """When the job is done: early, likely, and in nine jobs of ten at the latest.

    Raises:
        InputError: the working hours leave no time within two years.
    """
    pieces = [Piece(lot.name, lot.steps, lot.after) for lot in lots]
    return hand_over(pieces, start, bench.hours, bench.climate)


def minutes_of(lot: Lot, bench: Bench) -> Callable[[int], int]:
    """Bench minutes of a lot by its count of topcoats: every further one takes as long."""
    one, two = (
        sum(task.minutes for task in tasks_for(lot.at(n), 0.5, bench.climate)) for n in (1, 2)
    )
    return lambda topcoats: one + (topcoats - 1) * (two - one)


def stops_of(cases: Sequence[Case], bench: Bench) -> tuple[Stop, ...]:
    """Reasons not to lay a coat in the room as it is, each once."""
    found: dict[str, Stop] = {}
    for case in cases:
        part = case.part
        own = case.job.topcoat.chemistry or "water-borne"
        laid: list[tuple[str, float | None]] = [(own, part.stock.least_c)]
        for step in case.plan:
            if step.kind in FILMS:
                stock = bench.products.get(step.kind, Stock())
                laid.append((_chemistry(step, stock), stock.least_c))
        if part.finish is not None and part.finish.kind == "clear":
            laid.append((part.finish.chemistry, part.finish.stock.least_c))
        for chemistry, least in laid:
            for stop in stops(bench.climate, chemistry, least):
                known = found.get(stop.code)
                if known is None or (stop.code == "cold" and stop.limit > known.limit):
                    found[stop.code] = stop
    return tuple(found.values())
