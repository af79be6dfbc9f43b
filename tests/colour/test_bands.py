"""Spectra on any regular grid, brought to 31 bands."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showthrough.colour.bands import is_percent, reading_from_spectrum, sprague, to_bands
from showthrough.colour.lights import WAVELENGTHS
from showthrough.errors import InputError, NotationError


def smooth(nm):
    """A reflectance that bends about as much as a vivid paint's."""
    return 0.1 + 0.7 / (1.0 + np.exp(-(np.asarray(nm) - 570.0) / 18.0))


class TestSprague:
    def test_it_agrees_with_colour_science_between_and_at_the_ends(self):
        # Source: SpragueInterpolator of colour-science 0.4.7 (CIE 167).
        import colour

        values = np.random.default_rng(5).random(17)
        place = np.linspace(0.0, 16.0, 129)
        theirs = colour.SpragueInterpolator(np.arange(17.0), values)(place)
        np.testing.assert_allclose(sprague(values, place), theirs, atol=1e-12)

    @given(st.lists(st.floats(0.0, 1.0), min_size=6, max_size=20))
    def test_it_goes_through_its_points(self, points):
        values = np.array(points)
        got = sprague(values, np.arange(len(points), dtype=float))
        np.testing.assert_allclose(got, values, atol=1e-9)

    def test_it_is_exact_for_a_parabola(self):
        # A fifth-order formula between inner points keeps lower orders.
        x = np.arange(9.0)
        place = np.linspace(2.0, 6.0, 33)
        got = sprague(0.5 + 0.1 * x - 0.01 * x * x, place)
        np.testing.assert_allclose(got, 0.5 + 0.1 * place - 0.01 * place**2, atol=1e-12)


class TestGrids:
    @pytest.mark.parametrize("step", [1.0, 2.0, 2.5, 5.0, 10.0])
    @pytest.mark.parametrize(("first", "last"), [(400.0, 700.0), (380.0, 780.0), (360.0, 740.0)])
    def test_a_grid_that_holds_the_bands_is_read_at_them(self, step, first, last):
        nm = np.arange(first, last + 0.1, step)
        bands, notes = to_bands(nm, smooth(nm))
        np.testing.assert_array_equal(bands, smooth(WAVELENGTHS))
        assert notes == ()

    @pytest.mark.parametrize(
        ("first", "last", "step", "close"),
        [(399, 705, 3, 1e-5), (395, 705, 5, 1e-12), (396, 704, 4, 1e-5), (385, 715, 15, 1e-3),
         (400, 700, 20, 4e-3), (395, 715, 20, 4e-3)],
    )  # fmt: skip
    def test_any_other_grid_is_interpolated(self, first, last, step, close):
        nm = np.arange(first, last + 0.1, step)
        bands, notes = to_bands(nm, smooth(nm))
        np.testing.assert_allclose(bands, smooth(WAVELENGTHS), atol=close)
        assert notes == ()

    def test_a_very_coarse_grid_is_read_with_a_note(self):
        nm = np.arange(400.0, 701.0, 25.0)
        bands, (note,) = to_bands(nm, smooth(nm))
        np.testing.assert_allclose(bands, smooth(WAVELENGTHS), atol=0.02)
        assert "coarser than the 20 nm" in note

    def test_order_does_not_matter(self):
        nm = np.arange(400.0, 701.0, 10.0)
        bands, _ = to_bands(nm[::-1], smooth(nm[::-1]))
        np.testing.assert_array_equal(bands, smooth(nm))

    @given(st.lists(st.floats(0.0, 1.0), min_size=16, max_size=16))
    def test_interpolation_never_leaves_what_a_reflectance_can_be(self, values):
        bands, _ = to_bands(np.arange(400.0, 701.0, 20.0), values)
        assert bands.min() >= 0.0
        assert bands.max() <= 1.2


class TestFaults:
    @pytest.mark.parametrize(
        ("nm", "message"),
        [
            (np.arange(410.0, 701.0, 10.0), "covers 410 to 700 nm; 400 to 700 nm are needed"),
            (np.arange(400.0, 691.0, 10.0), "covers 400 to 690 nm"),
            (np.delete(np.arange(400.0, 701.0, 10.0), 15), "from 540 to 560 nm bands are missing"),
            (np.append(np.arange(400.0, 701.0, 10.0), 700.0), "700 nm is given twice"),
            (np.arange(400.0, 761.0, 60.0), "60 nm is too coarse"),
            (np.append(np.arange(400.0, 701.0, 10.0), [400.0] * 19), "400 nm is given 20 times"),
            (np.full(20, 400.0), "400 nm is given 20 times"),
            (np.array([-1e308, 400.0, 1e308]), "no wavelength of light"),
            (np.arange(400.0, 700.0, 0.02), "15000 wavelengths are given; at most 10000"),
            (np.array([550.0]), "needs bands, 1 given"),
            (np.array([400.0, np.nan, 700.0]), "finite"),
        ],
    )
    def test_a_faulty_grid_is_refused_with_the_place(self, nm, message):
        with pytest.raises(InputError, match=message):
            to_bands(nm, np.full(nm.size, 0.5))

    def test_an_uneven_grid_is_refused_with_the_place(self):
        nm = np.arange(400.0, 701.0, 10.0)
        nm[5] = 453.0
        with pytest.raises(InputError, match="from 440 to 453 nm the grid is not even"):
            to_bands(nm, np.full(31, 0.5))

    def test_all_faults_are_told_at_once(self):
        nm = np.delete(np.arange(420.0, 701.0, 10.0), 9)
        values = np.full(nm.size, 0.5)
        values[2], values[4], values[6] = -0.1, 1.3, np.nan
        with pytest.raises(InputError) as caught:
            to_bands(nm, values, "spectrum")
        messages = [p.message for p in caught.value.problems]
        assert len(messages) == 5
        for part in ("covers 420", "missing", "-0.1 at 440", "1.3 at 460", "nan at 480"):
            assert any(part in message for message in messages)
        assert {p.field for p in caught.value.problems} == {"spectrum"}

    def test_of_very_many_faults_the_first_are_told_and_the_rest_counted(self):
        with pytest.raises(InputError) as caught:
            to_bands(WAVELENGTHS, np.full(31, 7.0))
        assert [p.message for p in caught.value.problems][-1].startswith(
            "and 26 more like these (31 in all)"
        )
        steps = np.where(np.arange(800) % 2, 0.3, 0.7)
        with pytest.raises(InputError) as caught:
            to_bands(400.0 + np.cumsum(steps), np.full(800, 0.5))
        assert len(caught.value.problems) == 21

    def test_what_lies_far_outside_the_visible_is_not_judged(self):
        nm = np.arange(300.0, 901.0, 10.0)
        values = np.full(nm.size, 0.5)
        values[[0, -1]] = -3.0, 7.0
        assert to_bands(nm, values)[0].tolist() == [0.5] * 31


class TestScale:
    @pytest.mark.parametrize(
        ("greatest", "percent"),
        [(0.02, False), (1.0, False), (1.2, False), (2.01, True), (93, True)],
    )
    def test_the_greatest_value_tells_percent_from_fraction(self, greatest, percent):
        assert is_percent(greatest) is percent

    @pytest.mark.parametrize("greatest", [1.21, 1.6, 2.0])
    def test_between_the_two_it_is_asked(self, greatest):
        with pytest.raises(NotationError, match="may be a fraction or a percentage"):
            is_percent(greatest)

    def test_a_statement_settles_it(self):
        nm = WAVELENGTHS
        dark = reading_from_spectrum(nm, np.full(31, 1.5), percent=True)
        assert dark.reflectance == pytest.approx((0.015,) * 31)
        with pytest.raises(InputError, match=r"1\.5 at 400 nm is outside 0 to 1\.2"):
            reading_from_spectrum(nm, np.full(31, 1.5), percent=False)

    def test_percents_and_fractions_give_the_same_reading(self):
        nm = WAVELENGTHS
        one = reading_from_spectrum(nm, smooth(nm), specular_included=True, text="chip")
        two = reading_from_spectrum(nm, 100 * smooth(nm), specular_included=True, text="chip")
        assert one.specular_included
        assert one.text == "chip"
        assert two.reflectance == pytest.approx(one.reflectance)

    def test_each_wavelength_needs_a_value(self):
        with pytest.raises(NotationError, match="31 wavelengths and 30 values"):
            reading_from_spectrum(WAVELENGTHS, np.full(30, 0.5))

    @pytest.mark.parametrize("wrong", [np.nan, np.inf, -np.inf])
    def test_a_value_that_is_no_number_is_refused(self, wrong):
        values = np.full(31, 0.5)
        values[3] = wrong
        with pytest.raises(InputError, match="at 430 nm is outside"):
            reading_from_spectrum(WAVELENGTHS, values)
