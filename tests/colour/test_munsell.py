"""Munsell value, neutrals and hues against ASTM D1535 and the renotation."""

from __future__ import annotations

import subprocess
import sys
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reference.csv_table import rows
from showthrough.colour.lights import white_point
from showthrough.colour.munsell.scale import (
    HUE_FAMILIES,
    OUTSIDE,
    MunsellColour,
    luminance_of_value,
    munsell_to_xyz,
    parse_munsell,
    value_of_luminance,
    xyz_to_munsell,
)
from showthrough.colour.space import xyz_to_lab
from showthrough.errors import NotationError, OutOfRangeError

VALUES = rows("munsell_value.csv")
WHITE = white_point("C", 2)


class TestValue:
    @pytest.mark.parametrize("row", VALUES, ids=lambda row: f"value {row['value']}")
    def test_a_value_has_its_published_luminance(self, row):
        # Source: ASTM D1535; four decimals.
        luminance = float(luminance_of_value(float(row["value"])))
        assert luminance == pytest.approx(float(row["luminance"]), abs=5.1e-5)

    @pytest.mark.parametrize(
        ("luminance", "value"),
        # Source: ASTM D1535 inverted by colour-science 0.4.7; four decimals.
        [(5, 2.6451), (10, 3.7207), (20, 5.0821), (50, 7.5377), (80, 9.1547), (90, 9.5956)],
    )
    def test_a_luminance_has_its_published_value(self, luminance, value):
        assert float(value_of_luminance(luminance)) == pytest.approx(value, abs=6e-5)

    @pytest.mark.parametrize(
        "row", [row for row in VALUES if row["lightness"]], ids=lambda row: f"N {row['value']}"
    )
    def test_a_neutral_has_its_published_lightness(self, row):
        # Source: ASTM D1535 and CIE L*; two decimals.
        lab = xyz_to_lab(munsell_to_xyz(parse_munsell(f"N {row['value']}")), WHITE)
        assert lab[0] == pytest.approx(float(row["lightness"]), abs=5.1e-3)
        np.testing.assert_allclose(lab[1:], 0.0, atol=1e-9)

    def test_the_scale_is_not_the_older_one_relative_to_magnesium_oxide(self):
        # Source: Newhall, Nickerson, Judd 1943: the older form is 1.0257 times this one.
        older = 1.2219 * 5 - 0.23111 * 25 + 0.23951 * 125 - 0.021009 * 625 + 0.0008404 * 3125
        assert older == pytest.approx(19.766, abs=5e-4)
        assert older / float(luminance_of_value(5.0)) == pytest.approx(1.0257, abs=2e-4)

    @given(st.floats(0.0, 10.0))
    def test_value_survives_the_way_to_luminance_and_back(self, value):
        assert float(value_of_luminance(luminance_of_value(value))) == pytest.approx(
            value, abs=1e-9
        )

    def test_arrays_keep_their_shape(self):
        grid = np.linspace(0.0, 10.0, 12).reshape(3, 4)
        assert luminance_of_value(grid).shape == (3, 4)
        np.testing.assert_allclose(value_of_luminance(luminance_of_value(grid)), grid, atol=1e-9)

    def test_every_luminance_comes_back_to_the_last_digits(self):
        luminance = np.linspace(0.0, 100.0, 20011)
        back = luminance_of_value(value_of_luminance(luminance))
        np.testing.assert_allclose(back, luminance, rtol=0.0, atol=2e-12)

    @pytest.mark.parametrize("wrong", [-0.1, 10.1, np.nan, np.inf])
    def test_a_value_that_cannot_be_is_named(self, wrong):
        with pytest.raises(OutOfRangeError, match="outside 0 to 10"):
            luminance_of_value([5.0, wrong])

    @pytest.mark.parametrize("wrong", [-1.0, 100.1, np.nan])
    def test_a_luminance_that_cannot_be_is_named(self, wrong):
        with pytest.raises(OutOfRangeError, match="outside 0 to 100"):
            value_of_luminance(wrong)


class TestHues:
    @pytest.mark.parametrize("row", rows("munsell_renotation.csv"), ids=lambda row: row["notation"])
    def test_a_colour_has_its_published_chromaticity(self, row):
        # Source: Munsell renotation; illuminant C, 2°. Ours is scaled from the tables' rounded
        # white to the white of the weights, less than 0.05 %.
        xyz = munsell_to_xyz(parse_munsell(row["notation"]))
        x, y = xyz[:2] / xyz.sum()
        assert x == pytest.approx(float(row["x"]), abs=1e-4)
        assert y == pytest.approx(float(row["y"]), abs=1e-4)
        assert xyz[1] == pytest.approx(100.0 * float(row["luminance"]), abs=6e-4)

    @given(
        st.sampled_from(HUE_FAMILIES),
        st.integers(1, 100),
        st.integers(30, 80),
        st.integers(10, 60),
    )
    @settings(max_examples=30)
    def test_a_notation_survives_the_way_to_xyz_and_back(self, family, hue, value, chroma):
        given_colour = MunsellColour(hue / 10, family, value / 10, chroma / 10)
        assert xyz_to_munsell(munsell_to_xyz(given_colour)) == str(given_colour)

    @pytest.mark.parametrize(
        "text", ["4.2R 5.3/6.1", "9.1YR 6.2/4.3", "2.6GY 8.1/9.7", "4.7PB 3.3/9.1", "8.8P 4.4/2.7"]
    )
    def test_the_librarys_own_way_back_agrees(self, text):
        # Source: xyY_to_munsell_colour of colour-science 0.4.7, another search. It gives up on
        # some colours that lie exactly on a tabulated one, so these lie between.
        import colour

        xyz = munsell_to_xyz(parse_munsell(text))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            x, y = xyz[:2] / xyz.sum()
            theirs = colour.xyY_to_munsell_colour([x, y, xyz[1] / 100.0])
        ours = xyz_to_munsell(xyz)
        assert ours == text
        mine, other = parse_munsell(ours), parse_munsell(theirs)
        turn = abs(
            10 * (HUE_FAMILIES.index(mine.family) - HUE_FAMILIES.index(other.family))
            + mine.hue
            - other.hue
        )
        # The tables' rounded white shifts a hue of low chroma by up to half a step.
        assert min(turn, 100 - turn) <= 0.5
        assert mine.value == pytest.approx(other.value, abs=0.1)
        assert mine.chroma == pytest.approx(other.chroma, abs=0.1)

    def test_hue_nought_is_hue_ten_of_the_family_before(self):
        assert parse_munsell("0YR 5/4") == parse_munsell("10R 5/4")
        assert parse_munsell("0R 5/4") == MunsellColour(10.0, "RP", 5.0, 4.0)

    def test_chroma_nought_is_a_neutral(self):
        assert parse_munsell("5R 5/0") == parse_munsell("N 5")

    @pytest.mark.parametrize("value", [0.0, 0.05, 5.0, 9.97, 10.0])
    def test_neutrals_reach_from_black_to_white(self, value):
        xyz = munsell_to_xyz(MunsellColour(0.0, "N", value, 0.0))
        assert xyz_to_munsell(xyz) == str(MunsellColour(0.0, "N", value, 0.0))

    @pytest.mark.parametrize(
        "xyz", [[10.0, 5.0, 90.0], [90.0, 60.0, 1.0], [np.nan, 5.0, 5.0], [1.0, 200.0, 1.0]]
    )
    def test_what_has_no_notation_prints_as_outside(self, xyz):
        assert xyz_to_munsell(xyz) == OUTSIDE

    def test_a_chroma_beyond_the_tables_names_the_greatest(self):
        with pytest.raises(NotationError, match="the chroma goes to about 18"):
            munsell_to_xyz(parse_munsell("5GY 6/30"))

    def test_a_hue_darker_than_the_tables_says_so(self):
        with pytest.raises(NotationError, match="tabulated for value 1 up to"):
            munsell_to_xyz(parse_munsell("5GY 0.5/2"))

    def test_its_warnings_are_silenced(self):
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            munsell_to_xyz(parse_munsell("5R 5/6"))

    def test_neutrals_do_not_import_the_library(self):
        code = (
            "import sys; from showthrough.colour.munsell import scale;"
            "scale.munsell_to_xyz(scale.parse_munsell('N 7')); sys.exit('colour' in sys.modules)"
        )
        assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


class TestText:
    @pytest.mark.parametrize(
        ("text", "parts"),
        [
            ("5GY 6/8", (5.0, "GY", 6.0, 8.0)),
            ("5gy6/8", (5.0, "GY", 6.0, 8.0)),
            (" 2.5 PB 4.5 / 6.2 ", (2.5, "PB", 4.5, 6.2)),
            ("N 7", (0.0, "N", 7.0, 0.0)),
            ("N7/", (0.0, "N", 7.0, 0.0)),
            ("n 9.5/0", (0.0, "N", 9.5, 0.0)),
        ],
    )
    def test_it_is_taken_apart(self, text, parts):
        assert parse_munsell(text) == MunsellColour(*parts)

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("5RY 6/8", "RY is not a Munsell hue; did you mean YR"),
            ("5X 6/8", "X is not a Munsell hue"),
            ("12R 4/4", "hue 12R is outside 0 to 10"),
            ("5R 11/4", "value 11 is outside 0 to 10"),
            ("N 10.5", "value 10.5 is outside 0 to 10"),
            ("GY 6/8", "the hue needs a number"),
            ("5GY 6", "the chroma is missing"),
            ("5GY 6/", "the chroma is missing"),
            ("N 5/3", "a neutral has no chroma"),
            ("5 5/6", "is not Munsell notation"),
            ("", "is not Munsell notation"),
            ("5R -5/6", "is not Munsell notation"),
            ("5R nan/6", "is not Munsell notation"),
        ],
    )
    def test_a_near_miss_is_told_what_is_wrong(self, text, message):
        with pytest.raises(NotationError, match=message):
            parse_munsell(text)
