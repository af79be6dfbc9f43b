"""A job in hand on a terminal: what was seen, what is left."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from showthrough.cli.text.common import fitted, wrapped
from showthrough.say.chances import chance_words, plural
from showthrough.say.halfway import amount_left, foretold_line
from showthrough.say.plan import first_cautions, step_line
from showthrough.say.whole import NO_AREA, buy_line, days_lines, is_waxed, stop_lines

if TYPE_CHECKING:
    from showthrough.jobs.answers.halfway import HalfWay

_CAUTIONS = 3


def halfway_text(answer: HalfWay, *, width: int, full: bool = False) -> str:
    """What is left; ``full`` for chances, defaults and whole cautions."""
    named = f"{answer.title}: {answer.topcoat_name}" if answer.title else answer.topcoat_name
    named += f" ({answer.group})" if answer.group else ""
    lines = [named, *textwrap.wrap(answer.headline, width), ""]
    lines += textwrap.wrap(foretold_line(answer), width)
    steps = []
    for step in answer.steps:
        amount = amount_left(step, answer)
        steps.append(step_line(step) + (f" ({amount})" if amount else ""))
    numbered = []
    for number, text in enumerate(steps, 1):
        numbered += textwrap.wrap(
            text, width, initial_indent=f"{number:>2}. ", subsequent_indent="    "
        )
    if numbered:
        lines += ["", "What is left", *numbered]
    days = answer.days
    get = "To get" if answer.area_stated else f"To get ({NO_AREA})"
    dates = [] if days is None else days_lines(days, waxed=is_waxed(answer))
    blocks = [
        (get, [buy_line(product, answer.units, "") for product in answer.paint]),
        ("Days", [*([] if days is None else stop_lines(days)), *dates]),
        ("Worth knowing", [*answer.why_not, *answer.advice]),
    ]
    if full:
        blocks += [
            ("Further topcoats", [
                f"{plural(n, 'topcoat')} more: {chance_words(p)}" for n, p in answer.more.items()
            ]),
            ("Cans", [f"{p.product}: {a}" for p in answer.paint for a in p.advice]),
            ("Taken for granted", answer.assumptions),
            ("Take care", answer.cautions),
        ]  # fmt: skip
    else:
        title = "Take care (--full for reasons, defaults and whole cautions)"
        blocks.append((title, first_cautions(answer.cautions_short, _CAUTIONS)))
    for title, rows in blocks:
        if rows:
            lines += ["", title, *wrapped(rows, width)]
    return "\n".join(fitted(lines, width)).rstrip() + "\n"
