"""Hiding films against a dense scan, a scalar second implementation, and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reference import crossing_scan, scalar_film
from reference.films import film_lab
from reference.flat_rule import flat_rule
from reference.random_pairs import pairs
from showthrough.colour.difference import ciede2000
from showthrough.colour.spectrum import (
    PAINT_BOUNDS,
    SURFACE_BOUNDS,
    recover_spectra,
    spectrum_to_lab,
)
from showthrough.film.coats import coats_needed
from showthrough.film.hiding import constants_from_colour
from showthrough.film.optics import (
    film_reflectance,
    infinite_reflectance,
    inside_reflectance,
    outside_reflectance,
)
from showthrough.film.thickness import (
    FilmTable,
    _Pairs,
    full_colour_thickness,
    thickness_shift,
)

laws = settings(deadline=None, max_examples=300)


def spectra(*labs, bounds=PAINT_BOUNDS):
    return recover_spectra(labs, bounds).reflectance


# --- the quick table of films ----------------------------------------------------------


@given(
    st.floats(-6.5, 4.0),
    st.floats(-4.0, 1.0),
    st.floats(0.0, 1e4),
    st.floats(0.0, 1.0),
)
@laws
def test_the_film_table_is_the_plain_formula_with_the_surface(log_ratio, log_s, film, substrate):
    s = 10.0**log_s
    k = s * 10.0**log_ratio
    table = FilmTable.of(np.array([[k]]), np.array([[s]]), np.array([[substrate]]))
    plain = outside_reflectance(film_reflectance(k, s, film, substrate))
    # Two nearly equal terms are parted for nearly clear films: 1e-12 is what is left.
    assert float(table.reflectance(table.passed(np.array([film])))[0, 0]) == pytest.approx(
        float(plain), abs=1e-11
    )


def test_the_film_table_reaches_the_opaque_colour_at_an_endless_film():
    some = pairs(1, 20)
    table = FilmTable.of(some.absorption, some.scattering, some.substrate)
    endless = table.reflectance(table.passed(np.full(20, math.inf)))
    opaque = outside_reflectance(infinite_reflectance(some.absorption, some.scattering))
    assert endless == pytest.approx(opaque, abs=1e-12)
    assert table.lab(np.full(20, math.inf)) == pytest.approx(some.lab, abs=1e-5)


def test_the_film_table_is_the_ground_without_a_film():
    some = pairs(2, 20)
    table = FilmTable.of(some.absorption, some.scattering, some.substrate)
    assert table.reflectance(table.passed(np.zeros(20))) == pytest.approx(
        outside_reflectance(some.substrate), abs=1e-12
    )


def test_colours_of_films_broadcast_over_paints_grounds_and_films():
    some = pairs(3, 4)
    films = np.array([[0.0], [10.0], [80.0]])
    found = film_lab(some.absorption, some.scattering, films, some.substrate)
    assert found.shape == (3, 4, 3)
    for i in range(3):
        for j in range(4):
            alone = film_lab(some.absorption[j], some.scattering[j], films[i, 0], some.substrate[j])
            assert found[i, j] == pytest.approx(alone, abs=1e-12)


# --- hiding films --------------------------------------------------------------------


@pytest.fixture(scope="module")
def scanned():
    """400 random pairs and the last film at which each still shows, found by looking."""
    some = pairs(4, 400)
    found = [
        crossing_scan.full_colour(k, s, g, chip)
        for k, s, g, chip in zip(
            some.absorption, some.scattering, some.substrate, some.lab, strict=True
        )
    ]
    return some, np.array(found)


def test_the_hiding_film_is_the_last_crossing(scanned):
    some, expected = scanned
    found = full_colour_thickness(some.absorption, some.scattering, some.substrate, some.lab)
    # The root is closed to 1e-6, of itself or of ln difference (which falls about as ln film).
    assert found == pytest.approx(expected, rel=1e-5)


def test_several_paints_in_one_search_are_found_as_each_alone():
    some = pairs(7, 5)
    paints = (some.absorption[:3], some.scattering[:3])
    which = np.repeat([0, 1, 2], 5)
    substrates, chips = np.concatenate([some.substrate] * 3), some.lab[which]
    together = full_colour_thickness(*paints, substrates, chips, paint=which)
    assert np.isfinite(together).all()
    alone = full_colour_thickness(paints[0][which], paints[1][which], substrates, chips)
    assert together == pytest.approx(alone, rel=1e-5)


def test_one_pair_alone_is_reckoned_as_in_a_crowd(scanned):
    some, _ = scanned
    crowd = full_colour_thickness(some.absorption, some.scattering, some.substrate, some.lab)
    for i in range(25):
        alone = full_colour_thickness(
            some.absorption[i : i + 1],
            some.scattering[i : i + 1],
            some.substrate[i : i + 1],
            some.lab[i : i + 1],
        )
        assert alone == pytest.approx(crowd[i : i + 1], rel=1e-5)


def test_a_contest_keeps_the_film_of_its_winner_and_lets_most_others_go(scanned):
    some, expected = scanned
    rivals = np.arange(399).reshape(133, 3)
    found = full_colour_thickness(
        some.absorption, some.scattering, some.substrate, some.lab, contests=[rivals]
    )
    worst = expected[rivals].max(axis=1)
    best = rivals[worst.argmin()]
    assert found[best] == pytest.approx(expected[best], rel=1e-5)
    let_go = np.isinf(found) & np.isfinite(expected)
    assert let_go.sum() > 200
    assert found[~let_go] == pytest.approx(expected[~let_go], rel=1e-5)


def test_what_is_settled_stays_within_the_tolerance_at_every_greater_film():
    some = pairs(5, 200)
    table = FilmTable.of(some.absorption, some.scattering, some.substrate)
    unit = 1.0 / (some.absorption + some.scattering).max(axis=1)
    films = 8.0 * unit * np.linspace(1.0, 40.0, 200)[:, None]
    settled, lab = _Pairs(table, some.lab).settled(table.passed(films[0]), 1.0)
    assert 20 < settled.sum() < 180
    assert lab == pytest.approx(table.lab(films[0]), abs=1e-12)
    assert (ciede2000(table.lab(films), some.lab)[:, settled] <= 1.0).all()


def test_at_the_hiding_film_the_difference_is_the_tolerance_and_less_beyond(scanned):
    some, _ = scanned
    for tolerance in (0.5, 1.0, 1.8):
        found = full_colour_thickness(
            some.absorption, some.scattering, some.substrate, some.lab, tolerance
        )
        inner = np.isfinite(found) & (found > 0.0)
        assert inner.mean() > 0.9
        table = FilmTable.of(some.absorption, some.scattering, some.substrate).take(inner)
        at = ciede2000(table.lab(found[inner]), some.lab[inner])
        assert at == pytest.approx(tolerance, rel=1e-4)
        for more in (1.001, 1.1, 2.0, 10.0):
            beyond = ciede2000(table.lab(found[inner] * more), some.lab[inner])
            assert (beyond <= tolerance * (1.0 + 1e-6)).all()


def test_a_finer_eye_never_needs_less_film(scanned):
    some, _ = scanned
    films = [
        full_colour_thickness(some.absorption, some.scattering, some.substrate, some.lab, tolerance)
        for tolerance in (2.0, 1.0, 0.5)
    ]
    assert (films[1] >= films[0]).all()
    assert (films[2] >= films[1]).all()


def test_twice_the_hiding_needs_half_the_film(scanned):
    some, _ = scanned
    once = full_colour_thickness(some.absorption, some.scattering, some.substrate, some.lab)
    twice = full_colour_thickness(
        2 * some.absorption, 2 * some.scattering, some.substrate, some.lab
    )
    assert 2.0 * twice == pytest.approx(once, rel=1e-5)


def test_films_may_be_counted_in_any_unit_of_length():
    # Law: K and S are per length; here per millimetre and per nanometre.
    some = pairs(6, 30)
    k, s = some.absorption, some.scattering
    micrometres = full_colour_thickness(k, s, some.substrate, some.lab)
    for times in (1e-3, 1e3):
        found = full_colour_thickness(k / times, s / times, some.substrate, some.lab)
        assert found == pytest.approx(times * micrometres, rel=1e-5)


def test_a_ground_of_the_chips_own_colour_needs_no_film():
    reflectance = spectra((66.0, -24.0, 55.0), (24.0, 3.0, -22.0))
    k, s = constants_from_colour(reflectance)
    found = full_colour_thickness(
        k, s, inside_reflectance(reflectance), spectrum_to_lab(reflectance)
    )
    assert found.tolist() == [0.0, 0.0]


def test_a_chip_that_the_paint_never_becomes_is_never_reached():
    k, s = constants_from_colour(spectra((66.0, -24.0, 55.0)))
    found = full_colour_thickness(k, s, np.full((1, 31), 0.2), np.array([[70.0, -24.0, 55.0]]))
    assert found.tolist() == [math.inf]


def test_white_over_two_walnuts_is_even_long_before_it_is_white():
    # Computed from this model, no source: full colour at an optical thickness S X of about 28 and
    # even at about 4, for white over walnut tones of L* 30 and 48. Two tolerances, two questions.
    k, s = flat_rule(spectra((96.0, -0.5, 2.0)))
    substrates = inside_reflectance(
        spectra((30.0, 9.0, 12.0), (48.0, 9.0, 17.0), bounds=SURFACE_BOUNDS)
    )
    evened = crossing_scan.even(k[0], s[0], *substrates)
    chip = np.array([[96.0, -0.5, 2.0]])
    full = [full_colour_thickness(k, s, g[None], chip)[0] for g in substrates]
    assert float(evened * s[0, 0]) == pytest.approx(4.0, abs=0.5)
    assert max(full) * float(s[0, 0]) == pytest.approx(28.0, abs=1.5)


def test_a_small_change_of_ground_shifts_the_film_as_the_first_order_says():
    some, other = pairs(9, 200), pairs(10, 200)
    changed = 0.98 * some.substrate + 0.02 * other.substrate
    before = full_colour_thickness(some.absorption, some.scattering, some.substrate, some.lab)
    after = full_colour_thickness(some.absorption, some.scattering, changed, some.lab)
    sound = np.isfinite(before) & np.isfinite(after) & (before > 0.0) & (after > 0.0)
    shift = thickness_shift(
        some.absorption, some.scattering, some.substrate, changed, some.lab, before
    )
    true = np.log(after[sound] / before[sound])
    miss = np.abs(shift[sound] - true)
    # First order: what is left is of second order in the shift, seldom more than a tenth of it.
    assert np.median(miss / np.maximum(np.abs(true), 1e-3)) < 0.1
    assert (miss < 0.005 + 0.5 * np.abs(true)).mean() > 0.97


# --- the whole chain -------------------------------------------------------------------


@pytest.fixture(scope="module")
def thousand():
    """A random thousand topcoats over surfaces."""
    return pairs(20, 1000)


def test_spectra_are_those_of_the_scalar_reference(thousand):
    found = recover_spectra(thousand.lab[:200]).reflectance
    expected = [scalar_film.smoothest_spectrum(lab, PAINT_BOUNDS) for lab in thousand.lab[:200]]
    assert found == pytest.approx(np.array(expected), abs=1e-6)


def test_differences_are_those_of_the_scalar_reference(thousand):
    found = ciede2000(thousand.lab, thousand.surface_lab)
    expected = [
        scalar_film.ciede2000(one, two)
        for one, two in zip(thousand.lab.tolist(), thousand.surface_lab.tolist(), strict=True)
    ]
    assert found == pytest.approx(np.array(expected), abs=1e-9)


def test_counts_are_those_of_the_scalar_reference_on_a_random_thousand(thousand):
    dry_um = 17.1  # a light sprayed coat of 45 um at 38 % solids
    hiding_film_um = full_colour_thickness(
        thousand.absorption, thousand.scattering, thousand.substrate, thousand.lab
    )
    found = coats_needed(hiding_film_um / dry_um)
    expected = [
        scalar_film.coats_of_colours(lab, surface, dry_um, bare=bare)
        for lab, surface, bare in zip(
            thousand.lab.tolist(), thousand.surface_lab.tolist(), thousand.bare, strict=True
        )
    ]
    assert found.tolist() == expected
    assert len(set(expected)) > 15  # from one coat to never
