"""How far a colour read from a photo may be from the truth.

The radius is meant to hold the true colour in about 95 of 100 cases. It joins
what the light and the camera do to this colour (learned on simulated phones),
how well the light's fall-off is known at this place, and the noise.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.photo.sensor import constants

_LEAST = 0.6
"""No photo is read better than this: cards and charts differ from each other by it."""

_ONE_OF = {
    "daylight": ("sun", "cloud", "shade"),
    "unknown": ("sun", "cloud", "shade", "led", "bulb"),
}
"""Lights that a wider word may mean."""

_BEYOND, _BEYOND_OF_EACH = 0.05, 0.15
"""Share of the errors that lie beyond a radius, and the most of any one kind of light that is
likely (decided after looking at how photos by a bulb fare)."""

_LIKELY = 0.1
"""Chance from which a kind of light is likely."""

_SURE = 2.0
"""Standard deviations that hold about 95 of 100."""


def features(basis: str, lab: ArrayLike) -> FloatArray:
    """What the learned part of the radius depends on.

    Args:
        basis: card, chart or none.
        lab: colours, shape (n, 3).

    Returns:
        A constant, without any reference the darkness, then the chroma and its part
        along each axis. Shape (n, 4) or (n, 5).
    """
    lab = np.atleast_2d(np.asarray(lab, dtype=float))
    chroma = np.hypot(lab[:, 1], lab[:, 2]) / 50.0
    # Chroma counts for less the more there is of it, as in CIEDE2000 itself.
    along = lab[:, 1:] / 50.0 / (1.0 + 0.5 * chroma)[:, None]
    columns = [np.ones(lab.shape[0])]
    if basis == "none":
        columns.append(np.maximum(0.0, 1.0 - lab[:, 0] / 50.0))
    columns += [chroma / (1.0 + 0.5 * chroma), along[:, 0], along[:, 1]]
    return np.stack(columns, axis=1)


def learned_radius(basis: str, light: str, lab: ArrayLike) -> float:
    """The part that light and camera cause, for one colour, in CIEDE2000."""
    table = constants()["radius"][basis]
    row = features(basis, lab)[0]
    # Not to know which of several lights it was is never surer than to know the worst.
    kinds = [light, *_ONE_OF.get(light, ())]
    widest = max(float(row @ table.get(kind, table["unknown"])) for kind in kinds)
    return max(_LEAST, narrowed(basis) * widest)


def mixed_radius(kinds: Sequence[tuple[float, float]]) -> float:
    """The radius where the light may be any of several kinds.

    It holds 95 of 100 over all of them, and 85 of 100 of each that is likely.

    Args:
        kinds: the chance of each, and the radius if it was that one, CIEDE2000. Errors within
            and beyond a radius are spread by Weibull's law, as those of the simulated photos.
    """
    chances, radii = np.array(kinds, dtype=float).T
    tail = float(constants()["tail"])
    each = (np.log(_BEYOND_OF_EACH) / np.log(_BEYOND)) ** (1.0 / tail)
    low = float((radii * np.where(chances < _LIKELY, 0.0, each)).max())
    low, high = max(low, float(radii.min())), float(radii.max())
    for _ in range(40):
        middle = 0.5 * (low + high)
        beyond = float(chances @ _BEYOND ** ((middle / radii) ** tail))
        low, high = (middle, high) if beyond > _BEYOND else (low, middle)
    return high


def narrowed(basis: str) -> float:
    """Factor on what was learned of one camera's kin: what photos of three cameras ask for."""
    return float(constants()["narrowed"][basis])


def processing_part(basis: str, camera: float, bend: float, residual: float) -> float:
    """The part that an unknown phone's processing causes, for one colour, in CIEDE2000.

    Args:
        basis: card, cards, chart or none.
        camera: the learned part of light and camera.
        bend: with cards: what the tone curve may still move the colour.
        residual: with a chart: median CIEDE2000 of its patches, each told from the others.
    """
    row = constants()["processing"][basis]
    return max(0.0, float(np.dot(row, [1.0, camera, bend, residual])))


def lightness_part(lab: ArrayLike, log_light: float) -> float:
    """CIEDE2000 that an uncertainty of ln(light) makes for one colour, 95 of 100."""
    lab = np.asarray(lab, dtype=float)
    moved = lab.copy()
    # dL* for a relative change of Y (ISO/CIE 11664-4, above the straight part).
    moved[0] += (lab[0] + 16.0) / 3.0 * _SURE * log_light
    return float(ciede2000(lab, moved))


def joined(*parts: float) -> float:
    """Independent parts of a radius taken together."""
    return float(np.sqrt(sum(p * p for p in parts)))
