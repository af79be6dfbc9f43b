"""An invented photo of a pine board with known truth: grain, a ring mark, light from one side."""

from dataclasses import dataclass

import numpy as np

from showthrough.colour.space import lab_to_srgb, linear_to_srgb, srgb_to_linear

PALE, GRAIN, RING = (76.0, 6.0, 26.0), (62.0, 13.0, 35.0), (86.0, 1.0, 14.0)
"""CIELAB of early wood, late wood and the filler in a ring mark; invented."""

_ROWS = 64


@dataclass(frozen=True)
class Board:
    photo: np.ndarray
    """8-bit sRGB, shape (h, w, 3)."""
    ring: np.ndarray
    """Where the filler is, shape (h, w)."""
    shading: np.ndarray
    """Light along a row, mean 1, shape (w,)."""


def pine_board(width, height, *, fall_off=2.0, noise=2.0, ring=True, seed=0):
    """A board lit from the left, ``fall_off`` : 1 (inverse linear), with sensor noise in codes."""
    rng = np.random.default_rng(seed)
    x = (np.arange(width, dtype=np.float32) + 0.5) / width
    shading = 1.0 / (1.0 + (fall_off - 1.0) * x)
    shading /= shading.mean()
    # One colour for each share of late wood: the photo is looked up from it.
    shares = np.linspace(0.0, 1.0, 256)[:, None]
    wood = srgb_to_linear(lab_to_srgb((1 - shares) * PALE + shares * np.array(GRAIN)))
    filler = srgb_to_linear(lab_to_srgb(np.array(RING)))
    photo = np.empty((height, width, 3), dtype=np.uint8)
    marked = np.zeros((height, width), dtype=bool)
    for top in range(0, height, _ROWS):
        rows = slice(top, min(top + _ROWS, height))
        y = ((np.arange(rows.start, rows.stop) + 0.5) / height)[:, None].astype(np.float32)
        bow = 0.16 * np.sin(2.2 * x + 0.7) + 0.03 * np.sin(11.0 * x)
        lines = np.sin(2.0 * np.pi * 9.0 * (y + bow) + 1.5 * np.sin(5.0 * (y + bow)))
        share = np.clip(0.45 + 0.4 * lines + 0.06 * rng.standard_normal((len(y), 1)), 0.0, 1.0)
        light = wood[(255.0 * share).astype(np.uint8)]
        if ring:
            away = np.hypot((x - 0.62) * width, (y - 0.45) * height) / min(width, height)
            marked[rows] = np.abs(away - 0.2) < 0.03
            light[marked[rows]] = filler
        codes = 255.0 * linear_to_srgb(np.minimum(light * shading[:, None], 1.0))
        codes += noise * rng.standard_normal(codes.shape, dtype=np.float32)
        photo[rows] = np.clip(np.rint(codes), 0.0, 255.0)
    return Board(photo, marked, shading)
