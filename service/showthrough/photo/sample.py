"""Robust means of an area's pixels: without glare, dust and burnt-out spots."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.errors import ImageError
from showthrough.photo.picture.encoding import BoolArray
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import MIN_PIXELS, Region
from showthrough.photo.sensor import to_sensor

_MOST_PIXELS = 200_000
"""More pixels than this make no mean better; a regular part of them is taken."""

_GLARE = 2.5
"""Robust standard deviations above the densest part from which a pixel is taken for glare."""

_SHADOW = 3.5
"""The same below it; glare is commoner than specks, so this is wider."""

LEAST_LIGHT = 1.5 / 255.0 / 12.92
"""Linear light of the least two numbers of an sRGB file (IEC 61966-2-1): none to speak of.

A wide-gamut file's own floor is elsewhere; its channels are not told apart.
"""

_FLOOR = 0.004
"""Least spread that is told from none, as a share of the middle: half an 8-bit step."""


@dataclass(frozen=True, slots=True)
class Pixels:
    """Pixels of a region that carry a colour."""

    values: FloatArray
    """Sensor numbers, shape (n, 3)."""
    x: FloatArray
    """Fraction of the width, shape (n,)."""
    y: FloatArray
    """Fraction of the height, shape (n,)."""
    clipped_high: float
    """Share of the region that is burnt out or see-through."""
    clipped_low: float
    """Share of the region with a channel at its least number."""
    floored: FloatArray
    """The same for each channel of the file by itself, shape (3,)."""


@dataclass(frozen=True, slots=True)
class Mean:
    """A robust mean of sensor numbers."""

    values: FloatArray
    """Shape (3,)."""
    error: FloatArray
    """Standard error of the mean, shape (3,)."""
    kept: BoolArray
    """Which pixels it was taken over, shape (n,)."""


def region_pixels(picture: Picture, region: Region) -> Pixels:
    """The usable pixels of a region, as sensor numbers.

    Clipped pixels are left out; ``clipped_high`` says how many there were.
    """
    width, height = picture.size
    window = region.window(picture.size)
    high = picture.clipped_high[window.rows, window.columns]
    low = picture.clipped_low[window.rows, window.columns]
    total = max(1, int(window.inside.sum()))
    row, column = np.nonzero(window.inside & ~high)
    step = -(-row.size // _MOST_PIXELS) if row.size else 1
    row, column = row[::step], column[::step]
    light = picture.linear[window.rows, window.columns][row, column].astype(float)
    floored = (np.abs(light) <= LEAST_LIGHT) & low[row, column][:, None]
    return Pixels(
        light @ to_sensor().T,
        (window.columns.start + column + 0.5) / width,
        (window.rows.start + row + 0.5) / height,
        float((window.inside & high).sum()) / total,
        float((window.inside & low).sum()) / total,
        floored.mean(axis=0) if row.size else np.zeros(3),
    )


def _densest_half(level: FloatArray) -> tuple[float, float]:
    """Middle and spread of the narrowest interval that holds half the values.

    Glare only adds light, so that the middle of all values drifts up with it; the
    densest half does not. For normal noise both agree.

    Source: the shorth, Andrews et al. 1972, Robust Estimates of Location.
    """
    ordered = np.sort(level)
    half = ordered.size // 2 + 1
    widths = ordered[half - 1 :] - ordered[: ordered.size - half + 1]
    start = int(np.argmin(widths))
    # Half a normal distribution lies within 0.6745 standard deviations.
    return float(ordered[start : start + half].mean()), float(widths[start]) / (2 * 0.6745)


def robust_mean(values: FloatArray, weave: float = 1.0) -> Mean:
    """Mean of pixels after setting aside glare and specks.

    Args:
        values: sensor numbers, already in even light, shape (n, 3), n >= 1.
        weave: pixels that share one grain of noise; JPEG and blur tie neighbours.
    """
    level = values.mean(axis=1)
    middle, spread = _densest_half(level)
    spread = max(spread, _FLOOR * max(middle, 1e-4))
    kept = (level < middle + _GLARE * spread) & (level > middle - _SHADOW * spread)
    for _ in range(2):
        centre = np.median(values[kept], axis=0)
        wide = 1.4826 * np.median(np.abs(values[kept] - centre), axis=0)
        wide = np.maximum(wide, _FLOOR * np.maximum(centre, 1e-4))
        inside = kept & (np.abs(values - centre) < _SHADOW * wide).all(axis=1)
        kept = inside if inside.any() else kept
    chosen = values[kept]
    error = chosen.std(axis=0) * np.sqrt(weave / chosen.shape[0])
    return Mean(chosen.mean(axis=0), error, kept)


def usable(picture: Picture, region: Region, field: str) -> Pixels:
    """The pixels of a region to be measured.

    Raises:
        ImageError: Too much of it is burnt out.
    """
    pixels = region_pixels(picture, region)
    if pixels.clipped_high > 0.5 or pixels.values.shape[0] < MIN_PIXELS // 3:
        raise ImageError.at(
            field,
            f"{pixels.clipped_high:.0%} burnt out",
            f"{pixels.clipped_high:.0%} of the region is burnt out or see-through; turn the piece "
            "out of the glare or lower the exposure, and take the photo again",
        )
    return pixels
