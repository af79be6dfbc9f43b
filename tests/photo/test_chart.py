"""The 24-patch chart: its published colours, where its patches lie, and what it teaches."""

from __future__ import annotations

import sys

import numpy as np
import pytest

from reference import camera
from reference.make_chart_table import TABLE, rows
from showthrough.colour.difference import ciede2000
from showthrough.colour.spectrum import SURFACE_BOUNDS, recover_spectra, spectrum_to_lab
from showthrough.errors import ImageError, InputError
from showthrough.photo.calibrate.chart import Chart, average_chart, checked_values, patch_regions
from showthrough.photo.calibrate.chart_finder import find_chart
from showthrough.photo.calibrate.chart_fit import fit_chart, lab_of_linear, root_terms
from showthrough.photo.calibrate.shade import LEVELS, no_light
from showthrough.photo.measure import read_colour
from showthrough.photo.picture.load import load_picture
from showthrough.photo.place import Region
from showthrough.photo.sensor import to_sensor

BOX = (0.3, 0.3, 0.7, 0.66)
CORNERS = ((0.3, 0.3), (0.7, 0.3), (0.7, 0.66), (0.3, 0.66))


def photo(seed=1, *, light="D65", box=BOX, size=(600, 450), **disturbances):
    scene = camera.Scene(*size, camera.neutral(0.5))
    scene.add_chart(camera.chart_spectra(), box)
    rng = np.random.default_rng(seed)
    return load_picture(camera.photograph(scene, camera.phone(), light, rng, **disturbances))


def fitted(picture, chart):
    return fit_chart(picture, chart, no_light(chart.region.centre, picture.size))


def test_the_table_is_what_colour_science_carries():
    lines = [line for line in TABLE.read_text("utf-8").splitlines() if not line.startswith("#")]
    assert lines[1:] == [",".join(row) for row in rows()]


def test_the_average_of_measured_charts_is_reckoned_for_daylight():
    # The spectra integrated by 5 nm as they stand; the table is by ASTM E308.
    apart = ciede2000(average_chart(), camera.true_lab(camera.chart_spectra()))
    assert apart.max() < 0.05


def other_chart():
    """Another published set of the chart's colours, CIELAB for D50 and for D65."""
    import colour

    made = list(colour.CCS_COLOURCHECKERS.values())[-1]
    d50 = colour.XYZ_to_Lab(colour.xyY_to_XYZ(np.array(list(made.data.values()))), made.illuminant)
    return d50, spectrum_to_lab(recover_spectra(d50, SURFACE_BOUNDS, "D50").reflectance)


def test_another_copy_of_the_chart_is_taken_for_one():
    _, lab = other_chart()
    apart = ciede2000(average_chart(), lab)
    assert 0.5 < np.median(apart) < 1.5
    assert checked_values(lab) is lab
    assert Chart(CORNERS, lab).lab is lab
    np.testing.assert_array_equal(Chart(CORNERS).lab, average_chart())


@pytest.mark.parametrize(
    "order", [np.arange(24)[::-1], np.arange(24).reshape(4, 6).T.ravel(), np.arange(23)]
)
def test_values_out_of_order_or_too_few_are_refused(order):
    with pytest.raises(InputError, match="24-patch chart"):
        checked_values(average_chart()[order])


def test_an_own_chart_is_read_by_its_own_values():
    # A chart whose patches are all a little darker: by its own values the fit is as good as ever.
    picture, lab = photo(), average_chart() * [0.93, 1.0, 1.0]
    by_own, by_average = (fitted(picture, Chart(CORNERS, v)) for v in (lab, None))
    assert not np.allclose(by_own.matrix, by_average.matrix, atol=0.01)


def test_patches_of_an_upright_chart_lie_on_an_even_grid():
    centres = np.array([r.centre for r in patch_regions(CORNERS)])
    np.testing.assert_allclose(centres[:6, 0], 0.3 + 0.4 * (np.arange(6) + 0.5) / 6)
    np.testing.assert_allclose(centres[::6, 1], 0.3 + 0.36 * (np.arange(4) + 0.5) / 4)


def test_perspective_keeps_straight_rows_straight():
    corners = ((0.2, 0.2), (0.8, 0.3), (0.75, 0.7), (0.15, 0.8))
    centres = np.array([np.mean(r.points, axis=0) for r in patch_regions(corners)])
    row = centres[6:12] - centres[6]
    turn = row[1:, 0] * row[-1, 1] - row[1:, 1] * row[-1, 0]
    np.testing.assert_allclose(turn, 0.0, atol=2e-4)


def test_root_terms_scale_with_the_light():
    numbers = np.array([[0.2, 0.5, 0.1]])
    np.testing.assert_allclose(root_terms(3.0 * numbers), 3.0 * root_terms(numbers))


def test_an_undisturbed_photo_teaches_the_chart_its_own_colours():
    quiet = {"ratio": 1.0, "noise": 0.0, "glare": 0, "blur_px": 0.0, "quality": None}
    picture = photo(**quiet)
    fit = fitted(picture, Chart(CORNERS))
    assert fit.residual < 2.0
    assert fit.notes == ()


@pytest.mark.parametrize("start", [1, 2, 3])
def test_corners_marked_from_another_corner_or_the_other_way_round_are_turned(start):
    picture = photo()
    orders = {1: (2, 3, 0, 1), 2: (1, 0, 3, 2), 3: (3, 2, 1, 0)}
    right = fitted(picture, Chart(CORNERS))
    turned = fitted(picture, Chart(tuple(CORNERS[i] for i in orders[start])))
    np.testing.assert_allclose(turned.matrix, right.matrix, atol=0.02)
    assert any("lies turned" in note for note in turned.notes)


def test_what_is_no_chart_is_refused():
    rng = np.random.default_rng(5)
    scene = camera.Scene(600, 450, camera.neutral(0.5))
    scene.add_chart(camera.training_samples()[rng.permutation(150)[:24]], BOX)
    picture = load_picture(camera.photograph(scene, camera.phone(), "D65", rng))
    with pytest.raises(ImageError, match="does not look like a 24-patch chart"):
        fitted(picture, Chart(CORNERS))


def test_a_chart_of_few_pixels_is_refused():
    box = (0.4, 0.4, 0.5, 0.49)
    corners = ((0.4, 0.4), (0.5, 0.4), (0.5, 0.49), (0.4, 0.49))
    with pytest.raises(ImageError, match="too small in the picture"):
        fitted(photo(box=box), Chart(corners))


def test_a_patch_under_glare_bends_the_others_little():
    quiet = {"ratio": 1.0, "glare": 0, "gains": (1.0, 0.9, 1.1)}
    clean = photo(**quiet)
    spoilt = photo(**quiet)
    rows, columns = slice(246, 297), slice(380, 420)  # over the black patch
    spoilt.linear[rows, columns] += 0.35
    one, two = (fitted(p, Chart(CORNERS)) for p in (clean, spoilt))
    grey = clean.linear[20:60, 20:60].mean((0, 1), keepdims=True)[0].astype(float)
    colours = np.concatenate([grey, [[0.3, 0.2, 0.1], [0.1, 0.2, 0.3]]]) @ to_sensor().T
    back = [
        lab_of_linear(root_terms(colours / np.exp(fit.field.beta[LEVELS])) @ fit.matrix.T)
        for fit in (one, two)
    ]
    assert ciede2000(*back).max() < 0.7


@pytest.mark.parametrize(("light", "stated"), [("D65", "cloud"), ("D50", "sun")])
def test_a_patch_that_the_file_cannot_hold_still_teaches_the_colours_near_it(light, stated):
    # A white balance off to the green leaves the chart's cyan no red; it alone tells of
    # vivid cyans, here five evaluation samples of CIE 224:2017.
    wrong = []
    for i in (52, 56, 57, 65, 66):
        scene = camera.Scene(600, 450, camera.neutral(0.5))
        scene.add_chart(camera.chart_spectra(), BOX)
        cyan = camera.evaluation_samples()[i]
        scene.add_box(cyan, (0.75, 0.4, 0.95, 0.6))
        rng = np.random.default_rng(i)
        gains = {"gains": (0.88, 1.12, 1.0), "level": (0.6, 0.7)}
        picture = load_picture(camera.photograph(scene, camera.phone(), light, rng, **gains))
        chip = Region.rectangle(0.77, 0.42, 0.93, 0.58)
        found = read_colour(picture, chip, chart=Chart(CORNERS), light=stated)
        wrong.append(float(ciede2000(found.lab, camera.true_lab(cyan))))
    assert max(wrong) < 5.0


def test_without_the_optional_library_the_corners_are_asked_for(monkeypatch):
    monkeypatch.setitem(sys.modules, "colour_checker_detection", None)
    with pytest.raises(ImageError, match="mark the outer corners"):
        find_chart(photo())


def test_the_optional_library_finds_the_chart():
    pytest.importorskip("colour_checker_detection", exc_type=ImportError)
    picture = photo(3, size=(1200, 900), glare=0)
    chart = find_chart(picture)
    fit = fitted(picture, chart)
    right = fitted(picture, Chart(CORNERS))
    assert fit.residual < right.residual + 0.5


def test_a_picture_without_a_chart_is_told():
    pytest.importorskip("colour_checker_detection", exc_type=ImportError)
    scene = camera.Scene(400, 300, camera.neutral(0.5))
    rng = np.random.default_rng(1)
    picture = load_picture(camera.photograph(scene, camera.phone(), "D65", rng))
    with pytest.raises(ImageError, match="no 24-patch chart was found"):
        find_chart(picture)
