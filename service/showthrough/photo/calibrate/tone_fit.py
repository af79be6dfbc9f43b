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

_ROUNDS = 6
_STEP = 1e-3
_FAR = 2.0
"""Standard deviations at which a miss counts half."""

S_CURVE_MEAN, S_CURVE_SPREAD = 0.045, 0.035
"""The S-shaped bend of a phone beforehand: none to 25 of 255 (from memory)."""

_STRENGTHS = np.linspace(-0.03, 0.13, 81)
_SHAPE = 0.01
"""In ln: how far one S-shaped bend misses a phone's own curve between two cards."""


def bends_of(misses: Callable[[Tone], FloatArray]) -> Tone:
    """The tone curve that fits a chart best, held by what phones do.

    Gauss-Newton with Cauchy weights on ``misses`` beside the prior.

    Args:
        misses: differences of a chart's patches from their fit with a tone curve taken off,
            in light over its root, shape (n,).
    """

    def left(bends: FloatArray) -> FloatArray:
        return np.concatenate([misses(Tone(tuple(bends))) / CURVE_NOISE, bends / _BENDS])

    def cost(values: FloatArray) -> float:
        return float(np.log1p((values / _FAR) ** 2).sum())

    bends = np.zeros(_BENDS.size)
    now = left(bends)
    for _ in range(_ROUNDS):
        slopes = np.stack([(left(bends + s) - now) / _STEP for s in _STEP * np.eye(bends.size)], 1)
        # A patch under glare is soon no longer heard.
        weight = 1.0 / (1.0 + (now / _FAR) ** 2)
        step = -np.linalg.solve(slopes.T @ (slopes * weight[:, None]), slopes.T @ (weight * now))
        for share in (1.0, 0.5, 0.25, 0.125):
            there = left(bends + share * step)
            if cost(there) <= cost(now):
                bends, now = bends + share * step, there
                break
        else:
            break
        if np.abs(step).max() < 0.5 * _STEP:
            break
    return Tone(tuple(float(b) for b in bends))


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
