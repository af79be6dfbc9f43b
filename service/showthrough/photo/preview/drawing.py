"""Drawing a preview: the photo in bands of rows, on several threads.

First every pixel is looked at once to learn which colours occur; only those nodes
of the table are reckoned. Then the bands are painted, all coats of a pixel together.
Bands write to rows of their own and share nothing, so the result is the same on any
number of threads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.lights import FloatArray
from showthrough.photo.picture.encoding import SRGB
from showthrough.photo.preview.areas import Photo
from showthrough.photo.preview.ground import AreaGround, Recipe
from showthrough.photo.preview.light import FaceLight
from showthrough.photo.preview.model import Coating, painted_light, surface_spectra
from showthrough.photo.preview.table import (
    POWER,
    SEEN_SIZE,
    Cells,
    ColourTable,
    Float32Array,
    coarser,
    coordinates,
    encoded,
    lattice_light,
    nodes_seen,
    rounded,
)

FRAMES_BYTES = 450_000_000
"""Most memory that unfinished pictures take; more coats are painted in several passes."""

MOST_NODES = 16_000
"""Nodes that are reckoned by the model itself; where a photo asks for more, every second or
fourth node along each channel is, and those between are interpolated. Photos of furniture ask
for some thousands, pure noise for all 274,625, which would take half a minute."""

_BAND_PIXELS = 1 << 16
_NODES_AT_ONCE = 1024
_PIXEL = np.dtype("V3")
"""Three bytes that are moved together."""

# Where in the progress, 0 to 1, the steps end.
_READ, _SEEN, _KNOWN = 0.02, 0.15, 0.30

Nodes = Mapping[Recipe, NDArray[np.int64]]


def _step_for(nodes: Nodes) -> int:
    """How many cells apart nodes are reckoned, 1, 2 or 4, so that few are."""
    every = np.concatenate(list(nodes.values()))
    return next((s for s in (1, 2) if coarser(every, s).size <= MOST_NODES), 4)


@dataclass(frozen=True, slots=True)
class _Part:
    """The pixels of one area in one band."""

    ground: AreaGround
    where: slice | NDArray[np.int64]
    """Their places among the band's pixels."""
    pixels: Photo
    """Shape (n, 3)."""
    root: Float32Array
    """Light that falls on them, to the power 1 / 2.4, shape (n,)."""

    def cells(self) -> Cells:
        """Their colours without the shading, as places in the lattice."""
        inverse = np.float32(1.0) / self.root
        gain = (self.ground.gain**POWER).astype(np.float32)
        place = np.empty((3, self.root.size), dtype=np.float32)
        for channel in range(3):
            seen = self.pixels[:, channel]
            if seen.dtype == np.uint8:
                codes = seen.astype(np.intp)
                np.take(_PLACE_OF_CODE * gain[channel], codes, out=place[channel], mode="clip")
            else:
                place[channel] = coordinates(seen.astype(np.float32, copy=False)) * gain[channel]
            place[channel] *= inverse
        return Cells.of(place)


_PLACE_OF_CODE = coordinates(SRGB.table)


@dataclass(frozen=True, slots=True)
class Drawing:
    """One run over a photo."""

    photo: Photo
    label: NDArray[np.uint8]
    """Number of the area of each pixel, from 1; 0 outside; shape (h, w)."""
    grounds: tuple[AreaGround, ...]
    coating: Coating
    exposure: float
    pool: Executor
    progress: Callable[[float], None]

    def images(self, coats: Sequence[int]) -> Iterator[NDArray[np.uint8]]:
        """8-bit sRGB after each of some coats, rising; each shape (h, w, 3)."""
        bare = self._bare()
        if coats[0] == 0 and self.coating.undercoat is None:
            yield bare.copy()
            coats = coats[1:]
        nodes = self._survey()
        step = _step_for(nodes)
        spectra = self._spectra(nodes, step)
        at_once = max(1, FRAMES_BYTES // bare.nbytes)
        per_coat = (1.0 - _KNOWN) / len(coats)
        for first in range(0, len(coats), at_once):
            group = coats[first : first + at_once]
            tables = self._tables(nodes, spectra, group, step)
            images = [bare.copy() for _ in group]
            begin = _KNOWN + per_coat * first
            paint = partial(self._paint, tables, images)
            self._over_bands(paint, begin, begin + per_coat * len(group))
            while images:
                yield images.pop(0)

    def _over_bands(self, work: Callable[[slice], None], start: float, end: float) -> None:
        height, width = self.label.shape
        rows = max(1, _BAND_PIXELS // width)
        bands = [slice(top, min(top + rows, height)) for top in range(0, height, rows)]
        for i, _ in enumerate(self.pool.map(work, bands)):
            self.progress(start + (end - start) * (i + 1) / len(bands))

    def _bare(self) -> NDArray[np.uint8]:
        """The photo as 8-bit sRGB."""
        if self.photo.dtype == np.uint8:
            return self.photo.astype(np.uint8, copy=False)
        bare = np.empty(self.photo.shape, dtype=np.uint8)

        def encode(rows: slice) -> None:
            bare[rows] = encoded(self.photo[rows].astype(np.float32))

        self._over_bands(encode, 0.0, _READ)
        return bare

    def _parts(self, rows: slice) -> Iterator[_Part]:
        """The areas that lie in a band."""
        label = self.label[rows].ravel()
        least, most = int(label.min()), int(label.max())
        present = range(least, most + 1) if least == most else np.unique(label).tolist()
        pixels = self.photo[rows].reshape(-1, 3)
        roots: dict[FaceLight, Float32Array] = {}
        for number in present:
            if number == 0:
                continue
            ground = self.grounds[number - 1]
            if ground.face not in roots:
                lines = np.arange(rows.start, rows.stop)
                roots[ground.face] = ground.face.root(lines, self.label.shape[1]).ravel()
            root = roots[ground.face]
            if least == most:
                yield _Part(ground, slice(0, label.size), pixels, root)
            else:
                where = np.flatnonzero(label == number)
                yield _Part(ground, where, pixels[where], root[where])

    def _survey(self) -> Nodes:
        """Nodes of the table that the pixels ask for, by recipe."""
        seen = {g.recipe: np.zeros(SEEN_SIZE, dtype=bool) for g in self.grounds}

        def look(rows: slice) -> None:
            for part in self._parts(rows):
                part.cells().mark(seen[part.ground.recipe])

        self._over_bands(look, _READ, _SEEN)
        return {recipe: nodes_seen(marks) for recipe, marks in seen.items()}

    def _spectra(self, nodes: Nodes, step: int) -> tuple[NDArray[np.int64], FloatArray]:
        """All nodes to be reckoned, in order, and the spectra (n, 31) of their colours."""
        every = coarser(np.concatenate(list(nodes.values())), step)
        light = lattice_light(every)
        parts = [light[i : i + _NODES_AT_ONCE] for i in range(0, len(light), _NODES_AT_ONCE)]
        found = []
        for i, spectra in enumerate(self.pool.map(surface_spectra, parts)):
            found.append(spectra)
            self.progress(_SEEN + (_KNOWN - _SEEN) * (i + 1) / len(parts))
        return every, np.concatenate(found)

    def _tables(
        self,
        nodes: Nodes,
        spectra: tuple[NDArray[np.int64], FloatArray],
        coats: Sequence[int],
        step: int,
    ) -> dict[Recipe, ColourTable]:
        """The tables for some coats, by recipe."""
        every, known = spectra
        tables = {}
        for recipe, wanted in nodes.items():
            films = [recipe.films_um[coat] for coat in coats]
            reckoned = coarser(wanted, step)
            ground = known[np.searchsorted(every, reckoned)]
            light = painted_light(ground, recipe.skin, self.coating, films)
            table = ColourTable.of(reckoned, light)
            tables[recipe] = table if step == 1 else table.filled(step)
        return tables

    def _paint(
        self, tables: Mapping[Recipe, ColourTable], images: list[NDArray[np.uint8]], rows: slice
    ) -> None:
        """Paint the areas of one band into the images of all coats."""
        exposure = np.float32(self.exposure**POWER)
        bands = [image[rows].reshape(-1).view(_PIXEL) for image in images]
        for part in self._parts(rows):
            codes = tables[part.ground.recipe].codes(part.cells(), part.root * exposure)
            painted = rounded(codes).view(_PIXEL)
            for coat, band in enumerate(bands):
                band[part.where] = painted[:, coat]
