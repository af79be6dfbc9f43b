"""Finding how a phone bent a picture's numbers, from its references."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.photo.calibrate.shade import SHAPE, LightField, Patch
from showthrough.photo.calibrate.tone import Tone

_BENDS = np.array([0.04, 0.04, 0.015])
"""Standard deviations of a phone's bends beforehand (from memory; 25 of 255 is 0.098)."""

CURVE_NOISE = 0.008
"""Spread of a chart's patches about their fit, in light over its root, while a curve is sought."""

_ROUNDS = 30
"""Steps after which a curve is as near as it gets: most take ten."""

_FAR = 2.0
"""Standard deviations at which a miss counts half."""

S_CURVE_MEAN, S_CURVE_SPREAD = 0.045, 0.035
"""The S-shaped bend of a phone beforehand: none to 25 of 255 (from memory)."""

_STRENGTHS = np.linspace(-0.03, 0.13, 81)
_SHAPE = 0.01
"""In ln: how far one S-shaped bend misses a phone's own curve between two cards."""


def bends_of(misses: Callable[[Tone], FloatArray]) -> Tone:
    """The tone curve that fits a chart best, held by what phones do.

    Least squares of ``misses`` beside the prior under Cauchy's loss.

    Args:
        misses: differences of a chart's patches from their fit with a tone curve taken off,
            in light over its root, shape (n,).
    """
    from scipy.optimize import least_squares  # noqa: PLC0415 - slow to import

    def left(bends: FloatArray) -> FloatArray:
        return np.concatenate([misses(Tone(tuple(bends))) / CURVE_NOISE, bends / _BENDS])

    # A patch under glare is soon no longer heard; the bends are sought in their own deviations.
    found = least_squares(
        left,
        np.zeros(_BENDS.size),
        loss="cauchy",
        f_scale=_FAR,
        x_scale=_BENDS,
        max_nfev=_ROUNDS,
        ftol=1e-4,
    )
    return Tone(tuple(float(b) for b in found.x))


def bend_of_cards(
    patches: Sequence[Patch],
    own: Sequence[FloatArray],
    field: LightField,
    misses: Sequence[float],
) -> tuple[float, float]:
    """An S-shaped bend from how two or more cards differ in lightness: mean and spread.

    Args:
        patches: the cards as photographed, over their own colours.
        own: those colours as sensor numbers, shape (3,) each.
        field: how the light lies, found without taking the cards' levels for granted.
        misses: uncertainty of ln of each card's light.
    """

    def levels(strength: float) -> FloatArray:
        """Log of light over own colour of each card, flattened."""
        tone = Tone((0.0, strength))
        found = []
        for patch, colour in zip(patches, own, strict=True):
            straight = tone.of_sensor(np.exp(patch.log_light) * colour)
            seen = np.log(np.maximum(straight / colour, 1e-6))
            flat = seen - np.log(field.shape(patch.place[:, 0], patch.place[:, 1]))
            found.append(float(np.median(flat.mean(axis=1))))
        return np.array(found)

    places = [patch.place.mean(axis=0) for patch in patches]
    bends = [field.bends(*place) for place in places]
    shade = field.covariance[SHAPE, SHAPE]
    light = [(b - bends[0]) @ shade @ (b - bends[0]) for b in bends[1:]]
    spread = np.array(light) + np.square(misses[1:]) + misses[0] ** 2 + _SHAPE**2
    apart = np.array([(lv := levels(s))[1:] - lv[0] for s in _STRENGTHS])
    prior = ((_STRENGTHS - S_CURVE_MEAN) / S_CURVE_SPREAD) ** 2
    chance = np.exp(-0.5 * (prior + (apart**2 / spread).sum(axis=1)))
    if chance.sum() <= 0.0:
        return 0.0, S_CURVE_SPREAD
    chance /= chance.sum()
    mean = float(chance @ _STRENGTHS)
    return mean, float(np.sqrt(chance @ (_STRENGTHS - mean) ** 2))
