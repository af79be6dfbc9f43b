"""Sample swatches as the page offers them, and the colour that a typed text stands for."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from showthrough.colour.files.swatches import (
    Swatch,
    find_swatch,
    nearest_swatches,
    shipped_swatches,
)
from showthrough.colour.lights import FloatArray
from showthrough.colour.names import describe_colour
from showthrough.colour.reading import colour_of, colours_of
from showthrough.colour.space import hex_of_lab
from showthrough.colour.spectrum import SURFACE_BOUNDS
from showthrough.errors import InputError
from showthrough.jobs.case.readings import reading_of
from showthrough.jobs.schema.job import ColourInput

COLUMNS = ("pale", "light", "strong", "dark")
_ROWS = {
    "red": ("pale pink 80", "light pink 74", "vivid red 42", "dark red 30"),
    "orange": ("pale orange 81", "light orange 74", "vivid orange 66", "strong orange 40"),
    "brown": (
        "light greyish brown 67",
        "light greyish yellow-brown 67",
        "brown 54",
        "dark brown 30",
    ),
    "yellow": ("very pale yellow 90", "pale yellow 81", "vivid yellow 82", "dark yellow-brown 30"),
    "yellow-green": (
        "pale yellow-green 81",
        "light greyish yellow-green 67",
        "vivid yellow-green 66",
        "dark yellow-green 30",
    ),
    "green": ("pale green 81", "light greyish green 67", "vivid green 62", "dark green 30"),
    "blue-green": (
        "pale blue-green 81",
        "light blue-green 74",
        "strong blue-green 58",
        "dark blue-green 30",
    ),
    "blue": ("pale blue 81", "light blue 74", "vivid blue 46", "dark blue 30"),
    "purple": ("pale purple 81", "light purple 74", "deep purple 30", "dark purple 30"),
    "white": ("white 96", "off-white 93", "warm white 92", "warm white 88"),
    "grey": ("pale grey 80", "light grey 65", "grey 45", "dark grey 32"),
    "black": ("very dark grey 25", "black 20", "black 18"),
}
"""The wall of topcoats: rows of one hue, the nearest of which is near enough for a first answer."""

_FIRST_SURFACES = (
    "varnish yellowed over pine",
    "varnish brown 38",
    "walnut finish dark",
    "varnish red-brown 31",
    "pine wood light grain",
    "oak wood",
    "pine wood knot",
    "wood filler pale",
    "previous paint white",
    "white gloss paint yellowed",
    "previous paint blue",
    "previous paint green",
    "previous paint black",
    "wax polish dark",
    "white melamine",
    "brown laminate",
)
"""The nearest of these is near enough for most pieces; the others stand behind them."""

_GROUND_WORDS = {
    "wood": "bare wood",
    "varnish": "varnished",
    "paint": "painted",
    "gloss": "gloss paint",
    "laminate": "laminate",
    "melamine": "melamine",
    "filler": "filler",
    "waxed": "waxed",
    "polished": "polished",
    "metal": "metal",
    "sealed": "sealed",
}

_LONGEST = 200


@dataclass(frozen=True, slots=True)
class Sample:
    """One field to pick."""

    name: str
    hex: str
    lab: tuple[float, float, float]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together."""

    title: str
    samples: tuple[Sample, ...]


def _samples(swatches: tuple[Swatch, ...]) -> list[tuple[Swatch, Sample]]:
    """Each swatch with its field."""
    colours = colours_of([s.reading for s in swatches], SURFACE_BOUNDS, [s.name for s in swatches])
    return [
        (
            swatch,
            Sample(
                swatch.name,
                hex_of_lab(colour.lab),
                (float(colour.lab[0]), float(colour.lab[1]), float(colour.lab[2])),
                swatch.note,
            ),
        )
        for swatch, colour in zip(swatches, colours, strict=True)
    ]


@cache
def topcoat_wall() -> tuple[Group, ...]:
    """Four topcoats of each hue: pale, light, strong, dark; then whites, greys and blacks."""
    by_name = {sample.name: sample for _, sample in _samples(shipped_swatches("topcoats"))}
    return tuple(Group(title, tuple(by_name[n] for n in names)) for title, names in _ROWS.items())


@cache
def more_topcoats() -> tuple[Sample, ...]:
    """The topcoats that the wall does not show, by hue."""
    shown = {sample.name for row in topcoat_wall() for sample in row.samples}
    return tuple(s for _, s in _samples(shipped_swatches("topcoats")) if s.name not in shown)


@cache
def surface_wall() -> tuple[Sample, ...]:
    """The surfaces that come first."""
    by_name = {s.name: s for _, s in _samples(shipped_swatches("surfaces"))}
    return tuple(by_name[name] for name in _FIRST_SURFACES)


@cache
def more_surfaces() -> tuple[Group, ...]:
    """The other surfaces by what they are made of."""
    titles: dict[str, list[Sample]] = {words: [] for words in _GROUND_WORDS.values()}
    for swatch, sample in _samples(shipped_swatches("surfaces")):
        if sample.name not in _FIRST_SURFACES:
            ground = swatch.ground or "other"
            titles.setdefault(_GROUND_WORDS.get(ground, ground), []).append(sample)
    return tuple(Group(title, tuple(held)) for title, held in titles.items() if held)


def near_samples(text: str, kind: str) -> tuple[Sample, ...]:
    """Three samples whose names are nearest to a text; ``kind`` is a file of swatches."""
    close = nearest_swatches(text[:_LONGEST], shipped_swatches(kind))
    return tuple(sample for _, sample in _samples(tuple(close)))


@lru_cache(maxsize=1024)
def unread(text: str) -> list[str]:
    """Why a text stands for no colour, in what would work; nothing where it does, or is empty."""
    try:
        if text:
            reading_of(ColourInput(text=text))
    except InputError as error:
        return [problem.message for problem in error.problems]
    return []


@lru_cache(maxsize=1024)
def seen_colour(text: str) -> str | None:
    """The colour that a text stands for, as a screen shows it; None where it stands for none."""
    lab = _lab_of(text)
    return None if lab is None else hex_of_lab(lab)


def spoken_colour(text: str) -> str:
    """A colour in words where the text has figures; a name, and what is no colour, as it is."""
    lab = _lab_of(text) if _FIGURES.search(text) else None
    if lab is None:
        return text
    try:
        return find_swatch(text).name
    except InputError:
        return describe_colour(lab)


_FIGURES = re.compile(r"[(#\d]")


def _lab_of(text: str) -> FloatArray | None:
    if not text or len(text) > _LONGEST:
        return None
    try:
        return colour_of(reading_of(ColourInput(text=text)), SURFACE_BOUNDS).lab
    except InputError:
        return None


@lru_cache(maxsize=4096)
def ink_on(hex_: str) -> str:
    """Class of what is written on a colour: ink or paper, whichever contrasts more (WCAG 2)."""
    parts = [int(hex_[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return "ink" if (y + 0.05) / (_INK_Y + 0.05) >= 1.05 / (y + 0.05) else "paper"


_INK_Y = 0.007
"""Luminance of the ink #141414."""
