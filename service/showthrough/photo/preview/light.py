"""How unevenly a photographed face is lit, so that it can be divided out and put back.

ln(luminance) of a face is taken as a second-order surface of the place plus one
constant for each kind of colour on it. Light that falls off changes luminance over
distance and leaves the ratio of the channels alone; patches, filler and grain mostly
change that ratio, so pixels are sorted into kinds by it, and only what changes
*within* a kind is taken as light. Tukey's biweight ignores pixels that fit neither.

A photo cannot tell everything: fine shadows (mouldings, edges, dents) stay in the
colour; a surface that fades slowly in one hue is taken as unevenly lit.

Source: iteratively reweighted least squares with Tukey's biweight (Huber 1981);
kinds are removed by demeaning, the within estimator of panel regression.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import linear_rgb_to_xyz
from showthrough.photo.preview.table import POWER, Float32Array
from showthrough.photo.robust import huber, robust_fit

LEAST_PIXELS = 400
"""Fewest sampled pixels from which the fall-off of a face is read."""

_PRIOR = np.array([0.7, 0.7, 1.2, 1.2, 1.2])
"""Prior standard deviation of slopes and bends over the longer side: 2:1 is usual. It
only holds what a narrow face cannot tell."""

_KIND_STEP = 0.2
"""Width of a kind of colour, in ln of the ratio of two channels."""

_DARKEST = 2e-3
"""Light below which a channel is mostly noise."""

_TUKEY = 4.685
_LEAST_SPREAD = 1e-3
_ROUNDS = 15


def luminance(light: FloatArray) -> FloatArray:
    """Y of linear light with the sRGB primaries, white = 1, shape (..., 3) -> (...)."""
    return linear_rgb_to_xyz(light)[..., 1] / 100.0


@dataclass(frozen=True, slots=True)
class FaceLight:
    """Light over a face, relative to its mean there."""

    origin: tuple[float, float]
    """Place in pixels at which the surface is centred."""
    unit: float
    """Pixels of the picture's longer side."""
    terms: tuple[float, float, float, float, float, float]
    """Of 1, x, y, x², xy, y² in ln(light)."""
    ratio: float
    """Brightest over darkest place of the face."""
    brightest: float
    """Light at its brightest place."""

    def over(self, rows: NDArray[np.int64], width: int) -> FloatArray:
        """ln(light) at all pixels of some rows, shape (rows, width)."""
        x = (np.arange(width) - self.origin[0]) / self.unit
        y = ((rows - self.origin[1]) / self.unit)[:, None]
        level, a, b, aa, ab, bb = self.terms
        along = level + x * (a + x * aa)
        return along + y * (b + y * bb) + (y * ab) * x

    def root(self, rows: NDArray[np.int64], width: int) -> Float32Array:
        """Light to the power 1 / 2.4, as above."""
        powered: Float32Array = np.exp((POWER * self.over(rows, width)).astype(np.float32))
        return powered

    def at(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Light at places in pixels, any shape."""
        level, *terms = self.terms
        place = _terms((x - self.origin[0]) / self.unit, (y - self.origin[1]) / self.unit)
        return np.exp(level + place @ np.array(terms))


def even_light() -> FaceLight:
    """A face lit evenly."""
    return FaceLight((0.0, 0.0), 1.0, (0.0,) * 6, 1.0, 1.0)


def _terms(x: FloatArray, y: FloatArray) -> FloatArray:
    return np.stack([x, y, x * x, x * y, y * y], axis=-1)


def _kinds(light: FloatArray, area: NDArray[np.int64]) -> NDArray[np.int64]:
    """Number of the kind of each sample: its area and the ratios of its channels."""
    log = np.log(np.maximum(light, _DARKEST))
    # Ratios lie within ln(1 / _DARKEST) of 0, plus glare: far less than 64 steps.
    step = np.rint((log[:, [0, 2]] - log[:, 1:2]) / _KIND_STEP).astype(np.int64)
    step = np.clip(step, -64, 63) + 64
    keys = (area * 128 + step[:, 0]) * 128 + step[:, 1]
    return np.unique(keys, return_inverse=True)[1].reshape(-1)


def face_light(
    light: FloatArray,
    x: FloatArray,
    y: FloatArray,
    area: NDArray[np.int64],
    size: tuple[int, int],
) -> FaceLight:
    """The light over one face from a sample of its pixels.

    Args:
        light: linear light with the sRGB primaries, shape (n, 3).
        x: column of each, pixels, shape (n,).
        y: row of each, pixels, shape (n,).
        area: number of the marked area that each lies in, shape (n,); areas of one
            face share the light, not the colour.
        size: width and height of the picture, pixels.

    Returns:
        Its light, 1 on the average over the sample; even light where the sample is
        too small to tell.
    """
    bright = luminance(light)
    if x.size < LEAST_PIXELS:
        return even_light()
    unit = float(max(size))
    origin = (float(x.mean()), float(y.mean()))
    design = _terms((x - origin[0]) / unit, (y - origin[1]) / unit)
    log = np.log(np.maximum(bright, _DARKEST))
    kind = _kinds(light, area)
    slopes = robust_fit(
        design, log, _PRIOR, _heard, _ROUNDS, spread=0.1, least=_LEAST_SPREAD, kind=kind
    ).answer
    shape = np.exp(design @ slopes)
    mean = float(shape.mean())
    dark, best = np.quantile(shape, [0.005, 0.995])
    a, b, aa, ab, bb = (float(v) for v in slopes)
    return FaceLight(
        origin,
        unit,
        (-float(np.log(mean)), a, b, aa, ab, bb),
        float(best / dark),
        float(best / mean),
    )


def _heard(size: FloatArray, turn: int) -> FloatArray:
    """Huber's weights first: their minimum is one, and the biweight starts near it."""
    if turn < _ROUNDS // 3:
        return huber(size, 1.345)
    return np.maximum(1.0 - (size / _TUKEY) ** 2, 0.0) ** 2
