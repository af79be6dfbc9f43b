"""The whole job on a terminal: steps with their paint, what to buy, days and money."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from showthrough.cli.text.common import field, fitted, wrapped
from showthrough.say.chances import listed
from showthrough.say.plan import step_line
from showthrough.say.whole import (
    amount_words,
    area_words,
    buy_line,
    days_lines,
    money_lines,
)

if TYPE_CHECKING:
    from showthrough.jobs.answers.whole import StepShown, WholeJob

_LINES = 45
"""Lines of the first screen."""

_CAUTIONS = 3


def whole_text(answer: WholeJob, *, colour: bool, width: int, full: bool = False) -> str:
    """The whole job; ``full`` for every reason, chance and default."""
    lines = _head(answer, colour=colour, width=width)
    for step in answer.steps:
        text = _step(step, answer.units)
        if full:
            text += f". {step.why[:1].upper()}{step.why[1:]} ({step.source})."
        lines += textwrap.wrap(
            text, width, initial_indent=f"{step.number:>2}. ", subsequent_indent="    "
        )
    for title, rows in _blocks(answer):
        lines += ["", title, *wrapped(rows, width)]
    if full:
        lines += _rest(answer, width)
        return "\n".join(fitted(lines, width)).rstrip() + "\n"
    shown = answer.cautions_short[:_CAUTIONS] + answer.cautions_short[-1:]
    tail = ["", "Take care (--full for reasons, defaults and whole cautions)"]
    tail += wrapped(dict.fromkeys(shown), width)
    room = _LINES - len(tail)
    if len(lines) > room:
        lines = [*lines[: room - 1], f"and {len(lines) - room + 1} more lines with --full"]
    return "\n".join(fitted([*lines, *tail], width)).rstrip() + "\n"


def _head(answer: WholeJob, *, colour: bool, width: int) -> list[str]:
    named = f"{answer.title}: {answer.topcoat_name}" if answer.title else answer.topcoat_name
    lines = textwrap.wrap(named, width)
    if colour:
        lines[-1] = field(answer.topcoat.hex, lines[-1])
    return [
        *lines,
        *textwrap.wrap(answer.headline, width),
        *textwrap.wrap(_area(answer), width),
        "",
    ]


def _blocks(answer: WholeJob) -> list[tuple[str, list[str]]]:
    """What follows from the steps, each with its title; nothing that is not known."""
    currency = "" if answer.money is None else answer.money.currency
    get = [buy_line(product, answer.units, currency) for product in answer.paint]
    blocks = [
        ("To get", [*get, *_other(answer)] if get else []),
        ("Days", [] if answer.days is None else days_lines(answer.days)),
        ("Money", [] if answer.money is None else money_lines(answer.money)),
        ("Not reckoned", answer.why_not),
    ]
    return [(title, rows) for title, rows in blocks if rows]


def _area(answer: WholeJob) -> str:
    area = answer.area
    if not area.stated:
        return "No area was said: amounts are for 1 m2."
    total = area_words(area.total_m2, answer.units)
    pieces = f" over {area.pieces} pieces" if area.pieces > 1 else ""
    if len(area.groups) == 1:
        return f"{total}{pieces}"
    each = ", ".join(f"{name} {area_words(m2, answer.units)}" for name, m2 in area.groups.items())
    return f"{total}{pieces}: {each}"


def _step(step: StepShown, units: str) -> str:
    text = step_line(step)
    if step.groups:
        text = f"{listed(step.groups)}: {text}".replace("“", "").replace("”", "")
    amount = amount_words(step, units)
    return f"{text} ({amount})" if amount else text


def _other(answer: WholeJob) -> list[str]:
    out = []
    if answer.other.wax_g is not None:
        out.append(f"wax: {answer.other.wax_g:.0f} g, perhaps {answer.other.wax_most_g or 0:.0f} g")
    if answer.other.sheets:
        sheets = ", ".join(f"{n} of P{grade}" for grade, n in answer.other.sheets.items())
        out.append(f"abrasive sheets: {sheets}")
    return out


def _rest(answer: WholeJob, width: int) -> list[str]:
    """All that the first screen leaves out."""
    out: list[str] = []
    if answer.way_costs:
        rows = [
            f"{way.key}: {f'{way.expected_cost}' if way.expected_cost else 'no price'}"
            + ("" if way.days is None else f", {way.days:g} days")
            for way in answer.way_costs
        ]
        out += ["", "Ways in money and days", *wrapped(rows, width)]
    if answer.money is not None:
        rows = [f"{line.name}: {line.amount}" for line in answer.money.lines]
        out += ["", f"The bill ({answer.money.currency})", *wrapped(rows, width)]
        rows = [f"{n} topcoats: {cost}" for n, cost in answer.money.by_count.items()]
        out += ["", "Cost by count", *wrapped(rows, width)]
    if answer.days is not None:
        rows = [
            f"{stay.start[:16].replace('T', ' ')} {stay.group}: {stay.title}, {stay.minutes} min"
            for stay in answer.days.stays
        ]
        out += ["", f"At the bench ({answer.days.zone})", *wrapped(rows, width)]
    advice = [f"{p.product}: {a}" for p in answer.paint for a in p.advice]
    for title, items in (
        ("Cans", advice),
        ("Worth knowing", answer.questions),
        ("Taken for granted", answer.assumptions),
        ("Take care", answer.cautions),
    ):
        if items:
            out += ["", title, *wrapped(items, width)]
    return out
