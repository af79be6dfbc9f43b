"""The one place where a measured quantity becomes an exact decimal.

Money is never a float. Millilitres, minutes and chances are measured or modelled and are
floats; before they meet money they are rounded here, once, to a stated number of places.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation
from typing import Any

from showthrough.errors import InputError

CHANCE_PLACES = 6
_DIGITS = 12


def exact(value: Any, places: int = 3, field: str = "value") -> Decimal:
    """A number as a decimal, rounded to a number of places.

    Args:
        value: an int, a float, a text or a Decimal.
        places: decimal places kept; halves go to the even digit.
        field: its place, for messages.

    Raises:
        InputError: not a finite number, or one of more than 12 digits before the point.
    """
    try:
        found = Decimal(str(value)) if not isinstance(value, bool | Decimal) else Decimal(value)
    except InvalidOperation:
        found = Decimal("NaN")
    if isinstance(value, bool) or not found.is_finite() or abs(found) >= 10**_DIGITS:
        raise InputError.at(field, value, "must be a finite number", "not_a_number")
    return found.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)


def exact_chances(chances: Mapping[int, float], field: str = "coats") -> dict[int, Decimal]:
    """Chances of counts as decimals that add up to exactly 1.

    Args:
        chances: chance of each count; they are scaled to add up to 1, and what rounding
            leaves goes to the likeliest count.
        field: their place, for messages.

    Raises:
        InputError: none, a negative one, or all of them 0.
    """
    given = {n: exact(p, 12, f"{field}[{n}]") for n, p in chances.items()}
    total = sum(given.values(), Decimal(0))
    if not given or total <= 0 or min(given.values()) < 0:
        raise InputError.at(field, dict(chances), "must give each count a chance of 0 or more")
    found = {n: exact(p / total, CHANCE_PLACES) for n, p in given.items()}
    likeliest = max(found, key=lambda n: found[n])
    found[likeliest] += 1 - sum(found.values(), Decimal(0))
    return found
