"""A photo as it may be kept: the picture and its colours, and nothing else that the file held."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass

import numpy as np
from PIL import Image

from showthrough.colour.space import linear_to_srgb
from showthrough.photo.picture.encoding import DISPLAY_P3
from showthrough.photo.picture.formats import format_of
from showthrough.photo.picture.load import load_picture, opened_picture

_QUALITY = 95
"""Of JPEG; with whole colour, a measured colour moves by a few hundredths of a unit."""

_PLAIN = ("L", "LA", "RGB", "RGBA", "CMYK", "I;16")
"""Modes that are written as they are."""

_UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
"""What undoes each EXIF orientation. Source: EXIF 2.3, tag 274."""

_P3_CODE = 12
"""Code point of the P3 primaries (ITU-T H.273), where a HEIC holds no profile."""


@dataclass(frozen=True, slots=True)
class CleanPhoto:
    """A picture file that says nothing of place, time, camera or person."""

    content: bytes
    """PNG where it was one, else JPEG."""
    width: int
    height: int


def cleaned(data: bytes, name: str = "photo") -> CleanPhoto:
    """The picture alone, upright, with its colour profile.

    All else is left behind: EXIF with the place, XMP, IPTC, comments, thumbnails, further
    pictures and whatever hangs behind the end. An upright JPEG keeps its coded pixels as they
    are, so that a clean one stays the same file; of all others the pixels are written anew.

    Args:
        data: a JPEG, PNG, WebP or HEIC file.
        name: what to call it in messages.

    Raises:
        ImageError: it is none of these, damaged, too large or too small to be measured.
    """
    load_picture(data, name=name)  # refuses what cannot be measured
    image, kind, turn = opened_picture(data, name)
    if kind == "JPEG" and turn == 1:
        return CleanPhoto(_bare_jpeg(data), image.width, image.height)
    profile = image.info.get("icc_profile")
    upright = image if turn == 1 else image.transpose(_UPRIGHT[turn])
    keeps = kind == "PNG"
    modes = _PLAIN if keeps else ("L", "RGB", "CMYK")
    plain = upright if upright.mode in modes else upright.convert(_nearest(upright, keeps=keeps))
    # A new image knows nothing of what the file said.
    bare = Image.frombytes(plain.mode, plain.size, plain.tobytes())
    nclx = image.info.get("nclx_profile")
    if not profile and isinstance(nclx, dict) and nclx.get("color_primaries") == _P3_CODE:
        light = DISPLAY_P3.linear(np.asarray(bare.convert("RGB")))
        srgb = 255.0 * linear_to_srgb(np.clip(light, 0.0, 1.0))
        bare = Image.fromarray(np.rint(srgb).astype(np.uint8))
    out = io.BytesIO()
    more = {"icc_profile": profile} if profile else {}
    if keeps:
        bare.save(out, "PNG", **more)
    else:
        bare.save(out, "JPEG", quality=_QUALITY, subsampling=0, **more)
    return CleanPhoto(out.getvalue(), bare.width, bare.height)


def _bare_jpeg(data: bytes) -> bytes:
    """The segments of a JPEG that its picture and colours need, up to the end of the picture.

    Source: ITU-T T.81, annex B (markers); ICC.1, annex B.4 (the profile in APP2).
    """
    out, at = bytearray(data[:2]), 2
    while True:
        at = data.index(b"\xff", at)
        while data[at] == 0xFF:  # any number of fill bytes may stand before a marker
            at += 1
        marker = data[at]
        if marker == _END:
            return bytes(out + b"\xff\xd9")
        length = int.from_bytes(data[at + 1 : at + 3])
        body = data[at + 3 : at + 1 + length]
        kept = marker < _APP0 or (marker, body[:5]) in _NEEDED
        if marker == _APP0:
            body = body[:12] + b"\0\0"  # without its thumbnail
        if kept:
            out += bytes((0xFF, marker)) + (len(body) + 2).to_bytes(2) + body
        at += 1 + length
        if marker == _SCAN:
            run = next(_CODED.finditer(data, at))
            out += run[0]
            at = run.end()


_APP0, _SCAN, _END = 0xE0, 0xDA, 0xD9
_NEEDED = {(0xE0, b"JFIF\0"), (0xE2, b"ICC_P"), (0xEE, b"Adobe")}
"""Application segments that say how the numbers are meant: density, profile, colour transform."""

_CODED = re.compile(rb"(?:[^\xff]++|\xff[\x00\xd0-\xd7])*+")
"""Coded pixels: a byte FF stands before 0 or a restart mark there, nothing else."""


def _nearest(image: Image.Image, *, keeps: bool) -> str:
    if keeps and image.has_transparency_data:
        return "RGBA"
    if image.mode == "1" or image.mode.startswith("I"):
        return "L"
    return "RGB"


def is_clean(data: bytes) -> bool:
    """Whether a picture file holds the picture and its profile and nothing else."""
    if format_of(data) == "JPEG":
        return _bare_jpeg(data) == data
    at, names = len(_PNG), []
    while data.startswith(_PNG) and at + 12 <= len(data):
        names.append(data[at + 4 : at + 8])
        at += 12 + int.from_bytes(data[at : at + 4])
    return at == len(data) and names[-1:] == [b"IEND"] and _PNG_NEEDS.issuperset(names)


_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_NEEDS = {b"IHDR", b"PLTE", b"tRNS", b"iCCP", b"IDAT", b"IEND"}
"""Chunks that say how the numbers are meant (ISO 15948)."""
