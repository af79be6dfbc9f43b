"""How the light lies across a photo, and dividing it out.

The logarithm of the light is a third-order surface. Known cards fix its level and
its slopes; a plain sheet of unknown colour helps with the slopes alone. What the
marked areas cannot tell is held by a prior, so that the uncertainty grows with
the distance from them and can be passed on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.lights import FloatArray
from showthrough.errors import ImageError
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import Point, Region
from showthrough.photo.robust import cauchy_squared, huber, robust_fit
from showthrough.photo.sample import Pixels, region_pixels

_SLOPE = 0.7
"""Prior standard deviation of the slope of ln(light) over the longer side: 2:1 is usual."""

_BEND = 0.6
"""The same for second-order terms: a lamp about one picture's width away."""

_TINT = 0.05
"""The same for slopes of one channel against the mean: two lights of different colour."""

_TWIST = 0.3
"""The same for third-order terms: so near a lamp that two orders do not follow it."""

_LEVEL = 5.0
_DISAGREEMENT = 0.02
"""Prior standard deviation of ln between two known cards: their values and the tone curve."""

_LEAST_NOISE = 0.003
_UNEVEN = 0.10
"""Spread of blocks from which a card or sheet is not one even colour."""

_EVEN_CHIP = 0.025
"""The same up to which a chip may show how the light slopes."""

_MOST_CLIPPED_HIGH = 0.2
_TOO_DARK = 0.06
_TOO_DARK_UNKNOWN = 0.01
_WORTH_A_WORD = 0.03

_BLOCKS_ALONG = 12
_BLOCK_PIXELS = 16
_LEAST_BLOCKS = 9
_BLOCKS_TO_BEND = 25


@dataclass(frozen=True, slots=True)
class Patch:
    """Light seen on an even area: medians of blocks of pixels."""

    place: FloatArray
    """Block centres as fractions, shape (n, 2)."""
    log_light: FloatArray
    """ln of sensor numbers, over the area's own colour where that is known, shape (n, 3)."""
    noise: float
    """Spread of the blocks about their own smooth surface, in ln(light)."""
    known: bool
    """Whether the area's colour is known."""


@dataclass(frozen=True, slots=True)
class LightField:
    """ln(light) over the picture as a third-order surface, with a tint per channel."""

    origin: Point
    """Place that slopes and bends are counted from, as fractions."""
    stretch: tuple[float, float]
    """Width and height over the longer side."""
    beta: FloatArray
    """Level of each channel, shared shape, slopes of red and of blue; shape (16,)."""
    covariance: FloatArray
    """Of ``beta``, shape (16, 16)."""
    unseen: float = 0.0
    """How far the bend between reference and chip may be off, over the bend, where nothing that
    lies between them shows it."""

    def gain(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Light per channel at places given as fractions, shape (..., 3)."""
        return np.exp(self._log_shape(x, y) + self.beta[LEVELS])

    def shape(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """The same relative to the origin."""
        return np.exp(self._log_shape(x, y))

    def bends(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """The terms of the shared shape at places, shape (..., 9)."""
        x = (np.asarray(x, dtype=float) - self.origin[0]) * self.stretch[0]
        y = (np.asarray(y, dtype=float) - self.origin[1]) * self.stretch[1]
        terms = (x, y, x * x, x * y, y * y, x**3, x * x * y, x * y * y, y**3)
        return np.stack(terms, axis=-1)

    def terms(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Rows of the regression at places, shape (..., 3 channels, 16)."""
        bends = self.bends(x, y)
        rows = np.zeros((*bends.shape[:-1], 3, 16))
        for channel in range(3):
            rows[..., channel, channel] = 1.0
        rows[..., SHAPE] = bends[..., None, :]
        # Red and blue may slope otherwise than green: two lights of different colour.
        rows[..., 0, 12:14] = bends[..., :2]
        rows[..., 2, 14:16] = bends[..., :2]
        return rows

    def uncertainty(self, x: float, y: float) -> float:
        """Standard deviation of ln(light) at a place, of the mean of the channels."""
        row = self.terms(np.array(x), np.array(y)).mean(axis=0)
        # Level and slope are the reference's own; what bends away from them was seen or guessed.
        bend = self.unseen * float(self.bends(np.array(x), np.array(y))[2:] @ self.beta[BENDS])
        return float(np.sqrt(max(row @ self.covariance @ row, 0.0) + bend**2))

    def _log_shape(self, x: FloatArray, y: FloatArray) -> FloatArray:
        bends = self.bends(x, y)
        shared = bends @ self.beta[SHAPE]
        red = shared + bends[..., :2] @ self.beta[12:14]
        blue = shared + bends[..., :2] @ self.beta[14:16]
        return np.stack([red, shared, blue], axis=-1)


LEVELS = slice(0, 3)
SHAPE = slice(3, 12)
BENDS = slice(5, 12)
TINTS = slice(12, 16)
"""Where the parts of ``LightField.beta`` lie."""

_PRIOR = np.array([_LEVEL] * 3 + [_SLOPE] * 2 + [_BEND] * 3 + [_TWIST] * 4 + [_TINT] * 4)


def no_light(origin: Point, size: tuple[int, int]) -> LightField:
    """Light of which nothing is known yet."""
    return LightField(origin, stretch_of(size), np.zeros(16), np.diag(_PRIOR**2))


def stretch_of(size: tuple[int, int]) -> tuple[float, float]:
    """Width and height over the longer side."""
    longest = max(size)
    return size[0] / longest, size[1] / longest


def area_patch(
    picture: Picture, region: Region, field: str, own: FloatArray | None = None
) -> Patch:
    """Block medians over an even area.

    Args:
        picture: the photo.
        region: where the area is.
        field: its name in messages.
        own: the area's colour as sensor numbers in full light, shape (3,), or None.

    Raises:
        ImageError: The area is burnt out, too dark, or not one even colour.
    """
    pixels = region_pixels(picture, region)
    if pixels.clipped_high > _MOST_CLIPPED_HIGH:
        raise ImageError.at(
            field,
            f"{pixels.clipped_high:.0%} burnt out",
            f"the area is burnt out ({pixels.clipped_high:.0%} of its pixels are at the limit): "
            "mark it where nothing shines, or lower the exposure on the phone and take the photo "
            "again",
        )
    patch = _blocks(pixels, region, own)
    level = float(np.exp(np.median(patch.log_light, axis=0).max()))
    if level < (_TOO_DARK if patch.known else _TOO_DARK_UNKNOWN):
        raise ImageError.at(
            field,
            f"{level:.0%} of full light",
            f"the area is too dark to measure by ({level:.0%} of full light): bring more light or "
            "raise the exposure, and try again",
        )
    if patch.noise > _UNEVEN:
        raise ImageError.at(
            field,
            f"varies by {patch.noise:.0%}",
            "the marked area is not one even colour, as wood with its grain is not: mark a plain "
            "part of the card or sheet, clear of its edges and of shadows",
        )
    return patch


def plain_patch(picture: Picture, region: Region) -> Patch | None:
    """The same for an area that need not be even; None where it is no help.

    An even chip shows how the light slopes where it lies, whatever its colour.
    """
    pixels = region_pixels(picture, region)
    if pixels.clipped_high > _MOST_CLIPPED_HIGH or pixels.x.size < _LEAST_BLOCKS * _BLOCK_PIXELS:
        return None
    patch = _blocks(pixels, region, None)
    dark = float(np.exp(np.median(patch.log_light, axis=0).min())) < _TOO_DARK_UNKNOWN
    return None if dark or patch.noise > _EVEN_CHIP else patch


def _blocks(pixels: Pixels, region: Region, own: FloatArray | None) -> Patch:
    left, top, right, bottom = region.box
    along = _BLOCKS_ALONG
    while along > 1 and pixels.x.size / along**2 < _BLOCK_PIXELS:
        along -= 1
    column = np.clip(((pixels.x - left) / (right - left) * along).astype(int), 0, along - 1)
    row = np.clip(((pixels.y - top) / (bottom - top) * along).astype(int), 0, along - 1)
    block = row * along + column
    count = np.bincount(block)
    full = np.flatnonzero(count >= _BLOCK_PIXELS // 2)
    if not full.size:
        block, count, full = np.zeros_like(block), np.array([block.size]), np.array([0])
    kept = np.maximum(count, 1)
    place = np.stack([np.bincount(block, v) / kept for v in (pixels.x, pixels.y)], 1)[full]
    medians = np.stack([_medians(v, block, count) for v in pixels.values.T], 1)[full]
    light = np.log(np.maximum(medians if own is None else medians / own, 1e-6))
    return Patch(place, light, spread_of_blocks(place, light), own is not None)


def _medians(values: FloatArray, group: NDArray[np.intp], count: NDArray[np.intp]) -> FloatArray:
    """Median of each group, shape (groups,); of no use where a group is empty."""
    ordered = values[np.lexsort((values, group))]
    start = np.cumsum(count) - count
    low, high = start + np.maximum(count - 1, 0) // 2, start + count // 2
    last = values.size - 1
    return 0.5 * (ordered[np.minimum(low, last)] + ordered[np.minimum(high, last)])


def spread_of_blocks(place: FloatArray, log_light: FloatArray) -> float:
    """Robust spread of blocks about a smooth surface; a wide guess where they are few."""
    if place.shape[0] < _LEAST_BLOCKS:
        return 0.01
    columns = [np.ones(place.shape[0]), place]
    if place.shape[0] >= _BLOCKS_TO_BEND:
        x, y = (place - place.mean(axis=0)).T
        columns += [x * x, x * y, y * y]
    design = np.column_stack(columns)
    free = np.full(design.shape[1], 1e3)
    # Glare only adds light: what stands above the rest is soon no longer heard.
    fit = robust_fit(design, log_light.mean(axis=1), free, cauchy_squared, 12, least=_LEAST_NOISE)
    return fit.spread


def fit_light(
    patches: Sequence[Patch],
    fields: Sequence[str],
    size: tuple[int, int],
    origin: Point | None = None,
) -> tuple[LightField, list[str]]:
    """The light over a picture from its even areas.

    Args:
        patches: at least one; the first one, or the first known one, sets the level.
        fields: their names in messages.
        size: width and height of the picture.
        origin: place that slopes and bends are counted from; the middle of the
            known areas where None.

    Returns:
        The light, and sentences for the user.
    """
    from scipy.sparse import csr_array  # noqa: PLC0415 - slow to import

    first = next((i for i, p in enumerate(patches) if p.known), 0)
    if origin is None:
        middle = np.concatenate([p.place for p in patches if p.known] or [patches[0].place])
        origin = (float(middle[:, 0].mean()), float(middle[:, 1].mean()))
    blank = no_light(origin, size)
    width = 16 + 3 * len(patches)
    rows, noise = [], []
    for i, patch in enumerate(patches):
        offsets = np.zeros((patch.place.shape[0], 3, 3 * len(patches)))
        if i != first:
            offsets[:, :, 3 * i : 3 * i + 3] = np.eye(3)
        terms = blank.terms(patch.place[:, 0], patch.place[:, 1])
        rows.append(np.concatenate([terms, offsets], axis=-1).reshape(-1, width))
        noise.append(np.full(patch.log_light.size, patch.noise))
    prior = np.concatenate([_PRIOR, *([_DISAGREEMENT if p.known else _LEVEL] * 3 for p in patches)])
    beta, covariance, _ = robust_fit(
        # Each patch has levels of its own, so that with much plain ground nearly all is nothing.
        csr_array(np.concatenate(rows)),
        np.concatenate([p.log_light.ravel() for p in patches]),
        prior,
        _heard,
        8,
        noise=np.concatenate(noise),
    )
    notes = []
    for i, (patch, field) in enumerate(zip(patches, fields, strict=True)):
        apart = float(np.abs(beta[16 + 3 * i : 19 + 3 * i]).max())
        if patch.known and i != first and apart > _WORTH_A_WORD:
            notes.append(
                f"{field} disagrees with the first card by {apart:.0%}: their colours may not be "
                "what was stated, or the phone bent the contrast."
            )
    return replace(blank, beta=beta[:16], covariance=covariance[:16, :16]), notes


def _heard(size: FloatArray, turn: int) -> FloatArray:  # noqa: ARG001 - as all weigh
    """Huber's weights; a block lit by glare is no light field at all."""
    return np.where(size > 6.0, 0.0, huber(size, 1.5))
