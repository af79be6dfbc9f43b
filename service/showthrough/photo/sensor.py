"""Which light a photo was taken under, and how a camera of that kind bends colours.

A cast is best divided out in the numbers of the sensor, before the maker's 3x3
matrix; the file holds the numbers after it. The matrix of one measured camera
stands in for the unknown one: dividing there and not in sRGB brings the 95th
percentile of the error in daylight from 5.4 to 3.2 CIEDE2000 (measured with
another camera and other samples). A second matrix per kind of light takes what
such cameras show under it to what daylight would show.

The constants are made by ``tests/reference/make_camera_constants.py``.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.errors import InputError, OutOfRangeError
from showthrough.tables import data_text

LIGHT_NAMES = {
    "sun": "sunlight, about 5000 K",
    "cloud": "daylight from a cloudy sky, about 6500 K",
    "shade": "shade under a blue sky, about 7500 K",
    "daylight": "daylight of any kind",
    "led": "white LED, about 4000 K",
    "bulb": "warm bulb, about 2900 K",
    "unknown": "not stated",
}
"""Kinds of light that can be stated for a photo, as words a user reads."""

WARM_BELOW_K = 3500.0
"""Below this a cast is taken as the light of a warm bulb (common practice, no source)."""


@cache
def constants() -> dict[str, Any]:
    """The table of camera constants, as it stands in the package."""
    table: dict[str, Any] = json.loads(data_text(__file__, "camera.json"))
    return table


@cache
def to_sensor() -> FloatArray:
    """Linear sRGB to a typical sensor's numbers, shape (3, 3); white stays 1, 1, 1."""
    return np.array(constants()["to_sensor"], dtype=float)


@cache
def to_daylight(light: str) -> FloatArray:
    """What a typical camera shows under a light, once white is white, to daylight, (3, 3)."""
    return np.array(constants()["to_daylight"][light], dtype=float)


def beyond_file(
    balanced: FloatArray, cast: FloatArray, floored: FloatArray, by: float | None = None
) -> FloatArray:
    """Sensor numbers with what the file cut off below nothing put back, as far as can be told.

    A white balance that is off to the green leaves vivid cyans no red at all, though the
    light on the sensor had some. How much cannot be seen; that the colour, once white is
    white, lies little beyond sRGB can be expected.

    Args:
        balanced: sensor numbers with white at 1, 1, 1; shape (3,).
        cast: the sensor numbers that white has in the file, shape (3,).
        floored: share of the pixels with each channel of the file at nothing, shape (3,).
        by: how far beyond sRGB such a colour lies, as a share of the way to where the
            sensor's own channel would be at nothing too; the table's where None.
    """
    by = float(constants()["beyond_srgb"]) if by is None else by
    back = np.linalg.inv(to_sensor())
    found = np.array(balanced, dtype=float)
    for channel in np.flatnonzero(floored > 0.0):
        others = np.arange(3) != channel
        step = to_sensor()[:, channel] / cast
        share = to_sensor()[channel, others] / to_sensor()[channel, channel]
        linear, along = back @ found, back @ step
        # Where linear + down * along meets -by times the others' share of the sensor.
        wanted = linear[channel] + by * (share @ linear[others])
        reach = along[channel] + by * (share @ along[others])
        down = min(0.0, -wanted / reach) if reach > 0.0 else 0.0
        found = found + floored[channel] * down * step
    return np.maximum(found, 1e-6)


def checked_light(light: str | None) -> str:
    """The stated light's name; raises InputError for a name that is not known."""
    name = "unknown" if light is None else light
    if name not in LIGHT_NAMES:
        raise InputError.at(
            "light", light, f"light {light!r} is not known; use one of {', '.join(LIGHT_NAMES)}"
        )
    return name


@dataclass(frozen=True, slots=True)
class LightEstimate:
    """What is known of the light a photo was taken under."""

    stated: str
    """What the user said, a key of ``LIGHT_NAMES``."""
    kelvin: float | None
    """Correlated colour temperature of the cast left on the card; None where there is none.

    A camera's own white balance has mostly removed the light's cast, so that this
    bounds how warm the light was and does not measure it.
    """
    used: str
    """The kind of light that the reading was made for."""
    chances: Mapping[str, float] = field(default_factory=dict)
    """By cards: chance of each kind of light that it may be; empty where none is reckoned."""


def correlated_temperature(xyz: FloatArray) -> float | None:
    """Correlated colour temperature in kelvin of a light near the black body, or None.

    Source:
        McCamy 1992, Color Res. Appl. 17(2) 142-144; usable about 2000 to 12500 K.
    """
    total = float(xyz.sum())
    if not np.isfinite(total) or total <= 0.0:
        raise OutOfRangeError.at("xyz", xyz.tolist(), "a light must be positive and finite")
    x, y = float(xyz[0]) / total, float(xyz[1]) / total
    if abs(y - 0.1858) < 1e-6:
        return None
    n = (x - 0.3320) / (0.1858 - y)
    kelvin = 449.0 * n**3 + 3525.0 * n**2 + 6823.3 * n + 5520.33
    return kelvin if 2000.0 <= kelvin <= 12500.0 else None
