"""Colours as people write them, and back.

``parse_colour`` reads any notation in ``NOTATIONS``; ``format_colour`` prints them.
Numbers in brackets may be parted by commas or spaces, and the brackets may be
left out. CIELAB, LCh and XYZ may name their light after them, as in
``lab(66 -24 55) D50/10``; the other notations carry their light in their definition.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import DEFAULT_ILLUMINANT, DEFAULT_OBSERVER, WAVELENGTHS, FloatArray
from showthrough.colour.munsell import scale as munsell
from showthrough.colour.reading import Reading
from showthrough.colour.space import hex_of_lab, lab_to_lch, lab_to_xyz
from showthrough.colour.spectrum import (
    PAINT_BOUNDS,
    SURFACE_BOUNDS,
    recover_spectra,
    spectrum_to_xyz,
)
from showthrough.colour.tristimulus import (
    HEX,
    hex_fault,
    reading_from_hex,
    reading_from_lab,
    reading_from_lch,
    reading_from_lrv,
    reading_from_munsell,
    reading_from_rgb,
    reading_from_xyz,
    three,
)
from showthrough.errors import InputError, NotationError, OutOfRangeError, alike, shown

__all__ = [
    "EXAMPLES",
    "NOTATIONS",
    "format_colour",
    "parse_colour",
    "reading_from_hex",
    "reading_from_lab",
    "reading_from_lch",
    "reading_from_lrv",
    "reading_from_munsell",
    "reading_from_rgb",
    "reading_from_xyz",
]

EXAMPLES = {
    "hex": "#a3b84c",
    "rgb": "rgb(163 184 76)",
    "lab": "lab(66 -24 55)",
    "lch": "lch(66 60 114)",
    "xyz": "xyz(27.5 35.3 9.4)",
    "munsell": "5GY 6/8 or N 7",
    "lrv": "lrv 45",
}
"""Each notation that can be read, with an example."""

NOTATIONS = ("hex", "lab", "lch", "xyz", "munsell", "lrv")
"""What ``format_colour`` prints."""

_KNOWN = f"write it as {', '.join(EXAMPLES.values())}"
_COUNTS = {"rgb": 3, "lab": 3, "lch": 3, "xyz": 3, "lrv": 1}
_MAX_LENGTH = 200
_NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:e[-+]?\d+)?", re.IGNORECASE)
_CALL = re.compile(
    r"(?P<word>[a-z]+)\*?\s*[:=]?\s*(?P<open>[(\[])?(?P<body>[^()\[\]]*)(?P<close>[)\]])?"
    r"(?:\s*@?\s*(?P<light>[a-z]\w*)\s*/\s*(?P<observer>\d+)\s*°?)?",
    re.IGNORECASE,
)
# A light after bare numbers, as in "lab 66 -24 55 D50/10".
_TAIL = re.compile(r"(?P<light>[a-z]\w*)\s*/\s*(?P<observer>\d+)\s*°?\s*$", re.IGNORECASE)


def parse_colour(
    text: str,
    illuminant: str | None = None,
    observer: int | None = None,
    *,
    specular_included: bool = False,
) -> Reading:
    """The reading that a colour text stands for.

    Args:
        text: a colour in any notation of ``EXAMPLES``.
        illuminant: light of a CIELAB, LCh or XYZ reading; D65 where not given.
        observer: 2 or 10 for the same; 2 where not given.
        specular_included: the reading holds the surface's mirror reflection.

    Returns:
        The reading, with the text kept.

    Raises:
        NotationError: the text is in no known notation; the message lists them.
        InputError: the notation is known, but a number or the light is not possible.
    """
    clean = _tidied(text)
    given = text.strip()
    if HEX.fullmatch(clean):
        reading = reading_from_hex(clean, specular_included=specular_included, text=given)
        return _with_own_light("hex", illuminant, observer, reading)
    if munsell.looks_like_munsell(clean):
        reading = reading_from_munsell(clean, specular_included=specular_included, text=given)
        return _with_own_light("Munsell notation", illuminant, observer, reading)
    match = _CALL.fullmatch(clean)
    word = match["word"].lower() if match else ""
    word = {"cielab": "lab", "srgb": "rgb"}.get(word, word)
    if match is None or word not in _COUNTS:
        raise NotationError.at("", given, f"{shown(given)!r} {_fault(clean)}; {_KNOWN}")
    if bool(match["open"]) != bool(match["close"]):
        raise NotationError.at("", given, f"{shown(given)!r} lacks a bracket; {_as_in(word)}")
    body, light, degrees = match["body"], match["light"], match["observer"]
    if light is None and (tail := _TAIL.search(body)):
        body, light, degrees = body[: tail.start()], tail["light"], tail["observer"]
    light = illuminant if light is None else light
    angle = observer if degrees is None else int(degrees)
    numbers = _numbers(word, body, given)
    if word == "rgb":
        reading = reading_from_rgb(numbers, specular_included=specular_included, text=given)
        return _with_own_light("rgb", light, angle, reading)
    if word == "lrv":
        reading = reading_from_lrv(numbers[0], specular_included=specular_included, text=given)
        return _with_own_light("lrv", light, angle, reading)
    make = {"lab": reading_from_lab, "lch": reading_from_lch, "xyz": reading_from_xyz}[word]
    return make(
        numbers,
        light or DEFAULT_ILLUMINANT,
        DEFAULT_OBSERVER if angle is None else angle,
        specular_included=specular_included,
        text=given,
    )


def _tidied(text: str) -> str:
    """One line, plain minus signs, no quotes round it."""
    if len(text) > _MAX_LENGTH:
        raise NotationError.at(
            "", text, f"a colour text has at most {_MAX_LENGTH} characters, this one {len(text)}"
        )
    clean = " ".join(text.split()).strip("'\"")
    return clean.replace("\N{MINUS SIGN}", "-").replace("\N{EN DASH}", "-").strip()


def _as_in(word: str) -> str:
    return f"write it as in {EXAMPLES[word]}"


def _numbers(word: str, body: str, given: str) -> list[float]:
    """The numbers in the brackets, as many as the notation needs."""
    parts = [p for p in re.split(r"[\s,;]+", body.strip()) if p]
    wrong = [p for p in parts if not _NUMBER.fullmatch(p)]
    if wrong:
        words = ", ".join(repr(shown(p)) for p in wrong)
        raise NotationError.at(
            "", given, f"{shown(given)!r}: {words} is not a number; {_as_in(word)}"
        )
    count = _COUNTS[word]
    if len(parts) != count:
        comma = " (decimals need a point, not a comma)" if "," in body else ""
        need = "one number" if count == 1 else "three numbers"
        raise NotationError.at(
            "",
            given,
            f"{shown(given)!r}: {word} needs {need}, {len(parts)} given{comma}; {_as_in(word)}",
        )
    return [float(p) for p in parts]


def _with_own_light(
    name: str, illuminant: str | None, observer: int | None, reading: Reading
) -> Reading:
    """The reading, unless another light than its own is stated for it."""
    stated = (
        reading.illuminant if illuminant is None else illuminant.strip().upper(),
        reading.observer if observer is None else observer,
    )
    own = (reading.illuminant, reading.observer)
    if stated != own:
        raise InputError.at(
            "illuminant" if stated[0] != own[0] else "observer",
            f"{stated[0]}/{stated[1]}",
            f"{name} is defined for {own[0]} and {own[1]} degrees, not {stated[0]} and "
            f"{stated[1]}; leave the light out, or give the colour as lab",
        )
    return reading


def _fault(clean: str) -> str:
    """What a text that is in no notation may have meant."""
    parts = [p for p in re.split(r"[\s,;]+", clean.strip("()[]")) if p]
    word = re.match(r"[a-z]+", clean, re.IGNORECASE)
    fault = "is not a colour notation"
    if not clean:
        fault = "is empty"
    elif re.fullmatch(r"#.*|[0-9a-f]{4,8}", clean, re.IGNORECASE):
        fault = f"is not a hex colour: {hex_fault(clean.removeprefix('#'))}"
    elif all(_NUMBER.fullmatch(p) for p in parts):
        fault = "is a number without a notation"
        if len(parts) == 3:
            fault = "could be lab, lch, xyz or rgb: put the word before the numbers"
    elif word and re.search(r"\d", clean):
        close = alike(word[0].lower(), _COUNTS, cutoff=0.5)
        hint = f" (did you mean {close[0]}?)" if close else ""
        fault = f"begins with {shown(word[0])!r}, which is no colour notation here{hint}"
    return fault


def format_colour(
    lab: ArrayLike, notation: str = "lab", reflectance: ArrayLike | None = None
) -> str:
    """A colour in words of one notation.

    Args:
        lab: CIELAB, D65 and 2 degrees, shape (3,).
        notation: one of ``NOTATIONS``. Hex is clipped to what a screen shows; Munsell
            notation may say ``outside the renotation``.
        reflectance: the colour's spectrum, shape (31,), where known; Munsell notation and
            LRV belong to other lights and otherwise go through a recovered one.

    Raises:
        NotationError: the notation is not known.
        OutOfRangeError: ``lab`` is not finite, or an LRV is asked of a colour that cannot be.
    """
    values = three("lab", np.asarray(lab, dtype=float).tolist())
    if notation not in _PRINTERS:
        raise NotationError.at(
            "notation",
            notation,
            f"notation {shown(notation)!r} is not known; use one of {', '.join(NOTATIONS)}",
        )
    spectrum = None if reflectance is None else np.asarray(reflectance, dtype=float)
    return _PRINTERS[notation](np.array(values), spectrum)


def _print_munsell(lab: FloatArray, reflectance: FloatArray | None) -> str:
    spectrum = _spectrum_of(lab) if reflectance is None else reflectance
    if spectrum is None:
        return munsell.OUTSIDE
    light = (munsell.ILLUMINANT, munsell.OBSERVER)
    return munsell.xyz_to_munsell(spectrum_to_xyz(spectrum, *light))


def _print_lrv(lab: FloatArray, reflectance: FloatArray | None) -> str:
    spectrum = _spectrum_of(lab) if reflectance is None else reflectance
    if spectrum is None:
        raise OutOfRangeError.at(
            "lab", lab.tolist(), "no surface can have this colour, so it has no LRV"
        )
    return f"lrv {float(spectrum_to_xyz(spectrum, 'D65', 10)[1]):.1f}"


def _spectrum_of(lab: FloatArray) -> FloatArray | None:
    """The narrowest bounds that hold this very colour, not a moved one, or None."""
    if np.hypot(lab[1], lab[2]) < 0.01:
        return np.full(WAVELENGTHS.size, float(lab_to_xyz(lab)[1]) / 100.0)
    for bounds in (PAINT_BOUNDS, SURFACE_BOUNDS, (1e-4, 1.0 - 1e-4)):
        found = recover_spectra(lab, bounds)
        if found.reachable[0] and found.moved_by[0] < 0.01:
            return np.asarray(found.reflectance[0])
    return None


def _plain(word: str, values: ArrayLike, decimals: int) -> str:
    # Adding 0.0 turns -0.0 into 0.0.
    parts = (f"{round(float(v), decimals) + 0.0:.{decimals}f}" for v in np.asarray(values))
    return f"{word}({' '.join(parts)})"


def _lch(lab: FloatArray) -> FloatArray:
    """LCh, with hue 0 where the chroma prints as 0: the hue of rounding says nothing."""
    lch = lab_to_lch(lab)
    return lch * [1.0, 1.0, 0.0] if lch[1] < 0.05 else lch


_PRINTERS: dict[str, Callable[[FloatArray, FloatArray | None], str]] = {
    "hex": lambda lab, _: hex_of_lab(lab),
    "lab": lambda lab, _: _plain("lab", lab, 1),
    "lch": lambda lab, _: _plain("lch", _lch(lab), 1),
    "xyz": lambda lab, _: _plain("xyz", lab_to_xyz(lab), 3),
    "munsell": _print_munsell,
    "lrv": _print_lrv,
}
