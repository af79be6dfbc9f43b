"""The whole job on a terminal: steps with their paint, what to buy, days and money."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import chain, groupby
from typing import TYPE_CHECKING

from showthrough.cli.text.common import fitted, named, numbered, titled, wrapped
from showthrough.say.chances import capital
from showthrough.say.plan import MOVED, first_cautions, step_line
from showthrough.say.whole import (
    NO_AREA_SAID,
    PREPARATION,
    amount_words,
    area_doubt,
    area_words,
    bill_words,
    buy_line,
    days_lines,
    is_waxed,
    listed_plainly,
    money_lines,
    stop_lines,
)

if TYPE_CHECKING:
    from showthrough.jobs.answers.whole import StepShown, WholeJob

_LINES = 45
"""Lines of the first screen."""

_CAUTIONS = 3


def whole_text(answer: WholeJob, *, colour: bool, width: int, full: bool = False) -> str:
    """The whole job; ``full`` for every reason, chance and default."""
    head = _head(answer, colour=colour, width=width)
    steps = numbered(_each(answer, full=full), width)
    blocks = titled(_blocks(answer), width)
    if full:
        rest = titled(_rest(answer), width)
        lines = [*head, *steps, *chain.from_iterable((*blocks, *rest))]
        return "\n".join(fitted(lines, width)).rstrip() + "\n"
    tail = _careful(answer.cautions_short, width)
    if len(head) + len(steps) + sum(map(len, blocks)) + len(tail) > _LINES:
        tail = _careful(first_cautions(answer.cautions_short, _CAUTIONS), width)
    room = _LINES - sum(map(len, (head, tail, *blocks)))
    if len(steps) > room:
        steps = _cut(numbered(_in_short(answer), width), max(room, _LEAST_STEPS))
    over = len(steps) - room
    if over > 0 and blocks:
        # Dates and money are short and come last: what to get gives way to them.
        longest = max(range(len(blocks)), key=lambda i: len(blocks[i]))
        blocks[longest] = _cut(blocks[longest], max(len(blocks[longest]) - over, 3))
    lines = [*head, *steps, *chain.from_iterable(blocks)]
    return "\n".join(fitted([*_cut(lines, _LINES - len(tail)), *tail], width)).rstrip() + "\n"


def _careful(cautions: Sequence[str], width: int) -> list[str]:
    title = "Take care (--full for reasons, defaults and whole cautions)"
    return ["", title, *wrapped(cautions, width)]


_LEAST_STEPS = 8
"""Lines of steps that are shown however much there is to get."""


def _cut(lines: list[str], room: int) -> list[str]:
    """The lines, their end told by a number where there is no room for it."""
    if len(lines) <= room:
        return lines
    return [*lines[: room - 1], f"    and {len(lines) - room + 1} more lines with --full"]


def _each(answer: WholeJob, *, full: bool = False) -> Iterator[tuple[str, str]]:
    """A line for each step."""
    for step in answer.steps:
        amount = amount_words(step, answer.units)
        text = _without_amount(step) + (f" ({amount})" if amount else "")
        why = f". {capital(step.why)} ({step.source})." if full else ""
        yield str(step.number), text + why


def _in_short(answer: WholeJob) -> Iterator[tuple[str, str]]:
    """The same in short: preparation on the same groups in a line, amounts where to get them."""
    for (groups, prepares), run in groupby(
        answer.steps, lambda step: (step.groups, step.kind in PREPARATION)
    ):
        steps = list(run)
        if not prepares or len(steps) == 1:
            yield from ((str(step.number), _without_amount(step)) for step in steps)
            continue
        done = listed_plainly(list(dict.fromkeys(step.kind for step in steps)))
        where = f" ({listed_plainly(groups)})" if groups else ""
        yield f"{steps[0].number}-{steps[-1].number}", f"{capital(done)}{where}"


def _head(answer: WholeJob, *, colour: bool, width: int) -> list[str]:
    stops = [] if answer.days is None else stop_lines(answer.days)
    return [
        *named(answer, colour=colour, width=width),
        *textwrap.wrap(MOVED if answer.topcoat_note else "", width),
        *textwrap.wrap(answer.headline, width),
        *textwrap.wrap("" if answer.learned is None else answer.learned.sentence, width),
        *(line for stop in stops for line in textwrap.wrap(stop, width)),
        *textwrap.wrap(" ".join((_area(answer), area_doubt(answer.area, answer.units))), width),
        "",
    ]


def _blocks(answer: WholeJob) -> list[tuple[str, list[str]]]:
    """What follows from the steps, each with its title; nothing that is not known."""
    currency = "" if answer.money is None else answer.money.currency
    get = [buy_line(product, answer.units, currency) for product in answer.paint]
    return [
        ("To get", [*get, *_other(answer)] if get else []),
        ("Days", [] if answer.days is None else days_lines(answer.days, waxed=is_waxed(answer))),
        ("Money", [] if answer.money is None else money_lines(answer.money)),
        ("Not reckoned", answer.why_not),
    ]


def _area(answer: WholeJob) -> str:
    area = answer.area
    if not area.stated:
        return NO_AREA_SAID
    total = area_words(area.total_m2, answer.units)
    pieces = f" over {area.pieces} pieces" if area.pieces > 1 else ""
    of_each = ", each of them" if area.pieces > 1 else ""
    if len(area.groups) == 1:
        return f"{total}{pieces}"
    each = ", ".join(f"{name} {area_words(m2, answer.units)}" for name, m2 in area.groups.items())
    return f"{total}{pieces}{of_each}: {each}"


def _without_amount(step: StepShown) -> str:
    return step_line(step, listed_plainly(step.groups) if step.groups else "")


def _other(answer: WholeJob) -> list[str]:
    out = []
    if answer.other.wax_g is not None:
        out.append(f"wax: {answer.other.wax_g:.0f} g, perhaps {answer.other.wax_most_g or 0:.0f} g")
    if answer.other.sheets:
        sheets = ", ".join(f"{n} of P{grade}" for grade, n in answer.other.sheets.items())
        out.append(f"abrasive sheets: {sheets}")
    return out


def _rest(answer: WholeJob) -> list[tuple[str, list[str]]]:
    """All that the first screen leaves out."""
    parts: list[tuple[str, list[str]]] = []
    if answer.way_costs:
        rows = [
            f"{way.key}: {f'{way.expected_cost}' if way.expected_cost else 'no price'}"
            + ("" if way.days is None else f", {way.days:g} days")
            for way in answer.way_costs
        ]
        alone = "" if len(answer.groups) == 1 else ", of the largest group alone"
        parts.append((f"Ways in money and days{alone}", rows))
    if answer.money is not None:
        title, total = bill_words(answer)
        rows = [f"{line.name}: {line.amount}" for line in answer.money.lines]
        parts.append((f"{title} ({answer.money.currency})", [*rows, f"together: {total}"]))
        costs = [f"{n} topcoats: {cost}" for n, cost in answer.money.by_count.items()]
        parts.append(("Cost by count", costs))
    if answer.days is not None:
        rows = [
            f"{stay.start[:16].replace('T', ' ')} {stay.group}: {stay.title}, {stay.minutes} min"
            for stay in answer.days.stays
        ]
        parts.append((f"At the bench ({answer.days.zone})", rows))
    parts += [
        ("Cans", [f"{p.product}: {a}" for p in answer.paint for a in p.advice]),
        ("Worth knowing", answer.questions),
        ("Taken for granted", answer.assumptions),
        ("Take care", answer.cautions),
    ]
    return parts
