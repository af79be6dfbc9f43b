"""K and S from drawdowns: a published real paint, known random paints, honest intervals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reference import crossing_scan
from reference.csv_table import rows
from reference.random_paints import (
    draws,
    film,
    measured_spectra,
    noisy_lab,
    smooth_spectra,
    wavy_spectra,
)
from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import WAVELENGTHS, weights
from showthrough.colour.reading import Reading
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.errors import IllConditionedError
from showthrough.film.drawdown.film import BANDS, Surface, band_constants, constants_of, films_of
from showthrough.film.drawdown.fit import SMOOTH_LAB, SMOOTH_SPECTRA, _knowledge
from showthrough.film.drawdown.measure import examine_drawdown, measure_drawdown
from showthrough.film.drawdown.noise import RADIUS_OVER_SD, lab_covariance
from showthrough.film.drawdown.readings import CardReading, DrawdownReadings, film_spectrum
from showthrough.film.optics import film_reflectance, inside_reflectance, outside_reflectance

TOP = ("bare black", "bare white", "over black", "over white")
THEORY = Surface(k1=0.04, k2=0.60)  # the constants that the published figures were made with


def real_07b():
    """Four reflectances of the real drawdown, 0 to 1, specular included, shape (4, 31)."""
    table = {row["reading"]: row for row in rows("drawdown_07b.csv")}
    return np.array([[float(table[name][f"{nm:.0f}"]) for nm in WAVELENGTHS] for name in TOP]) / 100


def drawn_07b(surface=THEORY):
    readings = [
        CardReading(Reading(reflectance=tuple(bands), observer=10, specular_included=True))
        for bands in real_07b()
    ]
    return DrawdownReadings(*readings, 1.0, 1.0, 1.0, 1.0, surface=surface)


def spectra(one, radius=None):
    bands = (*one.card, *one.films)
    return [CardReading(Reading(reflectance=tuple(b)), radius) for b in bands]


# --- published values ------------------------------------------------------------------


def test_one_band_of_a_real_zinc_white_gives_the_published_constants():
    # Source: sample 07B of fligt/revigo-spectra (CC0), 550 nm, k1 0.04, k2 0.60, worked out
    # by an independent program: a 1.004, SX 5.712, KX 0.0215.
    black, white, over_black, over_white = (
        THEORY.inside(np.array([v - 0.04])) for v in (0.0488, 0.8544, 0.6883, 0.8350)
    )
    a, thickness, _ = band_constants(black, white, over_black, over_white)
    assert a[0] == pytest.approx(1.004, abs=5e-4)
    assert thickness[0] == pytest.approx(5.712, abs=5e-4)
    assert (a[0] - 1) * thickness[0] == pytest.approx(0.0215, abs=5e-5)


@pytest.mark.parametrize(("nm", "optical"), [(450, 8.808), (550, 5.712), (650, 4.317)])
def test_scattering_of_the_real_white_rises_towards_blue_as_published(nm, optical):
    # Source: as above.
    _, thickness, _ = band_constants(*(THEORY.inside(bands - 0.04) for bands in real_07b()))
    assert thickness[int((nm - 400) / 10)] == pytest.approx(optical, abs=5e-4)


def test_without_the_surface_the_same_film_scatters_less_than_half():
    # Source: same film, 550 nm, no surface correction: SX 2.44.
    values = (np.array([v]) for v in (0.0488, 0.8544, 0.6883, 0.8350))
    assert band_constants(*values)[1][0] == pytest.approx(2.44, abs=5e-3)


def test_all_bands_together_agree_with_each_band_alone_where_that_is_sure():
    _, alone, solved = band_constants(*(THEORY.inside(bands - 0.04) for bands in real_07b()))
    found = examine_drawdown(drawn_07b(), draws=8)
    assert solved.all()
    # At 400 and 410 nm the films differ by less than 0.01, and smoothing has its say.
    sure = real_07b()[3] - real_07b()[2] > 0.01
    assert sure.sum() == 29
    np.testing.assert_allclose(found.scattering[sure], alone[sure], rtol=0.03)


@pytest.mark.parametrize(
    ("times", "ratio", "difference"),
    # Source: the model's thickness series of sample 07B, D65, 10 degrees, specular
    # included, from an independent program; times 1 is the measurement itself.
    [(0.5, 0.652, 13.5), (1, 0.826, 7.65), (2, 0.944, 3.04), (3, 0.980, 1.31), (4, 0.992, 0.59)],
)
def test_thicker_films_of_the_real_white_hide_as_published(times, ratio, difference):
    found = examine_drawdown(drawn_07b(), draws=8)
    card = THEORY.inside(real_07b()[:2] - 0.04)
    inside = film_reflectance(found.absorption, found.scattering, times, card)
    seen = THEORY.outside(inside) + 0.04
    luminance = seen @ weights("D65", 10)[:, 1]
    lab = spectrum_to_lab(seen, "D65", 10)
    assert luminance[0] / luminance[1] == pytest.approx(ratio, abs=2e-3)
    assert float(ciede2000(lab[0], lab[1])) == pytest.approx(difference, abs=0.06)


def test_the_real_white_is_measured_and_reproduced():
    found = measure_drawdown(drawn_07b(Surface()))
    # Source: Y 68.83 over black and 83.34 over white, contrast ratio 0.8259, difference
    # 7.65 CIEDE2000 (D65, 10 degrees; same data, independent program).
    assert found.contrast_ratio == pytest.approx(0.8259, abs=1e-4)
    assert found.delta_e == pytest.approx(7.65, abs=5e-3)
    assert found.verdict == "well-conditioned"
    assert max(found.residual_black, found.residual_white) < 0.1
    assert found.paint().evidence == "spectrum"


# --- laws ------------------------------------------------------------------------------


@settings(deadline=None, max_examples=200)
@given(st.floats(1e-4, 2.0), st.floats(1e-3, 2.0), st.floats(0.0, 0.05), st.floats(0.6, 0.95))
def test_two_backings_give_back_the_film_that_made_them(k, s, black, white):
    substrates = np.array([black, white])
    over = film_reflectance(k, s, 1.0, substrates)
    a, thickness, solved = band_constants(*(np.array([v]) for v in (*substrates, *over)))
    assert solved[0]
    assert thickness[0] == pytest.approx(s, rel=1e-4)
    assert a[0] - 1 == pytest.approx(k / s, rel=1e-4)


@settings(deadline=None, max_examples=100)
@given(st.floats(-6, 6), st.floats(-5, 5))
def test_a_film_of_levels_is_the_film_of_its_constants(colour, optical):
    levels = np.concatenate([np.full(31, colour), np.full(31, optical)])
    substrates = np.stack([np.full(31, 0.01), np.full(31, 0.85)])
    k, s = constants_of(levels, Surface())
    films = outside_reflectance(film_reflectance(k, s, 1.0, inside_reflectance(substrates)))
    np.testing.assert_allclose(films_of(levels, substrates, Surface()), films, rtol=1e-9)


def test_twice_the_stated_film_halves_the_constants():
    one = next(draws(np.random.default_rng(3), smooth_spectra(np.random.default_rng(3), 5)))
    thin, thick = (
        measure_drawdown(DrawdownReadings(*spectra(one), wet, 0.4), draws=8) for wet in (60, 120)
    )
    np.testing.assert_allclose(thick.scattering, thin.scattering / 2)
    np.testing.assert_allclose(thick.absorption, thin.absorption / 2)
    assert thick.reading_geometric_sd == thin.reading_geometric_sd


def test_the_mirror_reflection_may_be_in_the_readings_or_not():
    one = next(draws(np.random.default_rng(4), smooth_spectra(np.random.default_rng(4), 5)))
    without = measure_drawdown(DrawdownReadings(*spectra(one), 100, 0.4), draws=8)
    shiny = [
        CardReading(Reading(reflectance=tuple(bands + 0.04), specular_included=True))
        for bands in (*one.card, *one.films)
    ]
    found = measure_drawdown(DrawdownReadings(*shiny, 100, 0.4), draws=8)
    assert found.scattering_per_um == pytest.approx(without.scattering_per_um, rel=2e-3)


def test_the_hiding_film_is_the_one_beyond_which_black_and_white_look_the_same():
    one = next(draws(np.random.default_rng(8), wavy_spectra(np.random.default_rng(8), 5)))
    found = measure_drawdown(DrawdownReadings(*spectra(one, 0.01), one.dry_um / 0.4, 0.4), draws=8)
    black, white = inside_reflectance(one.card)
    even = crossing_scan.even(found.absorption, found.scattering, black, white)
    assert found.hiding_um == pytest.approx(even, rel=1e-3)


def test_a_film_that_no_surface_looks_like_is_begun_as_a_grey_as_light():
    # Source: CIE 15, Y = ((L* + 16) / 116)^3 for L* above 8.
    film = CardReading(Reading(lab=(95.0, 60.0, 60.0)))
    assert film_spectrum(film, Surface()) == pytest.approx(((95 + 16) / 116) ** 3, rel=1e-4)


@pytest.mark.parametrize("smooth", [SMOOTH_LAB, SMOOTH_SPECTRA])
def test_steps_from_band_to_band_are_known_alike_whichever_band_they_start_from(smooth):
    # Law: what is taken for stationary has covariances that hang on the distance alone.
    _, known = _knowledge(smooth)
    step = np.diff(np.eye(BANDS), axis=0)
    for levels in (known[:BANDS, :BANDS], known[BANDS:, BANDS:]):
        steps = step @ levels @ step.T
        for apart in range(BANDS - 1):
            alike = np.diagonal(steps, apart)
            assert alike == pytest.approx(alike[0], abs=1e-7)


def test_the_ellipsoid_of_a_reading_has_the_radius_it_was_given():
    random = np.random.default_rng(0)
    for lab in ([50, 20, -30], [96, 0, 2], [9, 0, 0], [50, 2.5, 0]):
        root = np.linalg.cholesky(lab_covariance(np.array(lab, float), 0.3))
        off = ciede2000(lab, lab + random.normal(size=(4000, 3)) @ root.T)
        assert np.quantile(off, 0.95) == pytest.approx(0.3, rel=0.04)


def test_the_radius_constant_is_the_chi_square_quantile():
    from scipy.stats import chi2  # an independent table of the distribution

    assert pytest.approx(np.sqrt(chi2.ppf(0.95, 3)), abs=5e-5) == RADIUS_OVER_SD


# --- known paints ----------------------------------------------------------------------


def known_paints(seed, n):
    """Draws of n paints: a third smoothest, a third wavy, a third measured spectra."""
    random = np.random.default_rng(seed)
    third = n // 3
    spectra = [make(random, third) for make in (smooth_spectra, wavy_spectra, measured_spectra)]
    return random, list(draws(random, np.vstack(spectra)))


def test_exact_spectra_give_back_scattering_and_absorption():
    _, paints = known_paints(11, 300)
    for one in paints:
        found = measure_drawdown(
            DrawdownReadings(*spectra(one, 0.01), one.dry_um / 0.4, 0.4), draws=8
        )
        # Where the film lets no light through, nothing can be known of S.
        shows = one.films[1] - one.films[0] > 0.001
        np.testing.assert_allclose(found.scattering[shows], one.scattering[shows], rtol=0.03)
        np.testing.assert_allclose(
            found.absorption[shows], one.absorption[shows], rtol=0.03, atol=1e-4
        )
        assert max(found.residual_black, found.residual_white) < 0.01


NOISE = 0.3  # CIEDE2000, root mean square
RADIUS = NOISE / np.sqrt(3) * 2.7955


@pytest.fixture(scope="module")
def noisy_trials():
    """Draws read as Lab with noise, and what was answered."""
    random, paints = known_paints(29, 300)
    trials = []
    for one in paints:
        labs = [noisy_lab(random, bands, NOISE) for bands in (*one.card, *one.films)]
        readings = DrawdownReadings(
            *(CardReading(Reading(lab=tuple(lab)), RADIUS) for lab in labs),
            one.dry_um / 0.4,
            0.4,
            wet_film_spread=1.0,
            solids_spread=1.0,
        )
        try:
            found = measure_drawdown(readings)
        except IllConditionedError:
            found = None
        trials.append((one, readings, found))
    return trials


def test_colour_readings_are_answered_where_the_films_differ_and_refused_where_not(noisy_trials):
    for _, readings, found in noisy_trials:
        assert (found is not None) == (readings.delta_e >= 1.0)


def test_noisy_colour_readings_give_scattering_within_a_few_per_cent(noisy_trials):
    off = np.array(
        [
            abs(found.scattering_per_um / one.scattering_per_um - 1)
            for one, _, found in noisy_trials
            if found
        ]
    )
    assert np.median(off) <= 0.05
    assert np.quantile(off, 0.9) <= 0.15


def test_the_stated_interval_of_scattering_holds_the_truth_as_often_as_it_says(noisy_trials):
    inside = [
        abs(np.log(found.scattering_per_um / one.scattering_per_um))
        <= 1.96 * np.log(found.scattering_per_um_geometric_sd)
        for one, _, found in noisy_trials
        if found
    ]
    assert 0.90 <= np.mean(inside) <= 0.98


def true_hiding_um(one):
    low, high = 1e-2, 1e4
    for _ in range(50):
        middle = np.sqrt(low * high)
        lab = spectrum_to_lab(film(one.absorption, one.scattering, middle, one.card))
        low, high = (middle, high) if ciede2000(lab[0], lab[1]) > 1 else (low, middle)
    return middle


def test_the_stated_interval_of_the_hiding_film_holds_the_truth_as_often_as_it_says(noisy_trials):
    inside = [
        abs(np.log(found.hiding_um / true_hiding_um(one))) <= 1.96 * np.log(found.geometric_sd)
        for one, _, found in noisy_trials
        if found
    ]
    assert 0.90 <= np.mean(inside) <= 0.98
