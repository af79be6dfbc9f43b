"""The defaults that an answer rests on, in a painter's words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from showthrough.say.chances import capital
from showthrough.say.sentence import TOOLS

if TYPE_CHECKING:
    from showthrough.defaults import Default, Used

_TOOLS = TOOLS | {"hvlp": "spray gun", "conventional": "conventional spray gun"}
"""By what they lose: a gun of no stated kind is taken to work with little pressure."""

_WHAT = {
    "area spread": "measured area, how far it may be out",
    "bench time": "time at the bench",
    "film spread": "film of a coat, how far it may be out",
    "full cure": "time to full cure",
    "handle": "time until it may be handled",
    "recoat": "time until the next coat",
    "session": "each session",
    "session loss": "paint left in the tool each session",
    "solids spread": "volume solids, how far they may be out",
    "transfer": "paint that stays on the piece",
    "transfer spread": "paint that stays on the piece, how far that may be out",
}
_UNITS = {
    "d": "days",
    "degC": "°C",
    "factor either way": "times more or less",
    "h": "hours",
    "min": "minutes",
    "min to set up and clean": "minutes to set up and clean",
    "min/m2": "minutes per m²",
    "min/m2 and coat": "minutes per m² and coat",
}


def taken_words(used: Used) -> str:
    """One default, or what finished jobs made of it, as a sentence."""
    parts = used.name.split(": ")
    name = ", ".join([*parts[:-1], _WHAT.get(parts[-1], _TOOLS.get(parts[-1], parts[-1]))])
    head, comma, rest = name.partition(", ")
    name = f"{_TOOLS.get(head, head)}{comma}{rest}"
    default = used.default
    told = f"a default ({default.source})"
    low, high = default.low, default.high
    amount = _amount(default, f"{default.value:g}")
    if used.jobs:
        amount = _amount(default, f"{default.value * used.factor:.3g}")
        told = f"from {used.jobs} of your jobs, where {_number(default, default.value)} is usual"
    elif low is not None and high is not None:
        amount += f" ({_number(default, low)} to {_number(default, high)})"
    return f"{capital(name)}: {amount}, {told}."


def _number(default: Default, value: float) -> str:
    # A part of 1 is read as a percentage.
    return f"{100.0 * value:.3g}%" if default.unit.startswith("of ") else f"{value:.3g}"


def _amount(default: Default, plain: str) -> str:
    """A number with its unit; one alone has a unit in the singular."""
    number = _number(default, float(plain))
    unit = _UNITS.get(default.unit, default.unit)
    if number == "1" and unit in {"days", "hours", "minutes"}:
        unit = unit[:-1]
    return f"{number}{unit}" if unit == "%" else f"{number} {unit}".strip()
