"""How a pair of colours shifts from daylight to lamps.

Each light has its own white, to which the eye settles; colours are compared in
CIELAB of that white, 2 degrees. Two spectra that match by day may part in the
evening; colours that were only read as a colour get the smoothest spectrum, and
then this cannot be seen at all, which the answer says.

Source: CIE 15 for D65 and A, CIE 15:2018 for the LED-B lights; ASTM E308.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray, weights, white_point
from showthrough.colour.space import xyz_to_lab
from showthrough.errors import InputError, OutOfRangeError
from showthrough.palette.harmony import harmony

DAY = "D65"
"""The light that the others are compared with."""

EVENING = ("A", "LED-B3")
"""Shown where nothing else is asked: an incandescent lamp and a neutral white LED."""

LIGHT_WORDS = {
    "C": "daylight as an older standard has it",
    "D50": "warm daylight",
    "D65": "daylight",
    "D75": "blue daylight",
    "A": "incandescent light",
    "LED-B1": "a very warm white LED",
    "LED-B2": "a warm white LED",
    "LED-B3": "a neutral white LED",
    "LED-B4": "a cool white LED",
    "LED-B5": "a daylight LED",
}
"""What the CIE lights are called; their colour temperatures are 2733, 2998, 4103, 5109, 6598 K."""

MATCH = 2.0
"""CIEDE2000 up to which two colours pass as one; half of viewers accept 1.8 (Paravina 2015)."""

PARTS = 1.0
"""A matching pair parts when its difference passes ``MATCH`` and grows by at least this."""

HARMONY_CHANGE = 0.25
"""A change of harmony that is worth a word: a tenth of the model's range (no source)."""


GUESSED = (
    "Judged from the smoothest spectra with these colours. Whether two real paints part "
    "under a lamp shows only in measured spectra, or by looking at both under that lamp."
)
"""Said where a spectrum was not measured or computed but recovered from a colour."""


@dataclass(frozen=True, slots=True)
class LightShifts:
    """Pairs under several lights; arrays of shape (lights, pairs)."""

    lights: tuple[str, ...]
    """Names; the first is the day."""
    delta_e: FloatArray
    """CIEDE2000 within each pair."""
    harmony: FloatArray
    """Two-colour harmony of each pair."""

    @property
    def parts(self) -> np.ndarray:
        """Pairs that match by day and not under a light, shape (lights, pairs)."""
        day = self.delta_e[0]
        passes = (self.delta_e > MATCH) & (self.delta_e >= day + PARTS)
        result: np.ndarray = (day <= MATCH) & passes
        return result


@dataclass(frozen=True, slots=True)
class UnderLight:
    """One pair under one light."""

    light: str
    words: str
    """What the light is called."""
    delta_e: float
    harmony: float
    parts: bool
    """The pair matches by day and does not here."""


@dataclass(frozen=True, slots=True)
class PairShift:
    """One pair under several lights, with what to say about it."""

    under: tuple[UnderLight, ...]
    warnings: tuple[str, ...]
    """Sentences: the pair parts, or harmony changes much."""
    remark: str
    """How sure this is; empty where both spectra were measured or computed."""


def _checked(field: str, spectra: ArrayLike) -> FloatArray:
    reflectance = np.asarray(spectra, dtype=float)
    if reflectance.shape[-1:] != (31,) or not np.isfinite(reflectance).all():
        message = "a spectrum is 31 finite reflectances, 400 to 700 nm by 10 nm"
        raise OutOfRangeError.at(field, reflectance.shape, message)
    if (reflectance < 0.0).any():
        raise OutOfRangeError.at(field, reflectance.min(), "a reflectance cannot be below 0")
    return reflectance.reshape(-1, 31)


def light_shifts(
    spectra_1: ArrayLike, spectra_2: ArrayLike, others: Sequence[str] = EVENING
) -> LightShifts:
    """Pairs of spectra under daylight and other lights.

    Args:
        spectra_1: reflectances of the first colours, shape (31,) or (n, 31).
        spectra_2: of the second colours, shape (31,) or (n, 31); one may stand for all.
        others: lights beside the day, names in ``lights()``.

    Raises:
        OutOfRangeError: a spectrum is not 31 finite reflectances of 0 or more.
        InputError: a light is not known.
    """
    one, two = _checked("spectra_1", spectra_1), _checked("spectra_2", spectra_2)
    names = (DAY, *(name for name in dict.fromkeys(others) if name != DAY))
    lab_1 = np.stack([xyz_to_lab(one @ weights(n), white_point(n)) for n in names])
    lab_2 = np.stack([xyz_to_lab(two @ weights(n), white_point(n)) for n in names])
    return LightShifts(names, ciede2000(lab_1, lab_2), harmony(lab_1, lab_2).total)


def pair_shifts(
    name: str,
    spectrum: ArrayLike,
    names: Sequence[str],
    spectra: ArrayLike,
    others: Sequence[str] = EVENING,
    *,
    guessed: bool = False,
) -> tuple[PairShift, ...]:
    """One colour beside several, under daylight and other lights, with warnings in words.

    Args:
        name: what the first is called in a sentence, as in "the paint".
        spectrum: its reflectance, shape (31,).
        names: what the others are called, as in "the drawer".
        spectra: their reflectances, shape (n, 31).
        others: lights beside the day, names in ``lights()``.
        guessed: a spectrum was recovered from a colour.

    Raises:
        OutOfRangeError: a spectrum is not 31 finite reflectances of 0 or more.
        InputError: a light is not known, or names and spectra differ in number.
    """
    beside = _checked("spectra", spectra)
    if len(names) != len(beside):
        message = f"{len(names)} names for {len(beside)} spectra; give one name each"
        raise InputError.at("names", list(names), message)
    found = light_shifts(spectrum, beside, others)
    remark = GUESSED if guessed else ""
    words = [LIGHT_WORDS.get(light, light) for light in found.lights]
    figures = np.stack([found.delta_e, found.harmony, found.parts], axis=-1)
    shifts = []
    for other, rows in zip(names, figures.swapaxes(0, 1).tolist(), strict=True):
        under = tuple(
            UnderLight(light, told, delta_e, pleases, bool(parts))
            for light, told, (delta_e, pleases, parts) in zip(
                found.lights, words, rows, strict=True
            )
        )
        shifts.append(PairShift(under, _warnings(under, name, other), remark))
    return tuple(shifts)


def _warnings(under: Sequence[UnderLight], name_1: str, name_2: str) -> tuple[str, ...]:
    day = under[0]
    found = []
    for lamp in under[1:]:
        if lamp.parts:
            found.append(
                f"{name_1} and {name_2} match by day but part under {lamp.words}: "
                "look at both under the lamp before you paint."
            )
        elif abs(lamp.harmony - day.harmony) >= HARMONY_CHANGE:
            word = "better" if lamp.harmony > day.harmony else "less well"
            found.append(
                f"{name_1} and {name_2} go {word} together under {lamp.words} than by day."
            )
    return tuple(f"{text[0].upper()}{text[1:]}" for text in found)
