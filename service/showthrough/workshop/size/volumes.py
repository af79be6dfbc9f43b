"""Contents of tins as labels give them, read once and kept in millilitres."""

from __future__ import annotations

import re
from typing import Any

from showthrough.errors import InputError
from showthrough.workshop.size.lengths import GALLON_ML

MILLILITRES = {
    "ml": 1.0,
    "cl": 10.0,
    "l": 1000.0,
    "fl oz": GALLON_ML / 128.0,
    "pt": GALLON_ML / 8.0,
    "qt": GALLON_ML / 4.0,
    "gal": GALLON_ML,
}
"""Millilitres in each unit; pint, quart and gallon are those of the US."""

_TEXT = re.compile(r"(\d{1,6}(?:[.,]\d{1,3})?)\s*(ml|cl|l|fl\.? ?oz|pt|qt|gal)\.?", re.IGNORECASE)
_THOUSANDS = re.compile(r"\d{1,3},\d{3}")


def volume_ml(text: Any, field: str = "size") -> int:
    """Content of a tin, whole millilitres.

    Args:
        text: a number with its unit, as "0.75 l", "250 ml", "1 qt" or "12 fl oz".
        field: its place, for messages.

    Raises:
        InputError: not such a text, or one that a thousands comma makes ambiguous.

    Source:
        The US gallon of 231 cubic inches, 4 quarts, 8 pints, 128 fluid ounces (NIST Handbook 44,
        appendix C; from memory).
    """
    match = _TEXT.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None or _THOUSANDS.fullmatch(match[1]):
        works = "0.75 l, 250 ml, 1 qt or 12 fl oz works"
        raise InputError.at(field, text, f"is not the content of a tin; {works}", "not_a_number")
    unit = match[2].lower().replace(".", "").replace("floz", "fl oz")
    return round(float(match[1].replace(",", ".")) * MILLILITRES[unit])
