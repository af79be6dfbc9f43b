"""What stands in where the painter says nothing: one table, with unit, range, source and effect.

The assumptions of an answer, the constants of the film and workshop rooms and the table in the
contributor guide are all made from ``data/defaults.csv``.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from showthrough.tables import data_text, records_of

COMMON_PRACTICE = "common practice, no source"


class Default(NamedTuple):
    """One default: its value, its unit, its source, and what practice says of its range."""

    value: float
    unit: str
    source: str = COMMON_PRACTICE
    low: float | None = None
    high: float | None = None
    sd: float | None = None
    """Factor of one geometric standard deviation, where the answer reckons with one."""
    moves: str = ""
    """What in the answer changes with it."""


class Used(NamedTuple):
    """A default that an answer rests on: which quantity, and the default itself."""

    name: str
    default: Default
    jobs: int = 0
    """Finished jobs of the painter that know better; then this is no default any more."""
    factor: float = 1.0
    """What they make of it."""


def _number(text: str) -> float | None:
    return float(text) if text else None


@cache
def every_default() -> dict[str, Default]:
    """All defaults by key: a group, a dot, and a name within the group."""
    return {
        row["key"]: Default(
            float(row["value"]),
            row["unit"],
            row["source"],
            _number(row["low"]),
            _number(row["high"]),
            _number(row["sd"]),
            row["moves"],
        )
        for row in records_of(data_text(__file__, "defaults.csv"))
    }


def defaults_of(group: str) -> dict[str, Default]:
    """The defaults of one group by their names within it, in the order of the table."""
    start = f"{group}."
    return {
        key.removeprefix(start): default
        for key, default in every_default().items()
        if key.startswith(start)
    }


def usual(key: str) -> float:
    """The value of one default."""
    return every_default()[key].value
