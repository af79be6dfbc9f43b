"""Which day: steps laid over working hours, with several pieces sharing the waiting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from showthrough.errors import ProblemList
from showthrough.workshop.days.drying import Climate
from showthrough.workshop.days.hours import WorkingHours
from showthrough.workshop.days.steps import Step, Task, tasks_for

EARLY, LIKELY, LATE = 0.1, 0.5, 0.9
"""Chances behind the three hand-over dates; the late one holds in nine jobs of ten."""

MOST_PIECES = 30
MOST_STEPS = 100


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of furniture, or a part of it, and its plan.

    Raises:
        InputError: no step, or more than 100.
    """

    name: str
    steps: tuple[Step, ...]
    after: tuple[str, ...] = ()
    """Pieces that must be done, and may be handled, before its first step."""

    def __post_init__(self) -> None:
        """Tell what cannot be."""
        with ProblemList() as wrong:
            if not 1 <= len(self.steps) <= MOST_STEPS:
                wrong.add("steps", len(self.steps), f"from 1 to {MOST_STEPS} steps work")


@dataclass(frozen=True, slots=True)
class Booking:
    """One stay at the bench, in UTC; one that is broken off has several spans."""

    piece: str
    kind: str
    title: str
    spans: tuple[tuple[datetime, datetime], ...]
    minutes: int

    @property
    def start(self) -> datetime:
        """When it begins."""
        return self.spans[0][0]

    @property
    def end(self) -> datetime:
        """When it is done."""
        return self.spans[-1][1]


@dataclass(frozen=True, slots=True)
class Dates:
    """The dates of one piece, in UTC; None where no film is laid."""

    piece: str
    recoat: datetime | None
    """From when its last film would take another coat."""
    refit: datetime | None
    """From when it may be refitted and stacked: films block before."""
    cure: datetime | None
    """From when it may be washed, waxed and loaded."""
    hand_over: datetime | None
    """From when nothing is left to do and it may be handled; None where other pieces wait
    for it."""


@dataclass(frozen=True, slots=True)
class Schedule:
    """All stays at the bench in order, and the dates of each piece."""

    bookings: tuple[Booking, ...]
    dates: tuple[Dates, ...]
    bench_minutes: int
    waiting_h: float
    """Hours that films and glue ask for, the last handling time included, all pieces added."""

    @property
    def hand_over(self) -> datetime:
        """When the last piece may leave."""
        return max(d.hand_over for d in self.dates if d.hand_over is not None)


@dataclass(frozen=True, slots=True)
class HandOver:
    """The job as it goes early, likely, and in nine jobs of ten at the latest."""

    early: Schedule
    likely: Schedule
    late: Schedule


class _Run:
    """One piece on its way through the plan."""

    def __init__(self, name: str, tasks: tuple[Task, ...], start: datetime) -> None:
        self.name, self.tasks, self.at = name, tasks, 0
        self.ready = start
        self.waiting = timedelta(0)
        self.dry: datetime | None = None
        self.handled: datetime | None = None
        self.cured: datetime | None = None

    @property
    def done_with(self) -> bool:
        """Whether nothing is left to do."""
        return self.at == len(self.tasks)

    @property
    def task(self) -> Task:
        return self.tasks[self.at]

    def begins(self) -> datetime:
        """Earliest moment of its next task, or of the hand-over after the last one."""
        if (self.done_with or self.task.after_films) and self.handled is not None:
            return max(self.ready, self.handled)
        return self.ready

    def done(self, end: datetime) -> None:
        """Go on to the next task."""
        task = self.task
        self.ready = end + timedelta(hours=task.wait_h)
        if task.laid:
            self.dry = self.ready
            # What takes no other coat yet may not be handled, and what may not is not cured.
            handled = end + timedelta(hours=max(task.handle_h, task.wait_h))
            # A slow film below is not ready sooner for a quick one above.
            self.handled = max(handled, self.handled or handled)
            cured = max(end + timedelta(days=task.cure_d), self.handled)
            self.cured = max(cured, self.cured or cured)
        self.at += 1
        self.waiting += self.begins() - end


def schedule(
    pieces: Sequence[Piece],
    start: datetime,
    hours: WorkingHours,
    climate: Climate,
    chance: float = LIKELY,
) -> Schedule:
    """The pieces over the working hours of one person, each as soon as it can go on.

    While one piece dries the next is worked on: of all tasks that could be next, the one
    that can begin first is taken, and of several the piece that stands first.

    Args:
        pieces: up to 30, in order of preference; none waits for itself.
        start: aware moment from which work may begin.
        hours: when somebody stands at the bench.
        climate: the room.
        chance: which counts of coats are laid: those enough with this chance.

    Raises:
        InputError: no or too many pieces, or no free hours within two years.
    """
    _check(pieces, start)
    runs = [_Run(p.name, tasks_for(p.steps, chance, climate), start) for p in pieces]
    named = {run.name: run for run in runs}
    before = {p.name: [named[name] for name in p.after] for p in pieces}
    free, booked = start.astimezone(UTC), []
    while left := [run for run in runs if not run.done_with]:
        open_runs = [run for run in left if all(one.done_with for one in before[run.name])]
        fits = []
        for run in open_runs:
            ready = [one.begins() for one in (run, *before[run.name])]
            at = max(max(ready).astimezone(UTC), free)
            fits.append(hours.fit(at, run.task.minutes, whole=run.task.whole))
        chosen = min(range(len(fits)), key=lambda i: fits[i][0][0])
        run, spans = open_runs[chosen], fits[chosen]
        task, free = run.task, spans[-1][1]
        run.done(free)
        booked.append(Booking(run.name, task.kind, task.title, spans, task.minutes))
    waiting = sum((run.waiting for run in runs), timedelta(0))
    waited_for = {name for piece in pieces for name in piece.after}
    return Schedule(
        tuple(booked),
        tuple(
            Dates(r.name, r.dry, r.handled, r.cured, None if r.name in waited_for else r.begins())
            for r in runs
        ),
        sum(booking.minutes for booking in booked),
        waiting / timedelta(hours=1),
    )


def _check(pieces: Sequence[Piece], start: datetime) -> None:
    with ProblemList() as wrong:
        if not 1 <= len(pieces) <= MOST_PIECES:
            wrong.add("pieces", len(pieces), f"from 1 to {MOST_PIECES} pieces work")
        if len({piece.name for piece in pieces}) < len(pieces):
            wrong.add("pieces", [p.name for p in pieces], "each piece needs a name of its own")
        met: set[str] = set()
        for piece in pieces:
            # Each waits only for what stands before it, so that none waits in a circle.
            if not met >= set(piece.after):
                wrong.add("after", piece.after, "must name pieces that stand before it", "unknown")
            met.add(piece.name)
        if start.tzinfo is None:
            wrong.add("start", start, "must be a moment with its time zone")


def hand_over(
    pieces: Sequence[Piece], start: datetime, hours: WorkingHours, climate: Climate
) -> HandOver:
    """The job at the counts of coats that are enough in 1, 5 and 9 jobs of ten.

    Only the counts vary; drying, minutes and the weather are taken as they are stated.

    Args:
        pieces: up to 30, in order of preference; none waits for itself.
        start: aware moment from which work may begin.
        hours: when somebody stands at the bench.
        climate: the room.

    Raises:
        InputError: no or too many pieces, or no free hours within two years.
    """
    made: dict[tuple[int, ...], Schedule] = {}
    found = []
    for chance in (EARLY, LIKELY, LATE):
        key = tuple(len(tasks_for(piece.steps, chance, climate)) for piece in pieces)
        if key not in made:
            made[key] = schedule(pieces, start, hours, climate, chance)
        found.append(made[key])
    early, likely, late = found
    # Whoever has fewer coats to lay may follow the longer plan and is done no later.
    return HandOver(
        min(early, likely, key=lambda plan: plan.hand_over),
        likely,
        max(late, likely, key=lambda plan: plan.hand_over),
    )
