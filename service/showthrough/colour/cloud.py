"""Where the truth may lie about a colour that was read with a radius.

A radius is the CIEDE2000 that holds the truth in 95 of 100 cases. The truth is taken to lie
about the reading as a normal cloud of three dimensions, round in CIEDE2000.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray, frozen

RADIUS_TO_SIGMA = 2.795
"""95 % of a three-dimensional normal cloud lies within 2.795 standard deviations."""

READINGS = 64
"""Equally likely places that stand for a cloud; half as many miss chances by twice as much."""

_CLOUDS = 5
"""Clouds that vary apart from each other; more share places with these."""

# Of 400 seeds the one whose projections on random lines lie nearest to a normal.
_SEED = 397
_LEAST = 1e-9
_NEUTRAL = 1e-6


@cache
def standard_readings() -> FloatArray:
    """Places that stand for independent standard normal clouds, shape (READINGS, 5, 3).

    A Latin hypercube: along each axis the midpoints of equal parts of the normal
    distribution, shuffled, then turned so that means are 0 and covariances those of
    independent axes.

    Source:
        McKay, Beckman, Conover 1979, Technometrics 21(2) 239-245.
    """
    from statistics import NormalDist  # noqa: PLC0415 - only a stated radius needs it

    normal = NormalDist()
    level = np.array([normal.inv_cdf((i + 0.5) / READINGS) for i in range(READINGS)])
    shuffle = np.random.default_rng(_SEED).permutation
    places = np.stack([level[shuffle(READINGS)] for _ in range(3 * _CLOUDS)], axis=1)
    size, axes = np.linalg.eigh(places.T @ places / READINGS)
    return frozen(((places @ (axes / np.sqrt(size))) @ axes.T).reshape(READINGS, _CLOUDS, 3))


def colours_about(lab: ArrayLike, radius: ArrayLike, standard: ArrayLike) -> FloatArray:
    """Colours at given places of the clouds about readings.

    A place of length r lies at CIEDE2000 r x radius / 2.795 from its reading, in the
    direction that its three parts have along lightness, chroma and hue, each in units of
    CIEDE2000's own weights.

    Args:
        lab: the readings, CIELAB, shape (..., 3).
        radius: 95 % radius of each, CIEDE2000, >= 0, shape (...).
        standard: places in a standard normal cloud, shape (..., 3).

    Returns:
        CIELAB, shape (..., 3), all broadcast together; L* may lie outside 0 to 100.
    """
    centre, z = np.asarray(lab, dtype=float), np.asarray(standard, dtype=float)
    chroma = np.hypot(centre[..., 1], centre[..., 2])
    # A neutral has no hue: the last digits of its a* and b* must not turn its cloud.
    hue = np.where(chroma < _NEUTRAL, 0.0, np.arctan2(centre[..., 2], centre[..., 1]))
    square = (centre[..., 0] - 50.0) ** 2
    along_l = z[..., 0] * (1.0 + 0.015 * square / np.sqrt(20.0 + square))
    along_c = z[..., 1] * (1.0 + 0.045 * chroma)
    along_h = z[..., 2] * (1.0 + 0.015 * chroma)
    cos, sin = np.cos(hue), np.sin(hue)
    step = np.stack([along_l, along_c * cos - along_h * sin, along_c * sin + along_h * cos], -1)
    sigma = np.asarray(radius, dtype=float) / RADIUS_TO_SIGMA
    wanted = np.linalg.norm(z, axis=-1) * sigma
    scale = sigma * np.ones_like(wanted)
    # The weights change along the way; the length is put right on the same ray.
    for _ in range(4):
        reached = ciede2000(centre, centre + scale[..., None] * step)
        scale = scale * np.clip(wanted / np.maximum(reached, _LEAST), 0.25, 4.0)
    return np.asarray(centre + scale[..., None] * step)
