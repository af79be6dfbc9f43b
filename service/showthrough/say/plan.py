"""The plan in one line, and other ways in a line each: made from the plan and the ways alone."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from showthrough.film.coats import MOST_COATS
from showthrough.say.chances import chance_words, coats_of, count_words, listed, plural
from showthrough.workshop.cautions import CHILD

if TYPE_CHECKING:
    from showthrough.jobs.answers.prediction import PlanStep, WayShown

UNDER = frozenset({"prime", "bind", "block", "bond", "seal", "undercoat"})
"""Steps that are coats under the topcoat, over all or on spots."""


COATS = {
    "prime": "primer",
    "bind": "binding sealer",
    "block": "stain-blocking sealer",
    "bond": "bonding coat",
    "seal": "sealer",
    "spot seal": "sealer",
    "undercoat": "undercoat",
}
"""What a coat under the topcoat is called, by its step."""

_COAT = re.compile(
    r"bonding coat|(stain-blocking |binding |shellac-based )?sealer|(anti-corrosion )?primer"
    r"|undercoat"
)


def coat_noun(product: str, kind: str = "undercoat") -> str:
    """The short name of a coat under the topcoat, the same wherever there is no room for more.

    Args:
        product: as the plan names it: "white shellac-based stain-blocking sealer".
        kind: of its step, for a can that has a name of its own.
    """
    found = _COAT.search(product)
    return found[0] if found else COATS[kind]


MOVED = "No paint is quite this colour: the nearest that paint can be is reckoned."
"""Said where the wanted colour was moved; which colour it is stands among the figures."""

_NAMES = {"denib": "Between coats", "cure": "Let it cure", "spot seal": "Seal"}
"""Steps whose kind is not yet a painter's word."""
_ON = ("test", "spot", "grain", "wipe", "safety")
"""What a step is called ends so where "on" stands before the patch."""


def step_parts(step: PlanStep, groups: str = "") -> tuple[str, str]:
    """A step in two parts: what is done on which patches; with what and in how many coats.

    Args:
        step: one step of a plan.
        groups: names of the groups that it is done on, where not on all of them.
    """
    name = _NAMES.get(step.kind, step.kind.capitalize())
    if step.on != ["all"]:
        name += f"{' on' if name.endswith(_ON) else ''} {listed(step.on)}"
    name += f" ({groups})" if groups else ""
    coat = step.coats is not None and step.kind != "test piece"
    return name, coats_of(step.coats or 0, step.product) if coat else step.product


def step_line(step: PlanStep, groups: str = "") -> str:
    """A step in a line: what is done, on which patches, with what and in how many coats."""
    return ": ".join(step_parts(step, groups))


def headline(plan: Sequence[PlanStep], ways: Sequence[WayShown]) -> str:
    """The plan in one line: "3 coats: 1 white undercoat, 2 topcoats, about 9 in 10 sure"."""
    topcoat = next((step for step in plan if step.kind == "topcoat"), None)
    if topcoat is None:
        if ways:
            return f"More than {MOST_COATS} coats: another tool or another colour first."
        return "No count yet: the old finish does not hold. Make it sound first."
    lead = ways[0]
    under = [s for s in plan if s.kind in UNDER and s.on == ["all"]]
    coats = sum(step.coats or 0 for step in (*under, topcoat))
    parts = [f"{step.coats or 1} {step.product}" for step in under]
    parts.append(plural(topcoat.coats or 0, "topcoat"))
    spots = [s for s in plan if s.kind in {"spot seal", *UNDER} and s.on != ["all"]]
    sure = f"{chance_words(lead.chance)} sure"
    text = (
        f"{plural(coats, 'coat')}: {', '.join(parts)}, {sure}"
        if under
        else (f"{plural(coats, 'coat')} straight onto the prepared surface, {sure}")
    )
    if spots:
        names = dict.fromkeys(name for step in spots for name in step.on)
        done = dict.fromkeys(step.kind.removeprefix("spot ") for step in spots)
        text += f"; first {' and '.join(done)} {listed(tuple(names))}"
    return f"{text}. {_other(lead, ways)}".rstrip()


def _other(lead: WayShown, ways: Sequence[WayShown]) -> str:
    """What it would be without the undercoat, or with one coat more."""
    without = next((w for w in ways[1:] if w.kind in {"plain", "spots", "sealer"}), None)
    if lead.kind not in {"plain", "spots", "sealer"} and without is not None:
        other = f"With the {without.name}" if without.kind == "sealer" else "Without the undercoat"
        if without.total is None:
            return f"{other} {count_words(None)}."
        return f"{other} {without.total}{_perhaps(without)}."
    more = _perhaps(lead).removeprefix(", ").capitalize()
    return more and f"{more}."


def _perhaps(way: WayShown) -> str:
    """What it may come to, where that is more than what is likely."""
    if way.high == way.total:
        return ""
    return f", perhaps {f'more than {MOST_COATS}' if way.high is None else way.high}"


def way_line(way: WayShown) -> str:
    """One way in a line, for lists of them."""
    if way.total is None:
        return f"{way.name}: {count_words(None)}"
    return f"{way.name}: {count_words(way.total)}{_perhaps(way)}, {chance_words(way.chance)}"


def first_cautions(short: Sequence[str], most: int) -> list[str]:
    """Cautions for a first screen: the gravest, what concerns a child, and the reminder."""
    kept = [*short[:most], *(one for one in short if one == CHILD.short), *short[-1:]]
    return list(dict.fromkeys(kept))
