"""Bare surfaces whose patches are known: grain, a filled spot, old paint, a sanded-through rim."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image

from showthrough.colour.space import lab_to_xyz, linear_to_srgb, xyz_to_linear_rgb

PINE_LIGHT, PINE_DARK = (74.0, 8.0, 27.0), (58.0, 13.0, 30.0)
FILLER, OLD_PAINT, WALNUT = (84.0, 1.0, 10.0), (46.0, -14.0, 2.0), (36.0, 9.0, 13.0)


def grain(height, width, seed=1, period=34.0, share=0.3):
    """Wavy bands down the board; True in the dark ones, about ``share`` of the area."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:height, 0:width]
    wave = x + 14.0 * np.sin(y / 90.0 + rng.uniform(0, 6)) + 5.0 * np.sin(y / 23.0)
    bands = np.cos(2.0 * np.pi * wave / period) + 0.35 * np.cos(2.0 * np.pi * wave / 91.0 + 1.0)
    return bands > np.quantile(bands, 1.0 - share)


def disc(height, width, x, y, radius):
    """True within a radius; place in fractions, radius in fractions of the width."""
    rows, columns = np.mgrid[0:height, 0:width]
    return (columns - x * width) ** 2 + (rows - y * height) ** 2 < (radius * width) ** 2


def board(height=360, width=480, seed=1):
    """A pine board with filler and a rest of old paint: labels (h, w) and CIELAB per label."""
    labels = grain(height, width, seed).astype(int)
    labels[disc(height, width, 0.3, 0.35, 0.12)] = 2
    labels[int(0.72 * height) :, int(0.55 * width) :] = 3
    return labels, [PINE_LIGHT, PINE_DARK, FILLER, OLD_PAINT]


def picture_of(
    labels, labs, *, ratio=1.0, turn=0.4, noise=0.01, blur_px=0.7, quality=85, seed=0, texture=0.0
):
    """A JPEG of a surface by an ideal camera: only light, blur, noise and JPEG disturb it."""
    from scipy.ndimage import gaussian_filter

    rng = np.random.default_rng(seed)
    linear = xyz_to_linear_rgb(lab_to_xyz(np.array(labs)))[labels] * 0.85
    height, width = labels.shape
    if texture:
        fibre = gaussian_filter(rng.standard_normal((height, width)), (12.0, 0.8))
        linear = linear * np.exp(texture * fibre / fibre.std())[..., None]
    y, x = np.mgrid[0:height, 0:width]
    along = np.cos(turn) * x / width + np.sin(turn) * y / height
    along = (along - along.min()) / np.ptp(along)
    linear = linear * (1.0 - (1.0 - 1.0 / ratio) * along)[..., None]
    linear = gaussian_filter(linear, (blur_px, blur_px, 0))
    linear = linear + noise * np.sqrt(linear + 0.02) * rng.standard_normal(linear.shape)
    numbers = np.rint(255.0 * linear_to_srgb(np.clip(linear, 0.0, 1.0))).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(numbers).save(out, "JPEG", quality=quality)
    return out.getvalue()
