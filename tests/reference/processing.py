"""What a phone does to a picture after the sensor: invented, and by published operations alone.

Local brightening (a gain that falls with the light around a pixel), the sRGB curve, an S-shaped
tone curve on the encoded numbers, saturation about luma (weights of ITU-R BT.601) and an
unsharp mask. The strengths are drawn; their ranges are from memory, as makers state none. The
curves come in three shapes, so that what is learned on two can be judged on the third.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showthrough.colour.space import linear_to_srgb

SHAPES = ("wave", "step", "logistic")
QUALITIES = (75, 85, 95)

_LUMA = np.array([0.299, 0.587, 0.114])
_STEPS = np.linspace(0.0, 1.0, 1025)


@dataclass(frozen=True)
class Processing:
    """One phone's taste."""

    shape: str = "wave"
    strength: float = 0.0
    """Most that the tone curve moves a number, over the full range: 25 of 255 is strong."""
    pivot: float = 0.5
    """Where the curve crosses the straight line; of the logistic shape alone."""
    brighten: float = 0.0
    """Local brightening: exponent on the light around a pixel."""
    saturation: float = 1.0
    sharpen: float = 0.0
    """Share of the difference from a blurred copy that is added."""


def drawn(rng, most=25.0, shapes=SHAPES):
    """A taste by chance, its tone curve up to ``most`` of 255."""
    return Processing(
        str(rng.choice(shapes)),
        rng.uniform(0.0, most) / 255.0,
        rng.uniform(0.42, 0.58),
        rng.uniform(0.0, 0.08),
        rng.uniform(1.0, 1.2),
        rng.uniform(0.0, 0.6),
    )


def tone_curve(values, made):
    """Encoded numbers 0 to 1 after the S-shaped curve."""
    if made.strength == 0.0:
        return values
    bent = _bent(_STEPS, made)
    shift = (bent - _STEPS) * (made.strength / np.abs(bent - _STEPS).max())
    return values + np.interp(values, _STEPS, shift)


def _bent(steps, made):
    if made.shape == "wave":
        return steps - 0.1 * np.sin(2.0 * np.pi * steps)
    if made.shape == "step":
        return steps * steps * (3.0 - 2.0 * steps)

    def curve(v):
        return 1.0 / (1.0 + np.exp(-5.0 * (v - made.pivot)))

    return (curve(steps) - curve(0.0)) / (curve(1.0) - curve(0.0))


def processed(linear, made):
    """Encoded numbers 0 to 1 of a linear picture, shape (h, w, 3)."""
    from scipy.ndimage import gaussian_filter

    if made.brighten:
        width = 0.06 * max(linear.shape[:2])
        around = gaussian_filter(linear @ _LUMA, width) + 0.02
        # What lies in the dark gains most; the brightest surroundings stay as they are.
        gain = (around / around.max()) ** -made.brighten
        linear = np.clip(linear * gain[..., None], 0.0, 1.0)
    encoded = tone_curve(linear_to_srgb(linear), made)
    if made.saturation != 1.0:
        luma = (encoded @ _LUMA)[..., None]
        encoded = luma + made.saturation * (encoded - luma)
    if made.sharpen:
        encoded = encoded + made.sharpen * (encoded - gaussian_filter(encoded, (1.2, 1.2, 0)))
    return np.clip(encoded, 0.0, 1.0)
