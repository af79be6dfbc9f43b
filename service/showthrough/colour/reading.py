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
    frozen,
)
from showthrough.colour.remarks import Bounds, clip_notes, move_notes, out_of_reach
from showthrough.colour.spectrum import (
    PAINT_BOUNDS,
    SPECULAR,
    recover_spectra,
    spectrum_to_lab,
)
from showthrough.errors import (
    MOST_PROBLEMS,
    InputError,
    OutOfRangeError,
    Problem,
    ProblemList,
    shown,
)

_BOUNDS_SOUGHT = 20  # seeking the greatest chroma takes about 10 ms for each colour
_CACHE_SIZE = 1024
_KNOWN_LIGHTS = {name.upper(): name for name in READING_ILLUMINANTS}


MAX_REFLECTANCE = 1.2
"""A band above this is a mistake (percent taken for a fraction, a fluorescent sample)."""

MAX_AB = 300.0
"""No a* or b* is larger; the most vivid object colours stay below about 190."""

_L_SLACK = 1e-6  # rounding of L* at white; #ffffff must not fail


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
        for nm, v in zip(WAVELENGTHS.tolist(), values, strict=True)
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
    notes: tuple[str, ...] = ()
    """Sentences on how the reading was understood; they pass into the colour's notes."""

    def __post_init__(self) -> None:
        """Check every part and keep plain tuples of floats."""
        problems = ProblemList()
        if (self.lab is None) == (self.reflectance is None):
            problems.add("", self.text, "give either lab or a reflectance spectrum, one of them")
        if self.lab is not None:
            object.__setattr__(self, "lab", _checked_lab(self.lab, problems))
        if self.reflectance is not None:
            object.__setattr__(self, "reflectance", _checked_bands(self.reflectance, problems))
        name = _KNOWN_LIGHTS.get(str(self.illuminant).strip().upper())
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
        if problems.problems:
            narrow = all(p.code == OutOfRangeError.code for p in problems.problems)
            raise (OutOfRangeError if narrow else InputError)(problems.problems)

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
    """The colours of many readings, one vectorised recovery for each light.

    Args:
        readings: what was read, n of them.
        bounds: one pair of least and greatest reflectance, or n pairs.
        names: n field names for the problems; ``[0]``, ``[1]`` ... where not given.

    Returns:
        The colours, in order.

    Raises:
        OutOfRangeError: some cannot be; the first are listed, the rest counted.
    """
    colours, problems = possible_colours(readings, bounds, names)
    if problems:
        listed = ProblemList(MOST_PROBLEMS)
        listed.extend(problems.values())
        raise OutOfRangeError(listed.all())
    return [colour for colour in colours if colour is not None]


def possible_colours(
    readings: Sequence[Reading],
    bounds: Bounds | Sequence[Bounds] = PAINT_BOUNDS,
    names: Sequence[str] | None = None,
) -> tuple[list[Colour | None], dict[int, Problem]]:
    """The colours of those readings that can be, and what is wrong with the others.

    Args:
        readings: what was read, n of them.
        bounds: one pair of least and greatest reflectance, or n pairs.
        names: n field names for the problems; ``[0]``, ``[1]`` ... where not given.

    Returns:
        The colours in order, None for one that cannot be; the problems by place.
    """
    each = _spread_bounds(bounds, len(readings))
    keys = list(zip(readings, each, strict=True))
    known = _remembered(keys)
    problems: dict[int, Problem] = {}
    groups: dict[tuple[str, int, bool], list[int]] = {}
    measured: list[int] = []
    for i, reading in enumerate(readings):
        if known[i] is not None:
            continue
        if reading.reflectance is not None:
            measured.append(i)
            continue
        light = (reading.illuminant, reading.observer, reading.specular_included)
        groups.setdefault(light, []).append(i)
    for i, colour in zip(measured, _measured_colours([keys[i] for i in measured]), strict=True):
        known[i] = colour
    for (illuminant, observer, specular), members in groups.items():
        lab = np.array([readings[i].lab for i in members])
        limits = np.array([each[i] for i in members])
        found = recover_spectra(lab, limits, illuminant, observer, specular_included=specular)
        # To a millionth: the solver leaves more, and a grey's a* and b* would have some hue.
        daylight = np.round(spectrum_to_lab(found.reflectance), 6) + 0.0
        for row, i in enumerate(members):
            if not found.reachable[row]:
                name = names[i] if names is not None else f"[{i}]"
                bounded = len(problems) < _BOUNDS_SOUGHT
                message = out_of_reach(
                    lab[row],
                    each[i],
                    (illuminant, observer),
                    mirror=SPECULAR if specular else 0.0,
                    bounded=bounded,
                )
                problems[i] = Problem(name, readings[i].label, message, OutOfRangeError.code)
                continue
            moves = float(found.moved[row]), float(found.moved_by[row])
            notes = move_notes(readings[i].label, each[i], *moves, daylight[row])
            known[i] = Colour(
                frozen(found.reflectance[row]),
                frozen(daylight[row]),
                readings[i].text,
                measured=False,
                notes=readings[i].notes + notes,
            )
    _remember(keys, known)
    return known, dict(sorted(problems.items()))


def _spread_bounds(bounds: Bounds | Sequence[Bounds], n: int) -> list[Bounds]:
    """One pair of bounds for each of n readings."""
    if len(bounds) == 2 and not isinstance(bounds[0], Sequence):
        low, high = bounds
        return [(float(low), float(high))] * n  # type: ignore[arg-type] # one pair, just told
    return [(float(low), float(high)) for low, high in bounds]  # type: ignore[misc] # pairs


def _measured_colours(keys: Sequence[tuple[Reading, Bounds]]) -> list[Colour]:
    """Measured spectra, less their mirror reflection, clipped into the bounds."""
    if not keys:
        return []
    mirror = np.array([SPECULAR if reading.specular_included else 0.0 for reading, _ in keys])
    values = np.array([reading.reflectance for reading, _ in keys]) - mirror[:, None]
    low, high = np.array([span for _, span in keys]).T[:, :, None]
    clipped = np.clip(values, low, high)
    labs = spectrum_to_lab(clipped)
    return [
        Colour(
            frozen(clipped[i]),
            frozen(labs[i]),
            reading.text,
            measured=True,
            notes=reading.notes + clip_notes(reading.label, span, values[i]),
        )
        for i, (reading, span) in enumerate(keys)
    ]


_cache: OrderedDict[tuple[Reading, Bounds], Colour] = OrderedDict()
_cache_lock = Lock()


def _remembered(keys: list[tuple[Reading, Bounds]]) -> list[Colour | None]:
    """Colours already reckoned; none for a large batch, which would only flush the rest."""
    if len(keys) > _CACHE_SIZE // 4:
        return [None] * len(keys)
    with _cache_lock:
        return [_cache.get(key) for key in keys]


def _remember(keys: list[tuple[Reading, Bounds]], colours: list[Colour | None]) -> None:
    """Keep the newest colours."""
    if len(keys) > _CACHE_SIZE // 4:
        return
    with _cache_lock:
        for key, colour in zip(keys, colours, strict=True):
            if colour is None:
                continue
            _cache[key] = colour
            _cache.move_to_end(key)
        while len(_cache) > _CACHE_SIZE:
            _cache.popitem(last=False)
