"""Plain words for a colour: lightness, strength, hue.

The hues are the ten principal Munsell hues (two of them are both called blue),
parted at the hues between them; their CIELAB hue angles come from the
renotation (ASTM D1535) at medium value and chroma. Brown, pink, grey, white and
black are marked off by lightness and chroma, after the habit of the open
ISCC-NBS naming system, with borders of our own (from memory).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from functools import cache, lru_cache
from math import atan2, degrees, hypot
from typing import NamedTuple

from showthrough.colour.lights import FloatArray

_HUES: tuple[tuple[float, str], ...] = (
    (11.0, "purple-red"),
    (44.0, "red"),
    (77.0, "orange"),
    (103.0, "yellow"),
    (140.0, "yellow-green"),
    (173.0, "green"),
    (207.0, "blue-green"),
    (297.0, "blue"),
    (334.0, "purple"),
    (360.0, "purple-red"),
)
"""Upper hue angle and word: Munsell 10RP, 10R, 10YR, 10Y, 10GY, 10G, 10BG, 10PB, 10P."""

_HUE_ENDS = tuple(end for end, _ in _HUES)

NEUTRAL_CHROMA = 7.0
"""Below this C*ab a colour is called a white, a grey or a black."""

_PLAIN_CHROMA = 3.5
"""Below this C*ab a grey is neither warm nor cool."""

_NEUTRAL_STEPS: tuple[tuple[float, str, str], ...] = (
    (22.0, "", "black"),
    (30.0, "very dark", "grey"),
    (42.0, "dark", "grey"),
    (60.0, "", "grey"),
    (75.0, "light", "grey"),
    (86.0, "pale", "grey"),
    (94.0, "", "off-white"),
    (float("inf"), "", "white"),
)


class ColourWords(NamedTuple):
    """The words for one colour; each may be empty but ``hue``."""

    lightness: str
    """very pale, pale, light, dark, very dark, deep."""
    strength: str
    """greyish, strong, bright, vivid; for greys warm, cool, greenish, purplish."""
    hue: str
    """red, brown, yellow-green, grey, white and so on."""
    warmth: str
    """warm, cool, or neither (empty)."""

    @property
    def text(self) -> str:
        """All words in a row, as in "pale greyish blue"."""
        return _in_a_row(self.lightness, self.strength, self.hue)

    @property
    def neutral(self) -> bool:
        """Whether this is a white, a grey or a black."""
        return self.hue in _NEUTRALS


@cache
def _in_a_row(*words: str) -> str:
    """Words that are there; a few hundred rows of them come again and again."""
    return " ".join(word for word in words if word)


_NEUTRALS = frozenset({"white", "off-white", "grey", "black"})


def colour_words(lab: Sequence[float] | FloatArray) -> ColourWords:
    """The words for one colour.

    Args:
        lab: CIELAB, D65 and 2 degrees, shape (3,).

    Source:
        Hue borders: Munsell renotation; the rest from memory.
    """
    lightness, a, b = (float(v) for v in lab)
    chroma = hypot(a, b)
    hue = degrees(atan2(b, a)) % 360.0
    if chroma < NEUTRAL_CHROMA:
        return _neutral_words(lightness, chroma, hue)
    word = _hue_word(lightness, chroma, hue)
    return ColourWords(
        _lightness_word(lightness, chroma), _strength_word(lightness, chroma), word, _warmth(hue)
    )


def describe_colour(lab: Sequence[float] | FloatArray) -> str:
    """A colour in plain words, shape (3,).

    Example:
        >>> describe_colour([84, -9, 18])
        'pale yellow-green'
    """
    return colour_words(lab).text


@lru_cache(maxsize=512)
def with_article(words: str) -> str:
    """The words with "a" or "an" before them."""
    return f"{'an' if words[:1] in 'aeiou' else 'a'} {words}"


def _warmth(hue: float) -> str:
    """Reds to yellow-greens are warm, blue-greens and blues are cool."""
    if hue < 125.0 or hue >= 330.0:
        return "warm"
    return "cool" if 165.0 <= hue < 300.0 else ""


def _neutral_words(lightness: float, chroma: float, hue: float) -> ColourWords:
    """A white, grey or black, with the word for its tint if it has one."""
    step, word = next((s, w) for top, s, w in _NEUTRAL_STEPS if lightness < top)
    if chroma < _PLAIN_CHROMA or word == "black":
        return ColourWords(step, "", word, "")
    warmth = _warmth(hue)
    tint = warmth or ("greenish" if hue < 250.0 else "purplish")
    if word == "off-white":
        word = "white"
    return ColourWords(step, tint, word, warmth)


def _hue_word(lightness: float, chroma: float, hue: float) -> str:
    """The hue, with brown for dark orange and pink for light red."""
    word = _HUES[min(bisect_right(_HUE_ENDS, hue), len(_HUES) - 1)][1]
    if word in {"blue", "purple"}:
        return "blue" if hue < _blue_ends(lightness, chroma) else "purple"
    if word in {"red", "purple-red"}:
        if lightness >= 62.0 and chroma < 55.0:
            return "pink"
        if 30.0 <= hue < 44.0 and lightness < 45.0 and chroma < 35.0:
            return "red-brown"
    if word in {"orange", "yellow"} and lightness < 72.0 and chroma < 18.0 + 0.3 * lightness:
        if word == "orange":
            return "brown"
        # A dark yellow looks brown on its red side and green on its green side.
        return "yellow-brown" if hue < 95.0 else "yellow-green"
    return word


def _blue_ends(lightness: float, chroma: float) -> float:
    """Hue angle where blue ends: lines of one hue bend in CIELAB here more than anywhere.

    Source:
        10PB of the Munsell renotation at values 2 to 6, within 2 degrees of each of its colours.
    """
    return (
        297.0
        + 0.15 * (min(max(chroma, 16.0), 130.0) - 20.0)
        + 0.2 * (50.0 - min(max(lightness, 20.0), 61.0))
    )


def _lightness_word(lightness: float, chroma: float) -> str:
    if chroma >= 36.0:
        return "deep" if lightness < 38.0 else ""
    return next(word for least, word in _LIGHTNESS_STEPS if lightness >= least)


_LIGHTNESS_STEPS = (
    (88.0, "very pale"),
    (75.0, "pale"),
    (60.0, "light"),
    (42.0, ""),
    (26.0, "dark"),
    (float("-inf"), "very dark"),
)


def _strength_word(lightness: float, chroma: float) -> str:
    if chroma >= 36.0:
        if lightness < 38.0:
            return ""
        if chroma >= 52.0:
            return "vivid"
        return "bright" if lightness >= 75.0 else "strong"
    return "greyish" if chroma < 0.33 * min(lightness, 110.0 - lightness) else ""
