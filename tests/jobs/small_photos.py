"""Small invented photos with known places, made from plain sRGB numbers."""

from __future__ import annotations

import io
from functools import cache
from typing import Any

import numpy as np
from PIL import Image

SIZE = (600, 400)
WHITE = (236, 236, 236)
GREEN = (158, 182, 88)
BOARD = (150, 120, 95)
DARK = (96, 66, 44)

CARD = [0.05, 0.1, 0.25, 0.5]
CHIP = [0.45, 0.1, 0.75, 0.5]
OVERLAPPING = [0.15, 0.1, 0.4, 0.5]
TINY = [0.5, 0.5, 0.505, 0.505]

DRAW = {
    "bare_black": [0.05, 0.55, 0.2, 0.9],
    "bare_white": [0.27, 0.55, 0.42, 0.9],
    "over_black": [0.5, 0.55, 0.65, 0.9],
    "over_white": [0.72, 0.55, 0.87, 0.9],
}
FILM = {"wet_film_um": 80, "volume_solids": 0.38}
READINGS = {
    "bare_black": {"lab": [8.0, 0.0, 0.0]},
    "bare_white": {"lab": [93.0, -0.3, 1.8]},
    "over_black": {"lab": [64.3, -21.8, 52.2]},
    "over_white": {"lab": [68.0, -26.1, 58.2]},
}
"""An invented drawdown that can be measured."""

OPAQUE = READINGS | {"over_black": {"lab": [66, -24, 55]}, "over_white": {"lab": [66, -24, 55]}}


def encoded(pixels: Any, kind: str = "PNG", **more: Any) -> bytes:
    """A picture file; ``pixels`` is 8-bit sRGB."""
    out = io.BytesIO()
    more = {"compress_level": 1, **more} if kind == "PNG" else more  # packing is most of the time
    Image.fromarray(np.asarray(pixels, dtype=np.uint8)).save(out, kind, **more)
    return out.getvalue()


def _filled(areas: list[tuple[list[float], tuple[int, int, int]]]) -> np.ndarray:
    width, height = SIZE
    pixels = np.empty((height, width, 3))
    pixels[:] = (128, 128, 126)
    for (left, top, right, bottom), colour in areas:
        rows = slice(round(top * height), round(bottom * height))
        pixels[rows, round(left * width) : round(right * width)] = colour
    return np.clip(pixels + np.random.default_rng(7).normal(0.0, 1.5, pixels.shape), 0, 255)


def wider(box: list[float], by: float = 0.02) -> list[float]:
    """A box with a margin, so that a reading of it stays inside."""
    return [box[0] - by, box[1] - by, box[2] + by, box[3] + by]


@cache
def chip_photo() -> bytes:
    """A green chip beside a white card."""
    return encoded(_filled([(wider(CARD), WHITE), (wider(CHIP), GREEN)]))


@cache
def surface_photo() -> bytes:
    """A board, a third of it dark, and a white card on it."""
    areas = [([0.0, 0.0, 1.0, 1.0], BOARD), ([0.66, 0.0, 1.0, 1.0], DARK), (wider(CARD), WHITE)]
    return encoded(_filled(areas))


@cache
def draw_photo() -> bytes:
    """A film over black and white, both bare, and a white card: far from opaque."""
    colours = ((28, 28, 28), (236, 235, 230), (128, 146, 62), (160, 184, 70))
    areas = [(wider(box), colour) for box, colour in zip(DRAW.values(), colours, strict=True)]
    return encoded(_filled([(wider(CARD), WHITE), *areas]))


@cache
def located_photo() -> bytes:
    """The surface as a JPEG that says where it was taken, and by whom."""
    exif = Image.Exif()
    exif[0x013B] = "Somebody Invented"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2], gps[3], gps[4] = "N", (51.0, 30.0, 0.0), "E", (0.0, 7.0, 0.0)
    with Image.open(io.BytesIO(surface_photo())) as image:
        out = io.BytesIO()
        image.save(out, "JPEG", quality=90, exif=exif)
    return out.getvalue()
