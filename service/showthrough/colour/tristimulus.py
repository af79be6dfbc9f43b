"""Readings made from numbers: sRGB, CIELAB, LCh, XYZ, Munsell notation, LRV.

Each carries its light: sRGB is D65 and 2 degrees by definition, Munsell notation
illuminant C and 2 degrees, a light reflectance value D65 and 10 degrees; CIELAB,
LCh and XYZ are in the light that the reading states.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import white_point
from showthrough.colour.munsell import scale as munsell
from showthrough.colour.reading import Reading
from showthrough.colour.space import lch_to_lab, srgb_to_lab, xyz_to_lab
from showthrough.errors import NotationError, OutOfRangeError, shown

HEX = re.compile(r"#?(?:[0-9a-f]{3}|[0-9a-f]{6})", re.IGNORECASE)

_WHITE_SLACK = 1.001
"""Published whites differ from the sums of our weights by up to 0.05 %."""


def reading_from_hex(
    digits: str, *, specular_included: bool = False, text: str | None = None
) -> Reading:
    """Reading of sRGB hex digits, 3 or 6 of them, with or without #; D65, 2 degrees.

    Raises:
        NotationError: the text is not 3 or 6 hex digits.

    Source:
        IEC 61966-2-1.
    """
    clean = digits.strip().removeprefix("#")
    if not HEX.fullmatch(clean):
        raise NotationError.at("hex", digits, f"{shown(digits)!r}: {hex_fault(clean)}")
    if len(clean) == 3:
        clean = "".join(2 * digit for digit in clean)
    rgb = [int(clean[i : i + 2], 16) / 255.0 for i in (0, 2, 4)]
    return _reading(
        srgb_to_lab(rgb),
        ("D65", 2),
        specular_included=specular_included,
        text=text or f"#{clean.lower()}",
    )


def reading_from_rgb(
    rgb: Sequence[float], *, specular_included: bool = False, text: str | None = None
) -> Reading:
    """Reading of sRGB values 0 to 255; D65, 2 degrees.

    Raises:
        OutOfRangeError: a value is outside 0 to 255.

    Source:
        IEC 61966-2-1.
    """
    numbers = three("rgb", rgb)
    wrong = [n for n in numbers if not 0.0 <= n <= 255.0]
    if wrong:
        values = ", ".join(f"{n:g}" for n in wrong)
        raise OutOfRangeError.at("rgb", values, f"rgb value {values} is outside 0 to 255")
    lab = srgb_to_lab(np.array(numbers) / 255.0)
    return _reading(
        lab,
        ("D65", 2),
        specular_included=specular_included,
        text=text or _written("rgb", numbers),
    )


def reading_from_lab(
    lab: Sequence[float],
    illuminant: str = "D65",
    observer: int = 2,
    *,
    specular_included: bool = False,
    text: str | None = None,
) -> Reading:
    """Reading of CIELAB in the stated light.

    Raises:
        InputError: the numbers or the light are not possible.
    """
    return _reading(
        three("lab", lab),
        (illuminant, observer),
        specular_included=specular_included,
        text=text or _written("lab", lab, illuminant, observer),
    )


def reading_from_lch(
    lch: Sequence[float],
    illuminant: str = "D65",
    observer: int = 2,
    *,
    specular_included: bool = False,
    text: str | None = None,
) -> Reading:
    """Reading of L*, C*ab and hue angle (degrees) in the stated light.

    Raises:
        InputError: the numbers or the light are not possible.
    """
    values = three("lch", lch)
    if values[1] < 0.0:
        raise OutOfRangeError.at("lch", values[1], f"chroma {values[1]:g} is below 0")
    return _reading(
        lch_to_lab(values),
        (illuminant, observer),
        specular_included=specular_included,
        text=text or _written("lch", lch, illuminant, observer),
    )


def reading_from_xyz(
    xyz: Sequence[float],
    illuminant: str = "D65",
    observer: int = 2,
    *,
    specular_included: bool = False,
    text: str | None = None,
) -> Reading:
    """Reading of tristimulus values under the stated light, white Y = 100.

    Raises:
        InputError: the numbers or the light are not possible.
    """
    values = three("xyz", xyz)
    # A reading checks the light; a fault there must not hide behind a missing white point.
    checked = Reading(lab=(50.0, 0.0, 0.0), illuminant=illuminant, observer=observer)
    white = white_point(checked.illuminant, checked.observer)
    for name, value, most in zip("XYZ", values, white, strict=True):
        if not 0.0 <= value <= most * _WHITE_SLACK:
            hint = "; white has Y = 100 here" if value > most else ""
            raise OutOfRangeError.at(
                "xyz", value, f"{name} {value:g} is outside 0 to {most:.2f}, the white{hint}"
            )
    lab = xyz_to_lab(np.minimum(values, white), white)
    return _reading(
        lab,
        (illuminant, observer),
        specular_included=specular_included,
        text=text or _written("xyz", xyz, illuminant, observer),
    )


def reading_from_munsell(
    notation: str, *, specular_included: bool = False, text: str | None = None
) -> Reading:
    """Reading of Munsell notation; illuminant C, 2 degrees.

    Raises:
        NotationError: the text is not Munsell notation or lies outside the renotation.

    Source:
        ASTM D1535; the Munsell renotation.
    """
    xyz = munsell.munsell_to_xyz(munsell.parse_munsell(notation))
    light = (munsell.ILLUMINANT, munsell.OBSERVER)
    lab = xyz_to_lab(xyz, white_point(*light))
    return _reading(lab, light, specular_included=specular_included, text=text or notation.strip())


def reading_from_lrv(
    lrv: float, *, specular_included: bool = False, text: str | None = None
) -> Reading:
    """Reading of a light reflectance value alone: a neutral, D65, 10 degrees.

    Raises:
        OutOfRangeError: the value is outside 0 to 100.

    Source:
        BS 8493: LRV is the CIE tristimulus Y, 0 to 100, under D65 with the 10 degree observer.
    """
    value = float(lrv)
    if not 0.0 <= value <= 100.0:
        raise OutOfRangeError.at(
            "lrv", value, f"light reflectance value {value:g} is outside 0 to 100"
        )
    white = white_point("D65", 10)
    return _reading(
        xyz_to_lab(white * value / 100.0, white),
        ("D65", 10),
        specular_included=specular_included,
        text=text or f"lrv {value:g}",
    )


def hex_fault(digits: str) -> str:
    """What is wrong with a text that should be hex digits."""
    wrong = sorted({c for c in digits if c not in "0123456789abcdefABCDEF"})
    if wrong:
        return f"{shown(' '.join(wrong))!r} is no hex digit (0-9, a-f), as in #a3b84c"
    return f"a hex colour has 3 or 6 digits, this one has {len(digits)}, as in #a3b84c"


def three(field: str, values: Sequence[float]) -> tuple[float, float, float]:
    """Three finite numbers.

    Raises:
        OutOfRangeError: there are not three of them, or one is not finite.
    """
    numbers = tuple(float(v) for v in values)
    if len(numbers) != 3:
        raise OutOfRangeError.at(
            field, values, f"{field} needs three numbers, {len(numbers)} given"
        )
    if not all(math.isfinite(n) for n in numbers):
        raise OutOfRangeError.at(field, values, f"{field} must be finite numbers")
    return numbers


def _written(word: str, values: Sequence[float], illuminant: str = "D65", observer: int = 2) -> str:
    """The text that a user might have written for these numbers."""
    light = "" if (illuminant, observer) == ("D65", 2) else f" {illuminant}/{observer}"
    return f"{word}({' '.join(f'{float(v):g}' for v in values)}){light}"


def _reading(
    lab: ArrayLike,
    light: tuple[str, int],
    *,
    specular_included: bool,
    text: str,
) -> Reading:
    lightness, a, b = (float(v) for v in np.asarray(lab, dtype=float))
    return Reading(
        lab=(lightness, a, b),
        illuminant=light[0],
        observer=light[1],
        specular_included=specular_included,
        text=text,
    )
