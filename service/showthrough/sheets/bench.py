"""The bench page: every step with a box to tick, its times, and blanks for what happened."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from showthrough.jobs.answers.halfway import HalfWay
from showthrough.jobs.answers.whole import StayShown, StepShown, WholeJob
from showthrough.say.chances import chance_words, listed
from showthrough.say.plan import MOVED, UNDER, step_parts
from showthrough.say.whole import (
    NO_AREA_SAID,
    amount_words,
    area_words,
    buy_line,
    day_words,
    days_lines,
    is_waxed,
    long_day,
    stop_lines,
)
from showthrough.sheets.board import board_of

STOP_RULE = "Stop when, dry and seen from a metre in two lights, no edge shows."

_FILMS = UNDER | {"spot seal", "topcoat", "clear"}
_AS = {"hardware on": "refit", "light sanding": "denib"}
"""What the diary calls a step otherwise than the plan."""

_TITLE = re.compile(r"(?P<base>.*?)( before .*)?( (?P<n>\d+) of \d+)?(, face \d of \d)?")


@dataclass(frozen=True, slots=True)
class Row:
    """One line to tick: what, when, and what is to be written down."""

    number: int | None
    """As in the plan; None for a single coat of a step."""
    title: str
    detail: str = ""
    times: tuple[str, ...] = ()
    blanks: tuple[str, ...] = ()
    boxes: tuple[str, ...] = ()
    """Small boxes of which one is ticked."""
    coat: bool = False
    tick: bool = True


def bench_of(answer: WholeJob) -> dict[str, Any]:
    """What the bench page of a whole answer shows.

    ``count`` is for the large figure: "" where groups differ or there is no count; ``stop_rule``
    is "" where nothing is painted yet. ``lead`` says that the colour was moved, and the lead tests
    that were recorded.
    """
    leading = [group for group in answer.groups if group.ways == answer.ways]
    main = max(leading, key=lambda group: group.area_m2)
    # Without a count the headline is part of the reasons why there is none.
    found = None if answer.days is None else _FIGURE.fullmatch(answer.headline)
    days: list[str] = []
    if answer.days is not None:
        days = [*stop_lines(answer.days), *days_lines(answer.days, waxed=is_waxed(answer))]
    return {
        "title": answer.title,
        "topcoat": answer.topcoat_name,
        "count": found[1] if found else "",
        "headline": found[2] if found else answer.headline if days else "",
        "area": _area(answer),
        "board": board_of(answer, main.name if len(answer.groups) > 1 else ""),
        "rows": list(_rows(answer)),
        "stop_rule": STOP_RULE if days else "",
        "cans": [buy_line(product, answer.units, "") for product in answer.paint],
        "days": days,
        "why_not": [] if days else answer.why_not,
        "blanks": (
            f"temperature, °{'F' if answer.units == 'us' else 'C'}",
            "humidity, %",
            "batch",
            "begun, date",
            "finished, date",
            "even after, coats",
            "stopped at, coats",
            "who",
        ),
        "lead": [*((MOVED,) if answer.topcoat_note else ()), *_lead_lines(answer)],
        "cautions": answer.cautions,
    }


_FIGURE = re.compile(r"(\d+) (coats?\b.*)", re.DOTALL)
"""The count of a single headline apart from the rest: "3", "coats: 1 undercoat ..."."""


def _lead_lines(answer: WholeJob) -> Iterator[str]:
    """Each recorded lead test in a sentence: kit or laboratory, date and result."""
    for test in answer.lead_tests:
        by = "a home kit" if test.by == "kit" else "a laboratory"
        when = "date not given" if test.date is None else long_day(test.date)
        found = "lead was found" if test.result == "lead" else "no lead was found"
        yield f"Lead test by {by}, {when}: {found}."


def _area(answer: WholeJob) -> str:
    if not answer.area.stated:
        return "" if answer.days is None else NO_AREA_SAID
    total = area_words(answer.area.total_m2, answer.units)
    pieces = f", {answer.area.pieces} pieces" if answer.area.pieces > 1 else ""
    if len(answer.area.groups) == 1:
        return f"{total}{pieces}"
    each = (f"{name} {area_words(m2, answer.units)}" for name, m2 in answer.area.groups.items())
    return f"{total}{pieces}: {', '.join(each)}"


def _rows(answer: WholeJob) -> Iterator[Row]:
    stays = stays_by_step(answer)
    several = len({stay.group for own in stays.values() for stay in own}) > 1
    wet = f"wet film, {'mil' if answer.units == 'us' else 'µm'}"
    for step in answer.steps:
        yield from _step_rows(answer, step, stays[step.number], wet, several=several)
    left = stays[0]
    if left:
        yield Row(None, "Also", times=_times(left, several=several, titled=True))


def _step_rows(
    answer: WholeJob, step: StepShown, stays: list[StayShown], wet: str, *, several: bool
) -> Iterator[Row]:
    title, what = step_parts(step)
    detail = what[:1].upper() + what[1:]
    amount = amount_words(step, answer.units)
    if amount:
        detail += f": {amount}"
    if step.groups:
        title += f" – {listed(step.groups).replace('“', '').replace('”', '')}"
    film = step.kind in _FILMS
    coats = step.coats if film and step.coats else 1
    if coats == 1:
        blanks: tuple[str, ...] = ("on at", wet) if film else ("done",)
        boxes: tuple[str, ...] = ()
        if step.kind == "lead test":
            blanks, boxes = ("kit", "date"), ("clear", "lead")
        times = _times(stays, several=several)
        yield Row(step.number, title, detail, times, blanks, boxes)
    else:
        yield Row(step.number, title, detail, tick=False)
        for n in range(1, coats + 1):
            own = [stay for stay in stays if _coat_of(stay) == n]
            times = _times(own, several=several)
            yield Row(None, f"Coat {n}", times=times, blanks=("on at", wet), coat=True)
    if step.kind == "topcoat":
        group = next(g for g in answer.groups if not step.groups or g.name in step.groups)
        sure = chance_words(group.ways[0].chance_one_more)
        title, detail = "One more, if an edge shows", f"Then enough: {sure}"
        yield Row(None, title, detail, blanks=("on at", wet), coat=True)


def stays_by_step(answer: WholeJob | HalfWay) -> dict[int, list[StayShown]]:
    """The stays at the bench by number of their step; 0 for those of none."""
    found: dict[int, list[StayShown]] = {0: [], **{step.number: [] for step in answer.steps}}
    seen: dict[tuple[str, str], int] = {}
    for stay in [] if answer.days is None else answer.days.stays:
        match = _TITLE.fullmatch(stay.title)
        base = match["base"] if match else stay.title
        own = [
            step
            for step in answer.steps
            if step.kind == _AS.get(base, base)
            and (not step.groups or any(g in stay.group for g in step.groups))
        ]
        key = (stay.group, stay.title)
        place = seen[key] = seen.get(key, -1) + 1
        found[own[min(place, len(own) - 1)].number if own else 0].append(stay)
    return found


def _coat_of(stay: StayShown) -> int:
    """Which coat of its step a stay is for."""
    match = _TITLE.fullmatch(stay.title)
    return int(match["n"] or 1) if match else 1


def _times(stays: Sequence[StayShown], *, several: bool, titled: bool = False) -> tuple[str, ...]:
    """The stays in local time, a line for each day: "Mon 1 Mar 08:00 doors, 25 min"."""
    out = []
    for day, own in groupby(stays, key=lambda stay: stay.start[:10]):
        told = []
        for stay in own:
            what = [stay.start[11:16]]
            what += [stay.title] if titled else []
            what += [stay.group] if several else []
            told.append(f"{' '.join(what)}, {stay.minutes} min")
        out.append(f"{day_words(day)} {'; '.join(told)}")
    return tuple(out)
