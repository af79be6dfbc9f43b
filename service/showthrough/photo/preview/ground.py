"""What the marked areas of a preview are: how they are lit and what colour they have."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import lab_to_xyz, xyz_to_linear_rgb
from showthrough.errors import InputError
from showthrough.photo.picture.encoding import SRGB
from showthrough.photo.preview.areas import PaintedArea, Photo
from showthrough.photo.preview.light import FaceLight, face_light, luminance
from showthrough.photo.preview.model import Coating, Skin, painted_light, surface_spectra

_SAMPLE = 40_000
"""Pixels of a face that its light is read from."""

_CLIPPED_HIGH = 0.97
_TRIM = 0.1
_MOST_GAIN = 8.0
_UNEVEN = 1.15
_BLACK = 0.0015
"""Light from which down a photo shows nothing: about 5 of 255 in an sRGB file."""

_WORTH_A_WORD = 0.02


def lost_parts(photo: Photo, label: NDArray[np.uint8]) -> tuple[float, float]:
    """Parts of the marked areas that are burnt out and black in the photo.

    Args:
        photo: shape (h, w, 3).
        label: number of the area of each pixel, 0 outside all; shape (h, w).
    """
    step = max(1, math.isqrt(label.size // _SAMPLE))
    light = linear_light(photo[::step, ::step][label[::step, ::step] > 0])
    if not light.size:
        return 0.0, 0.0
    clipped_high, black = light.max(axis=1) >= _CLIPPED_HIGH, light.max(axis=1) <= _BLACK
    return float(clipped_high.mean()), float(black.mean())


@dataclass(frozen=True, slots=True)
class Recipe:
    """Areas whose pixels look alike under paint where they look alike without."""

    skin: Skin
    films_um: tuple[float, ...]
    """Total dry film after each coat, from coat 0."""


@dataclass(frozen=True, slots=True)
class AreaGround:
    """One marked area, ready to be painted."""

    recipe: Recipe
    face: FaceLight
    gain: FloatArray
    """From light in the photo to the surface's own, per channel, shape (3,)."""


@dataclass(frozen=True, slots=True)
class _Sample:
    light: FloatArray
    x: FloatArray
    y: FloatArray
    area: NDArray[np.int64]


def linear_light(pixels: Photo) -> FloatArray:
    """Linear light of pixels of a photo, any shape."""
    if pixels.dtype == np.uint8:
        return SRGB.table[pixels.astype(np.intp)].astype(float)
    return pixels.astype(float)


def _sample(photo: Photo, label: NDArray[np.uint8], numbers: Sequence[int], held: int) -> _Sample:
    """Light at about ``_SAMPLE`` places, on an even grid, of the areas with these numbers."""
    step = max(1, math.isqrt(held // _SAMPLE))
    wanted = np.zeros(256, dtype=bool)
    wanted[list(numbers)] = True
    row, column = np.nonzero(wanted[label[::step, ::step]])
    row, column = row * step, column * step
    light = linear_light(photo[row, column])
    return _Sample(light, column.astype(float), row.astype(float), label[row, column].astype(int))


def grounds_of(
    photo: Photo,
    areas: Sequence[PaintedArea],
    label: NDArray[np.uint8],
    held: Sequence[int],
    films_um: tuple[float, ...],
) -> tuple[AreaGround, ...]:
    """The areas' light and colour, from a sample of their pixels.

    Args:
        photo: shape (h, w, 3).
        areas: the marked areas.
        label: number of the area of each pixel, from 1, shape (h, w).
        held: pixels of each area.
        films_um: total dry film after each coat, for areas that name none.

    Raises:
        InputError: An area's measured colour cannot be that of the photo.
    """
    size = (photo.shape[1], photo.shape[0])
    faces: dict[str, list[int]] = {}
    for i, area in enumerate(areas):
        faces.setdefault(area.face, []).append(i)
    lights = {}
    for face, members in faces.items():
        numbers = [i + 1 for i in members]
        taken = _sample(photo, label, numbers, sum(held[i] for i in members))
        clear = taken.light.max(axis=1) < _CLIPPED_HIGH
        lights[face] = face_light(
            taken.light[clear], taken.x[clear], taken.y[clear], taken.area[clear], size
        )
    return tuple(
        AreaGround(
            Recipe(area.skin, (0.0, *(float(f) for f in area.films_um or films_um))),
            lights[area.face],
            _gain(_sample(photo, label, [i + 1], held[i]), lights[area.face], area, i),
        )
        for i, area in enumerate(areas)
    )


def _gain(sample: _Sample, face: FaceLight, area: PaintedArea, index: int) -> FloatArray:
    """What brings the area's mean in the photo to its measured colour, shape (3,)."""
    if area.lab is None:
        return np.ones(3)
    flat = sample.light / face.at(sample.x, sample.y)[:, None]
    bright = luminance(flat)
    low, high = np.quantile(bright, [_TRIM, 1.0 - _TRIM])
    mean = np.maximum(flat[(bright >= low) & (bright <= high)].mean(axis=0), 1e-4)
    measured = np.maximum(xyz_to_linear_rgb(lab_to_xyz(area.lab)), 1e-4)
    exposure = float(luminance(measured) / luminance(mean))
    if not 1.0 / _MOST_GAIN <= exposure <= _MOST_GAIN:
        raise InputError.at(
            f"areas[{index + 1}].lab",
            tuple(area.lab),
            f"the photo shows {1.0 / exposure:.2g} times the light of the measured colour there; "
            "check that the area is the one that was measured, and the photo's exposure",
        )
    return measured / mean


def notes_on(
    grounds: Sequence[AreaGround],
    areas: Sequence[PaintedArea],
    coating: Coating,
    exposure: float,
    lost: tuple[float, float] = (0.0, 0.0),
) -> tuple[str, ...]:
    """Sentences for the user: what is taken for granted, what a photo cannot tell.

    Args:
        grounds: what was read about each area.
        areas: the marked areas.
        coating: the paints.
        exposure: factor on the light of the painted areas.
        lost: parts of the marked areas that are burnt out and black in the photo.
    """
    notes = []
    for part, what in zip(lost, ("burnt out", "black"), strict=True):
        if part > _WORTH_A_WORD:
            notes.append(
                f"{part:.0%} of the marked area is {what} in the photo: what lies there cannot be "
                "seen, and under thin paint it is drawn as it looks; take the photo "
                + ("darker." if what == "burnt out" else "lighter.")
            )
    ratio = max(g.face.ratio for g in grounds)
    if ratio > _UNEVEN:
        notes.append(
            f"The light falls off by {ratio:.1f} : 1 over the marked face; that is taken as a "
            "smooth fall-off and kept in the pictures."
        )
    notes.append(
        "Shadows with a sharp border (mouldings, edges, dents) cannot be told from dark colour in "
        "a photo: they fade under the paint, as stains do. A surface that fades slowly from "
        "light to dark in one hue is taken as unevenly lit; mark large patches of another "
        "lightness as areas of their own."
    )
    if any(a.lab is None for a in areas):
        notes.append(
            "The surface's colour is as photographed: without a measured colour it is only as "
            "right as the phone's exposure and white balance."
        )
    notes.append(
        "The pictures show the mean film of each coat, without sheen and brush marks; thin spots "
        "show more of the ground."
    )
    least, most = _range_of_paint(grounds, coating)
    if most * exposure > 1.02:
        notes.append(
            "Where the light is best the paint is brighter than a picture can hold, and is cut off "
            f"there; an exposure of {math.floor(100.0 / most) / 100.0:g} of this photo's keeps all "
            "of it."
        )
    if least < -0.002:
        notes.append("The paint is purer than a screen can show; it looks a little duller here.")
    return tuple(notes)


def _range_of_paint(grounds: Sequence[AreaGround], coating: Coating) -> tuple[float, float]:
    """Least and most light in a channel after the last coat, over a mid grey, in the best light."""
    grey = surface_spectra(np.full((1, 3), 0.2))
    least, most = 0.0, 0.0
    for ground in grounds:
        films = ground.recipe.films_um[-1:]
        light = painted_light(grey, ground.recipe.skin, coating, films)
        least = min(least, float(light.min()))
        most = max(most, float(light.max()) * ground.face.brightest)
    return least, most
