"""Finding a 24-patch chart in a photo by itself, where the optional library is installed."""

from __future__ import annotations

import warnings

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import linear_to_srgb
from showthrough.errors import ImageError
from showthrough.photo.calibrate.chart import Chart
from showthrough.photo.picture.load import Picture

_WORKING_WIDTH = 1440
"""Width that the library scales every picture to."""

_BOARD = 0.97
"""The library's outline takes in a little of the board around the patches."""


def find_chart(picture: Picture, values: FloatArray | None = None) -> Chart:
    """Find a chart with the optional detection library.

    Raises:
        ImageError: The library is not installed, or it finds no chart.

    Limits:
        The chart should fill between about a tenth and a half of the picture.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from colour_checker_detection import (  # noqa: PLC0415 - optional, slow to import
                detect_colour_checkers_segmentation,
            )
    except ImportError as error:
        raise ImageError.at(
            "chart",
            "not marked",
            "finding the chart by itself needs the optional package colour-checker-detection; "
            "mark the outer corners of its four corner patches instead",
        ) from error
    width, height = picture.size
    step = max(1, width // _WORKING_WIDTH)
    shown = linear_to_srgb(np.clip(picture.linear[::step, ::step], 0.0, 1.0)).astype(np.float32)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = detect_colour_checkers_segmentation(shown, additional_data=True)
    if not found:
        raise ImageError.at(
            "chart",
            "not found",
            "no 24-patch chart was found in the picture; mark the outer corners of its four "
            "corner patches, or take the photo so that the chart fills about a quarter of it",
        )
    corners = np.asarray(found[0].quadrilateral, dtype=float)
    corners /= [_WORKING_WIDTH, _WORKING_WIDTH * height / width]
    middle = corners.mean(axis=0)
    corners = np.clip(middle + _BOARD * (corners - middle), 0.0, 1.0)
    # Begin with a long side; which of its ends is the brown patch shows when it is read.
    first, second = (corners[1] - corners[0]), (corners[2] - corners[1])
    shape = np.array([width, height])
    if np.hypot(*(first * shape)) < np.hypot(*(second * shape)):
        corners = np.roll(corners, -1, axis=0)
    one, two, three, four = ((float(x), float(y)) for x, y in corners)
    return Chart((one, two, three, four), values)
