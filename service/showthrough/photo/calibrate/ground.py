"""The plain ground that chip and reference lie on: a sheet nobody had to mark.

A table or board of one colour around both shows how the light lies between them.
It is found as squares of the picture that are plain in themselves and pass evenly
into their neighbours, and it is used only where it surrounds all that was marked,
so that a wall behind the piece is not taken for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.photo.calibrate.shade import Patch, spread_of_blocks
from showthrough.photo.picture.encoding import BoolArray
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import Region
from showthrough.photo.sensor import to_sensor

_SQUARES = 28
"""Squares along the longer side."""

_PIXELS_ALONG = 640
"""A finer picture is thinned to this before its squares are looked at."""

_MARGIN = 0.012
"""Kept clear around what was marked, over the longer side: edges, frames and shadows."""

_CHART_FRAME = 0.3
"""A chart's own board around its patches, in patch spacings."""

_PLAIN = 0.06
"""Robust spread of the pixels of a square, over its light, up to which it is plain."""

_STEP = 0.12
"""Change of light from one square to the next that a near lamp makes."""

_JUMP = 0.03
"""How far it may differ from the changes around it: the edge of another sheet is a jump."""

_HUE_STEP = 0.025
"""Change of one channel against another that it does not make."""

_RIM = 2.01
"""Squares around a marked area that must mostly be the ground."""

_SURROUNDED = 0.4
"""How much of them."""

_EVEN = 0.06
"""Spread of the squares up to which the ground is used; a near lamp bends more than is followed."""

_LEAST_SQUARES = 20
_DARKEST, _BRIGHTEST = 0.01, 0.97


@dataclass(frozen=True, slots=True)
class _Squares:
    """The picture in squares."""

    x: FloatArray
    """Edges as fractions of the width, shape (columns + 1,)."""
    y: FloatArray
    """Edges as fractions of the height, shape (rows + 1,)."""
    light: FloatArray
    """ln of the median sensor numbers, shape (rows, columns, 3)."""
    plain: BoolArray
    """Shape (rows, columns)."""

    def over(self, box: tuple[float, float, float, float], wider: tuple[float, float]) -> BoolArray:
        """Squares that a box, widened across and down, touches; shape (rows, columns)."""
        left, top, right, bottom = box
        across = (self.x[1:] > left - wider[0]) & (self.x[:-1] < right + wider[0])
        down = (self.y[1:] > top - wider[1]) & (self.y[:-1] < bottom + wider[1])
        return down[:, None] & across


def plain_ground(picture: Picture, marked: Sequence[tuple[Region, float]]) -> list[Patch]:
    """The ground around marked areas, as even areas of unknown colour; empty where there is none.

    Args:
        picture: the photo.
        marked: the reference and what is to be read, each with the width to keep clear
            around it, as a fraction of the longer side.
    """
    width, height = picture.size
    if min(picture.size) * _SQUARES < 4 * max(picture.size):
        return []  # a strip has no ground around anything
    squares = _squares(picture)
    taken = np.zeros(squares.plain.shape, dtype=bool)
    rims = []
    for region, clear in marked:
        wider = clear * max(width, height) / width, clear * max(width, height) / height
        inner = squares.over(region.box, wider)
        outer = wider[0] + _RIM * float(squares.x[1]), wider[1] + _RIM * float(squares.y[1])
        taken |= inner
        rims.append(squares.over(region.box, outer) & ~inner)
    parts = _even_parts(squares, squares.plain & ~taken)
    ground = np.zeros_like(taken).astype(bool)
    for part in parts:
        ground |= part
    for rim in rims:
        if (ground & rim).sum() < _SURROUNDED * max(1, int((rim & ~taken).sum())):
            return []
    return [patch for part in parts if (patch := _patch(squares, part)).noise <= _EVEN]


def _patch(squares: _Squares, part: BoolArray) -> Patch:
    row, column = np.nonzero(part)
    x, y = 0.5 * (squares.x[1:] + squares.x[:-1]), 0.5 * (squares.y[1:] + squares.y[:-1])
    place = np.column_stack([x[column], y[row]])
    light = squares.light[row, column]
    return Patch(place, light, spread_of_blocks(place, light), known=False)


def margin(chart: Region | None, size: tuple[int, int]) -> float:
    """Width to keep clear around a mark, over the picture's longer side."""
    if chart is None:
        return _MARGIN
    left, top, right, bottom = chart.box
    spacing = max((right - left) * size[0] / 6.0, (bottom - top) * size[1] / 4.0)
    return _MARGIN + _CHART_FRAME * spacing / max(size)


def _squares(picture: Picture) -> _Squares:
    """The picture's squares; those at its rim are whole."""
    step = max(1, max(picture.size) // _PIXELS_ALONG)
    linear = picture.linear[::step, ::step]
    lost = picture.clipped_high[::step, ::step]
    height, width = lost.shape
    side = max(4, max(height, width) // _SQUARES)
    rows, columns = height // side, width // side
    blocks = linear[: rows * side, : columns * side].reshape(rows, side, columns, side, 3)
    blocks = blocks.swapaxes(1, 2).reshape(rows, columns, side * side, 3)
    gone = lost[: rows * side, : columns * side].reshape(rows, side, columns, side)
    sensor = np.median(blocks, axis=2).astype(float) @ to_sensor().T
    level = blocks.mean(axis=3)
    middle = np.median(level, axis=2)
    spread = 1.4826 * np.median(np.abs(level - middle[..., None]), axis=2)
    plain = (
        (spread < _PLAIN * np.maximum(middle, 1e-6))
        & (sensor.min(axis=2) > _DARKEST)
        & (sensor.max(axis=2) < _BRIGHTEST)
        & (gone.mean(axis=(1, 3)) < 0.1)
    )
    return _Squares(
        np.arange(columns + 1) * side / width,
        np.arange(rows + 1) * side / height,
        np.log(np.maximum(sensor, 1e-6)),
        plain,
    )


def _even_parts(squares: _Squares, free: BoolArray) -> list[BoolArray]:
    """The sets of free squares that pass evenly into each other, the small ones left out."""
    from scipy.ndimage import median_filter  # noqa: PLC0415 - slow to import
    from scipy.sparse import coo_array  # noqa: PLC0415 - slow to import
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415 - slow to import

    number = np.arange(free.size).reshape(free.shape)
    every, one, less = slice(None), slice(1, None), slice(None, -1)
    ends = []
    for here, there in (((every, less), (every, one)), ((less, every), (one, every))):
        step = squares.light[there] - squares.light[here]
        usual = median_filter(step, size=(5, 5, 1), mode="nearest")
        evenly = (
            (np.abs(step).max(axis=-1) < _STEP)
            & (np.abs(step - usual).mean(axis=-1) < _JUMP)
            & (np.ptp(step, axis=-1) < _HUE_STEP)
        )
        tied = free[here] & free[there] & evenly
        ends.append((number[here][tied], number[there][tied]))
    a, b = (np.concatenate(side) for side in zip(*ends, strict=True))
    graph = coo_array((np.ones(a.size), (a, b)), shape=(free.size, free.size))
    label = connected_components(graph, directed=False)[1].reshape(free.shape)
    sizes = np.bincount(label[free], minlength=1)
    return [free & (label == i) for i in np.flatnonzero(sizes >= _LEAST_SQUARES)]
