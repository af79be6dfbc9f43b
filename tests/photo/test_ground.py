"""The plain ground around chip and reference: found where it is one, and only there."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from reference import camera
from reference.pine_board import pine_board
from showthrough.photo.calibrate.balance import Card, calibrate
from showthrough.photo.calibrate.chart import Chart
from showthrough.photo.calibrate.ground import margin, plain_ground
from showthrough.photo.measure import read_colour
from showthrough.photo.picture.load import Picture, load_picture
from showthrough.photo.place import Region

SIZE = (480, 360)
CARD, CHIP = (0.15, 0.3, 0.4, 0.7), (0.6, 0.3, 0.85, 0.7)
CHART = (0.1, 0.3, 0.55, 0.7)
TABLE = camera.training_samples()[20]


def region(box, inset=0.02):
    left, top, right, bottom = box
    return Region.rectangle(left + inset, top + inset, right - inset, bottom - inset)


def marks(picture, boxes=(CARD, CHIP)):
    return [(region(box), margin(None, picture.size)) for box in boxes]


def shot(ground=TABLE, boxes=(CARD, CHIP), seed=3, light="D65", **disturbances):
    scene = camera.Scene(*SIZE, TABLE)
    if ground is not TABLE:
        ground(scene)
    for i, box in enumerate(boxes):
        scene.add_box(camera.neutral(0.88) if i == 0 else camera.training_samples()[40], box)
    rng = np.random.default_rng(seed)
    return load_picture(camera.photograph(scene, camera.phone(), light, rng, **disturbances))


def test_a_plain_table_shows_the_light_as_it_was():
    # The ground is one colour, so that its squares differ as the light does and in nothing else.
    kind = np.random.default_rng(3)
    light = camera.fall_off(kind, *SIZE, 2.0)
    picture = shot(noise=0.0, glare=0, quality=None, blur_px=0.0)
    (patch,) = plain_ground(picture, marks(picture))
    rows = (patch.place[:, 1] * SIZE[1]).astype(int)
    columns = (patch.place[:, 0] * SIZE[0]).astype(int)
    apart = patch.log_light[:, 1] - np.log(light[rows, columns])
    assert np.ptp(apart) < 0.02
    assert patch.place.shape[0] > 200
    assert not patch.known


def test_nothing_marked_is_taken_for_ground():
    picture = shot(noise=0.0, glare=0)
    place = np.concatenate([part.place for part in plain_ground(picture, marks(picture))])
    assert place.shape[0] > 200
    for left, top, right, bottom in (CARD, CHIP):
        across = (place[:, 0] > left) & (place[:, 0] < right)
        down = (place[:, 1] > top) & (place[:, 1] < bottom)
        assert not (across & down).any()


def test_grained_wood_is_no_plain_ground():
    file = io.BytesIO()
    Image.fromarray(pine_board(*SIZE, seed=2).photo).save(file, "PNG")
    picture = load_picture(file.getvalue())
    assert plain_ground(picture, marks(picture)) == []


def test_a_wall_behind_the_piece_is_not_taken_for_its_ground():
    # The chip lies on a grained piece; the wall is plain but touches the card alone.
    def ground(scene):
        stripes = camera.training_samples()[[3, 60, 100]]
        for i in range(48):
            left = 0.45 + i * 0.55 / 48
            scene.add_box(stripes[i % 3], (left, 0.0, left + 0.55 / 48, 1.0))

    picture = shot(ground)
    assert plain_ground(picture, marks(picture)) == []


@pytest.mark.parametrize("lighter", [1.06, 1.1, 1.3])
def test_two_sheets_side_by_side_are_not_taken_for_one(lighter):
    # The right half is a lighter sheet of the same hue: its step would pass for a slope.
    def ground(scene):
        scene.add_box(lighter * TABLE, (0.5, 0.0, 1.0, 1.0))

    picture = shot(ground, glare=0)
    parts = plain_ground(picture, marks(picture))
    assert len(parts) >= 2
    for part in parts:
        left = part.place[:, 0] < 0.5
        assert left.all() or not left.any()


@pytest.mark.parametrize("reference", ["card", "chart"])
def test_the_ground_tells_better_how_much_light_the_chip_gets(reference):
    centre = [0.5 * (CHIP[0] + CHIP[2]), 0.5 * (CHIP[1] + CHIP[3])]
    wrong = {"ground": [], "alone": []}
    for seed in range(12):
        scene = camera.Scene(*SIZE, TABLE)
        if reference == "card":
            scene.add_box(camera.neutral(0.88), CARD)
            options, origin = {"cards": [Card(region(CARD))]}, region(CARD).centre
        else:
            scene.add_chart(camera.chart_spectra(), CHART)
            left, top, right, bottom = CHART
            corners = ((left, top), (right, top), (right, bottom), (left, bottom))
            options, origin = {"chart": Chart(corners)}, region(CHART, 0.0).centre
        scene.add_box(camera.training_samples()[10 + 7 * seed], CHIP)
        rng = np.random.default_rng(seed)
        data = camera.photograph(scene, camera.phone(), "D65", rng, ratio=2.5, level=(0.6, 0.7))
        # The first thing the camera draws is how the light lies.
        light = camera.fall_off(np.random.default_rng(seed), *SIZE, 2.5)
        here, there = (light[int(y * SIZE[1]), int(x * SIZE[0])] for x, y in (centre, origin))
        for name, chips in (("ground", [region(CHIP)]), ("alone", [])):
            field = calibrate(load_picture(data), chips=chips, **options).field
            gain = field.gain(*np.array([centre, origin]).T)[:, 1]
            wrong[name].append(abs(np.log(gain[0] / gain[1]) - np.log(here / there)))
    assert np.median(wrong["ground"]) < 0.5 * np.median(wrong["alone"])


def test_a_marked_sheet_is_used_instead_of_the_ground():
    picture = shot()
    sheet = Region.rectangle(0.05, 0.02, 0.95, 0.2)
    found = read_colour(
        picture,
        region(CHIP),
        cards=[Card.measured(region(CARD), camera.true_lab(camera.neutral(0.88)))],
        sheets=[sheet],
    )
    assert not any("plain ground" in note for note in found.notes)


def test_the_answer_says_that_the_ground_was_used():
    card = Card.measured(region(CARD), camera.true_lab(camera.neutral(0.88)))
    found = read_colour(shot(), region(CHIP), cards=[card])
    assert any("plain ground" in note for note in found.notes)


def test_a_strip_of_a_picture_has_no_ground_and_is_read_all_the_same():
    linear = np.full((40, 3000, 3), 0.4, dtype=np.float32)
    none = np.zeros((40, 3000), dtype=bool)
    strip = Picture(linear, none, none, (3000, 40), 8, "sRGB", ())
    card = Card(Region.rectangle(0.1, 0.1, 0.3, 0.9))
    found = read_colour(strip, Region.rectangle(0.5, 0.1, 0.7, 0.9), cards=[card])
    assert found.lab[0] == pytest.approx(95.0, abs=0.5)
