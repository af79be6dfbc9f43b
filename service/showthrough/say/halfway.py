"""Sentences of a job in hand: what was seen, and what is left."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from showthrough.film.coats import MOST_COATS
from showthrough.say.chances import chance_words, plural
from showthrough.say.whole import amount_words

if TYPE_CHECKING:
    from showthrough.jobs.answers.halfway import HalfWay
    from showthrough.jobs.answers.whole import StepShown

LOOK_AGAIN = (
    "Judge a coat when it is dry, in two lights: wet paint hides otherwise (common practice, no "
    "source)."
)
NOT_HIDING = (
    "A stain, knot or resin that comes back is bleeding, not show-through: block it, more "
    "topcoats do not help (common practice, no source)."
)
WHAT_IS_LEFT = (
    "What is left in your tins counts first: weigh or measure it, and say it, so that no can is "
    "bought twice."
)
ANOTHER_CAUSE = (
    "Before the next coat look for another cause: another paint or shade in the can, a much "
    "thinner film than was said, or a ground that bleeds."
)


FROM_NOW = "Drying is reckoned from now: what the last coat has dried already comes off the wait."
NO_COUNT = (
    f"There is no count up to {MOST_COATS} topcoats, so there is no amount of paint and no date."
)


def on_words(after: int) -> str:
    """2 topcoats are on."""
    return f"{plural(after, 'topcoat')} {'is' if after == 1 else 'are'} on"


def tried_headline(
    coats: int, likely: int | None, chance: Callable[[int], float], *, enough: bool
) -> str:
    """1 topcoat on the test piece was not enough: 3 topcoats, about 7 in 10 sure.

    Args:
        coats: that were tried.
        likely: topcoats, at least the least; None where over 12.
        chance: that a count is enough.
        enough: how it came out.
    """
    seen = f"{plural(coats, 'topcoat')} on the test piece {_was(coats)}"
    seen += " enough" if enough else " not enough"
    if likely is None:
        return f"{seen}: more than {MOST_COATS} topcoats; another tool or another colour first."
    sure = chance_words(chance(likely))
    return f"{seen}: {plural(likely, 'topcoat')} on the piece, {sure} sure."


def _was(coats: int) -> str:
    return "was" if coats == 1 else "were"


def more_headline(after: int, more: Mapping[int, float], likely: int | None) -> str:
    """2 topcoats are on and it still shows: 1 more, about 6 in 10 sure; or 2, about 9 in 10."""
    seen = f"{on_words(after)} and it still shows"
    if likely is None:
        return f"{seen}: more than {MOST_COATS} in all; another tool or another colour first."
    told: list[str] = []
    for n, chance in more.items():
        if n < likely:
            continue
        told.append(f"{n}{'' if told else ' more'}, {chance_words(chance)} sure")
        if chance >= _SURE or len(told) == _MOST_TOLD:
            break
    return f"{seen}: {'; or '.join(told)}."


_SURE, _MOST_TOLD = 0.85, 3


def enough_headline(after: int, least: int) -> str:
    """What is left where it hides already."""
    if after >= least:
        return f"{on_words(after)} and {'it is' if after == 1 else 'they are'} enough."
    rest = least - after
    return f"{on_words(after)} and it hides: {rest} more for a sound, washable film."


def unforeseen_headline(after: int) -> str:
    """What was seen is hardly possible by what the job states."""
    return f"{on_words(after)} and it still shows, which this job hardly foresaw: no count from it."


def unforeseen_words(after: int, foretold: float) -> str:
    """Why there is no count."""
    return (
        f"By what the job states, {plural(after, 'topcoat')} {_was(after)} enough, "
        f"{chance_words(foretold)} sure: what was seen speaks against the job, not for some count."
    )


def foretold_line(answer: HalfWay) -> str:
    """What was told before, beside what was seen."""
    told = ", ".join(f"{n}: {chance_words(p)}" for n, p in list(answer.foretold.items())[:4])
    seen = f"The chance of what was seen: {chance_words(answer.foreseen)}."
    return f"Foretold for the way “{answer.way_name}”, topcoats enough: {told}. {seen}"


def amount_left(step: StepShown, answer: HalfWay) -> str:
    """Paint of a step; of further topcoats the greater amount is for more of them."""
    more = step.kind == "topcoat" and answer.after > 0 and answer.high != answer.likely
    return amount_words(step, answer.units, "; with more coats " if more else ", perhaps ")


def elsewhere(group: str) -> str:
    """That the answer is of one group alone."""
    return f"This is for “{group}” alone; other groups stay as they were planned."
