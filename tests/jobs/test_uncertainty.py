"""A radius: chances against sampling, at dips of the film and over the topcoat's own colour."""

from __future__ import annotations

import numpy as np
import pytest

from jobs.small_jobs import BRUSH, RED, patch, small_job
from reference.unsure_jobs import CHI_95, cloud, random_job, sampled_chances
from showthrough import predict
from showthrough.colour.cloud import READINGS, colours_about, standard_readings
from showthrough.colour.difference import ciede2000
from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS, recover_spectra
from showthrough.film.coats import PatchNeed, chance_enough
from showthrough.film.hiding import constants_from_colour, paint_from_colour
from showthrough.jobs.case.uncertainty import SeenColours, clouds_of, likely_readings

GREEN = (47.6, -49.7, 64.7)


def seen(lab, radius, bounds):
    lab = np.atleast_2d(np.asarray(lab, dtype=float))
    found = recover_spectra(lab, bounds)
    radii = np.broadcast_to(np.asarray(radius, dtype=float), (len(lab),)).copy()
    return SeenColours(lab, found.reflectance, radii, np.zeros(len(lab), dtype=bool))


def few_chances(job):
    """Chances of 1 to 12 coats from the few readings."""
    chip = seen(job.chip, job.radius, PAINT_BOUNDS)
    paint = paint_from_colour(chip.reflectance[0])
    patches = seen(job.grounds, job.radii, SURFACE_BOUNDS)
    known = clouds_of(patches, chip)
    readings, _ = likely_readings(
        chip,
        paint.absorption[None],
        paint.scattering[None],
        constants_from_colour,
        known.patches,
        job.coated,
        patches.measured,
        known,
    )
    films = readings.hiding_film_um()
    needs = tuple(PatchNeed(0.0, job.sigma, films_um=tuple(f)) for f in films.T)
    return np.array([chance_enough(needs, job.dry_um, n, 0.25) for n in range(1, 13)])


@pytest.mark.parametrize("seed", range(6))
def test_chances_of_unsure_colours_are_those_of_sampling(seed):
    # 1,500 draws: a sampling error of at most 0.013 beside the 0.05 that is held on 4,000.
    rng = np.random.default_rng(500 + seed)
    job = random_job(rng)
    assert few_chances(job) == pytest.approx(sampled_chances(job, rng, 1500), abs=0.07)


def test_a_radius_at_a_dip_of_the_film_is_felt():
    # A red over pale bare wood: a slope is nil there, and 0.55 was stated for the first coat.
    job = small_job(RED, patch({"lab": [82, 5, 24], "radius": 4.0}, skin="bare"), application=BRUSH)
    answer = predict({**job, "topcoat": {"colour": "lab(42 58 38)"}}).coats
    assert answer.enough[1] == pytest.approx(0.36, abs=0.05)
    assert answer.likely == 2


@pytest.mark.parametrize("lab", [GREEN, (65, -10, 10), (42, 58, 38), (82, 6, 80)])
def test_a_topcoat_over_its_own_colour_needs_no_film(lab):
    answer = predict(small_job(lab, patch(lab), application=BRUSH))
    assert answer.patches[0].critical_um == 0.0
    assert answer.coats.enough == {1: 1.0}


def films_near(topcoat, way, distances):
    """Hiding films over grounds at these CIEDE2000 from a topcoat, one way out."""
    out = []
    for distance in distances:
        lab = colours_about(topcoat, CHI_95, np.array(way) / np.linalg.norm(way) * distance)
        ground = patch({"lab": lab.tolist()})
        out.append(predict(small_job(topcoat, ground)).patches[0].critical_um)
    return out


@pytest.mark.parametrize("way", [(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, 0, -1), (-1, 1, 1)])
def test_a_ground_that_nearly_is_the_topcoat_needs_no_film(way):
    assert films_near(GREEN, way, (0.0, 0.1, 0.3, 0.6)) == [0.0] * 4


@pytest.mark.parametrize("topcoat", [GREEN, (66, -24, 55), (42, 58, 38), (65, -10, 10)])
def test_the_film_over_lighter_grounds_falls_to_none_as_they_near_the_topcoat(topcoat):
    films = films_near(topcoat, (1, 0, 0), (0.5, 0.95, 1.05, 1.2, 1.6, 2.0, 3.0, 4.0, 6.0))
    assert films[:2] == [0.0, 0.0]
    assert 0.0 < films[2] < 3.0
    assert films == sorted(films)


def test_a_colour_that_is_almost_sure_is_counted_as_a_sure_one_by_every_way():
    # Law: chances go to those of no radius as it goes to nothing, over undercoats as well.
    unsure, sure = (
        {
            way.key: (way.expected_coats, way.chance)
            for way in predict(small_job(RED, patch({"lab": [18, 0, 0], **more}))).ways
        }
        for more in ({"radius": 0.05}, {})
    )
    assert set(unsure) == set(sure)
    assert {"plain", "white", "own mix"} <= set(sure)
    for key, told in sure.items():
        assert unsure[key] == pytest.approx(told, abs=2e-3), key


def test_a_radius_over_ones_own_colour_is_an_honest_chance():
    green = {"lab": list(GREEN), "radius": 4.0}
    coats = predict(small_job(GREEN, patch(green))).coats
    rng = np.random.default_rng(3)
    apart = ciede2000(GREEN, cloud(rng, np.array(GREEN), 4.0, 4000))
    # Those within 1 need no film; the others need some, one light coat does for a part of them.
    assert (apart <= 1.0).mean() - 0.02 <= coats.enough[1] < 0.99


@pytest.mark.parametrize("moves", [True, False])
def test_clouds_found_together_are_those_found_one_by_one(moves):
    # Over its own colour, where what the topcoat's spectrum hides counts in full.
    chip = seen(RED, 4.0 if moves else 0.0, PAINT_BOUNDS)
    patches = seen([RED, (40, 40, 30)], [3.0, 0.0], SURFACE_BOUNDS)
    paint = paint_from_colour(chip.reflectance[0])
    fixed = (chip, paint.absorption[None], paint.scattering[None], constants_from_colour)
    twin = recover_spectra(chip.lab, SURFACE_BOUNDS).reflectance[0]
    known = clouds_of(patches, chip if moves else None, None if moves else twin)
    coated = np.array([True, True])
    one, many = likely_readings(*fixed, known.patches, coated, patches.measured)
    other, same = likely_readings(*fixed, known.patches, coated, patches.measured, known)
    assert many.tolist() == same.tolist()
    assert other.substrates == pytest.approx(one.substrates, abs=1e-6)
    assert other.absorption == pytest.approx(one.absorption, abs=1e-6)


def test_a_measured_paint_keeps_its_colour_and_sure_colours_have_no_readings():
    chip, ground = seen(RED, 5.0, PAINT_BOUNDS), seen((38, 12, 20), 0.0, SURFACE_BOUNDS)
    paint = paint_from_colour(chip.reflectance[0])
    constants, coated = (paint.absorption[None], paint.scattering[None]), np.array([True])
    assert clouds_of(ground, None) is None
    unsure = clouds_of(seen((38, 12, 20), 3.0, SURFACE_BOUNDS), None).patches
    readings, many = likely_readings(chip, *constants, None, unsure, coated, ground.measured)
    assert many.tolist() == [len(readings.chip)]
    assert (readings.chip_lab == chip.lab).all()
    assert (readings.absorption == paint.absorption).all()


def test_places_stand_for_independent_normal_clouds():
    places = standard_readings().reshape(READINGS, -1)
    assert places.mean(axis=0) == pytest.approx(0.0, abs=1e-12)
    assert places.T @ places / READINGS == pytest.approx(np.eye(places.shape[1]), abs=1e-9)


def test_the_last_digits_of_a_neutral_change_nothing():
    # A sweep and a prediction of one grey differed by them.
    places = standard_readings()[:, 0]
    plain = colours_about((60.0, 0.0, 0.0), 6.0, places)
    for a, b in ((-0.0, 0.0), (0.0, -0.0), (-1e-13, 0.0), (3e-10, 1e-9)):
        turned = colours_about((60.0, a, b), 6.0, places)
        assert turned == pytest.approx(plain, abs=1e-6)


@pytest.mark.parametrize("lab", [GREEN, (50.0, 0.0, 0.0), (30.0, 10.0, -40.0), (88.0, 2.0, 12.0)])
def test_a_radius_holds_the_truth_in_95_of_100_cases(lab):
    for radius in (0.5, 3.0, 8.0):
        away = ciede2000(lab, colours_about(lab, radius, standard_readings()[:, 0]))
        assert (away <= radius).mean() == pytest.approx(0.95, abs=0.04)
        sizes = np.linalg.norm(standard_readings()[:, 0], axis=1)
        if radius < 8.0:  # far out in the blues a ray bends back
            assert away == pytest.approx(sizes * radius / CHI_95, rel=0.02)
