"""A reading of a colour, and the colour that it stands for.

A *reading* is what the painter has: CIELAB in some light, or a measured
spectrum. A *colour* is what the film reckons with: 31 reflectances with the
surface's mirror reflection left out, and CIELAB under D65 and 2 degrees.

A reading in another light is converted through a spectrum: the smoothest one
with that colour in the stated light is found first and then looked at under
D65 and 2 degrees. No chromatic adaptation formula takes part.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field
from threading import Lock

import numpy as np

from showthrough.colour.lights import (
    DEFAULT_ILLUMINANT,
    DEFAULT_OBSERVER,
    OBSERVERS,
    READING_ILLUMINANTS,
    WAVELENGTHS,
    FloatArray,
    white_point,
)
from showthrough.colour.space import xyz_to_lab
from showthrough.colour.spectrum import (
    PAINT_BOUNDS,
    SPECULAR,
    SURFACE_BOUNDS,
    reachable_chroma,
    recover_spectra,
    spectrum_to_lab,
)
from showthrough.errors import InputError, OutOfRangeError, Problem, ProblemList, shown

Bounds = tuple[float, float]

MAX_REFLECTANCE = 1.2
"""A band above this is a mistake (percent taken for a fraction, a fluorescent sample)."""

MAX_AB = 300.0
"""No a* or b* is larger; the most vivid object colours stay below about 190."""

_L_SLACK = 1e-6  # rounding of L* at white; #ffffff must not fail
_WORTH_SAYING = 0.05  # a smaller move of L* or clip in percent shows nowhere
_CACHE_SIZE = 1024


@dataclass(frozen=True, slots=True)
class Reading:
    """One colour as it was read, checked once when it is made.

    Exactly one of ``lab`` and ``reflectance`` is given.

    Raises:
        OutOfRangeError: every problem found is a number out of range.
        InputError: the same, with other problems among them.
    """

    lab: tuple[float, float, float] | None = None
    """L*, a*, b* in the reading's own light."""
    reflectance: tuple[float, ...] | None = None
    """31 reflectances, 0 to 1, 400-700 nm by 10 nm."""
    illuminant: str = DEFAULT_ILLUMINANT
    observer: int = DEFAULT_OBSERVER
    specular_included: bool = False
    """Whether the surface's mirror reflection is part of the reading."""
    text: str = ""
    """What the user wrote."""

    def __post_init__(self) -> None:
        """Check every part and keep plain tuples of floats."""
        problems = ProblemList()
        if (self.lab is None) == (self.reflectance is None):
            problems.add("", self.text, "give either lab or a reflectance spectrum, one of them")
        if self.lab is not None:
            object.__setattr__(self, "lab", _checked_lab(self.lab, problems))
        if self.reflectance is not None:
            object.__setattr__(self, "reflectance", _checked_bands(self.reflectance, problems))
        known = {name.upper(): name for name in READING_ILLUMINANTS}
        name = known.get(str(self.illuminant).strip().upper())
        if name is None:
            problems.add(
                "illuminant",
                self.illuminant,
                f"illuminant {shown(str(self.illuminant))!r} is not one a reading may state; "
                f"use one of {', '.join(READING_ILLUMINANTS)}",
            )
        else:
            object.__setattr__(self, "illuminant", name)
        if self.observer not in OBSERVERS:
            problems.add(
                "observer",
                self.observer,
                f"observer {shown(self.observer)} is not known; use 2 or 10 (degrees)",
            )
        else:
            object.__setattr__(self, "observer", int(self.observer))
        _raise_by_kind(problems.problems)

    @property
    def label(self) -> str:
        """What to call this reading in a sentence."""
        if self.text:
            return shown(self.text)
        if self.lab is not None:
            return "lab({:g} {:g} {:g})".format(*self.lab)
        return "the measured spectrum"


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour that the film can be reckoned with."""

    reflectance: FloatArray
    """Reflectances, shape (31,), specular excluded, within the bounds asked for."""
    lab: FloatArray
    """CIELAB of that reflectance, D65 and 2 degrees, shape (3,)."""
    text: str = ""
    """What the user wrote."""
    measured: bool = False
    """Whether the reflectances were measured; otherwise they are recovered from a colour."""
    notes: tuple[str, ...] = field(default=())
    """Sentences for the painter: what was moved or clipped, and to what."""


def colour_of(reading: Reading, bounds: Bounds = PAINT_BOUNDS) -> Colour:
    """The colour of one reading.

    Args:
        reading: what was read.
        bounds: least and greatest reflectance, ``PAINT_BOUNDS`` or ``SURFACE_BOUNDS``.

    Returns:
        The colour; its notes say what was moved to become possible.

    Raises:
        OutOfRangeError: the chroma is more than can be; the message names the bound.
    """
    return colours_of([reading], bounds, names=[""])[0]


def colours_of(
    readings: Sequence[Reading],
    bounds: Bounds | Sequence[Bounds] = PAINT_BOUNDS,
    names: Sequence[str] | None = None,
) -> list[Colour]:
    """The colours of many readings, one vectorised recovery for each light and bounds.

    Args:
        readings: what was read, n of them.
        bounds: one pair of least and greatest reflectance, or n pairs.
        names: n field names for the problems; ``[0]``, ``[1]`` ... where not given.

    Returns:
        The colours, in order.

    Raises:
        OutOfRangeError: some cannot be; every one of them is listed.
    """
    each = _spread_bounds(bounds, len(readings))
    keys = list(zip(readings, each, strict=True))
    known = _remembered(keys)
    problems: list[Problem] = []
    groups: dict[tuple[str, int, bool, Bounds], list[int]] = {}
    for i, (reading, span) in enumerate(keys):
        if known[i] is not None:
            continue
        if reading.reflectance is not None:
            known[i] = _measured_colour(reading, reading.reflectance, span)
            continue
        light = (reading.illuminant, reading.observer, reading.specular_included, span)
        groups.setdefault(light, []).append(i)
    for (illuminant, observer, specular, span), members in groups.items():
        lab = np.array([readings[i].lab for i in members])
        found = recover_spectra(lab, span, illuminant, observer, specular_included=specular)
        daylight = spectrum_to_lab(found.reflectance)
        for row, i in enumerate(members):
            if not found.reachable[row]:
                name = names[i] if names is not None else f"[{i}]"
                problems.append(_out_of_reach(readings[i], span, name))
                continue
            known[i] = Colour(
                _frozen(found.reflectance[row]),
                _frozen(daylight[row]),
                readings[i].text,
                measured=False,
                notes=_move_notes(readings[i], span, found.moved[row], daylight[row]),
            )
    if problems:
        raise OutOfRangeError(problems)
    colours = [colour for colour in known if colour is not None]
    _remember(keys, colours)
    return colours


def _checked_lab(lab: Sequence[float], problems: ProblemList) -> tuple[float, ...] | None:
    """Plain floats, with every problem noted."""
    try:
        values = tuple(float(v) for v in lab)
    except (TypeError, ValueError):
        problems.add("lab", lab, "lab needs three numbers: L*, a*, b*")
        return None
    if len(values) != 3:
        problems.add("lab", lab, f"lab needs three numbers: L*, a*, b*; {len(values)} given")
    elif not all(math.isfinite(v) for v in values):
        problems.add("lab", lab, "lab must be finite numbers: L*, a*, b*", "out_of_range")
    else:
        lightness = values[0]
        if not -_L_SLACK <= lightness <= 100.0 + _L_SLACK:
            problems.add(
                "lab",
                lab,
                f"L* {lightness:g} is outside 0 to 100, from black to white",
                "out_of_range",
            )
        for axis, value in zip("ab", values[1:], strict=True):
            if abs(value) > MAX_AB:
                problems.add(
                    "lab",
                    lab,
                    f"{axis}* {value:g} is outside -{MAX_AB:g} to {MAX_AB:g}, "
                    "more than any colour can have",
                    "out_of_range",
                )
        values = (min(max(lightness, 0.0), 100.0), *values[1:])
    return values


def _checked_bands(bands: Sequence[float], problems: ProblemList) -> tuple[float, ...] | None:
    """Plain floats, with every problem noted."""
    try:
        values = tuple(float(v) for v in bands)
    except (TypeError, ValueError):
        problems.add("reflectance", bands, "a spectrum must be numbers, one for each band")
        return None
    if len(values) != WAVELENGTHS.size:
        problems.add(
            "reflectance",
            bands,
            f"a spectrum needs {WAVELENGTHS.size} bands, 400 to 700 nm by 10 nm; "
            f"{len(values)} given",
        )
        return values
    wrong = [
        (nm, v)
        for nm, v in zip(WAVELENGTHS, values, strict=True)
        if not (math.isfinite(v) and 0.0 <= v <= MAX_REFLECTANCE)
    ]
    for nm, v in wrong:
        problems.add(
            "reflectance",
            v,
            f"reflectance {v:g} at {nm:g} nm is outside 0 to {MAX_REFLECTANCE:g} (1 is white)",
            "out_of_range",
        )
    return values


def _raise_by_kind(problems: list[Problem]) -> None:
    """Raise the narrowest error that fits all problems, if there are any."""
    if not problems:
        return
    narrow = all(p.code == OutOfRangeError.code for p in problems)
    raise (OutOfRangeError if narrow else InputError)(problems)


def _spread_bounds(bounds: Bounds | Sequence[Bounds], n: int) -> list[Bounds]:
    """One pair of bounds for each of n readings."""
    if len(bounds) == 2 and not isinstance(bounds[0], Sequence):
        low, high = bounds
        return [(float(low), float(high))] * n  # type: ignore[arg-type]
    return [(float(low), float(high)) for low, high in bounds]  # type: ignore[misc]


def _frozen(values: FloatArray) -> FloatArray:
    """A copy that nobody can change, since colours are shared."""
    copy = np.array(values)
    copy.setflags(write=False)
    return copy


def _measured_colour(reading: Reading, bands: tuple[float, ...], span: Bounds) -> Colour:
    """A measured spectrum, less its mirror reflection, clipped into the bounds."""
    values = np.array(bands) - (SPECULAR if reading.specular_included else 0.0)
    low, high = span
    clipped = np.clip(values, low, high)
    notes = []
    for where, bound, words in (
        (values < low - 1e-9, low, "below"),
        (values > high + 1e-9, high, "above"),
    ):
        if where.any():
            bands_nm = WAVELENGTHS[where]
            notes.append(
                f"{reading.label} goes {words} {100 * bound:g} %, what {_kind(span)} can be, "
                f"in {bands_nm.size} of {WAVELENGTHS.size} bands between {bands_nm[0]:g} and "
                f"{bands_nm[-1]:g} nm; those bands are clipped."
            )
    return Colour(
        _frozen(clipped),
        _frozen(spectrum_to_lab(clipped)),
        reading.text,
        measured=True,
        notes=tuple(notes),
    )


def _kind(span: Bounds) -> str:
    """What the bounds belong to, in words."""
    if span == PAINT_BOUNDS:
        return "any paint film"
    if span == SURFACE_BOUNDS:
        return "any surface we model"
    return f"reflectances from {span[0]:g} to {span[1]:g}"


def _move_notes(
    reading: Reading, span: Bounds, moved: float, daylight: FloatArray
) -> tuple[str, ...]:
    """A sentence when L* had to be moved."""
    if abs(moved) < _WORTH_SAYING:
        return ()
    word = "darker" if moved > 0.0 else "lighter"
    than = f"{_kind(span)} of its hue and chroma" if math.hypot(*daylight[1:]) > 1 else _kind(span)
    return (f"{reading.label} is {word} than {than}; it is modelled as L* {daylight[0]:.1f}.",)


def _out_of_reach(reading: Reading, span: Bounds, name: str) -> Problem:
    """The problem of a colour that cannot be, with the bound."""
    lab = np.array(reading.lab)
    chroma = math.hypot(lab[1], lab[2])
    mirror = SPECULAR if reading.specular_included else 0.0
    limits = (span[0] + mirror, span[1] + mirror)
    what = {PAINT_BOUNDS: "paint", SURFACE_BOUNDS: "surface"}.get(span, "colour")
    most = reachable_chroma(lab, limits, reading.illuminant, reading.observer)
    near = reading.label if reading.text else "this colour"
    darkest, lightest = xyz_to_lab(np.outer(limits, white_point()))[:, 0]
    if darkest <= lab[0] <= lightest:
        message = (
            f"chroma {chroma:.0f} is more than any {what} of this lightness and hue can have "
            f"(about {most:.0f})"
        )
    else:
        word, end = ("darker", darkest) if lab[0] < darkest else ("lighter", lightest)
        message = (
            f"L* {lab[0]:.0f} with chroma {chroma:.0f} is {word} than any {what} can be "
            f"(about L* {end:.0f}, and that only as a grey)"
        )
    return Problem(name, near, message, OutOfRangeError.code)


_cache: OrderedDict[tuple[Reading, Bounds], Colour] = OrderedDict()
_cache_lock = Lock()


def _remembered(keys: list[tuple[Reading, Bounds]]) -> list[Colour | None]:
    """Colours already reckoned; none for a large batch, which would only flush the rest."""
    if len(keys) > _CACHE_SIZE // 4:
        return [None] * len(keys)
    with _cache_lock:
        return [_cache.get(key) for key in keys]


def _remember(keys: list[tuple[Reading, Bounds]], colours: list[Colour]) -> None:
    """Keep the newest colours."""
    if len(keys) > _CACHE_SIZE // 4:
        return
    with _cache_lock:
        for key, colour in zip(keys, colours, strict=True):
            _cache[key] = colour
            _cache.move_to_end(key)
        while len(_cache) > _CACHE_SIZE:
            _cache.popitem(last=False)
