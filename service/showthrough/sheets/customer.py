"""The customer's page: colours, work, dates and care; money only where it is asked for.

It is made from this reduced view alone, so that nothing private can stand on it: no patch, can,
shelf, cost, margin or minute has a place here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from showthrough.jobs.answers.whole import DaysShown, MoneyShown, StepShown, WholeJob
from showthrough.say.chances import plural
from showthrough.say.plan import coat_noun
from showthrough.say.whole import listed_plainly, week_day

_CLEAN = "It is cleaned, so that paint holds."
_SAND = "It is sanded dull and smooth."
DONE = {
    "hardware off": "Handles and fittings come off and are labelled.",
    "lead test": "The old finish is tested for lead before anything is sanded.",
    "lead safety": "The old finish holds lead, so it is worked wet and all dust is caught.",
    "glue": "What is loose is glued.",
    "strip": "What does not hold of the old finish comes off.",
    "feather": _SAND,
    "brush off": _CLEAN,
    "wash": _CLEAN,
    "degrease": _CLEAN,
    "wax off": _CLEAN,
    "silicone off": _CLEAN,
    "solvent wipe": _CLEAN,
    "rust off": "Rust is taken off.",
    "sand": _SAND,
    "raise grain": _SAND,
    "knock back": _SAND,
    "key": _SAND,
    "test piece": "A hidden spot is painted before the rest, to see how the colour covers.",
    "wax": "Wax over the colour.",
    "refit": "Handles and fittings go back on.",
}
"""What a step is to somebody who does not paint; several steps may be one."""

_UNDER = {
    "prime": "lets the paint hold",
    "bind": "lets the paint hold",
    "bond": "lets the paint hold",
    "block": "keeps stains from coming through",
    "seal": "stops places that would drink paint",
    "spot seal": "stops places that would drink paint",
}
"""What a coat under the colour is for, by its step."""


@dataclass(frozen=True, slots=True)
class Customer:
    """What the customer's page shows."""

    title: str
    colours: tuple[tuple[str, str, str], ...]
    """Name and hex of each, and the parts that get it where there are several."""
    done: tuple[str, ...]
    ready: str
    ready_notes: tuple[str, ...]
    care: tuple[str, ...]
    price: str | None
    """None without money; "" where it is not known yet."""
    clause: str
    left_out: str
    """What the customer gets that no price is known of; "" where nothing is."""
    cautions: tuple[str, ...]


def customer_of(answer: WholeJob, *, money: bool) -> Customer:
    """The customer's page of a whole answer; ``money`` shows price and clause alone."""
    found = answer.money if money else None
    price = "" if found is None else f"{found.price_with_tax} {found.currency}"
    ready, notes = _ready(answer.days)
    return Customer(
        title=answer.title,
        colours=_colours(answer),
        done=tuple(dict.fromkeys(_done(answer.steps))),
        ready=ready,
        ready_notes=notes,
        care=_care(answer),
        price=price if money else None,
        clause="" if found is None else f"It {found.clause}.",
        left_out="" if found is None else _left_out(found),
        cautions=tuple(answer.cautions_short),
    )


_OWN = frozenset({"abrasives", "bench time"})
"""What the painter alone pays for."""


def _left_out(money: MoneyShown) -> str:
    """What the price leaves out of that which stays on the piece."""
    names = [name.partition(" (")[0] for name in money.without_price if name not in _OWN]
    if all(line.kind != "hardware" for line in money.lines):
        names.append("new handles or fittings")
    return listed_plainly(list(dict.fromkeys(names))) if names else ""


def _colours(answer: WholeJob) -> tuple[tuple[str, str, str], ...]:
    parts: dict[tuple[str, str], list[str]] = {}
    for group in answer.groups:
        parts.setdefault((group.topcoat_name, group.topcoat.hex), []).append(group.name)
    alone = len(parts) == 1
    return tuple((*one, "" if alone else ", ".join(names)) for one, names in parts.items())


def _done(steps: Sequence[StepShown]) -> list[str]:
    """The work in plain sentences, in order."""
    out = []
    for step in steps:
        if step.kind == "undercoat":
            out.append(f"{plural(step.coats or 1, 'undercoat')}, so that the colour covers evenly.")
        elif step.kind == "topcoat":
            parts = f" on the {' and '.join(step.groups)}" if step.groups else ""
            out.append(f"{plural(step.coats or 1, 'coat')} of {step.product}{parts}.")
        elif step.kind == "clear":
            out.append(f"{plural(step.coats or 1, 'coat')} of clear finish over the colour.")
        elif step.kind in _UNDER:
            noun = coat_noun(step.product, step.kind)
            out.append(f"{'An' if noun[0] in 'aeiou' else 'A'} {noun} {_UNDER[step.kind]}.")
        elif step.kind in DONE:
            out.append(DONE[step.kind])
    return out


def _ready(days: DaysShown | None) -> tuple[str, tuple[str, ...]]:
    if days is None:
        return "", ("The date follows once the coats can be counted.",)
    early, likely, late = (
        week_day(moment) for moment in (days.hand_over.early, days.hand_over.likely,
                                        days.hand_over.late)
    )  # fmt: skip
    sooner = [] if early == likely else [f"Perhaps already {early}."]
    by = "not later" if late == likely else f"by {late}"
    notes = (*sooner, f"In 9 jobs of 10 {by}.", "Damp or cold weather can add days.")
    return likely, notes


def _care(answer: WholeJob) -> tuple[str, ...]:
    cure = next((step.product for step in answer.steps if step.kind == "cure"), "")
    if answer.days is None or answer.days.cure is None:
        return ()
    until = (
        f"Until {week_day(answer.days.cure)} the paint is dry but not yet hard: do not wash it, "
        "wax it or set heavy things on it."
    )
    hard = [f"Hardening takes {cure}."] if cure else []
    return (until, *hard, "After that wipe it with a damp cloth: no scouring, no strong cleaner.")
