"""Why two things sit well side by side, in words a furniture painter uses.

No figure here decides anything: the sentences tell what the scores have found.
Lightness steps in words are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from math import atan2, degrees
from typing import NamedTuple

from showthrough.colour.lights import FloatArray
from showthrough.colour.names import ColourWords, colour_words, with_article

Lab = tuple[float, float, float]


def as_lab(colour: FloatArray) -> Lab:
    """An array of shape (3,) as plain numbers."""
    lightness, a, b = colour.tolist()
    return lightness, a, b


_SIDES: dict[str, tuple[str, ...]] = {
    "red": ("red",),
    "pink": ("red",),
    "purple-red": ("red",),
    "red-brown": ("red",),
    "orange": ("yellow", "red"),
    "brown": ("yellow", "red"),
    "yellow": ("yellow",),
    "yellow-brown": ("yellow",),
    "yellow-green": ("yellow", "green"),
    "green": ("green",),
    "blue-green": ("green", "blue"),
    "blue": ("blue",),
    "purple": ("blue", "red"),
}
"""Which of the four plain hues a hue leans to."""

STRONG_CHROMA = 36.0
"""From this C*ab a paint is called strong."""

UNEQUAL_CHROMA = 35.0
"""Two colours of one hue that differ more than this in C*ab are not of one strength."""


class Seen(NamedTuple):
    """A colour with what the sentences need of it."""

    lab: Lab
    words: ColourWords
    chroma: float
    hue_deg: float

    @classmethod
    def from_lab(cls, lab: Lab) -> Seen:
        """Look at a colour once."""
        _, a, b = lab
        return cls(lab, colour_words(lab), (a * a + b * b) ** 0.5, degrees(atan2(b, a)) % 360.0)


_METAL_HUES = {"yellow-brown": "yellow", "orange": "light brown"}
"""Brass is called yellow and bronze brown at whatever lightness (common practice, no source)."""


def metal_words(metal: Seen) -> str:
    """What a metal looks like, as in "a warm yellow metal"."""
    words = metal.words
    if words.neutral:
        if metal.lab[0] < 32.0:
            return "a nearly black metal"
        if words.warmth:
            return f"a faintly {words.warmth} grey metal"
        return "a pale grey metal" if metal.lab[0] >= 75.0 else "a plain grey metal"
    dark = "dark " if metal.lab[0] < 45.0 else ""
    warm = f"{words.warmth} " if words.warmth and not dark else ""
    return f"a {dark}{warm}{_METAL_HUES.get(words.hue, words.hue)} metal"


def colour_relation(paint: Seen, other: Seen, names: tuple[str, str] = ("the paint", "it")) -> str:
    """What hue and strength of the two have to do with each other.

    Args:
        paint: the first colour.
        other: what lies beside it.
        names: what the two are called in the sentence.
    """
    first, second = names
    if paint.words.neutral and other.words.neutral:
        return _two_greys(paint.words.warmth, other.words.warmth, names)
    if paint.words.neutral:
        gift = "warmth" if other.words.warmth == "warm" else "colour"
        return f"{second} brings some {gift} to {first}, which has hardly any colour of its own"
    if other.words.neutral:
        if paint.chroma >= STRONG_CHROMA:
            return f"{second} has no colour to set against so strong a {paint.words.hue}"
        peace = f"leaves the {paint.words.hue} in peace"
        if other.words.warmth and other.words.warmth == paint.words.warmth:
            return f"both are on the {paint.words.warmth} side, and {second} {peace}"
        return f"{second} has hardly any colour of its own and {peace}"
    return _two_hues(paint, other, names)


def _two_greys(one: str, two: str, names: tuple[str, str]) -> str:
    if one and one == two:
        return f"both have hardly any colour, and both are a little {one}"
    if one and two:
        return f"{names[0]} is a little {one} and {names[1]} is a little {two}"
    return "both have hardly any colour, so nothing quarrels"


@cache
def _shared_sides(one: str, other: str) -> tuple[str, ...]:
    """The plain hues that both lean to."""
    return tuple(side for side in _SIDES[one] if side in _SIDES[other])


def _two_hues(paint: Seen, other: Seen, names: tuple[str, str]) -> str:
    gap = abs((paint.hue_deg - other.hue_deg + 180.0) % 360.0 - 180.0)
    shared = _shared_sides(paint.words.hue, other.words.hue)
    if gap >= 140.0:
        return "their colours are opposites, so each makes the other look stronger"
    if gap >= 70.0 or not (shared or gap < 40.0):
        return "their colours have little in common"
    if paint.words.hue == other.words.hue:
        text = f"both are of one family, {paint.words.hue}"
    elif shared:
        text = f"they share the {shared[0]} side"
    else:
        text = "their colours are neighbours"
    if abs(paint.chroma - other.chroma) > UNEQUAL_CHROMA:
        text += f", though {names[paint.chroma < other.chroma]} is much stronger"
    return text


def lightness_relation(step: float, thing: str) -> str:
    """What a step of lightness does to handles, legs, a drawer.

    Args:
        step: L* of the thing less L* of the paint.
        thing: plural noun, as in "handles".
    """
    word, size = "lighter" if step > 0 else "darker", abs(step)
    told = next(told for least, told in _LIGHTNESS_STEPS if size >= least)
    return told.format(word=word, thing=thing)


_LIGHTNESS_STEPS = (
    (40.0, "much {word} than the paint, so the {thing} stand out strongly"),
    (20.0, "clearly {word} than the paint, so the {thing} stand out"),
    (8.0, "a little {word} than the paint, so the {thing} show without shouting"),
    (0.0, "about as light as the paint, so the {thing} keep quiet"),
)


def standing(beats: float) -> str:
    """How this pair stands among all pairs of the same partner."""
    count = round(beats)
    if count >= 99:
        return "it does better here than beside nearly every other paint colour"
    if beats >= 70.0:
        return f"it does better here than beside {count} of 100 paint colours"
    if beats >= 40.0:
        return "it does about as well here as beside most paint colours"
    if count >= 1:
        return f"most paint colours suit it better: it does worse beside only {count} of 100"
    return "nearly every other paint colour suits it better"


def pair_sentence(opening: str, paint: Seen, other: Seen, thing: str, beats: float) -> str:
    """One sentence: what it is, how the colours relate, what stands out, how it stands."""
    relation = colour_relation(paint, other)
    step = lightness_relation(other.lab[0] - paint.lab[0], thing)
    text = f"{with_article(paint.words.text)}: {relation}; {step}; {standing(beats)}."
    return f"{opening[0].upper()}{opening[1:]} beside {text}"


def paint_summary(paint: Seen, advantages: Sequence[float]) -> str:
    """What the whole list says about the paint: an easy or a difficult colour."""
    ranked = sorted(advantages)
    middle, reach = ranked[len(ranked) // 2], ranked[-1] - ranked[0]
    name = paint.words.text
    if reach < 0.1:
        return f"These hardly differ beside {with_article(name)}; take the one you like."
    if middle < -0.25:
        return (
            f"{with_article(name).capitalize()} is hard to match: nearly everything does worse "
            "beside it than beside most paint colours. Those at the top lose least."
        )
    if middle > 0.5:
        return (
            f"{with_article(name).capitalize()} is easy to match: nearly everything does better "
            "beside it than beside most paint colours. Those at the top gain most."
        )
    end = "lose by it" if ranked[0] < 0.0 else "gain least"
    return f"Those at the top gain most from {with_article(name)}; those at the end {end}."
