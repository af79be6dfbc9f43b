"""From the numbers in a picture file to linear light with the sRGB primaries.

A phone's wide-gamut picture is taken through ImageCms into a wide space of our
own, whose primaries hold more than a phone can show, and linearised from there:
nothing is clipped to the narrower sRGB on the way.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import srgb_to_linear

LightArray = NDArray[np.float32]
"""Linear light; single precision is far finer than any camera."""

BoolArray = NDArray[np.bool_]
ByteArray = NDArray[np.uint8]

_SRGB = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
"""IEC 61966-2-1."""

_P3 = ((0.68, 0.32), (0.265, 0.69), (0.15, 0.06))
"""SMPTE EG 432-1 with a D65 white, as phones use it."""

_WIDE = ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046))
"""ITU-R BT.2020."""

_D65 = (0.3127, 0.3290)
_D50_XYZ = np.array([0.9642, 1.0, 0.8249])
"""White of the profile connection space (ICC.1)."""

_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
"""Cone responses used by ICC.1 for the adaptation to D50."""

_WIDE_GAMMA = 563.0 / 256.0
"""Near 2.2, and exact in the 8.8 fixed point of a curve with one entry (ICC.1)."""


def _to_xyz(primaries: tuple[tuple[float, float], ...]) -> FloatArray:
    """RGB to XYZ, white D65 with Y = 1, shape (3, 3)."""
    xyz = np.array([[x / y, 1.0, (1.0 - x - y) / y] for x, y in primaries]).T
    x, y = _D65
    white = np.array([x / y, 1.0, (1.0 - x - y) / y])
    return np.asarray(xyz * np.linalg.solve(xyz, white), dtype=np.float64)


def _to_srgb(primaries: tuple[tuple[float, float], ...]) -> FloatArray:
    """Linear light with some primaries to linear sRGB, shape (3, 3)."""
    return np.asarray(np.linalg.solve(_to_xyz(_SRGB), _to_xyz(primaries)), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Encoding:
    """How the 8-bit numbers of a picture stand for light."""

    name: str
    table: LightArray
    """Linear light of each of the 256 numbers, shape (256,)."""
    matrix: LightArray | None
    """To the sRGB primaries, shape (3, 3); None where they are those already."""

    def linear(self, pixels: ByteArray) -> LightArray:
        """Linear sRGB light of 8-bit pixels, both of shape (..., 3)."""
        light: LightArray = self.table[pixels]
        return light if self.matrix is None else light @ self.matrix.T


def _encoding(
    name: str, curve: FloatArray, primaries: tuple[tuple[float, float], ...] | None
) -> Encoding:
    matrix = None if primaries is None else _to_srgb(primaries).astype(np.float32)
    return Encoding(name, curve.astype(np.float32), matrix)


_STEPS = np.arange(256) / 255.0
SRGB = _encoding("sRGB", srgb_to_linear(_STEPS), None)
DISPLAY_P3 = _encoding("P3 with a D65 white", srgb_to_linear(_STEPS), _P3)


def _tag(signature: bytes, body: bytes) -> bytes:
    return signature + b"\0\0\0\0" + body


def _fixed(values: np.ndarray) -> bytes:
    """s15Fixed16 numbers."""
    return struct.pack(f">{values.size}i", *np.rint(values * 65536.0).astype(int))


@cache
def _wide_profile() -> bytes:
    """A version 2 display profile with our wide primaries and one gamma curve.

    Source: ICC.1:2001-04, matrix/TRC display profile.
    """
    to_xyz = _to_xyz(_WIDE)
    cones = _BRADFORD @ to_xyz.sum(axis=1)
    adapt = np.linalg.solve(_BRADFORD, np.diag(_BRADFORD @ _D50_XYZ / cones) @ _BRADFORD)
    colorants = (adapt @ to_xyz).T
    curve = _tag(b"curv", struct.pack(">IH", 1, round(_WIDE_GAMMA * 256)) + b"\0\0")
    text = b"showthrough wide\0"
    description = _tag(b"desc", struct.pack(">I", len(text)) + text + b"\0" * 78)
    bodies = {
        b"desc": description,
        b"cprt": _tag(b"text", b"none\0"),
        b"wtpt": _tag(b"XYZ ", _fixed(_D50_XYZ)),
        **{
            name: _tag(b"XYZ ", _fixed(row))
            for name, row in zip((b"rXYZ", b"gXYZ", b"bXYZ"), colorants, strict=True)
        },
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    }
    start = 128 + 4 + 12 * len(bodies)
    table, data = struct.pack(">I", len(bodies)), b""
    for name, body in bodies.items():
        table += name + struct.pack(">II", start + len(data), len(body))
        data += body + b"\0" * (-len(body) % 4)
    header = bytearray(128)
    header[0:4] = struct.pack(">I", start + len(data))
    header[8:12] = b"\x02\x10\0\0"
    header[12:24] = b"mntrRGB XYZ "
    header[24:36] = struct.pack(">6H", 2020, 1, 1, 0, 0, 0)
    header[36:40] = b"acsp"
    header[68:80] = _fixed(_D50_XYZ)
    return bytes(header) + table + data


@cache
def _wide_encoding() -> Encoding:
    return _encoding("wide", _STEPS**_WIDE_GAMMA, _WIDE)


Convert = Callable[[Image.Image], Image.Image]


def profile_reader(icc: bytes, mode: str) -> tuple[Convert, Encoding] | None:
    """How to read pixels of ``mode`` that an embedded profile describes.

    Args:
        icc: the profile as it stands in the file.
        mode: Pillow's mode of the pixels: L, RGB or CMYK.

    Returns:
        A function that turns a strip of the picture into 8-bit RGB, and the
        encoding of what it returns; None where the profile cannot be used.
    """
    space = {"L": "GRAY", "RGB": "RGB", "CMYK": "CMYK"}[mode]
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(icc))
        if source.profile.xcolor_space.strip() != space:
            return None
        name = " ".join(ImageCms.getProfileDescription(source).split())[:60] or "unnamed profile"
        if space == "RGB" and "srgb" in name.lower():
            return (lambda strip: strip), Encoding(name, SRGB.table, None)
        wide = ImageCms.ImageCmsProfile(io.BytesIO(_wide_profile()))
        transform = ImageCms.buildTransform(
            source, wide, mode, "RGB", ImageCms.Intent.RELATIVE_COLORIMETRIC
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return None

    def convert(strip: Image.Image) -> Image.Image:
        done = ImageCms.applyTransform(strip, transform)
        return strip if done is None else done

    found = _wide_encoding()
    return convert, Encoding(name, found.table, found.matrix)
