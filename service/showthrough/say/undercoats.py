"""Why an undercoat helps, or does not: a sentence for each way."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.say.chances import chance_words, count_words
from showthrough.workshop.grounds import Need

if TYPE_CHECKING:
    from showthrough.jobs.answers.prediction import UndercoatOption

_ABOUT_ALIKE = 6.0
"""Difference of L* up to which two colours are about as light."""

_VIVID = 35.0
"""Chroma from which a colour is bright enough for white to serve it."""


def undercoat_why(kind: str, lab: FloatArray | None, chip_lab: FloatArray) -> str:
    """Why a way is what it is.

    Args:
        kind: of the way.
        lab: colour of the last coat under the topcoat, CIELAB; None where it has none.
        chip_lab: colour of the topcoat.
    """
    if kind == "plain" or lab is None:
        return {
            "plain": "The topcoat goes straight onto the prepared surface.",
            "spots": "Only the spots get a coat first; it is not counted as one.",
        }.get(kind, "A clear coat that changes no colour.")
    lighter = float(lab[0] - chip_lab[0])
    if kind == "own mix":
        return "Mixed from the topcoat, so that what shows through already has its colour."
    if kind == "white":
        return f"White is on every shelf{_of_white(lighter, chip_lab)}."
    step = "About as light as the topcoat."
    if lighter > _ABOUT_ALIKE:
        step = "Lighter than the topcoat."
    elif lighter < -_ABOUT_ALIKE:
        step = "Darker than the topcoat."
    return f"Your own can. {step}" if kind == "owned" else step


def _of_white(lighter: float, chip_lab: FloatArray) -> str:
    if lighter <= 20.0:
        return ", and nearly as light as this colour"
    if float(np.hypot(*chip_lab[1:])) >= _VIVID:
        return "; it keeps a bright colour bright, but must be covered"
    return ", but works against so dark a colour" if chip_lab[0] < 45.0 else ", but must be covered"


def unfit_why(needs: Sequence[Need]) -> str:
    """Why an own can is no way here."""
    kinds = {kind for need in needs if need.all_over for kind in (need.kind, *need.also)}
    words = {
        "adhesion": "hold on this surface",
        "blocking": "block what bleeds",
        "corrosion": "keep metal from rust",
        "binding": "bind what chalks",
    }
    cannot = " or ".join(word for kind, word in words.items() if kind in kinds)
    return f"Its label does not say that it will {cannot or 'do what this surface needs'}."


def option_line(option: UndercoatOption) -> str:
    """What one way to prepare the ground comes to, in a line."""
    text = f"{count_words(option.total)} in all"
    if option.undercoats and option.topcoats is not None:
        under = count_words(option.undercoats, "undercoat")
        text += f": {under} and {count_words(option.topcoats, 'topcoat')}"
    if option.saved:
        text += f", saves {option.saved}" if option.saved > 0 else f", costs {-option.saved} more"
    if option.topcoats is not None:
        text += f"; enough with a chance of {chance_words(option.chance)}"
    text += "; a tie with the one above" if option.tie else ""
    text += f". {option.why}"
    return text if option.meets_needs else f"{text} Does not give the surface what it needs."
