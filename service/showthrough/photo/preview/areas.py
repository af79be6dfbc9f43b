"""What is painted in a preview: marked areas of the photo, their grounds and films."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image

from showthrough.errors import ImageError, ProblemList
from showthrough.film.hiding import Paint
from showthrough.photo.picture.encoding import BoolArray
from showthrough.photo.picture.load import MAX_MEGAPIXELS
from showthrough.photo.place import Region
from showthrough.photo.preview.model import Skin

Photo = NDArray[np.uint8] | NDArray[np.float32]
"""8-bit sRGB numbers, or linear light with the sRGB primaries, white = 1; shape (h, w, 3)."""

MOST_AREAS = 100
"""Marked areas of one preview."""

MOST_COATS = 24
_THICKEST_UM = 10_000.0


@dataclass(frozen=True, slots=True)
class PaintedArea:
    """One patch of the surface in the photo."""

    where: Region | BoolArray
    """A polygon in fractions of the photo, or a mask, shape (h, w)."""
    skin: Skin = "coated"
    """"coated": seen through a surface of its own; "bare": raw wood or filler, in
    optical contact with the paint."""
    lab: tuple[float, float, float] | None = None
    """Its mean colour if that was measured, CIELAB (D65, 2 degrees); else as photographed."""
    films_um: tuple[float, ...] = ()
    """Total dry film after each coat, µm, where it differs here (a patch that drinks)."""
    face: str = ""
    """Areas with the same face lie in one plane and share its light."""


@dataclass(frozen=True, slots=True)
class Undercoat:
    """Something under the topcoat."""

    paint: Paint
    film_um: float
    """Dry film, µm."""


def check_photo(photo: Photo) -> None:
    """Refuse arrays that are no photo.

    Raises:
        ImageError: It is not (h, w, 3), neither uint8 nor floating, too large, or
            holds values that are not finite.
    """
    shape = photo.shape
    if photo.ndim != 3 or shape[2] != 3 or 0 in shape:
        raise ImageError.at("photo", shape, "a photo is an array of height x width x 3 channels")
    if shape[0] * shape[1] > MAX_MEGAPIXELS * 1_000_000:
        raise ImageError.at(
            "photo",
            f"{shape[1]} x {shape[0]} pixels",
            f"the photo is too large; up to {MAX_MEGAPIXELS} megapixels are previewed",
        )
    if photo.dtype == np.uint8:
        return
    if not np.issubdtype(photo.dtype, np.floating):
        raise ImageError.at(
            "photo",
            photo.dtype,
            "a photo is 8-bit sRGB numbers (uint8) or linear light (floating point, white = 1)",
        )
    if not all(np.isfinite(row).all() for row in photo):
        raise ImageError.at("photo", "not finite", "the photo holds values that are not numbers")


def check_paints(
    areas: Sequence[PaintedArea],
    films_um: Sequence[float],
    undercoat: Undercoat | None,
    exposure: float,
) -> None:
    """Refuse films, grounds and colours that cannot be, all at once.

    Raises:
        InputError: Names every field that is wrong.
    """
    wrong = ProblemList()
    _check_films(wrong, "films_um", films_um)
    if undercoat is not None and not 0.0 < undercoat.film_um <= _THICKEST_UM:
        wrong.add(
            "undercoat.film_um",
            undercoat.film_um,
            f"the undercoat's film must be above 0 and at most {_THICKEST_UM:g} µm",
        )
    if not 0.1 <= exposure <= 10.0:
        wrong.add("exposure", exposure, "exposure is a factor of light, 0.1 to 10; 1 changes none")
    if not 1 <= len(areas) <= MOST_AREAS:
        wrong.add("areas", len(areas), f"mark between 1 and {MOST_AREAS} areas to paint")
    for i, area in enumerate(areas):
        where = f"areas[{i + 1}]"
        if area.skin not in ("coated", "bare"):
            wrong.add(f"{where}.skin", area.skin, 'a skin is "coated" or "bare"')
        if area.films_um:
            _check_films(wrong, f"{where}.films_um", area.films_um)
            if len(area.films_um) != len(films_um):
                wrong.add(
                    f"{where}.films_um",
                    len(area.films_um),
                    f"give one film for each of the {len(films_um)} coats",
                )
        if area.lab is not None and not _is_lab(area.lab):
            wrong.add(
                f"{where}.lab", area.lab, "a colour is L* 0 to 100, a* and b* within -150 to 150"
            )
    wrong.raise_if_any()


def _check_films(wrong: ProblemList, field: str, films_um: Sequence[float]) -> None:
    films = [float(f) for f in films_um]
    if not 1 <= len(films) <= MOST_COATS:
        wrong.add(field, len(films), f"give the films of 1 to {MOST_COATS} coats")
    elif not all(0.0 <= f <= _THICKEST_UM for f in films):
        wrong.add(field, films, f"each film must lie between 0 and {_THICKEST_UM:g} µm")
    elif any(after <= before for before, after in pairwise(films)):
        wrong.add(
            field, films, "each coat adds film: give the total dry film after each coat, rising"
        )


def _is_lab(lab: ArrayLike) -> bool:
    values = np.asarray(lab, dtype=float)
    return bool(
        values.shape == (3,)
        and np.isfinite(values).all()
        and 0.0 <= values[0] <= 100.0
        and np.abs(values[1:]).max() <= 150.0
    )


def labelled(
    areas: Sequence[PaintedArea], size: tuple[int, int]
) -> tuple[NDArray[np.uint8], tuple[int, ...]]:
    """Number of the area that each pixel lies in, from 1; 0 outside all.

    Where areas overlap the later one is taken: a patch is marked after the board it is on.

    Returns:
        The numbers, shape (h, w), and how many pixels each area holds.

    Raises:
        ImageError: A mask or polygon does not fit the picture, or an area holds no
            pixel of its own; all such areas are named.
    """
    width, height = size
    label = np.zeros((height, width), dtype=np.uint8)
    wrong = ProblemList()
    for i, area in enumerate(areas):
        field = f"areas[{i + 1}].where"
        if isinstance(area.where, Region):
            problem = area.where.problem(field)
            if problem:
                wrong.problems.append(problem)
                continue
            window = area.where.window(size)
            label[window.rows, window.columns][window.inside] = i + 1
        elif area.where.shape != label.shape or area.where.dtype != np.bool_:
            wrong.add(
                field,
                f"{area.where.dtype} {area.where.shape}",
                f"a mask is true or false for each of the photo's {height} x {width} pixels",
            )
        else:
            label[area.where] = i + 1
    if wrong.problems:
        raise ImageError(wrong.problems)
    held = Image.fromarray(label).histogram()
    for i in range(len(areas)):
        if not held[i + 1]:
            wrong.add(
                f"areas[{i + 1}].where",
                "no pixels",
                "the area holds no pixel that a later area does not cover",
            )
    if wrong.problems:
        raise ImageError(wrong.problems)
    return label, tuple(held[1 : len(areas) + 1])
