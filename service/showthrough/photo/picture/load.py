"""A photo file as linear light, upright, at a size that fits in memory.

Location and every other text in the file is left where it is: nothing but the
orientation, the colour profile and the camera's word on the light is looked at.
"""

from __future__ import annotations

import contextlib
import io
import struct
import warnings
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from showthrough.errors import ImageError
from showthrough.photo.picture.damage import damage_of
from showthrough.photo.picture.encoding import BoolArray, LightArray
from showthrough.photo.picture.formats import READABLE, format_of, format_of_name
from showthrough.photo.picture.heic_damage import is_checked
from showthrough.photo.picture.pixels import read_light, shrink_factor

MAX_BYTES = 100_000_000
"""Largest file that is read."""

MAX_MEGAPIXELS = 50
"""Largest picture that is read, in millions of pixels of the file."""

MIN_SIDE_PX = 16
"""Smallest side of a picture that can carry a measurement."""

WORKING_PIXELS = 4_000_000
"""Default size of the copy that colours are measured on."""

_ORIENTATION = 0x0112
_EXIF_FIELDS = 0x8769
_COLOUR_SPACE = 0xA001
_LIGHT_SOURCE, _WHITE_BALANCE = 0x9208, 0xA403

_LIGHTS = {
    1: ("sun", "cloud", "shade"),
    3: ("bulb",),
    9: ("sun",),
    10: ("cloud",),
    11: ("shade",),
    17: ("bulb",),
    18: ("sun",),
    19: ("cloud",),
    20: ("sun", "cloud"),
    21: ("cloud",),
    22: ("shade",),
    23: ("sun",),
    24: ("bulb",),
}
"""LightSource of Exif 2.3 (CIPA DC-008, 4.6.5), as kinds of light; flash and the fluorescent tubes
are none of ours."""

# What the decoders of Pillow and libheif raise on damaged files.
_DECODER_ERRORS = (
    OSError,
    ValueError,
    SyntaxError,
    RuntimeError,
    EOFError,
    IndexError,
    KeyError,
    TypeError,
    AttributeError,
    OverflowError,
    MemoryError,
    struct.error,
    zlib.error,
    Image.DecompressionBombError,
)


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo, upright, in linear light."""

    linear: LightArray
    """Linear light with the sRGB primaries, 1 = the file's white, shape (h, w, 3).

    Colours outside sRGB have values below 0 or above 1.
    """
    clipped_high: BoolArray
    """Pixels that carry no colour, shape (h, w): burnt out in a channel, or see-through."""
    clipped_low: BoolArray
    """Pixels with a channel at its least number, shape (h, w): a colour the file cannot hold."""
    bits: int
    """Bits per channel in the file; more than 8 are read at 8."""
    profile: str
    """Name of the colour encoding that was used."""
    notes: tuple[str, ...]
    """Sentences on how the file was read."""
    light: tuple[str, ...] = ()
    """Kinds of light that the photographer's setting of the camera may mean; none where it was
    automatic or nothing is told."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the arrays, in pixels."""
        return self.linear.shape[1], self.linear.shape[0]


def load_picture(data: bytes, *, name: str = "photo", max_pixels: int = WORKING_PIXELS) -> Picture:
    """Read a JPEG, PNG, WebP or HEIC file.

    Args:
        data: the file's bytes. The content decides what it is, not the name.
        name: what to call the file in messages; its ending is compared with the content.
        max_pixels: most pixels of the arrays returned. A larger picture is averaged
            over whole squares of pixels, so that memory stays bounded; up to
            ``MAX_MEGAPIXELS`` million keeps every pixel.

    Raises:
        ImageError: The file is too large, damaged, not a picture that is read, or
            so small that it cannot carry a measurement.
    """
    kind = _checked_kind(data, name)
    with _decoding(name, kind):
        image, frames = _open(data, kind, name)
        _check_size(image.size, name)
        reason = damage_of(data, kind)
        if reason:
            raise _damaged(name, kind, reason)
        notes: list[str] = _kind_notes(name, kind, frames)
        bits = int(image.info.get("bit_depth") or _bits(image))
        if kind == "JPEG":
            # Lets the decoder shrink by 2, 4 or 8 while it decodes.
            wanted = shrink_factor(image.size, max_pixels)
            image.draft(None, (image.width // wanted, image.height // wanted))
        if kind == "PNG":
            # Asking for the camera's data decodes a PNG too: damage would pass for damage there.
            image.load()
        turn = _orientation(image, kind, notes)
        light = read_light(image, max_pixels)
    if bits > 8:
        notes.append(f"The file holds {bits} bits per channel; it is read at 8.")
    return Picture(
        _turned(light.linear, turn),
        _turned(light.clipped_high, turn),
        _turned(light.clipped_low, turn),
        bits,
        light.encoding,
        (*notes, *light.notes),
        _light_set(image),
    )


def opened_picture(data: bytes, name: str = "photo") -> tuple[Image.Image, str, int]:
    """The decoded image of a file, its format and its EXIF orientation (1: upright).

    Call ``load_picture`` first, which refuses what cannot be measured.

    Raises:
        ImageError: as ``load_picture`` does, as far as the file's head tells.
    """
    kind = _checked_kind(data, name)
    with _decoding(name, kind):
        image, _ = _open(data, kind, name)
        image.load()
        return image, kind, _orientation(image, kind, [])


def _checked_kind(data: bytes, name: str) -> str:
    """The file's format; raises for a file that is not read at all."""
    if len(data) > MAX_BYTES:
        raise ImageError.at(
            name,
            f"{len(data) / 1e6:.0f} MB",
            f"the file has {len(data) / 1e6:.0f} MB; up to {MAX_BYTES / 1e6:.0f} MB are read",
        )
    kind = format_of(data)
    if kind not in READABLE:
        article = "an" if kind == "AVIF" else "a"
        what = f"this is {article} {kind} file" if kind else "this is no picture file that we know"
        if not data:
            what = "the file is empty"
        raise ImageError.at(
            name, what, f"{what}; save the photo as one of {', '.join(READABLE)} and try again"
        )
    return kind


@contextlib.contextmanager
def _decoding(name: str, kind: str) -> Iterator[None]:
    """Turn what a decoder raises into one clear error."""
    try:
        with warnings.catch_warnings():
            # Sizes are checked below; damaged EXIF is answered with a note.
            warnings.simplefilter("ignore")
            yield
    except ImageError:
        raise
    except Image.DecompressionBombError as error:
        raise _too_large(name, "far too many pixels") from error
    except _DECODER_ERRORS as error:
        raise _damaged(name, kind, "it cannot be decoded") from error


def _damaged(name: str, kind: str, reason: str) -> ImageError:
    return ImageError.at(
        name,
        kind,
        f"this {kind} file is damaged or cut short ({reason}): send the photo again, or take "
        "it again",
    )


def _too_large(name: str, size: str) -> ImageError:
    return ImageError.at(
        name,
        size,
        f"the picture is too large ({size}); up to {MAX_MEGAPIXELS} megapixels are read: "
        "take it at a lower setting or cut it",
    )


def _check_size(size: tuple[int, int], name: str) -> None:
    """Refuse by the header's word, before any pixel is decoded."""
    width, height = size
    if width * height > MAX_MEGAPIXELS * 1_000_000:
        raise _too_large(name, f"{width} x {height} pixels")
    if min(width, height) < MIN_SIDE_PX:
        raise ImageError.at(
            name,
            f"{width} x {height} pixels",
            f"the picture has {width} x {height} pixels; at least {MIN_SIDE_PX} x {MIN_SIDE_PX} "
            "are needed to measure a colour",
        )


def _open(data: bytes, kind: str, name: str) -> tuple[Image.Image, int]:
    """The undecoded image and how many frames the file holds."""
    if kind == "HEIC":
        return _open_heic(data, name)
    image = Image.open(io.BytesIO(data), formats=[kind.upper()])
    frames = int(getattr(image, "n_frames", 1))
    # A phone's JPEG may carry a second, smaller picture; the first is the photo.
    return image, 1 if image.format == "MPO" else frames


def _open_heic(data: bytes, name: str) -> tuple[Image.Image, int]:
    import pillow_heif  # noqa: PLC0415 - a large library, only for this format

    container = pillow_heif.open_heif(io.BytesIO(data))
    # libheif turns the picture upright itself.
    _check_size(container.size, name)
    image: Image.Image = container.to_pillow()
    image.info["turned"] = True
    return image, 1


def _kind_notes(name: str, kind: str, frames: int) -> list[str]:
    notes = []
    promised = format_of_name(name)
    if promised not in (None, kind):
        notes.append(f"The file is called a {promised} but holds a {kind} picture; read as {kind}.")
    if kind == "HEIC" and not is_checked():
        notes.append(
            "Damage in a HEIC file cannot be found on this computer: look at the photo, or send it "
            "as JPEG."
        )
    if frames > 1:
        notes.append(f"The picture is animated ({frames} frames); only the first is read.")
    return notes


def _bits(image: Image.Image) -> int:
    if image.mode == "1":
        return 1
    if image.mode.startswith("I"):
        return 16
    # Pillow reads deep colour PNG at 8 bits; the header's ninth byte tells the file's depth.
    stream = getattr(image, "fp", None)
    if image.format == "PNG" and stream is not None:
        place = stream.tell()
        stream.seek(24)
        depth = stream.read(1)
        stream.seek(place)
        return max(8, depth[0]) if depth else 8
    return 8


def _orientation(image: Image.Image, kind: str, notes: list[str]) -> int:
    """EXIF orientation 1 to 8; also notes what EXIF says on the colour space."""
    if kind == "HEIC":
        return 1
    try:
        exif = image.getexif()
        turn = int(exif.get(_ORIENTATION, 1))
        space = exif.get_ifd(_EXIF_FIELDS).get(_COLOUR_SPACE)
    except _DECODER_ERRORS:
        notes.append("The camera's data in the file is damaged; the picture is taken as upright.")
        return 1
    if space == 1:
        image.info.setdefault("srgb", 0)
    return turn if 1 <= turn <= 8 else 1


def _light_set(image: Image.Image) -> tuple[str, ...]:
    """Kinds of light behind a white balance that was set by hand.

    What a camera wrote by itself is left: some always write the same light (from memory).
    """
    with contextlib.suppress(*_DECODER_ERRORS):
        told = image.getexif().get_ifd(_EXIF_FIELDS)
        if told.get(_WHITE_BALANCE) == 1:
            return _LIGHTS.get(int(told.get(_LIGHT_SOURCE, 0)), ())
    return ()


def _turned(array: NDArray[Any], turn: int) -> NDArray[Any]:
    """Undo the eight EXIF orientations. Source: EXIF 2.3, tag 274."""
    if turn in (2, 5, 7, 4):
        array = array[:, ::-1]
    return np.ascontiguousarray(np.rot90(array, {3: 2, 4: 2, 5: 1, 6: 3, 7: 3, 8: 1}.get(turn, 0)))
