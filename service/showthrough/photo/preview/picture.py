"""Preview pictures side by side, and as files without anything but the picture in them."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from showthrough.errors import ImageError

PictureKind = Literal["png", "jpeg"]

GROUND_CODE = 177
"""Neutral grey of L* 72 for places without a picture (a grey of ISO 3668's surround)."""

_JPEG_QUALITY = 92
_LONGEST_JPEG = 65_500
"""Most pixels along a side of a JPEG file (ITU-T T.81: 16 bits)."""


def side_by_side(
    images: Iterable[NDArray[np.uint8]], *, height_px: int = 720, columns: int | None = None
) -> NDArray[np.uint8]:
    """Pictures of one size, edge to edge without gaps, from left to right.

    Args:
        images: 8-bit sRGB, each shape (h, w, 3); taken one at a time, so that only
            the small ones are held.
        height_px: height of each in the result; smaller pictures keep their size.
        columns: how many in a row; all in one row where not given. What is left of
            the last row stays neutral grey.

    Raises:
        ImageError: There is no picture, they differ in size, or a number is below 1.
    """
    for name, value in (("height_px", height_px), ("columns", columns)):
        if value is not None and value < 1:
            raise ImageError.at(name, value, f"{name} must be at least 1")
    tiles: list[NDArray[np.uint8]] = []
    size: tuple[int, ...] | None = None
    for image in images:
        if size is not None and image.shape != size:
            raise ImageError.at("images", image.shape, f"pictures must be of one size, {size}")
        size = image.shape
        tiles.append(_shrunk(image, height_px))
    if not tiles:
        raise ImageError.at("images", "none", "give at least one picture")
    across = min(columns or len(tiles), len(tiles))
    down = math.ceil(len(tiles) / across)
    height, width = tiles[0].shape[:2]
    sheet = np.full((down * height, across * width, 3), GROUND_CODE, dtype=np.uint8)
    for i, tile in enumerate(tiles):
        top, left = i // across * height, i % across * width
        sheet[top : top + height, left : left + width] = tile
    return sheet


def _shrunk(image: NDArray[np.uint8], height_px: int) -> NDArray[np.uint8]:
    """The mean of the pixels that fall on each smaller one."""
    height, width = image.shape[:2]
    if height <= height_px:
        return image.copy()
    size = (max(1, round(width * height_px / height)), height_px)
    return np.array(Image.fromarray(image).resize(size, Image.Resampling.BOX))


def encode_picture(image: NDArray[np.uint8], kind: PictureKind = "png") -> bytes:
    """An image file with the pixels and nothing else: no metadata, no profile (sRGB).

    Args:
        image: 8-bit sRGB, shape (h, w, 3).
        kind: "png" (exact) or "jpeg" (quality 92, full colour resolution).

    Raises:
        ImageError: The kind is another, or the picture is too large for it.
    """
    if kind not in ("png", "jpeg"):
        raise ImageError.at("kind", kind, 'a preview is saved as "png" or "jpeg"')
    if kind == "jpeg" and max(image.shape[:2]) > _LONGEST_JPEG:
        raise ImageError.at(
            "kind",
            f"{image.shape[1]} x {image.shape[0]} pixels",
            f"a JPEG file is at most {_LONGEST_JPEG} pixels wide and high; make the pictures "
            "smaller, put fewer in a row, or save as PNG",
        )
    out = io.BytesIO()
    picture = Image.fromarray(image)
    if kind == "png":
        picture.save(out, "PNG", compress_level=4)
    else:
        picture.save(out, "JPEG", quality=_JPEG_QUALITY, subsampling=0)
    return out.getvalue()
