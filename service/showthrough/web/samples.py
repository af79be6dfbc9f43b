"""Sample swatches as the page offers them, and the colour that a typed text stands for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

from showthrough.colour.files.swatches import Swatch, shipped_swatches
from showthrough.colour.names import colour_words
from showthrough.colour.reading import colour_of, colours_of
from showthrough.colour.space import hex_of_lab
from showthrough.colour.spectrum import SURFACE_BOUNDS
from showthrough.errors import InputError
from showthrough.jobs.case.readings import reading_of
from showthrough.jobs.schema.job import ColourInput
from showthrough.palette.finishes import usual_finishes

_HUES = (
    "white",
    "grey",
    "black",
    "pink",
    "red",
    "brown",
    "orange",
    "yellow",
    "yellow-green",
    "green",
    "blue-green",
    "blue",
    "purple",
    "purple-red",
)
"""Order of the groups; a hue that is not here comes last."""

_SAME_GROUP = {"off-white": "white", "red-brown": "brown", "yellow-brown": "brown"}

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
    """One square to pick."""

    name: str
    hex: str
    lightness: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Squares that belong together, light to dark."""

    title: str
    samples: tuple[Sample, ...]


def _groups(titles: dict[str, list[Sample]]) -> tuple[Group, ...]:
    return tuple(
        Group(title, tuple(sorted(members, key=lambda s: -s.lightness)))
        for title, members in titles.items()
        if members
    )


def _samples(swatches: tuple[Swatch, ...]) -> list[tuple[Swatch, Sample, str]]:
    """Each swatch with its square and the word for its hue."""
    colours = colours_of([s.reading for s in swatches], SURFACE_BOUNDS, [s.name for s in swatches])
    return [
        (
            swatch,
            Sample(swatch.name, hex_of_lab(colour.lab), float(colour.lab[0]), swatch.note),
            colour_words(colour.lab).hue,
        )
        for swatch, colour in zip(swatches, colours, strict=True)
    ]


@cache
def topcoat_groups() -> tuple[Group, ...]:
    """Sample topcoats by hue, light to dark."""
    titles: dict[str, list[Sample]] = {hue: [] for hue in _HUES}
    for _, sample, hue in _samples(shipped_swatches("topcoats")):
        titles.setdefault(_SAME_GROUP.get(hue, hue), []).append(sample)
    return _groups(titles)


@cache
def surface_groups() -> tuple[Group, ...]:
    """Sample surfaces by what they are made of."""
    titles: dict[str, list[Sample]] = {words: [] for words in _GROUND_WORDS.values()}
    for swatch, sample, _ in _samples(shipped_swatches("surfaces")):
        ground = swatch.ground or "other"
        titles.setdefault(_GROUND_WORDS.get(ground, ground), []).append(sample)
    return _groups(titles)


@cache
def finish_samples() -> tuple[tuple[str, Sample], ...]:
    """Code and square of each usual hardware finish."""
    return tuple(
        (finish.code, Sample(finish.name, finish.hex, finish.lab[0], finish.note))
        for finish in usual_finishes()
    )


@lru_cache(maxsize=1024)
def seen_colour(text: str) -> str | None:
    """The colour that a text stands for, as a screen shows it; None where it stands for none."""
    if not text or len(text) > _LONGEST:
        return None
    try:
        return hex_of_lab(colour_of(reading_of(ColourInput(text=text)), SURFACE_BOUNDS).lab)
    except InputError:
        return None
