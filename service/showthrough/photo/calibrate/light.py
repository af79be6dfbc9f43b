"""Which light a photo by cards was taken under, as chances of the kinds that it may be.

Neutral cards lose the light's colour with the white balance, so that where nothing was
stated all kinds stay as likely as they were beforehand. The photo's own data and a coloured
card of known colour change that. A colour is read for the mean of the kinds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.space import lab_to_xyz, linear_rgb_to_xyz
from showthrough.photo.calibrate.chart_fit import lab_of_linear
from showthrough.photo.calibrate.radius import joined, learned_radius
from showthrough.photo.sensor import LIGHT_NAMES, to_daylight, to_sensor

Chances = Mapping[str, float]
"""Kind of light, a key of ``LIGHT_NAMES`` that means one light, to its chance; they add to 1."""

BEFOREHAND = {
    "daylight": dict.fromkeys(("sun", "cloud", "shade"), 1 / 3),
    "unknown": dict.fromkeys(("sun", "cloud", "shade", "led", "bulb"), 1 / 5),
}
"""Chances of a word that may mean several lights: all alike, as nobody counted them."""

_FILE_IS_RIGHT = 0.8
"""Chance that the light a photographer set on the camera is the one that shone (from memory)."""

_ANY = 0.02
"""Least chance of a kind, over the likeliest one's: no card is so sure of its colour."""

_HALF_SURE, _SURE = 0.5, 0.9
"""Chance of one kind from which it is named as likely, and from which it is taken for granted."""


def chances_of(stated: str, of_file: Sequence[str] = ()) -> dict[str, float]:
    """Chances before any card is looked at.

    Args:
        stated: kind of light, a key of ``LIGHT_NAMES``.
        of_file: kinds that the photo's own data may mean; heard where none was stated.
    """
    if stated not in BEFOREHAND:
        return {stated: 1.0}
    before = BEFOREHAND[stated]
    if stated != "unknown" or not of_file:
        return dict(before)
    told = sum(before[kind] for kind in of_file)
    return {
        kind: (_FILE_IS_RIGHT / told * (kind in of_file) + 1.0 - _FILE_IS_RIGHT) * chance
        for kind, chance in before.items()
    }


def weighed(chances: Chances, even: FloatArray, lab: FloatArray, doubt: float) -> dict[str, float]:
    """Chances after a coloured card was seen, by Bayes' rule.

    Args:
        chances: what they were before.
        even: the card's sensor numbers with white at 1, shape (3,).
        lab: its true CIELAB, shape (3,).
        doubt: what else may move its colour, CIEDE2000, 95 of 100.
    """
    wanted = float(lab_to_xyz(lab)[1])
    told = {}
    for kind in chances:
        linear = under(kind, even)
        # Lightness is the light's fall-off and the tone curve; the kind of light is in the hue.
        linear = linear * wanted / max(float(linear_rgb_to_xyz(linear)[1]), 1e-6)
        miss = float(ciede2000(lab_of_linear(linear), lab))
        reach = joined(learned_radius("card", kind, lab), doubt)
        # Two dimensions of normal error, 95 of 100 within reach.
        told[kind] = float(np.exp(np.log(0.05) * (miss / reach) ** 2)) / reach**2
    least = _ANY * max(told.values())
    after = {kind: chance * max(told[kind], least) for kind, chance in chances.items()}
    total = sum(after.values())
    return {kind: chance / total for kind, chance in after.items()}


def under(kind: str, even: FloatArray) -> FloatArray:
    """Daylight's linear sRGB of sensor numbers with white at 1 under one kind of light."""
    linear = even @ np.linalg.inv(to_sensor()).T @ to_daylight(kind).T
    return np.asarray(linear, dtype=float)


def mean_way(chances: Chances) -> FloatArray:
    """The mean way to daylight over the kinds that the light may be, shape (3, 3)."""
    return np.asarray(sum(c * to_daylight(kind) for kind, c in chances.items()), dtype=float)


def taken_as(chances: Chances, stated: str) -> str:
    """The kind of light that is taken for granted; as stated where none is sure."""
    best = max(chances, key=lambda kind: chances[kind])
    return best if chances[best] > _SURE else stated


def in_words(chances: Chances) -> str:
    """What the light is taken for where it was not stated, as a sentence."""
    best = max(chances, key=lambda kind: chances[kind])
    words = LIGHT_NAMES[best]
    if chances[best] > _SURE:
        return f"The light was not stated; it is taken as {words}."
    if chances[best] > _HALF_SURE:
        return (
            f"The light was not stated; it is most likely {words} (about "
            f"{round(10 * chances[best])} in 10), and the others are allowed for."
        )
    return (
        "The light was not stated and neutral cards cannot show it: it is taken as daylight or a "
        "lamp, all kinds alike likely, and the radius holds for them together; by a warm bulb the "
        "truth lies outside it in up to 3 of 10 cases, so state a lamp."
    )
