"""The plan at the bench: minutes and waiting of each step, and the dates that follow."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from showthrough.film.coats import WET_FILM_UM
from showthrough.jobs.answers.prediction import PlanStep
from showthrough.jobs.bench.case import Case
from showthrough.jobs.bench.products import FILMS
from showthrough.jobs.case.bench import Bench, Stock
from showthrough.workshop.days.drying import Stop, stops
from showthrough.workshop.days.schedule import HandOver, Piece, hand_over
from showthrough.workshop.days.steps import Step, count_at, tasks_for
from showthrough.workshop.defaults import Used, without_repeats
from showthrough.workshop.paint.transfer import usual_wet_film

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
    steps: tuple[Step, ...]
    counts: Mapping[int, float]

    def at(self, topcoats: int) -> tuple[Step, ...]:
        """Its steps with one count of topcoats for sure."""
        return tuple(
            replace(s, coats={topcoats: 1.0}) if s.kind == "coat" else s for s in self.steps
        )

    def count_at(self, chance: float) -> int:
        """Topcoats that are enough with a chance."""
        return count_at(self.counts, chance)


def lots_of(cases: Sequence[Case], bench: Bench) -> tuple[Lot, ...]:
    """The groups gathered into lots: those whose steps are alike dry side by side."""
    alike: dict[object, list[int]] = {}
    for i, case in enumerate(cases):
        part = case.part
        plan = tuple((s.kind, s.product, tuple(s.on), s.coats, s.colour) for s in case.plan)
        key = (plan, part.tool, part.flips, part.stock, part.finish, case.job.build.wet_film_um)
        alike.setdefault(key, []).append(i)
    out = []
    for place, indices in enumerate(alike.values()):
        chosen = [cases[i] for i in indices]
        name = " and ".join(case.part.name for case in chosen)
        steps = tuple(_steps(chosen, bench, once=place == 0))
        if steps:
            out.append(Lot(name, tuple(indices), steps, chosen[0].counts))
    return tuple(out)


def _steps(cases: Sequence[Case], bench: Bench, *, once: bool) -> Iterator[Step]:
    """The steps of one lot; what is done once for the whole piece goes with the first lot."""
    first = cases[0]
    counted = first.lead is not None
    if once and counted:
        yield Step("hardware off", minutes=15.0 * bench.pieces)
    masked = False
    for step in first.plan:
        kind = _AS.get(step.kind)
        film = step.coats is not None and step.kind != "test piece"
        if film and not masked and first.part.tool in {"hvlp", "conventional", "aerosol"}:
            masked = True
            yield Step("mask", _area(cases, step, bench))
        if kind is None or (not once and step.kind in {"lead test", "test piece"}):
            continue
        yield _step(kind, step, cases, bench)
    if once and counted:
        yield Step("hardware on", minutes=20.0 * bench.pieces)


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
        usual = part.stock.label_film_um or usual_wet_film(part.tool).value
        return _film(
            Step("coat", area, "topcoat", tool=part.tool, chemistry=chemistry, flips=part.flips),
            part.stock,
            first.counts,
            min(max(job.build.wet_film_um / usual, 0.05), 20.0),
        )
    if step.kind == "clear" and part.finish is not None:
        over = part.finish
        usual = over.stock.label_film_um or usual_wet_film(over.tool).value
        wet = over.wet_film_um or usual_wet_film(over.tool).value
        made = Step("clear", area, tool=over.tool, chemistry=over.chemistry, flips=part.flips)
        return _film(made, over.stock, {step.coats or 1: 1.0}, min(max(wet / usual, 0.05), 20.0))
    if step.kind in FILMS:
        stock = bench.products.get(step.kind, Stock())
        chemistry = _chemistry(step, stock)
        usual = stock.label_film_um or WET_FILM_UM["brush", "full"]
        flips = part.flips and step.on == ["all"]
        made = Step(kind, area, name, chemistry=chemistry, flips=flips)
        return _film(made, stock, {step.coats or 1: 1.0}, job.undercoat_wet_um / usual)
    if step.kind == "wax":
        return Step("wax", area * (step.coats or 1))
    return Step(kind, area, name)


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
    pieces = [Piece(lot.name, lot.steps) for lot in lots]
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


def used_by(lots: Sequence[Lot]) -> tuple[Used, ...]:
    """Defaults that minutes and waiting rest on."""
    return without_repeats(used for lot in lots for step in lot.steps for used in step.used())
