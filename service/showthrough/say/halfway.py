"""Sentences of a job in hand: what was seen, and what is left."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from showthrough.film.coats import MOST_COATS
from showthrough.say.chances import chance_words, plural
from showthrough.say.whole import amount_words, listed_plainly, volume_words

if TYPE_CHECKING:
    from showthrough.jobs.answers.halfway import HalfWay
    from showthrough.jobs.answers.prediction import PlanStep
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
    coats: int,
    under: Sequence[PlanStep],
    likely: int | None,
    chance: Callable[[int], float],
    *,
    enough: bool,
) -> str:
    """1 topcoat on the test piece was not enough: on the piece 1 undercoat and 3 topcoats ...

    Args:
        coats: that were tried.
        under: coats over all of the piece that lie under its topcoats.
        likely: topcoats, at least the least; None where over 12.
        chance: that a count is enough.
        enough: how it came out.
    """
    seen = f"{plural(coats, 'topcoat')} on the test piece {_was(coats)}"
    seen += " enough" if enough else " not enough"
    if likely is None:
        return f"{seen}: more than {MOST_COATS} topcoats; another tool or another colour first."
    sure = chance_words(chance(likely))
    parts = [f"{step.coats or 1} {step.product}" for step in under]
    laid = listed_plainly([*parts, plural(likely, "topcoat")])
    return f"{seen}: on the piece {laid}, {sure} sure."


def _was(coats: int) -> str:
    return "was" if coats == 1 else "were"


def more_headline(after: int, more: Mapping[int, float], likely: int | None) -> str:
    """2 topcoats are on and it still shows: 1 more, about 6 in 10 sure; or 2, about 9 in 10."""
    seen = f"{on_words(after)} and it still shows"
    if likely is None:
        return f"{seen}: more than {MOST_COATS} in all; another tool or another colour first."
    told: list[tuple[int, str]] = []
    for n, chance in more.items():
        said = chance_words(chance)
        if n >= likely and (not told or said != told[-1][1]):
            told.append((n, said))
        elif len(told) > 1 and chance >= _SURE:
            told[-1] = (n, said)  # the count that paint is reckoned for
        if n >= likely and chance >= _SURE:
            break
    first, *rest = [*told[:_FIRST], *told[_FIRST:][-1:]]
    words = [f"{first[0]} more, {first[1]} sure", *(f"{n}, {said} sure" for n, said in rest)]
    return f"{seen}: {'; or '.join(words)}."


_SURE = 0.9
_FIRST = 2
"""Counts that are told beside the one that is sure enough."""


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
    first = min(answer.after, max(answer.foretold)) - 1
    rows = [(n, chance) for n, chance in answer.foretold.items() if n >= first]
    told = "; ".join(f"{n}: {chance_words(chance)}" for n, chance in rows[:_MOST_FORETOLD])
    where = "On a test piece, straight onto the prepared surface, what"
    chance = chance_words(answer.foreseen)
    chance = chance if chance.startswith("hardly") else f"a chance of {chance}"
    return (
        f"Foretold for the way “{answer.way_name}”, topcoats that are enough: {told}. "
        f"{'What' if answer.test_piece is None else where} was seen had {chance}."
    )


_MOST_FORETOLD = 4


def amount_left(step: StepShown, answer: HalfWay) -> str:
    """Paint of a step; of further topcoats the greater amount is for more of them."""
    more = step.kind == "topcoat" and answer.after > 0 and answer.high != answer.likely
    if not more or step.ml_50 is None:
        return amount_words(step, answer.units)
    half = volume_words(step.ml_50, answer.units)
    if step.ml_90 is None or answer.high is None:
        return f"{half}; far more if it takes more coats"
    return f"{half}; {volume_words(step.ml_90, answer.units)} if it takes {answer.high}"


def elsewhere(group: str) -> str:
    """That the answer is of one group alone."""
    return f"This is for “{group}” alone; other groups stay as they were planned."
