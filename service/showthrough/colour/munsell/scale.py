"""Munsell notation: value and luminance, neutrals, and hues.

Value and neutrals are reckoned here; hues need the tables behind ``renotation``.
Colours are XYZ under illuminant C and the 2 degree observer, white Y = 100.

Source: ASTM D1535 for value and luminance; the Munsell renotation (Newhall,
Nickerson, Judd 1943) as held by colour-science for hues.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray, white_point
from showthrough.colour.munsell import renotation
from showthrough.errors import NotationError, OutOfRangeError, shown

ILLUMINANT = "C"
OBSERVER = 2

HUE_FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
"""The ten hue families, in order round the circle."""

OUTSIDE = "outside the renotation"
"""What is printed for a colour that has no Munsell notation."""

EXAMPLES = "5GY 6/8, 10YR 6/4, N 7"

# ASTM D1535: Y, relative to the perfect diffuser, from value; powers 1 to 5.
_D1535 = (1.1914, -0.22533, 0.23352, -0.020484, 0.00081939)

# The tables state chromaticities for their own rounded illuminant C; scaling by the ratio of
# the whites (less than 0.05 %) keeps a grey exactly neutral.
_TABLE_WHITE = 100.0 * np.array([0.31006 / 0.31616, 1.0, (1.0 - 0.31006 - 0.31616) / 0.31616])

_NUMBER = r"\d+(?:\.\d*)?|\.\d+"
_NEUTRAL = re.compile(rf"N\s*({_NUMBER})\s*(?:/\s*(0(?:\.0*)?)?)?", re.IGNORECASE)
_CHROMATIC = re.compile(rf"({_NUMBER})\s*([A-Z]+)\s*({_NUMBER})\s*/\s*({_NUMBER})", re.IGNORECASE)


def luminance_of_value(value: ArrayLike) -> FloatArray:
    """Luminance factor Y of Munsell values.

    Args:
        value: Munsell value, 0 to 10, any shape.

    Returns:
        Y, 0 to 100, relative to the perfect diffuser, same shape.

    Raises:
        OutOfRangeError: a value lies outside 0 to 10 or is not finite.

    Source:
        ASTM D1535.

    Example:
        >>> float(luminance_of_value(5.0).round(4))
        19.2718
    """
    value = _checked(value, "value", 10.0)
    a, b, c, d, e = _D1535
    return np.asarray(value * (a + value * (b + value * (c + value * (d + value * e)))))


def value_of_luminance(luminance: ArrayLike) -> FloatArray:
    """Munsell values of luminance factors; the inverse of ``luminance_of_value``.

    Args:
        luminance: Y, 0 to 100, relative to the perfect diffuser, any shape.

    Returns:
        Munsell value, 0 to 10, same shape.

    Raises:
        OutOfRangeError: a luminance lies outside 0 to 100 or is not finite.

    Source:
        ASTM D1535, inverted by Newton's method (the polynomial rises everywhere on 0 to 10).
    """
    luminance = _checked(luminance, "luminance", 100.0)
    a, b, c, d, e = _D1535
    value = np.interp(luminance, *_steps())
    for _ in range(2):  # from so near each step squares what is left
        slope = a + value * (2 * b + value * (3 * c + value * (4 * d + value * 5 * e)))
        miss = value * (a + value * (b + value * (c + value * (d + value * e)))) - luminance
        value = np.clip(value - miss / slope, 0.0, 10.0)
    return np.asarray(value)


@cache
def _steps() -> tuple[FloatArray, FloatArray]:
    """Luminance and value in fine steps: where Newton's method starts."""
    value = np.linspace(0.0, 10.0, 1001)
    return luminance_of_value(value), value


def _checked(values: ArrayLike, name: str, most: float) -> FloatArray:
    array = np.asarray(values, dtype=float)
    slack = 1e-9 * most  # rounding at white
    wrong = ~((array >= -slack) & (array <= most + slack))
    if wrong.any():
        first = float(array[wrong].flat[0])
        raise OutOfRangeError.at(name, first, f"{name} {first:g} is outside 0 to {most:g}")
    return np.clip(array, 0.0, most)


class MunsellColour(NamedTuple):
    """A Munsell notation, taken apart."""

    hue: float
    """Place within the family, above 0 up to 10; 0 for a neutral."""
    family: str
    """One of ``HUE_FAMILIES``, or N for a neutral."""
    value: float
    chroma: float

    def __str__(self) -> str:
        """The notation, one decimal where one is needed."""
        if self.family == "N":
            return f"N {_short(self.value)}"
        return f"{_short(self.hue)}{self.family} {_short(self.value)}/{_short(self.chroma)}"


def _short(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")


def looks_like_munsell(text: str) -> bool:
    """Whether a text is Munsell notation or a near miss: a slash, or N and a number."""
    text = text.strip()
    return bool(
        re.fullmatch(r"n\s*[\d.]+\s*/?\s*[\d.]*", text, re.IGNORECASE)
        or re.fullmatch(r"[\d.]*\s*[a-z]{1,3}\s*[\d.]+\s*/\s*[\d.]*", text, re.IGNORECASE)
        or re.fullmatch(r"[\d.]+\s*[a-z]{1,2}\s*[\d.]+\s*[\d.]*", text, re.IGNORECASE)
    )


def parse_munsell(text: str) -> MunsellColour:
    """Take a Munsell notation apart.

    Args:
        text: hue value/chroma or N value, such as ``5GY 6/8``, ``N 7`` or ``N7/``.

    Returns:
        Its parts. Chroma 0 becomes a neutral; hue 0 of a family becomes 10 of the one before.

    Raises:
        NotationError: the text is not Munsell notation, or a part is out of range.
    """
    clean = text.strip()
    if match := _NEUTRAL.fullmatch(clean):
        return MunsellColour(0.0, "N", _value_part(match[1], text), 0.0)
    match = _CHROMATIC.fullmatch(clean)
    if not match:
        raise NotationError.at("", text, _near_miss(clean))
    hue, family, chroma = float(match[1]), match[2].upper(), float(match[4])
    if family not in HUE_FAMILIES:
        turned = family[::-1]
        hint = f"; did you mean {turned}?" if turned in HUE_FAMILIES else ""
        raise NotationError.at(
            "",
            text,
            f"{shown(text)!r}: {family} is not a Munsell hue{hint} "
            f"(use one of {', '.join(HUE_FAMILIES)}; for example {EXAMPLES})",
        )
    if hue > 10.0:
        raise NotationError.at(
            "", text, f"{shown(text)!r}: hue {hue:g}{family} is outside 0 to 10 within its family"
        )
    value = _value_part(match[3], text)
    if chroma == 0.0:
        return MunsellColour(0.0, "N", value, 0.0)
    if hue == 0.0:
        hue, family = 10.0, HUE_FAMILIES[HUE_FAMILIES.index(family) - 1]
    return MunsellColour(hue, family, value, chroma)


def _value_part(text: str, whole: str) -> float:
    value = float(text)
    if value > 10.0:
        raise NotationError.at(
            "", whole, f"{shown(whole)!r}: Munsell value {value:g} is outside 0 to 10"
        )
    return value


def _near_miss(text: str) -> str:
    """What is wrong with a text that is nearly Munsell notation."""
    given = repr(shown(text))
    if re.fullmatch(r"N\s*[\d.]+\s*/\s*[\d.]+", text, re.IGNORECASE):
        return f"{given}: a neutral has no chroma; write it as N 7 or N 7/"
    if re.fullmatch(r"[A-Z]{1,2}\s*[\d.]+\s*/\s*[\d.]+", text, re.IGNORECASE):
        return f"{given}: the hue needs a number before its letters, as in {EXAMPLES}"
    if re.fullmatch(r"[\d.]+\s*[A-Z]{1,2}\s*[\d.]+\s*/?", text, re.IGNORECASE):
        return f"{given}: the chroma is missing after the slash, as in {EXAMPLES}"
    return f"{given} is not Munsell notation, hue value/chroma, as in {EXAMPLES}"


def munsell_to_xyz(colour: MunsellColour) -> FloatArray:
    """XYZ of a Munsell colour under illuminant C, 2 degrees, shape (3,), white Y = 100.

    Raises:
        NotationError: the colour lies outside the renotation tables; names the greatest chroma.

    Source:
        ASTM D1535 for neutrals; the renotation through colour-science for hues.
    """
    luminance = float(luminance_of_value(colour.value))
    white = white_point(ILLUMINANT, OBSERVER)
    if colour.family == "N":
        return white * (luminance / 100.0)
    given = str(colour)
    if not 1.0 <= colour.value < 10.0:
        raise NotationError.at(
            "",
            given,
            f"{given} is {OUTSIDE}: hues are tabulated for value 1 up to, not including, 10",
        )
    circle = 10.0 * HUE_FAMILIES.index(colour.family) + colour.hue  # 5R is 5, 10R 10, 5YR 15
    step = renotation.Step(circle, colour.value, colour.chroma)
    found = renotation.chromaticity(step)
    if found is None:
        most = renotation.greatest_chroma(step)
        raise NotationError.at(
            "",
            given,
            f"{given} is {OUTSIDE}: at this hue and value the chroma goes to about {most:g}",
        )
    x, y = found
    xyz = np.array([x / y, 1.0, (1.0 - x - y) / y]) * luminance
    return np.asarray(xyz * white / _TABLE_WHITE)


def xyz_to_munsell(xyz: ArrayLike) -> str:
    """Munsell notation to one decimal, or ``OUTSIDE``.

    Args:
        xyz: XYZ under illuminant C, 2 degrees, shape (3,), white Y = 100.

    Source:
        ASTM D1535 for neutrals; the renotation through colour-science for hues.
    """
    xyz = np.asarray(xyz, dtype=float)
    white = white_point(ILLUMINANT, OBSERVER)
    luminance = float(xyz[1])
    if not (np.isfinite(xyz).all() and 0.0 <= luminance <= 100.001):
        return OUTSIDE
    value = float(value_of_luminance(min(luminance, 100.0)))
    # Within C*ab of about a quarter, half a tenth of a chroma step, the search for a hue is idle.
    root = np.cbrt(xyz / white)
    if np.abs(root - root[1]).max() < 5e-4:
        return str(MunsellColour(0.0, "N", value, 0.0))
    if not 0.95 <= value < 10.0:  # what prints as 1 counts as 1
        return OUTSIDE
    tabled = xyz * _TABLE_WHITE / white
    x, y, _ = tabled / tabled.sum()
    chroma = 500.0 * (root[0] - root[1]), 200.0 * (root[1] - root[2])
    found = renotation.step_of_chromaticity(float(x), float(y), max(value, 1.0), chroma)
    if found is None:
        return OUTSIDE
    if round(found.chroma, 1) == 0.0:
        return str(MunsellColour(0.0, "N", value, 0.0))
    # 0YR is written 10R, so that the printed place runs from 0.1 to 10.
    place = round(found.circle % 100.0, 1) or 100.0
    family = int(np.ceil(place / 10.0)) - 1
    return str(MunsellColour(place - 10.0 * family, HUE_FAMILIES[family], value, found.chroma))
