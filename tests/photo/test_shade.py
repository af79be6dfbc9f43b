"""Uneven light: found from cards, sheets and chips, and how sure that is."""

from __future__ import annotations

import numpy as np
import pytest

from showthrough.errors import ImageError
from showthrough.photo.calibrate.shade import area_patch, fit_light, plain_patch
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import Region

SIZE = (300, 200)
LEFT = Region.rectangle(0.05, 0.3, 0.3, 0.7)
RIGHT = Region.rectangle(0.7, 0.3, 0.95, 0.7)
MIDDLE = Region.rectangle(0.35, 0.3, 0.65, 0.7)
GREY = np.full(3, 0.5)


def picture(light, seed=0, noise=0.01):
    """A photo of one grey under a given light (h, w)."""
    rng = np.random.default_rng(seed)
    width, height = SIZE
    linear = 0.5 * light[..., None] * (1.0 + noise * rng.standard_normal((height, width, 3)))
    none = np.zeros((height, width), dtype=bool)
    return Picture(linear.astype(np.float32), linear.max(axis=2) >= 1.0, none, SIZE, 8, "sRGB", ())


def grid():
    y, x = np.mgrid[0 : SIZE[1], 0 : SIZE[0]]
    return (x + 0.5) / SIZE[0], (y + 0.5) / SIZE[1]


def lights():
    x, y = grid()
    return {
        "even": np.ones_like(x),
        "ramp": 1.0 - 0.5 * x,
        "slant": 1.0 - 0.3 * x - 0.2 * y,
        "lamp": (1.0 + ((x - 0.2) ** 2 + (0.66 * (y - 0.2)) ** 2) / 1.15**2) ** -2.0,
    }


@pytest.mark.parametrize("name", ["even", "ramp", "slant", "lamp"])
def test_two_cards_and_the_chip_between_flatten_two_to_one_light_to_three_percent(name):
    light = lights()[name]
    photo = picture(light)
    patches = [area_patch(photo, r, "card", GREY) for r in (LEFT, RIGHT)]
    patches.append(plain_patch(photo, MIDDLE))
    field, notes = fit_light(patches, ["cards[0]", "cards[1]", "chips"], SIZE)
    x, y = grid()
    here = (slice(60, 140), slice(15, 285))
    found = field.gain(x, y)[here] / light[here][..., None]
    # Ramps come out exactly; a near lamp bends more than a second-order surface can.
    np.testing.assert_allclose(found, 1.0, atol=0.03 if name == "lamp" else 0.01)
    assert notes == []


def test_one_card_knows_the_light_beside_it_and_says_less_of_it_far_away():
    light = lights()["ramp"]
    photo = picture(light)
    field, _ = fit_light([area_patch(photo, LEFT, "card", GREY)], ["cards[0]"], SIZE)
    for x in (0.35, 0.5, 0.9):
        miss = float(np.log(field.gain(np.array([x]), np.array([0.5]))[0].mean() / (1 - 0.5 * x)))
        assert abs(miss) < 3.0 * field.uncertainty(x, 0.5)
    assert field.uncertainty(0.35, 0.5) < 0.02 < field.uncertainty(0.95, 0.5)


def test_an_even_chip_of_any_colour_tells_the_slope_where_it_lies():
    light = lights()["lamp"]
    photo = picture(light)
    card = area_patch(photo, LEFT, "card", GREY)
    chip = plain_patch(photo, MIDDLE)
    alone, _ = fit_light([card], ["cards[0]"], SIZE)
    both, _ = fit_light([card, chip], ["cards[0]", "chips"], SIZE)
    assert both.uncertainty(0.5, 0.5) < 0.6 * alone.uncertainty(0.5, 0.5)


def test_a_grained_area_is_no_help_for_the_light():
    photo = picture(np.where(np.arange(SIZE[0]) // 12 % 2, 1.0, 0.7) * np.ones(SIZE[::-1]))
    assert plain_patch(photo, RIGHT) is None


def test_glare_on_a_card_does_not_pass_for_light():
    light = lights()["even"].copy()
    x, y = grid()
    light += 0.9 * np.exp(-((x - 0.15) ** 2 + (y - 0.45) ** 2) / (2 * 0.03**2))
    field, _ = fit_light([area_patch(picture(light), LEFT, "card", GREY)], ["cards[0]"], SIZE)
    np.testing.assert_allclose(field.gain(np.array([0.17]), np.array([0.6])), 1.0, atol=0.02)


def test_two_cards_that_disagree_are_told():
    light = np.where(np.arange(SIZE[0]) < 150, 1.0, 1.3) * np.ones(SIZE[::-1])
    photo = picture(light)
    patches = [area_patch(photo, r, "card", GREY) for r in (LEFT, RIGHT)]
    _, notes = fit_light(patches, ["cards[0]", "cards[1]"], SIZE)
    assert len(notes) == 1
    assert "cards[1] disagrees" in notes[0]


def test_a_burnt_out_card_says_what_to_do():
    with pytest.raises(ImageError, match=r"burnt out.*lower the exposure"):
        area_patch(picture(2.2 * np.ones(SIZE[::-1])), LEFT, "cards[0]", GREY)


def test_a_dark_card_says_what_to_do():
    with pytest.raises(ImageError, match=r"too dark.*more light or raise the exposure"):
        area_patch(picture(0.03 * np.ones(SIZE[::-1])), LEFT, "cards[0]", GREY)


def test_an_area_of_two_colours_is_no_card():
    half = np.where(np.arange(SIZE[0]) // 9 % 2, 1.0, 0.5) * np.ones(SIZE[::-1])
    with pytest.raises(ImageError, match="not one even colour"):
        area_patch(picture(half), LEFT, "cards[0]", GREY)
