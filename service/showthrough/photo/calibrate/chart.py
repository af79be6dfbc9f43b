"""A 24-patch chart in a photo: where its patches lie and what they are.

The chart has four rows of six patches: brown first, then the row that starts
orange, the row of primaries, and six greys from white to black.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.errors import ImageError, InputError
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import Point, Region
from showthrough.photo.sample import Pixels, region_pixels, robust_mean
from showthrough.tables import data_text, rows_of

COLUMNS, ROWS = 6, 4
_SAMPLED = 0.33
"""Half the side of the part of a patch that is read, in patch spacings."""

_SPAN = 0.1
"""Span of the quarters of a patch, over its light, that halves the trust in it."""

_LEAST_PIXELS = 40
MOST_LOST = 6


@cache
def average_chart() -> FloatArray:
    """The average of measured charts in daylight, shape (24, 3), CIELAB D65 / 2 degrees."""
    lab = np.array(rows_of(data_text(__file__, "chart.csv"))[1:], dtype=float)[:, 1:]
    lab.setflags(write=False)
    return lab


_OTHER_CHART = 10.0
"""Median CIEDE2000 from the average above which values are no such chart's, or out of order.

Charts differ from each other by about 1 in the median; the same patches told column by column,
or from the last to the first, by more than 20.
"""


def checked_values(lab: FloatArray) -> FloatArray:
    """The values of the chart in hand, CIELAB D65 / 2 degrees, shape (24, 3).

    Raises:
        InputError: There are not 24 of them, or they are not a chart's in reading order.
    """
    if len(lab) != COLUMNS * ROWS:
        raise InputError.at(
            "values",
            f"{len(lab)} colours",
            f"a 24-patch chart has 24 colours, these are {len(lab)}",
        )
    delta_e = float(np.median(ciede2000(lab, average_chart())))
    if delta_e > _OTHER_CHART:
        raise InputError.at(
            "values",
            f"{delta_e:.0f} from a usual chart",
            "these colours are not those of a 24-patch chart in reading order: give them row by "
            "row, from the brown patch to the bluish green one first, from white to black last",
        )
    return lab


@dataclass(frozen=True, slots=True)
class Chart:
    """Where a chart lies in the picture, and what its patches are."""

    corners: tuple[Point, Point, Point, Point]
    """Outer corners of the four corner patches: brown, bluish green, black, white."""
    values: FloatArray | None = None
    """CIELAB D65 / 2 degrees of the chart in hand, shape (24, 3); None for the average."""

    @property
    def lab(self) -> FloatArray:
        """What the patches are, shape (24, 3), CIELAB D65 / 2 degrees."""
        return average_chart() if self.values is None else self.values

    @property
    def region(self) -> Region:
        """The area the patches cover."""
        return Region(self.corners)


def patch_regions(corners: Sequence[Point]) -> list[Region]:
    """The parts of the 24 patches that are read, in reading order."""
    unit = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    system, wanted = [], []
    for (u, v), (x, y) in zip(unit, corners, strict=True):
        system += [[u, v, 1, 0, 0, 0, -u * x, -v * x], [0, 0, 0, u, v, 1, -u * y, -v * y]]
        wanted += [x, y]
    h = np.append(np.linalg.solve(np.array(system), np.array(wanted)), 1.0).reshape(3, 3)
    regions = []
    for row in range(ROWS):
        for column in range(COLUMNS):
            square = [
                ((column + 0.5 + a * _SAMPLED) / COLUMNS, (row + 0.5 + b * _SAMPLED) / ROWS)
                for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            ]
            projected = np.array([[u, v, 1.0] for u, v in square]) @ h.T
            regions.append(Region.polygon(projected[:, :2] / projected[:, 2:]))
    return regions


@dataclass(frozen=True, slots=True)
class Patches:
    """What a photo shows of a chart's patches, in reading order."""

    values: FloatArray
    """Sensor numbers, shape (24, 3)."""
    places: FloatArray
    """Fractions of width and height, shape (24, 2)."""
    trust: FloatArray
    """Near 1 where even, 0 where burnt out; shape (24,)."""
    floored: FloatArray
    """Share of the pixels with each channel of the file at nothing, shape (24, 3)."""


def chart_patches(picture: Picture, chart: Chart) -> Patches:
    """The chart's patches as photographed.

    Raises:
        ImageError: Too few patches can be used.
    """
    values, places, trust = np.ones((24, 3)), np.zeros((24, 2)), np.zeros(24)
    floored = np.zeros((24, 3))
    fewest = picture.linear.size
    for i, region in enumerate(patch_regions(chart.corners)):
        places[i] = region.centre
        pixels = region_pixels(picture, region)
        count = pixels.x.size
        if pixels.clipped_high < 0.2:
            fewest = min(fewest, count)
            if count >= _LEAST_PIXELS:
                values[i], trust[i] = robust_mean(pixels.values).values, _evenness(pixels)
                floored[i] = pixels.floored
    if fewest < _LEAST_PIXELS:
        raise ImageError.at(
            "chart",
            f"{fewest} pixels in a patch",
            f"the chart is too small in the picture ({fewest} pixels in a patch, at least "
            f"{_LEAST_PIXELS} are needed): take the photo from nearer",
        )
    usable = trust > 0.0
    if usable.sum() < 24 - MOST_LOST:
        raise ImageError.at(
            "chart",
            f"{24 - int(usable.sum())} patches burnt out",
            f"{24 - int(usable.sum())} of the chart's 24 patches are burnt out: turn it out of "
            "the glare or lower the exposure, and take the photo again",
        )
    if float(values[usable].max()) < 0.06:
        raise ImageError.at(
            "chart",
            f"{values[usable].max():.0%} of full light",
            "the chart is too dark to measure by: bring more light or raise the exposure",
        )
    return Patches(values, places, trust, floored)


def _evenness(pixels: Pixels) -> float:
    """Near 1 for an even patch; glare on a corner of it lowers this long before it shows.

    The quarters of a patch are compared: light falls off by a few percent over one.
    """
    right, low = pixels.x > np.median(pixels.x), pixels.y > np.median(pixels.y)
    level = pixels.values.mean(axis=1)
    quarters = [level[(right == r) & (low == b)] for r in (False, True) for b in (False, True)]
    medians = np.array([np.median(q) for q in quarters if q.size])
    span = float(np.ptp(medians)) / max(float(medians.min()), 1e-4)
    return 1.0 / (1.0 + (span / _SPAN) ** 2)
