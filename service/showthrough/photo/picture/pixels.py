"""The pixels of an opened image file as linear light, a strip at a time.

Strips keep the memory for a large picture near that of the decoded file alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from PIL import Image

from showthrough.errors import ImageError
from showthrough.photo.picture.encoding import (
    DISPLAY_P3,
    SRGB,
    BoolArray,
    ByteArray,
    Convert,
    Encoding,
    LightArray,
    profile_reader,
)

_STRIP_PIXELS = 500_000

_CLIPPED_HIGH = 254
"""From this number up a channel may hold any greater light."""

_CLIPPED_LOW = 1
"""Up to this number a channel may hold any lesser light."""

_OPAQUE = 250

_P3_CODE = 12
"""Code point of the P3 primaries with a D65 white (ITU-T H.273)."""


@dataclass(frozen=True, slots=True)
class Light:
    """What a file's pixels say, not yet turned upright."""

    linear: LightArray
    clipped_high: BoolArray
    clipped_low: BoolArray
    encoding: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Reader:
    mode: str
    """Mode that the picture's own numbers are looked at in: L, RGB or CMYK."""
    convert: Convert
    encoding: Encoding


def shrink_factor(size: tuple[int, int], max_pixels: int) -> int:
    """Side of the squares of pixels to average so that at most ``max_pixels`` stay."""
    return max(1, math.ceil(math.sqrt(size[0] * size[1] / max_pixels)))


def read_light(image: Image.Image, max_pixels: int) -> Light:
    """Decode an opened image into linear light.

    Args:
        image: opened, of any mode; its size has been checked.
        max_pixels: most pixels to return; more are averaged over whole squares.

    Raises:
        ImageError: The picture holds printing inks without a usable profile.
    """
    reader, notes = _reader(image)
    factor = shrink_factor(image.size, max_pixels)
    width, height = image.width // factor, image.height // factor
    linear = np.empty((height, width, 3), dtype=np.float32)
    clipped_high = np.empty((height, width), dtype=bool)
    clipped_low = np.empty((height, width), dtype=bool)
    see_through = False
    rows = max(1, _STRIP_PIXELS // (image.width * factor))
    for top in range(0, height, rows):
        count = min(rows, height - top)
        box = (0, top * factor, width * factor, (top + count) * factor)
        strip = image.crop(box)
        clear = _clear(strip)
        own = _shallow(strip).convert(reader.mode)
        numbers = np.asarray(own)
        high, low = _ends(numbers, reader.mode)
        if clear is not None:
            see_through |= bool(clear.any())
            high |= clear
        part = slice(top, top + count)
        light = reader.encoding.linear(np.asarray(reader.convert(own)))
        linear[part] = _mean(light, factor)
        clipped_high[part] = _any(high, factor)
        clipped_low[part] = _any(low, factor)
    if see_through:
        notes.append("See-through parts of the picture are not measured.")
    if reader.mode == "L":
        notes.append("The picture is greyscale: it shows lightness, but no hue or chroma.")
    return Light(linear, clipped_high, clipped_low, reader.encoding.name, tuple(notes))


def _reader(image: Image.Image) -> tuple[_Reader, list[str]]:
    """How to read the image's numbers, and what to say about it."""
    grey = image.mode in ("1", "L", "LA", "La", "F") or image.mode.startswith("I")
    mode = "CMYK" if image.mode == "CMYK" else "L" if grey else "RGB"
    icc = image.info.get("icc_profile")
    if isinstance(icc, bytes) and icc:
        found = profile_reader(icc, mode)
        if found:
            return _Reader(mode, *found), []
    if mode == "CMYK":
        raise ImageError.at(
            "photo",
            "CMYK",
            "the picture holds printing inks (CMYK) without a usable colour profile; "
            "save it as an sRGB picture and try again",
        )
    nclx = image.info.get("nclx_profile")
    if isinstance(nclx, dict) and nclx.get("color_primaries") == _P3_CODE:
        return _Reader(mode, _to_rgb, DISPLAY_P3), []
    if icc:
        return _Reader(mode, _to_rgb, SRGB), [
            "The embedded colour profile cannot be used; the picture is read as sRGB."
        ]
    stated = "srgb" in image.info or isinstance(nclx, dict)
    return _Reader(mode, _to_rgb, SRGB), (
        [] if stated else ["The file names no colour profile; it is read as sRGB."]
    )


def _to_rgb(strip: Image.Image) -> Image.Image:
    return strip.convert("RGB")


def _clear(strip: Image.Image) -> BoolArray | None:
    """Where the strip is see-through, or None where it has no such notion."""
    if not strip.has_transparency_data:
        return None
    return np.asarray(strip.convert("RGBA").getchannel("A")) < _OPAQUE


def _shallow(strip: Image.Image) -> Image.Image:
    """16-bit grey as 8-bit grey; an alpha channel dropped without blending."""
    if strip.mode.startswith("I"):
        numbers = np.asarray(strip).astype(np.float64) / 257.0
        return Image.fromarray(np.clip(np.rint(numbers), 0, 255).astype(np.uint8))
    if strip.mode in ("La", "RGBa"):
        return strip.convert({"La": "LA", "RGBa": "RGBA"}[strip.mode])
    return strip


def _ends(numbers: ByteArray, mode: str) -> tuple[BoolArray, BoolArray]:
    """Where a channel is clipped high, and where one is clipped low; shape (h, w)."""
    if mode == "CMYK":
        bare: BoolArray = numbers.max(axis=-1) <= 255 - _CLIPPED_HIGH
        return bare, np.zeros_like(bare)
    channels = numbers.reshape(*numbers.shape[:2], -1)
    return np.any(channels >= _CLIPPED_HIGH, axis=-1), np.any(channels <= _CLIPPED_LOW, axis=-1)


def _mean(light: LightArray, factor: int) -> LightArray:
    if factor == 1:
        return light
    height, width = light.shape[0] // factor, light.shape[1] // factor
    tiles = light.reshape(height, factor, width, factor, 3)
    # Rows first: adding whole rows is quicker than a reduction over two strided axes.
    mean: LightArray = tiles.sum(axis=1).sum(axis=2) / np.float32(factor * factor)
    return mean


def _any(mask: BoolArray, factor: int) -> BoolArray:
    if factor == 1:
        return mask
    height, width = mask.shape[0] // factor, mask.shape[1] // factor
    tiles = mask.reshape(height, factor, width, factor)
    return np.asarray(tiles.any(axis=(1, 3)), dtype=bool)
