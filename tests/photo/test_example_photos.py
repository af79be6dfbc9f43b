"""The example photos read as their truth says, and the script makes them as they are."""

from __future__ import annotations

import importlib.util
import io
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from showthrough.colour.difference import ciede2000
from showthrough.jobs.photos.photos import read_chip, read_drawdown, read_surface

ROOT = Path(__file__).parents[2] / "examples"
FOLDER = ROOT / "photos"
PHOTOS = json.loads((FOLDER / "truth.json").read_text("utf-8"))["photos"]


def data(name):
    return (FOLDER / name).read_bytes()


def script():
    spec = importlib.util.spec_from_file_location("make_photos", ROOT / "make_photos.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    "name", ["chip-daylight.jpg", "chip-bulb.jpg", "chip-chart.jpg", "chip-alone.png"]
)
def test_a_chip_is_read_within_its_radius(name):
    truth = PHOTOS[name]
    colour = read_chip(data(name), truth["request"], name=name).colour
    assert ciede2000(colour.lab, truth["lab"]) < colour.radius


def test_the_door_is_parted_into_its_four_patches():
    truth = PHOTOS["door.jpg"]
    found = read_surface(data("door.jpg"), truth["request"]).patches
    assert len(found) == len(truth["patches"])
    for wanted in truth["patches"]:
        nearest = min(found, key=lambda patch: ciede2000(patch.lab, wanted["lab"]))
        assert ciede2000(nearest.lab, wanted["lab"]) < nearest.radius
        assert abs(nearest.share - wanted["share"]) < 0.05


def test_the_drawdown_gives_back_the_paint_that_was_drawn():
    truth = PHOTOS["drawdown.jpg"]
    found = read_drawdown(truth["request"], data("drawdown.jpg"))
    ratio = found.scattering_per_um / truth["scattering_per_um"]
    assert abs(np.log(ratio)) < 2.0 * np.log(found.spread)


def test_the_photos_are_small_and_all_spoken_of():
    files = sorted(p.name for p in FOLDER.iterdir())
    assert files == sorted([*PHOTOS, "truth.json"])
    assert sum(p.stat().st_size for p in FOLDER.iterdir()) < 400_000


def test_the_script_makes_the_photo_that_is_there():
    made, truth = script().chip("D65", 1)
    assert json.loads(json.dumps(truth)) == PHOTOS["chip-daylight.jpg"]
    one, two = (
        np.asarray(Image.open(io.BytesIO(d))).astype(int) for d in (made, data("chip-daylight.jpg"))
    )
    # Decoders of two versions may differ in the last digits.
    assert np.abs(one - two).max() <= 8
