"""Checks of single numbers: each names its field, its value and what would work."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable, Mapping
from typing import Any

from showthrough.errors import ProblemList

Bounds = Iterable[tuple[str, float, float, str, bool]]


def is_number(value: Any) -> bool:
    """Whether a value is a finite number that a float can hold."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return -sys.float_info.max <= value <= sys.float_info.max


def number(
    wrong: ProblemList,
    field: str,
    value: Any,
    low: float,
    high: float,
    unit: str = "",
    *,
    above: bool = False,
) -> bool:
    """Whether a value is a number within bounds; notes the problem where it is not.

    Args:
        wrong: where a problem is noted.
        field: its place.
        value: anything.
        low: least value that works, or the one to stay above.
        high: greatest value that works.
        unit: of the bounds, for the message.
        above: the least value itself does not work.
    """
    if is_number(value) and low <= value <= high and not (above and value == low):
        return True
    tail = f" {unit}" if unit else ""
    wanted = f"{'above' if above else 'from'} {low:g} {'and up' if above else ''} to {high:g}{tail}"
    wanted = " ".join(wanted.split())
    if not is_number(value):
        wrong.add(field, value, f"must be a number {wanted}", "not_a_number")
        return False
    wrong.add(field, value, f"{value:g}{tail} cannot be: {wanted} works", "out_of_range")
    return False


def numbers(wrong: ProblemList, holder: object, bounds: Bounds, prefix: str = "") -> None:
    """Note which of an object's numbers are out of bounds; what is None was not said.

    Args:
        wrong: where problems are noted.
        holder: has the numbers as attributes.
        bounds: name, least, greatest and unit of each, and whether the least does not work.
        prefix: place of the object, with its dot.
    """
    for name, low, high, unit, above in bounds:
        if (value := getattr(holder, name)) is not None:
            number(wrong, f"{prefix}{name}", value, low, high, unit, above=above)


def whole(wrong: ProblemList, field: str, value: Any, low: int, high: int) -> bool:
    """Whether a value is a whole number within bounds; notes the problem where it is not."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        wrong.add(field, value, f"must be a whole number from {low} to {high}", "out_of_range")
        return False
    return True


def choice(wrong: ProblemList, field: str, value: Any, known: Iterable[str]) -> bool:
    """Whether a value is one of the known words; notes the problem where it is not."""
    words = tuple(known)
    if not isinstance(value, str) or value not in words:
        wrong.add(field, value, f"is not known; one of {', '.join(words)} works", "unknown")
        return False
    return True


def chances(wrong: ProblemList, field: str, value: Any, most: int) -> bool:
    """Whether a value maps whole counts from 1 to chances that add up to 1."""
    if not isinstance(value, Mapping) or not value:
        wrong.add(field, value, "must give each count of coats its chance")
        return False
    before = len(wrong.problems)
    for count, chance in value.items():
        if whole(wrong, field, count, 1, most):
            number(wrong, f"{field}[{count}]", chance, 0.0, 1.0)
    if len(wrong.problems) > before:
        return False
    total = math.fsum(value.values())
    if abs(total - 1.0) > 1e-6:
        wrong.add(field, f"{total:g}", f"the chances add up to {total:g}; they must add up to 1")
        return False
    return True
