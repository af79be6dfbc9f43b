"""Colours as people write them: read, refused with a reason, printed, and read again."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reference.csv_table import rows
from showthrough.colour.notation import (
    EXAMPLES,
    NOTATIONS,
    format_colour,
    parse_colour,
    reading_from_hex,
    reading_from_lab,
    reading_from_lch,
    reading_from_lrv,
    reading_from_munsell,
    reading_from_rgb,
    reading_from_xyz,
)
from showthrough.colour.reading import colour_of
from showthrough.colour.space import lab_to_xyz, srgb_to_lab
from showthrough.colour.spectrum import SURFACE_BOUNDS
from showthrough.errors import InputError, NotationError, OutOfRangeError

paint_labs = st.tuples(st.floats(25.0, 85.0), st.floats(-12.0, 12.0), st.floats(-12.0, 12.0))


class TestReading:
    @pytest.mark.parametrize(
        ("text", "lab", "light"),
        [
            ("lab(66 -24 55)", (66, -24, 55), ("D65", 2)),
            ("lab(66, -24, 55)", (66, -24, 55), ("D65", 2)),
            ("LAB 66; -24; 55", (66, -24, 55), ("D65", 2)),
            ("Lab: 66 −24 5.5e1", (66, -24, 55), ("D65", 2)),
            ("CIELAB(66 -24 55)", (66, -24, 55), ("D65", 2)),
            ("lab(66 -24 55) D50/10", (66, -24, 55), ("D50", 10)),
            ("lab 66 -24 55 a/2°", (66, -24, 55), ("A", 2)),
            ("lch(50 20 90)", (50, 0, 20), ("D65", 2)),
            ("lch(50 20 -270)", (50, 0, 20), ("D65", 2)),
            ("N 5", (51.00, 0, 0), ("C", 2)),
            ("lrv 18.42", (50, 0, 0), ("D65", 10)),
            ("LRV = 18.42", (50, 0, 0), ("D65", 10)),
        ],
    )
    def test_a_text_is_read(self, text, lab, light):
        reading = parse_colour(text)
        np.testing.assert_allclose(reading.lab, lab, atol=5e-3)
        assert (reading.illuminant, reading.observer) == light
        assert reading.text == text

    @pytest.mark.parametrize(
        "text", ["#a3b84c", "A3B84C", " a3b84c ", "'#a3b84c'", "rgb(163,184,76)"]
    )
    def test_hex_and_rgb_are_the_same_screen_colour(self, text):
        np.testing.assert_allclose(
            parse_colour(text).lab, srgb_to_lab(np.array([163, 184, 76]) / 255.0), rtol=1e-12
        )

    def test_three_digits_stand_for_six(self):
        assert parse_colour("#3c9").lab == parse_colour("33cc99").lab

    @pytest.mark.parametrize(
        ("digits", "lab"),
        [
            # Source: CIE L*a*b* D65 of the sRGB primaries, scikit-image 0.26, two decimals.
            ("#ff0000", (53.24, 80.09, 67.20)),
            ("#00ff00", (87.73, -86.18, 83.18)),
            ("#0000ff", (32.30, 79.19, -107.86)),
            ("#ffffff", (100.0, 0.0, 0.0)),
        ],
    )
    def test_screen_primaries_have_their_published_cielab(self, digits, lab):
        np.testing.assert_allclose(reading_from_hex(digits).lab, lab, atol=0.05)

    def test_xyz_is_read_under_its_stated_light(self):
        text = "xyz(109.850 100 35.585) A/2"
        lab = parse_colour(text).lab
        np.testing.assert_allclose(lab, (100.0, 0.0, 0.0), atol=0.05)

    def test_every_example_in_the_messages_can_be_read(self):
        for text in EXAMPLES.values():
            for part in text.split(" or "):
                assert colour_of(parse_colour(part)).lab.shape == (3,)

    def test_mirror_reflection_is_passed_on(self):
        assert parse_colour("lab(50 0 0)", specular_included=True).specular_included
        assert parse_colour("#808080", specular_included=True).specular_included

    def test_a_light_given_beside_the_text_holds_unless_the_text_states_its_own(self):
        assert parse_colour("lab(50 0 0)", "A", 10).illuminant == "A"
        stated = parse_colour("lab(50 0 0) D50/2", "A", 10)
        assert (stated.illuminant, stated.observer) == ("D50", 2)

    @pytest.mark.parametrize("text", ["#808080", "rgb(1 2 3)", "N 5", "lrv 40"])
    def test_a_notation_with_a_light_of_its_own_takes_no_other(self, text):
        with pytest.raises(InputError, match="leave the light out"):
            parse_colour(text, "D50", 10)
        own = parse_colour(text)
        assert parse_colour(text, own.illuminant, own.observer) == own


class TestConstructors:
    def test_they_agree_with_the_texts(self):
        pairs = [
            (reading_from_lab((66, -24, 55), "A", 10), "lab(66 -24 55) A/10"),
            (reading_from_lch((66, 60, 114)), "lch(66 60 114)"),
            (reading_from_xyz((27.5, 35.3, 9.4)), "xyz(27.5 35.3 9.4)"),
            (reading_from_rgb((163, 184, 76)), "rgb(163 184 76)"),
            (reading_from_hex("#a3b84c"), "#a3b84c"),
            (reading_from_munsell("5GY 6/8"), "5GY 6/8"),
            (reading_from_lrv(45), "lrv 45"),
        ]
        for reading, text in pairs:
            assert reading == parse_colour(text)

    @pytest.mark.parametrize("row", rows("light_reflectance.csv"), ids=lambda r: f"LRV {r['lrv']}")
    def test_a_light_reflectance_value_has_its_published_lightness(self, row):
        # Source: BS 8493 with CIE L*; the last digit printed is of the LRV.
        lightness, lrv = float(row["lightness"]), float(row["lrv"])
        digit = 0.51 * 10.0 ** -int(row["decimals"])
        got = float(lab_to_xyz([lightness, 0.0, 0.0])[1])
        # L* is itself printed to two decimals in the published pairs.
        slack = digit + (0.005 * 0.7 if row["decimals"] == "2" else 0.0)
        assert got == pytest.approx(lrv, abs=slack)
        assert reading_from_lrv(got).lab[0] == pytest.approx(lightness, abs=1e-6)

    @pytest.mark.parametrize(
        ("make", "message"),
        [
            (lambda: reading_from_lab((50, 0)), "needs three numbers"),
            (lambda: reading_from_lab((50, float("nan"), 0)), "finite"),
            (lambda: reading_from_lch((50, -1, 0)), "chroma -1 is below 0"),
            (lambda: reading_from_xyz((50, 101, 50)), "white has Y = 100 here"),
            (lambda: reading_from_xyz((50, -1, 50)), "Y -1 is outside"),
            (lambda: reading_from_xyz((50, 50, 50), "D99"), "illuminant 'D99'"),
            (lambda: reading_from_rgb((256, 0, -2)), "rgb value 256, -2 is outside 0 to 255"),
            (lambda: reading_from_lrv(100.5), "outside 0 to 100"),
            (lambda: reading_from_lrv(float("nan")), "outside 0 to 100"),
            (lambda: reading_from_hex("#12"), "3 or 6 digits, this one has 2"),
        ],
    )
    def test_what_cannot_be_is_named(self, make, message):
        with pytest.raises(InputError, match=message):
            make()


class TestRefusals:
    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("", "is empty"),
            ("#12345", "3 or 6 digits, this one has 5"),
            ("12345", "3 or 6 digits, this one has 5"),
            ("#12345g", "'g' is no hex digit"),
            ("66 -24 55", "put the word before the numbers"),
            ("45", "is a number without a notation"),
            ("lib(50 0 0)", "did you mean lab"),
            ("a lovely green", "is not a colour notation"),
        ],
    )
    def test_a_text_in_no_notation_gets_a_hint_and_the_list(self, text, message):
        with pytest.raises(NotationError, match=message) as caught:
            parse_colour(text)
        for example in EXAMPLES.values():
            assert example in str(caught.value)

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("lab(66 -24)", "lab needs three numbers, 2 given"),
            ("lab(66,5 -24 55)", "decimals need a point"),
            ("lab(66 -24 x)", "'x' is not a number"),
            ("lab(nan 0 0)", "'nan' is not a number"),
            ("lab(inf 0 0)", "'inf' is not a number"),
            ("lab(66 -24 55", "lacks a bracket"),
            ("lrv 1 2", "lrv needs one number, 2 given"),
            ("5RY 6/8", "did you mean YR"),
            ("x" * 300, "at most 200 characters"),
        ],
    )
    def test_a_notation_written_wrongly_says_how_to_write_it(self, text, message):
        with pytest.raises(NotationError, match=message):
            parse_colour(text)

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("lab(120 0 0)", r"L\* 120 is outside 0 to 100"),
            ("lab(1e300 0 0)", "outside 0 to 100"),
            ("lab(50 1e300 0)", "more than any colour can have"),
            ("rgb(300 0 0)", "rgb value 300"),
            ("lrv 120", "120 is outside 0 to 100"),
        ],
    )
    def test_a_number_that_cannot_be_is_out_of_range(self, text, message):
        with pytest.raises(OutOfRangeError, match=message):
            parse_colour(text)

    def test_an_unknown_light_lists_those_that_are_known(self):
        with pytest.raises(InputError, match="D50, D65, A, C"):
            parse_colour("lab(50 0 0) F11/2")

    @given(st.text(max_size=60))
    def test_any_text_gives_a_reading_or_a_reason(self, text):
        try:
            reading, reason = parse_colour(text), ""
        except InputError as error:
            reading, reason = None, str(error)
        assert (reading is None) == bool(reason)
        assert "\n" not in reason
        assert reading is None or np.isfinite(reading.lab).all()


class TestPrinting:
    @pytest.mark.parametrize("notation", [n for n in NOTATIONS if n not in {"munsell", "lrv"}])
    @given(lab=paint_labs)
    def test_what_is_printed_can_be_read_again(self, notation, lab):
        text = format_colour(lab, notation)
        # Half a digit of each: hex has about 0.4 of L*a*b* a step, LCh up to 0.1 in hue.
        slack = {"hex": 0.6, "lab": 0.051, "lch": 0.08, "xyz": 0.03}[notation]
        np.testing.assert_allclose(parse_colour(text).lab, lab, atol=slack)
        assert format_colour(parse_colour(text).lab, notation) == text

    @pytest.mark.parametrize(
        "text",
        ["5GY 6/8", "10YR 6/4", "2.5R 4/10", "5B 7/4", "5P 3/6", "N 7", "N 2.5", "7.5Y 8/10"],
    )
    def test_munsell_notation_survives_the_way_through_daylight(self, text):
        colour = colour_of(parse_colour(text))
        assert format_colour(colour.lab, "munsell", colour.reflectance) == text
        # Without the spectrum another smoothest one stands in: a tenth may change.
        assert format_colour(colour.lab, "munsell")[-4:] == text[-4:]

    @given(st.integers(20, 900))
    def test_a_light_reflectance_value_survives(self, tenths):
        colour = colour_of(reading_from_lrv(tenths / 10.0))
        expected = f"lrv {tenths / 10.0:.1f}"
        assert format_colour(colour.lab, "lrv") == expected
        assert format_colour(colour.lab, "lrv", colour.reflectance) == expected

    def test_each_notation_looks_like_itself(self):
        lab = [66.0, -24.0, 55.0]
        assert format_colour(lab) == "lab(66.0 -24.0 55.0)"
        assert format_colour(lab, "hex") == "#94aa35"
        assert format_colour(lab, "lch") == "lch(66.0 60.0 113.6)"
        assert format_colour(lab, "xyz") == "xyz(27.189 35.324 8.772)"
        assert format_colour([50.0, -0.0, 0.001], "lab") == "lab(50.0 0.0 0.0)"
        assert format_colour([50.0, -0.0, 0.001], "lch") == "lch(50.0 0.0 0.0)"

    def test_white_and_black_have_every_notation(self):
        for lab in ([100.0, 0.0, 0.0], [0.0, 0.0, 0.0]):
            for notation in NOTATIONS:
                assert format_colour(lab, notation)
        assert format_colour([100.0, 0.0, 0.0], "munsell") == "N 10"
        assert format_colour([0.0, 0.0, 0.0], "lrv") == "lrv 0.0"

    def test_a_colour_that_no_surface_has_is_outside_the_renotation(self):
        assert format_colour([50.0, 140.0, 0.0], "munsell") == "outside the renotation"
        with pytest.raises(OutOfRangeError, match="no surface can have this colour"):
            format_colour([50.0, 140.0, 0.0], "lrv")

    def test_the_luminance_for_10_degrees_is_not_that_for_2(self):
        # Source: LRV is defined for the 10 degree observer; a vivid yellow-green differs.
        colour = colour_of(parse_colour("lab(66 -24 55)"), SURFACE_BOUNDS)
        lrv = float(format_colour(colour.lab, "lrv", colour.reflectance).split()[1])
        assert abs(lrv - lab_to_xyz(colour.lab)[1]) > 1.0

    def test_an_unknown_notation_lists_the_known_ones(self):
        with pytest.raises(NotationError, match="use one of hex, lab"):
            format_colour([50.0, 0.0, 0.0], "cmyk")

    @pytest.mark.parametrize("lab", [[50.0, 0.0], [np.nan, 0.0, 0.0]])
    def test_what_is_no_colour_is_refused(self, lab):
        with pytest.raises(OutOfRangeError):
            format_colour(lab)


def test_reading_a_colour_imports_no_heavy_library():
    heavy = "{'colour', 'scipy', 'skimage', 'PIL', 'pydantic'}"
    code = (
        "import sys; from showthrough.colour.notation import parse_colour, format_colour;"
        "from showthrough.colour.reading import colour_of;"
        "c = colour_of(parse_colour('#a3b84c')); format_colour(c.lab, 'lrv');"
        f"sys.exit(bool({heavy} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
