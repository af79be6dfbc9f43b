"""The table of camera constants is what its script makes."""

from __future__ import annotations

import json

import numpy as np

from reference import make_camera_constants as made
from showthrough.photo.calibrate.radius import features, learned_radius

TABLE = json.loads(made.TABLE.read_text("utf-8"))


def test_matrices_are_those_that_the_script_fits():
    again = made.matrices()
    np.testing.assert_allclose(TABLE["to_sensor"], again["to_sensor"], atol=2e-4)
    for light, matrix in again["to_daylight"].items():
        np.testing.assert_allclose(TABLE["to_daylight"][light], matrix, atol=2e-4)


def test_every_reference_has_a_radius_for_every_kind_of_light():
    for basis in made.BASES:
        for light in made.MEANT:
            width = features(basis, [[50.0, 10.0, 10.0]]).shape[1]
            assert len(TABLE["radius"][basis][light]) == width


def test_the_quantile_fit_leaves_the_promised_share_above_it():
    # A line whose scatter grows: the 95 % quantile is 1.645 standard deviations up.
    rng = np.random.default_rng(1)
    x = rng.uniform(0.0, 1.0, 20_000)
    errors = (1.0 + 2.0 * x) * (1.0 + 0.1 * rng.standard_normal(x.size))
    found = made.quantile_fit(np.column_stack([np.ones_like(x), x]), errors)
    np.testing.assert_allclose(found, [1.1645, 2.329], atol=0.03)


def test_radii_are_sane_over_the_colours_of_paints():
    for basis, most in (("card", 25.0), ("chart", 15.0), ("none", 45.0)):
        for light in made.MEANT:
            for lab in [
                (90, 0, 0),
                (50, 0, 0),
                (20, 0, 0),
                (50, 60, 40),
                (60, -40, 50),
                (30, 5, -40),
            ]:
                assert 0.5 < learned_radius(basis, light, lab) < most


def test_a_light_that_is_not_stated_is_never_surer_than_one_that_is():
    for basis in made.BASES:
        for lab in [(50, 0, 0), (60, -24, 55), (40, 50, 30), (40, 0, -30), (75, 8, 27)]:
            stated = {light: learned_radius(basis, light, lab) for light in made.MEANT}
            assert stated["unknown"] == max(stated.values())
            assert stated["daylight"] >= max(stated[k] for k in ("sun", "cloud", "shade"))


def test_warm_light_is_less_sure_than_daylight_with_a_card():
    for lab in [(50, 0, 0), (60, -24, 55), (40, 50, 30), (40, 0, -30), (75, 8, 27)]:
        assert learned_radius("card", "bulb", lab) > learned_radius("card", "cloud", lab)
