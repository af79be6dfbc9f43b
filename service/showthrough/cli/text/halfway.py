"""A job in hand on a terminal: what was seen, what is left."""

from __future__ import annotations

import textwrap
from itertools import chain
from typing import TYPE_CHECKING

from showthrough.cli.text.common import fitted, numbered, titled
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
    for n, step in enumerate(answer.steps, 1):
        amount = amount_left(step, answer)
        steps.append((n, step_line(step) + (f" ({amount})" if amount else "")))
    if steps:
        lines += ["", "What is left", *numbered(steps, width)]
    days = answer.days
    get = "To get" if answer.area_stated else f"To get ({NO_AREA})"
    dates = [] if days is None else days_lines(days, waxed=is_waxed(answer))
    parts = [
        (get, [buy_line(product, answer.units, "") for product in answer.paint]),
        ("Days", [*([] if days is None else stop_lines(days)), *dates]),
        ("Worth knowing", [*answer.why_not, *answer.advice]),
    ]
    if full:
        parts += [
            ("Further topcoats", [
                f"{plural(n, 'topcoat')} more: {chance_words(p)}" for n, p in answer.more.items()
            ]),
            ("Cans", [f"{p.product}: {a}" for p in answer.paint for a in p.advice]),
            ("Taken for granted", answer.assumptions),
            ("Take care", answer.cautions),
        ]  # fmt: skip
    else:
        title = "Take care (--full for reasons, defaults and whole cautions)"
        parts.append((title, first_cautions(answer.cautions_short, _CAUTIONS)))
    lines += chain.from_iterable(titled(parts, width))
    return "\n".join(fitted(lines, width)).rstrip() + "\n"
