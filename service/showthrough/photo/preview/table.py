"""A small table of what paint does to the colours of a surface.

The model of one pixel (``preview_model``) is reckoned at the nodes of a lattice,
only at those that a photo asks for, and everything between is interpolated over
tetrahedra.

Coordinates and table hold light to the power 1 / 2.4. That is nearly even for the
eye, a factor of light stays a factor, and the sRGB curve is a straight line of it.

Sources: tetrahedral interpolation after Kasson, Nin, Plouffe, Hafner 1995 (J. Electron.
Imaging 4(3)); IEC 61966-2-1 for the curve.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.lights import FloatArray
from showthrough.photo.preview.model import GLARE

Float32Array = NDArray[np.float32]

STEPS = 64
"""Cells of the lattice along one channel."""

POWER = 1.0 / 2.4
"""Exponent of the coordinates: that of the sRGB curve (IEC 61966-2-1)."""

_SIDE = STEPS + 1
_STRIDES = (_SIDE * _SIDE, _SIDE, 1)
_FAR = sum(_STRIDES)
_STRETCH = STEPS / GLARE**POWER

# The sRGB curve on 8 bits: code = _SLOPE * light ** POWER - _OFFSET, and a straight
# line of light below _TOE.
_SLOPE = 255.0 * 1.055
_OFFSET = 255.0 * 0.055
_TOE = 255.0 * 0.04045
_TOE_SLOPE = 255.0 * 12.92


def coordinates(light: FloatArray | Float32Array) -> Float32Array:
    """Places in the lattice, in cells, of linear light of any shape; not yet bounded above."""
    place = np.maximum(light, 0.0).astype(np.float32)
    np.power(place, np.float32(POWER), out=place)
    place *= np.float32(_STRETCH)
    return place


def lattice_light(nodes: NDArray[np.int64]) -> FloatArray:
    """Linear light of nodes, shape (n,) -> (n, 3)."""
    index = np.stack([nodes // _STRIDES[0], nodes // _SIDE % _SIDE, nodes % _SIDE], axis=-1)
    return (index / _STRETCH) ** (1.0 / POWER)


@dataclass(frozen=True, slots=True)
class Cells:
    """Which tetrahedra hold n pixels."""

    first: NDArray[np.int32]
    """Node at the low corner of the lattice's cell, shape (n,)."""
    order: NDArray[np.int8]
    """Which of the cell's six tetrahedra: a bit each for x >= y, y >= z and x >= z."""
    inside: Float32Array
    """Place within the cell, 0 to 1, shape (3, n)."""

    @classmethod
    def of(cls, place: Float32Array) -> Cells:
        """Of places in cells, at least 0, shape (3, n); bounded at ``GLARE`` in place."""
        np.minimum(place, np.float32(STEPS), out=place)
        cell = place.astype(np.int32)
        np.minimum(cell, np.int32(STEPS - 1), out=cell)
        place -= cell
        x, y, z = place
        order = (x >= y).view(np.int8)
        order += (y >= z).view(np.int8) << 1
        order += (x >= z).view(np.int8) << 2
        first = cell[0] * np.int32(_STRIDES[0])
        first += cell[1] * np.int32(_STRIDES[1])
        first += cell[2]
        return cls(first, order, place)

    def mark(self, seen: NDArray[np.bool_]) -> None:
        """Note the tetrahedra in an array of ``SEEN_SIZE``."""
        seen[(self.first << 3) + self.order] = True

    def corners(self) -> NDArray[np.int32]:
        """The nodes at the four corners, shape (n, 4)."""
        nodes = np.empty((self.first.size, 4), dtype=np.int32)
        nodes[:, 0] = self.first
        np.add(self.first, np.take(_ONE_STEP, self.order), out=nodes[:, 1])
        np.add(self.first, np.take(_TWO_STEPS, self.order), out=nodes[:, 2])
        np.add(self.first, np.int32(_FAR), out=nodes[:, 3])
        return nodes

    def shares(self, scale: Float32Array) -> Float32Array:
        """Shares of the corners, which add to ``scale`` (n,), shape (n, 4)."""
        x, y, z = self.inside
        low, high = np.minimum(x, y), np.maximum(x, y)
        least, largest = np.minimum(low, z), np.maximum(high, z)
        middle = np.maximum(low, np.minimum(high, z))
        shares = np.empty((x.size, 4), dtype=np.float32)
        np.subtract(np.float32(1.0), largest, out=shares[:, 0])
        np.subtract(largest, middle, out=shares[:, 1])
        np.subtract(middle, least, out=shares[:, 2])
        shares[:, 3] = least
        shares *= scale[:, None]
        return shares


SEEN_SIZE = 8 * _SIDE**3


def nodes_seen(seen: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Nodes at the corners of the tetrahedra that were marked, in order."""
    marked = np.flatnonzero(seen)
    first, order = marked >> 3, marked & 7
    held = np.zeros(_SIDE**3, dtype=bool)
    for step in (0, _ONE_STEP[order], _TWO_STEPS[order], _FAR):
        held[first + step] = True
    return np.flatnonzero(held)


def coarser(nodes: NDArray[np.int64], step: int) -> NDArray[np.int64]:
    """Nodes of a lattice of every ``step``-th node that hold the given ones between them."""
    held = np.zeros((_SIDE,) * 3, dtype=bool)
    held.ravel()[nodes] = True
    for axis in range(3):
        fine = np.moveaxis(held, axis, 0)
        coarse = fine[::step].copy()
        for part in range(1, step):
            coarse[:-1] |= fine[part::step]
            coarse[1:] |= fine[part::step]
        held = np.moveaxis(coarse, 0, axis)
    return np.array(_STRIDES) @ np.stack(np.nonzero(held)) * step


def _steps() -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Offset of the second and third corner by which of x >= y, y >= z, x >= z hold."""
    one, two = np.zeros(8, dtype=np.int32), np.zeros(8, dtype=np.int32)
    x, y, z = _STRIDES
    for order, largest, least in (
        (0b111, x, z), (0b101, x, y), (0b110, y, z), (0b010, y, x), (0b001, z, y), (0b000, z, x),
    ):  # fmt: skip
        one[order], two[order] = largest, _FAR - least
    return one, two


_ONE_STEP, _TWO_STEPS = _steps()


@dataclass(frozen=True, slots=True)
class ColourTable:
    """The lattice filled in for one ground skin, one coating and m films."""

    rows: Float32Array
    """Light to the power 1 / 2.4 at each node, shape (nodes, 3 m); 0 where not asked for."""

    @classmethod
    def of(cls, nodes: NDArray[np.int64], light: FloatArray) -> ColourTable:
        """From the light (n, m, 3) of n nodes; light below 0 is beyond a screen and cut off."""
        rows = np.zeros((_SIDE**3, light[0].size), dtype=np.float32)
        rows[nodes] = np.maximum(light, 0.0).reshape(len(nodes), -1) ** POWER
        return cls(rows)

    def filled(self, step: int) -> ColourTable:
        """With all nodes between every ``step``-th one interpolated, trilinearly."""
        light = self.rows.reshape(_SIDE, _SIDE, _SIDE, -1)[::step, ::step, ::step]
        for axis in range(3):
            coarse = np.moveaxis(light, axis, 0)
            fine = np.empty((_SIDE, *coarse.shape[1:]), dtype=np.float32)
            fine[::step] = coarse
            for part in range(1, step):
                share = np.float32(part / step)
                fine[part::step] = coarse[:-1] + share * (coarse[1:] - coarse[:-1])
            light = np.moveaxis(fine, 0, axis)
        return ColourTable(np.ascontiguousarray(light).reshape(self.rows.shape))

    def codes(self, cells: Cells, shading: Float32Array) -> Float32Array:
        """8-bit sRGB numbers before they are rounded, shape (n, 3 m).

        Args:
            cells: of n pixels.
            shading: light that falls on them to the power 1 / 2.4, shape (n,).
        """
        from scipy.sparse import csr_array  # noqa: PLC0415 - slow to import

        count = shading.size
        shares = cells.shares(shading * np.float32(_SLOPE))
        ends = np.arange(0, 4 * count + 1, 4, dtype=np.int32)
        mix = csr_array(
            (shares.ravel(), cells.corners().ravel(), ends), shape=(count, len(self.rows))
        )
        codes: Float32Array = mix @ self.rows
        codes -= np.float32(_OFFSET)
        return bend_toe(codes)


def bend_toe(codes: Float32Array) -> Float32Array:
    """The dark end of the sRGB curve, in place: below 10.3 it is a line of light."""
    dark = codes < np.float32(_TOE)
    if dark.any():
        low = codes[dark]
        low += np.float32(_OFFSET)
        low *= np.float32(1.0 / _SLOPE)
        np.power(np.maximum(low, 0.0), np.float32(1.0 / POWER), out=low)
        low *= np.float32(_TOE_SLOPE)
        codes[dark] = low
    return codes


def rounded(codes: Float32Array) -> NDArray[np.uint8]:
    """Codes as 8-bit numbers; overwrites ``codes``."""
    codes += np.float32(0.5)
    np.clip(codes, 0.0, 255.0, out=codes)
    return codes.astype(np.uint8)


def encoded(light: Float32Array) -> NDArray[np.uint8]:
    """Linear light of any shape as 8-bit sRGB."""
    codes = np.maximum(light, np.float32(0.0))
    np.power(codes, np.float32(POWER), out=codes)
    codes *= np.float32(_SLOPE)
    codes -= np.float32(_OFFSET)
    return rounded(bend_toe(codes))
