"""Lengths as painters write them and contents of tins as labels do: read once, kept in m and ml.

Units are mm, cm, m, in and ft, feet and inches together too. A comma is a decimal sign;
a number that could also hold a thousands comma is refused, never guessed.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from showthrough.errors import InputError
from showthrough.workshop.limits import is_number

METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}
"""Metres in each unit (the inch is 25.4 mm and the foot 12 inches by definition)."""

FT2_M2 = 0.3048**2
"""Square metres in a square foot, by definition."""

GALLON_ML = 3785.411784
"""Millilitres in a US gallon of 231 cubic inches, by definition."""

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

MOST_M = 20.0
"""Longest length of a piece of furniture, m; above it a unit is wrong."""

_SIGNS = {
    "'": "ft",
    "′": "ft",
    "’": "ft",
    '"': "in",
    "″": "in",
    "”": "in",
    "inch": "in",
    "inches": "in",
    "foot": "ft",
    "feet": "ft",
}
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_PART = re.compile(
    r"(?P<number>\d+[ -]+\d+/\d+|\d+/\d+|\d*[.,]?\d+)\s*"
    r"(?P<unit>mm|cm|m|inches|inch|in|feet|foot|ft|['′’\"″”])?\.?\s*"
)
_CONTENT = re.compile(
    r"(\d{1,6}(?:[.,]\d{1,3})?)\s*(ml|cl|l|fl\.? ?oz|pt|qt|gal)\.?", re.IGNORECASE
)
_LITRE_THOUSANDS = re.compile(r"\d{1,3},\d{3}")
_LONGEST_TEXT = 60
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")
_WORKS = "80 cm, 1.25 m, 1,25 m, 27 1/2 in or 2 ft 3 1/2 in works"


def length_m(value: Any, unit: str = "", field: str = "length") -> float:
    """A length in metres.

    Args:
        value: a text such as "80 cm", "1,25 m" or "2 ft 3 1/2 in", or a plain number.
        unit: unit of a number without one: mm, cm, m, in or ft; "" refuses such a number.
        field: its place, for messages.

    Returns:
        Metres, above 0 and at most 20.

    Raises:
        InputError: not a length, no unit, ambiguous, or absurd for furniture.

    Source:
        The inch of 25.4 mm and the foot of 304.8 mm (international definitions of 1959).
    """
    if unit and unit not in METRES:
        raise InputError.at(field, unit, f"unit must be one of {', '.join(METRES)}", "unknown")
    if is_number(value):
        found = _with_unit(float(value), unit, field, value)
    elif isinstance(value, str) and len(value) <= _LONGEST_TEXT:
        found = _read(value, unit, field)
    else:
        raise InputError.at(field, value, f"is not a length; {_WORKS}", "not_a_number")
    if not 0.0 < found <= MOST_M:
        message = f"{found:g} m cannot be a piece of furniture: above 0 and at most {MOST_M:g} m"
        raise InputError.at(field, value, message, "out_of_range")
    return found


def _with_unit(number: float, unit: str, field: str, value: Any) -> float:
    if not unit:
        raise InputError.at(field, value, f"has no unit; {_WORKS}", "no_unit")
    return number * METRES[unit]


def _read(text: str, unit: str, field: str) -> float:
    plain = text.strip().lower()
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    plain = plain.strip()
    parts, at = [], 0
    while at < len(plain):
        part = _PART.match(plain, at)
        if part is None:
            raise InputError.at(field, text, f"is not a length; {_WORKS}", "not_a_number")
        parts.append((part["number"], part["unit"] or ""))
        at = part.end()
    if len(parts) == 1:
        number, own = parts[0]
        return _with_unit(_number(number, field, text), _SIGNS.get(own, own) or unit, field, text)
    units = [_SIGNS.get(own, own) for _, own in parts]
    if units != ["ft", "in"]:
        raise InputError.at(field, text, f"is not a length; {_WORKS}", "not_a_number")
    feet, inches = (_number(number, field, text) for number, _ in parts)
    return feet * METRES["ft"] + inches * METRES["in"]


def _number(text: str, field: str, value: str) -> float:
    if _THOUSANDS.fullmatch(text):
        whole = text.replace(",", "")
        dotted = text.replace(",", ".")
        message = f"could be {dotted} or {whole}; write one of them without the comma"
        raise InputError.at(field, value, message, "ambiguous")
    if "/" in text:
        try:
            return float(sum(Fraction(part) for part in re.split(r"[ -]+", text)))
        except ZeroDivisionError:
            raise InputError.at(field, value, "a fraction over 0 is none", "not_a_number") from None
    return float(text.replace(",", "."))


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
    match = _CONTENT.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None or _LITRE_THOUSANDS.fullmatch(match[1]):
        works = "0.75 l, 250 ml, 1 qt or 12 fl oz works"
        raise InputError.at(field, text, f"is not the content of a tin; {works}", "not_a_number")
    unit = match[2].lower().replace(".", "").replace("floz", "fl oz")
    return round(float(match[1].replace(",", ".")) * MILLILITRES[unit])
