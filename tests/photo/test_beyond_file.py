"""Vivid colours that lost a channel in the file: how much of it is put back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reference import camera
from reference.make_camera_constants import beyond_srgb
from showthrough.colour.difference import ciede2000
from showthrough.photo.calibrate.chart_fit import lab_of_linear
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import Region
from showthrough.photo.sample import LEAST_LIGHT, region_pixels
from showthrough.photo.sensor import beyond_file, constants, to_daylight, to_sensor

GREENISH = np.array([0.88, 1.12, 1.0])
"""A white balance 12 % off: it takes the red from vivid cyans."""

numbers = st.tuples(*[st.floats(0.02, 1.0)] * 3).map(np.array)
shares = st.tuples(*[st.sampled_from([0.0, 0.3, 1.0])] * 3).map(np.array)


@given(numbers, st.tuples(*[st.floats(0.5, 1.5)] * 3).map(np.array))
def test_where_nothing_is_cut_off_nothing_is_put_back(balanced, cast):
    np.testing.assert_array_equal(beyond_file(balanced, cast, np.zeros(3)), balanced)


@given(numbers, shares)
def test_what_was_cut_off_was_less_than_nothing(balanced, floored):
    # A channel of the file at nothing stands for light below it: never for more.
    found = beyond_file(balanced, np.ones(3), floored)
    file = np.linalg.solve(to_sensor(), found) - np.linalg.solve(to_sensor(), balanced)
    assert (file[floored == 0.0] < 1e-4).all() or (found <= 1e-6).any()
    assert (file[floored > 0.0] <= 1e-4).all() or (found <= 1e-6).any()
    assert (found > 0.0).all()


@pytest.mark.parametrize(("light", "name"), [("D65", "cloud"), ("D50", "sun"), ("LED-B3", "led")])
def test_vivid_colours_come_nearer_to_the_truth(light, name):
    # Evaluation samples of CIE 224:2017 by the published sensitivities of the Nikon 5100.
    samples = camera.evaluation_samples()
    file = camera.flat_numbers(samples, camera.phone(), light, GREENISH, 0.7)
    cast = 0.7 * GREENISH
    floored = file <= LEAST_LIGHT
    wrong = {"as filed": [], "put back": []}
    way = to_daylight(name) @ np.linalg.inv(to_sensor())
    for i in np.flatnonzero(floored.any(axis=1)):
        plain = to_sensor() @ file[i] / cast
        back = beyond_file(plain, cast, floored[i].astype(float))
        for kind, sensor in (("as filed", plain), ("put back", back)):
            lab = lab_of_linear(way @ sensor)
            wrong[kind].append(float(ciede2000(lab, camera.true_lab(samples[i]))))
    assert len(wrong["as filed"]) >= 5
    assert np.median(wrong["put back"]) < 0.75 * np.median(wrong["as filed"])


def test_how_far_is_what_the_script_finds():
    assert constants()["beyond_srgb"] == beyond_srgb()[0]


def test_a_wide_gamut_file_that_holds_the_colour_is_left_as_it_is():
    # Linear sRGB just at nothing, but no number of the file at its least: nothing was cut off.
    linear = np.broadcast_to(np.array([0.0, 0.4, 0.35], dtype=np.float32), (60, 60, 3)).copy()
    none = np.zeros((60, 60), dtype=bool)
    held = Picture(linear, none, none, (60, 60), 8, "Display P3", ())
    cut = Picture(linear, none, ~none, (60, 60), 8, "sRGB", ())
    chip = Region.rectangle(0.2, 0.2, 0.8, 0.8)
    assert region_pixels(held, chip).floored.tolist() == [0.0, 0.0, 0.0]
    assert region_pixels(cut, chip).floored.tolist() == [1.0, 0.0, 0.0]
