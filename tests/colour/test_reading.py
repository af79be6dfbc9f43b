"""Readings and the colours that they stand for."""

from __future__ import annotations

import threading

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showthrough.colour import reading as reading_module
from showthrough.colour.difference import ciede2000
from showthrough.colour.notation import parse_colour
from showthrough.colour.reading import Colour, Reading, colour_of, colours_of, possible_colours
from showthrough.colour.spectrum import (
    DEEP_PAINT_BOUNDS,
    PAINT_BOUNDS,
    SURFACE_BOUNDS,
    recover_spectra,
    spectrum_to_lab,
)
from showthrough.errors import InputError, OutOfRangeError

GREY = (0.3,) * 31
LABS = [(66.0, -24.0, 55.0), (38.0, 12.0, 20.0), (55.0, 0.0, 0.0), (24.0, 3.0, -22.0)]


class TestReading:
    def test_it_holds_plain_floats_whatever_it_was_given(self):
        reading = Reading(lab=np.array([50, 1, 2]), illuminant=" d50 ", observer=10.0)
        assert reading == Reading(lab=(50.0, 1.0, 2.0), illuminant="D50", observer=10)
        assert hash(reading) == hash(Reading(lab=[50, 1, 2], illuminant="D50", observer=10))

    def test_it_cannot_be_changed(self):
        with pytest.raises(AttributeError):
            Reading(lab=(50, 0, 0)).text = "other"

    @pytest.mark.parametrize(
        ("parts", "field", "message"),
        [
            ({}, "", "either lab or a reflectance"),
            ({"lab": (50, 0, 0), "reflectance": GREY}, "", "either lab or a reflectance"),
            ({"lab": (50, 0)}, "lab", "three numbers.*2 given"),
            ({"lab": ("x", 0, 0)}, "lab", "three numbers"),
            ({"lab": (float("nan"), 0, 0)}, "lab", "finite"),
            ({"lab": (50, float("inf"), 0)}, "lab", "finite"),
            ({"lab": (-0.1, 0, 0)}, "lab", r"L\* -0.1 is outside 0 to 100"),
            ({"lab": (100.1, 0, 0)}, "lab", r"L\* 100.1 is outside 0 to 100"),
            ({"lab": (50, 0, -301)}, "lab", r"b\* -301 is outside"),
            ({"reflectance": (0.3,) * 30}, "reflectance", "31 bands.*30 given"),
            ({"reflectance": (*GREY[1:], -0.1)}, "reflectance", "-0.1 at 700 nm"),
            ({"reflectance": (1.3, *GREY[1:])}, "reflectance", "1.3 at 400 nm"),
            ({"reflectance": (float("nan"), *GREY[1:])}, "reflectance", "nan at 400 nm"),
            ({"reflectance": ("a",) * 31}, "reflectance", "must be numbers"),
            ({"lab": (50, 0, 0), "illuminant": "F11"}, "illuminant", "D50, D65, A, C"),
            ({"lab": (50, 0, 0), "observer": 5}, "observer", "use 2 or 10"),
        ],
    )
    def test_what_is_wrong_is_named_with_its_field(self, parts, field, message):
        with pytest.raises(InputError, match=message) as caught:
            Reading(**parts)
        assert caught.value.problems[0].field == field

    def test_all_that_is_wrong_is_told_at_once(self):
        with pytest.raises(InputError) as caught:
            Reading(lab=(120, 500, 0), illuminant="F11", observer=5)
        assert [p.field for p in caught.value.problems] == ["lab", "lab", "illuminant", "observer"]

    def test_numbers_out_of_range_alone_are_that_kind_of_error(self):
        with pytest.raises(OutOfRangeError):
            Reading(lab=(120, 500, 0))

    def test_rounding_at_white_does_no_harm(self):
        assert Reading(lab=(100.0 + 1e-9, 0, 0)).lab == (100.0, 0.0, 0.0)


class TestColour:
    @pytest.mark.parametrize("lab", LABS)
    def test_a_daylight_reading_keeps_its_numbers(self, lab):
        colour = colour_of(Reading(lab=lab, text="mine"))
        np.testing.assert_allclose(colour.lab, lab, atol=1e-5)
        np.testing.assert_allclose(spectrum_to_lab(colour.reflectance), colour.lab, atol=1e-6)
        assert (colour.text, colour.measured, colour.notes) == ("mine", False, ())

    @pytest.mark.parametrize("lab", LABS)
    @pytest.mark.parametrize(("illuminant", "observer"), [("A", 2), ("D50", 10), ("C", 2)])
    def test_a_reading_in_another_light_is_looked_at_in_daylight(self, lab, illuminant, observer):
        colour = colour_of(Reading(lab=lab, illuminant=illuminant, observer=observer))
        np.testing.assert_allclose(
            spectrum_to_lab(colour.reflectance, illuminant, observer), lab, atol=1e-5
        )
        if lab[1] or lab[2]:
            assert np.abs(colour.lab - lab).max() > 0.05
        else:
            np.testing.assert_allclose(colour.lab, lab, atol=1e-5)

    def test_a_specular_included_reading_loses_four_hundredths(self):
        # Source: Fresnel reflection at n = 1.5.
        lab = tuple(spectrum_to_lab(np.array(GREY) + 0.04))
        for reading in (
            Reading(lab=lab, specular_included=True),
            Reading(reflectance=np.array(GREY) + 0.04, specular_included=True),
        ):
            np.testing.assert_allclose(colour_of(reading).reflectance, GREY, rtol=1e-6)

    def test_a_measured_spectrum_is_kept_and_says_so(self):
        bands = tuple(np.linspace(0.05, 0.8, 31))
        colour = colour_of(Reading(reflectance=bands))
        assert colour.measured
        assert colour.notes == ()
        np.testing.assert_array_equal(colour.reflectance, bands)

    def test_a_measured_spectrum_beyond_the_bounds_is_clipped_with_a_note(self):
        bands = np.full(31, 0.5)
        bands[0], bands[-2:] = 0.001, 0.97
        colour = colour_of(Reading(reflectance=bands, text="chip"))
        assert colour.reflectance.min() == PAINT_BOUNDS[0]
        assert colour.reflectance.max() == PAINT_BOUNDS[1]
        below, above = colour.notes
        assert "chip goes below 1%" in below
        assert "at 400 nm" in below
        assert "in 2 of 31 bands between 690 and 700 nm" in above

    def test_plain_white_is_moved_and_named(self):
        colour = colour_of(Reading(lab=(100, 0, 0), text="#ffffff"))
        (note,) = colour.notes
        assert note == (
            "#ffffff is lighter than any paint film; it is modelled as lightness 97.0 of 100, "
            "CIEDE2000 1.8 away."
        )
        assert colour.lab[0] == pytest.approx(96.98, abs=0.01)

    def test_plain_black_is_moved_and_named(self):
        (note,) = colour_of(Reading(lab=(0, 0, 0), text="#000000")).notes
        assert note == (
            "#000000 is darker than any paint film; it is modelled as lightness 9.0 of 100, "
            "CIEDE2000 5.4 away."
        )

    @pytest.mark.parametrize("text", ["#ff0000", "#00ff00", "#0000ff", "#ffff00", "#330000"])
    def test_every_corner_of_the_screen_is_moved_and_the_move_is_named(self, text):
        # Pure red and blue were once refused, and pure green moved.
        asked = parse_colour(text)
        colour = colour_of(asked)
        (note,) = colour.notes
        away = float(ciede2000(asked.lab, colour.lab))
        assert f"{text} is stronger than any paint film" in note
        assert "lab({:.1f} {:.1f} {:.1f})".format(*colour.lab) in note
        assert f"CIEDE2000 {away:.1f} away" in note

    def test_a_tinted_white_is_told_that_its_hue_is_kept(self):
        (note,) = colour_of(Reading(lab=(99, 0, 6))).notes
        assert "any paint film of its hue and strength" in note

    def test_a_surface_may_be_lighter_than_a_paint(self):
        white = Reading(lab=(97.8, 0, 0))
        assert colour_of(white, SURFACE_BOUNDS).notes == ()
        assert colour_of(white, PAINT_BOUNDS).notes != ()
        (note,) = colour_of(Reading(lab=(100, 0, 0)), SURFACE_BOUNDS).notes
        assert "any surface we model" in note

    def test_notes_of_the_reading_come_along(self):
        assert colour_of(Reading(lab=(50, 0, 0), notes=("Read by eye.",))).notes == (
            "Read by eye.",
        )

    def test_its_arrays_cannot_be_changed(self):
        colour = colour_of(Reading(lab=(50, 0, 0)))
        with pytest.raises(ValueError, match="read-only"):
            colour.reflectance[0] = 1.0

    @pytest.mark.parametrize(
        ("lab", "message"),
        [
            ((66, -24, 180), r"chroma 182 is more than any paint of this lightness.*\(about \d+\)"),
            ((99, 30, 20), r"L\* 99 with chroma 36 is lighter than any paint.*L\* 97"),
            ((2, 90, 40), r"chroma 98 is more than any paint of this lightness.*\(about 0\)"),
        ],
    )
    def test_what_no_paint_can_be_is_refused_with_the_bound(self, lab, message):
        with pytest.raises(OutOfRangeError, match=message) as caught:
            colour_of(Reading(lab=lab))
        assert caught.value.problems[0].field == ""

    def test_the_bound_that_is_named_can_be_reached(self):
        with pytest.raises(OutOfRangeError) as caught:
            colour_of(Reading(lab=(66, -24, 180)))
        most = float(str(caught.value).rsplit("about ", 1)[1].rstrip(")"))
        scale = (most - 1.0) / np.hypot(24, 180)
        assert colour_of(Reading(lab=(66, -24 * scale, 180 * scale))).notes == ()

    @given(
        st.floats(0.0, 100.0),
        st.floats(-250.0, 250.0),
        st.floats(-250.0, 250.0),
        st.sampled_from(["D50", "D65", "A", "C"]),
        st.sampled_from([2, 10]),
        st.booleans(),
    )
    def test_any_reading_gives_a_colour_within_bounds_or_a_reason(
        self, lightness, a, b, illuminant, observer, specular
    ):
        reading = Reading((lightness, a, b), None, illuminant, observer, specular)
        try:
            colour = colour_of(reading)
        except OutOfRangeError as error:
            colour = None
            reason = str(error)
        if colour is None:
            assert "chroma" in reason
        else:
            assert np.isfinite(colour.lab).all()
            assert colour.reflectance.min() >= DEEP_PAINT_BOUNDS[0] - 1e-12
            assert colour.reflectance.max() <= PAINT_BOUNDS[1] + 1e-12


class TestMany:
    def test_many_are_what_each_is_alone_in_their_order(self):
        readings = [
            Reading(lab=lab, illuminant=light, observer=angle, specular_included=mirror)
            for lab in LABS
            for light in ("D65", "A")
            for angle in (2, 10)
            for mirror in (False, True)
        ]
        readings.insert(3, Reading(reflectance=GREY))
        bounds = [PAINT_BOUNDS if i % 2 else SURFACE_BOUNDS for i in range(len(readings))]
        together = colours_of(readings, bounds)
        for reading, span, colour in zip(readings, bounds, together, strict=True):
            alone = colour_of(reading, span)
            np.testing.assert_allclose(colour.reflectance, alone.reflectance, atol=1e-9)
            assert colour.notes == alone.notes

    def test_one_light_is_recovered_in_one_call(self, monkeypatch):
        calls = []

        def counted(lab, *args, **kwargs):
            calls.append(len(lab))
            return recover_spectra(lab, *args, **kwargs)

        monkeypatch.setattr(reading_module, "recover_spectra", counted)
        # Colours that no other test has put into the cache.
        readings = [Reading(lab=(31.5 + i / 97, 1.25, 2.5)) for i in range(60)]
        readings += [Reading(lab=(31.5, 1.25, 2.5 + i / 97), illuminant="A") for i in range(40)]
        colours_of(readings)
        assert sorted(calls) == [40, 60]
        colours_of(readings)
        assert sorted(calls) == [40, 60]

    def test_a_large_batch_passes_by_the_cache(self):
        readings = [Reading(lab=(32.5 + i / 999, 2.0, 3.0)) for i in range(600)]
        before = len(reading_module._cache)
        assert len(colours_of(readings)) == 600
        assert len(reading_module._cache) == before

    def test_all_that_cannot_be_are_told_with_their_names(self):
        readings = [Reading(lab=(50, 0, 0)), Reading(lab=(50, 170, 0)), Reading(lab=(50, 0, 150))]
        with pytest.raises(OutOfRangeError) as caught:
            colours_of(readings)
        assert [p.field for p in caught.value.problems] == ["[1]", "[2]"]
        with pytest.raises(OutOfRangeError) as caught:
            colours_of(readings, names=["topcoat", "surface[0]", "surface[1]"])
        assert [p.field for p in caught.value.problems] == ["surface[0]", "surface[1]"]

    def test_many_that_cannot_be_do_not_each_seek_their_bound(self):
        readings = [Reading(lab=(50, 170 + i / 10, 0)) for i in range(60)]
        colours, problems = possible_colours(readings)
        assert colours == [None] * 60
        assert list(problems) == list(range(60))
        assert sum("about" in p.message for p in problems.values()) == 20
        with pytest.raises(OutOfRangeError, match="and 40 more like these"):
            colours_of(readings)

    def test_those_that_can_be_come_with_those_that_cannot(self):
        lab = [Reading(lab=(50, 20, 0)), Reading(lab=(50, 200, 0))]
        spectra = [Reading(reflectance=(level,) * 31) for level in (0.3, 0.6)]
        colours, problems = possible_colours([*lab, *spectra], names=["a", "b", "c", "d"])
        assert [p.field for p in problems.values()] == ["b"]
        assert colours[1] is None
        for reading, colour in zip([*lab, *spectra], colours, strict=True):
            if colour is not None:
                np.testing.assert_allclose(colour.lab, colour_of(reading).lab)

    def test_none_at_all_is_fine(self):
        assert colours_of([]) == []

    def test_threads_may_ask_at_the_same_time(self):
        failures: list[Exception] = []
        wanted = [Reading(lab=(33.0 + i / 50, 1.0, 4.0)) for i in range(50)]

        def ask():
            try:
                for reading in wanted:
                    got = colour_of(reading)
                    assert isinstance(got, Colour)
                    assert got.lab[0] == pytest.approx(reading.lab[0], abs=1e-5)
            except AssertionError as error:
                failures.append(error)

        threads = [threading.Thread(target=ask) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert failures == []


@pytest.mark.parametrize("grey", ["N 5", "lab(55 0 0)", "#848484"])
def test_a_grey_comes_back_without_any_hue(grey):
    # What a solver leaves of a* and b*, 1e-8 or so, has a hue, and harmony would go by it.
    assert colour_of(parse_colour(grey)).lab[1:].tolist() == [0.0, 0.0]
