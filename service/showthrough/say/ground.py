"""What the ground needs, in sentences."""

from __future__ import annotations

from showthrough.say.chances import coats_of, listed
from showthrough.workshop.grounds import Need
from showthrough.workshop.grounds.preparation import WHAT_IS_IT


def must_be_asked(question: str) -> bool:
    """Whether a question stands on the first screen however full that is."""
    return question.endswith(WHAT_IS_IT)


def need_sentence(need: Need) -> str:
    """One need: which patches, why, and the coat that meets it."""
    coats = coats_of(need.coats, need.product.name)
    where = "all over" if need.all_over else "there alone"
    if need.kind == "sealing" and not need.all_over and not need.between:
        where += ", unless a coat over all seals it too"
    instead = f" Or {need.instead}, never both." if need.instead else ""
    return f"{listed(need.patches)}: {need.why}. {coats.capitalize()} {where}.{instead}"
