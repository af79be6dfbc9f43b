"""Words for colours, checked against the hue names of the Munsell system."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showthrough import colour_of, parse_colour
from showthrough.colour.names import (
    colour_words,
    describe_colour,
    with_article,
)
from showthrough.colour.space import xyz_to_lab


def munsell_lab(notation):
    """CIELAB (D65) of a Munsell colour through colour-science's renotation."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

        xyz = colour.xyY_to_XYZ(colour.munsell_colour_to_xyY(notation))
        white_c = colour.xyY_to_XYZ([0.31006, 0.31616, 1.0])
        white_d65 = colour.xyY_to_XYZ([0.3127, 0.3290, 1.0])
        return xyz_to_lab(100.0 * colour.chromatic_adaptation(xyz, white_c, white_d65))


@pytest.mark.parametrize(
    ("notation", "hue"),
    [
        # Source of the hue names: Munsell's ten principal hues (ASTM D1535): red,
        # yellow-red, yellow, green-yellow, green, blue-green, blue, purple-blue,
        # purple, red-purple. Our words: yellow-red is orange, purple-blue is blue.
        ("5R 4/12", "red"),
        ("5YR 7/12", "orange"),
        ("5Y 8/10", "yellow"),
        ("5GY 6/8", "yellow-green"),
        ("5G 5/8", "green"),
        ("5BG 5/8", "blue-green"),
        ("5B 5/8", "blue"),
        ("5PB 4/10", "blue"),
        ("5P 4/10", "purple"),
        ("5RP 4/12", "purple-red"),
        # Lines of one hue bend in CIELAB: a navy of 7.5PB has the angle of a duller purple.
        ("7.5PB 2/20", "blue"),
        ("7.5PB 3/24", "blue"),
        ("7.5PB 5/10", "blue"),
        ("2.5P 2/16", "purple"),
        ("2.5P 4/20", "purple"),
        ("2.5P 5/8", "purple"),
        ("5R 8/4", "pink"),  # ISCC-NBS calls light reds pink; from memory
        ("5YR 3/4", "brown"),  # ISCC-NBS calls dark oranges brown; from memory
    ],
)
def test_principal_munsell_hues_carry_their_names(notation, hue):
    assert colour_words(munsell_lab(notation)).hue == hue


@pytest.mark.parametrize(
    ("lab", "name"),
    [
        ((84, -9, 18), "pale yellow-green 84"),
        ((66, -24, 55), "vivid yellow-green 66"),
        ((42, 58, 38), "vivid red 42"),
        ((24, 3, -22), "very dark blue 24"),
        ((18, 0, 0), "black 18"),
        ((55, 0, 0), "grey 55"),
        ((92, 0, 6), "warm white 92"),
        ((96, -0.5, 2), "white 96"),
        ((38, 12, 20), "dark brown 38"),
        ((65, -10, 10), "light greyish yellow-green 65"),
    ],
)
def test_colours_of_common_practice_have_the_names_a_painter_expects(lab, name):
    """From memory: how painters call these colours."""
    assert f"{describe_colour(lab)} {lab[0]:.0f}" == name


def test_warm_and_cool_are_the_red_and_the_blue_side():
    assert colour_words((60, 20, 20)).warmth == "warm"
    assert colour_words((60, -10, -20)).warmth == "cool"
    assert colour_words((60, 0, 0)).warmth == ""
    assert describe_colour((65, 1, 5)) == "light warm grey"
    assert describe_colour((65, 0, -5)) == "light cool grey"


def test_article_follows_the_sound():
    assert with_article("orange") == "an orange"
    assert with_article("pale orange") == "a pale orange"


@given(
    st.floats(0, 100),
    st.floats(-100, 100),
    st.floats(-100, 100),
)
def test_every_colour_has_words_without_figures_or_signs(lightness, a, b):
    text = describe_colour(np.array([lightness, a, b]))
    assert text
    assert all(c.islower() or c in " -" for c in text)


@given(st.floats(0, 99), st.floats(0, 80), st.floats(0, 359.9))
def test_only_near_neutrals_are_called_neutral(lightness, chroma, angle):
    lab = (lightness, chroma * np.cos(np.radians(angle)), chroma * np.sin(np.radians(angle)))
    assert colour_words(lab).neutral == (np.hypot(lab[1], lab[2]) < 7.0)


@pytest.mark.parametrize(
    ("hex_", "hue"), [("0000ff", "blue"), ("000080", "blue"), ("4b0082", "purple")]
)
def test_the_blue_of_a_screen_and_navy_are_blue(hex_, hue):
    # CSS Color Module Level 4 calls them blue, navy and indigo.
    assert colour_words(colour_of(parse_colour(hex_)).lab).hue == hue
