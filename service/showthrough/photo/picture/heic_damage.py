"""Whether the pictures in a HEIC file end where they should.

A changed bit leaves a stream that still decodes, to colours of no photo. What gives it away
are marks that stand after the last unit of each row or slice: a reader that has lost its
place does not find them. The decoder in pillow-heif notes that, but its door hands out
pictures only; so the decoder's own functions are called on each picture of the file. A mark
of the end that a lost reader finds too early leaves the rest of the picture unwritten, of which
the decoder says nothing: it is looked for.

Sources: ISO/IEC 14496-12 (``iloc``, ``infe``), ISO/IEC 14496-15 (``hvcC``), ITU-T H.265
(7.3.8.1, ``end_of_subset_one_bit``); the functions are those of libde265 1.0's header.
"""

from __future__ import annotations

import ctypes
import importlib
import re
import struct
from collections.abc import Iterator
from functools import cache

import numpy as np

_PICTURE = re.compile(rb"infe\x02...(..)..hvc1", re.DOTALL)
"""Entry of a picture that is coded by H.265, with its number."""

_SETTINGS = re.compile(rb"(....)hvcC", re.DOTALL)

_PLAIN = {0, 1000}
"""Words of the decoder that say nothing of the file: none, and that it ran on one thread."""


_LEAST_UNIT = 8
"""Chroma samples across the smallest unit of a picture, of 16 in luma (7.4.3.2)."""

_GET = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p
)
_RELEASE = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p)


class _Memory(ctypes.Structure):
    """How a decoder gets memory for a picture and gives it back."""

    _fields_ = (("get", _GET), ("release", _RELEASE))


def heic_damage(data: bytes) -> str | None:
    """What shows that a HEIC file is damaged, in a few words; None where nothing does.

    Args:
        data: the file's bytes; its pictures can be opened.

    Raises:
        struct.error, IndexError: The file's table of places is broken.
    """
    decoder = _decoder()
    if decoder is None:
        return None
    settings = [_settings(data, match.start() + 8) for match in _SETTINGS.finditer(data)]
    for picture in _pictures(data):
        # A thumbnail has settings of its own: of several, those are meant that suit.
        if settings and all(_warns(decoder, [*one, *picture]) for one in settings):
            return "parts of it cannot be read"
    return None


def is_checked() -> bool:
    """Whether the decoder in use lets itself be asked."""
    return _decoder() is not None


@cache
def _decoder() -> ctypes.CDLL | None:
    """The decoder that pillow-heif carries along; None where it does not show its functions."""
    try:
        module = importlib.import_module("_pillow_heif")  # it has no types
        library = ctypes.CDLL(module.__file__)
        for name, result, takes in (
            ("new_decoder", ctypes.c_void_p, []),
            (
                "push_NAL",
                ctypes.c_int,
                [
                    ctypes.c_void_p,
                    ctypes.c_char_p,
                    ctypes.c_int,
                    ctypes.c_int64,
                    ctypes.c_void_p,
                ],
            ),
            ("flush_data", ctypes.c_int, [ctypes.c_void_p]),
            ("decode", ctypes.c_int, [ctypes.c_void_p, ctypes.POINTER(ctypes.c_int)]),
            ("get_next_picture", ctypes.c_void_p, [ctypes.c_void_p]),
            ("get_warning", ctypes.c_int, [ctypes.c_void_p]),
            ("free_decoder", ctypes.c_int, [ctypes.c_void_p]),
            ("get_default_image_allocation_functions", ctypes.POINTER(_Memory), []),
            (
                "set_image_allocation_functions",
                None,
                [ctypes.c_void_p, ctypes.POINTER(_Memory), ctypes.c_void_p],
            ),
            (
                "get_image_plane",
                ctypes.c_void_p,
                [ctypes.c_void_p, ctypes.c_int, ctypes.POINTER(ctypes.c_int)],
            ),
            ("get_image_width", ctypes.c_int, [ctypes.c_void_p, ctypes.c_int]),
            ("get_image_height", ctypes.c_int, [ctypes.c_void_p, ctypes.c_int]),
        ):
            function = getattr(library, f"de265_{name}")
            function.restype, function.argtypes = result, takes
    except (ImportError, OSError, AttributeError):
        return None
    return library


def _settings(data: bytes, place: int) -> list[bytes]:
    """The units that a stream begins with, from an ``hvcC`` box."""
    place += 22
    units = []
    arrays, place = data[place], place + 1
    for _ in range(arrays):
        (count,) = struct.unpack_from(">H", data, place + 1)
        place += 3
        for _ in range(count):
            (length,) = struct.unpack_from(">H", data, place)
            units.append(data[place + 2 : place + 2 + length])
            place += 2 + length
    return units


def _pictures(data: bytes) -> Iterator[list[bytes]]:
    """The units of each coded picture."""
    wanted = {struct.unpack(">H", match[1])[0] for match in _PICTURE.finditer(data)}
    for number, stream in _items(data):
        place, units = 0, []
        while number in wanted and place + 4 <= len(stream):
            (length,) = struct.unpack_from(">I", stream, place)
            units.append(stream[place + 4 : place + 4 + length])
            place += 4 + length
        if units:
            yield units


def _items(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Number and bytes of each item that lies in the file itself."""
    place = data.index(b"iloc") + 4
    version = data[place]
    offset, length = divmod(data[place + 4], 16)
    base, index = divmod(data[place + 5], 16)
    wide = 4 if version == 2 else 2
    place += 6

    def number(size: int) -> int:
        nonlocal place
        place += size
        if place > len(data):
            raise IndexError
        return int.from_bytes(data[place - size : place], "big")

    for _ in range(number(wide)):
        item = number(wide)
        elsewhere = number(2) & 15 if version else 0
        number(2)
        start, stream = number(base), b""
        for _ in range(number(2)):
            number(index if version else 0)
            first = start + number(offset)
            stream += data[first : first + number(length)]
        if not elsewhere:
            yield item, stream


def _warns(decoder: ctypes.CDLL, units: list[bytes]) -> bool:
    """Whether the decoder finds anything wrong with a stream, or leaves a part of it out."""
    state = decoder.de265_new_decoder()
    emptied = _emptied(decoder)
    decoder.de265_set_image_allocation_functions(state, ctypes.byref(emptied), None)
    try:
        for unit in units:
            decoder.de265_push_NAL(state, unit, len(unit), 0, None)
        decoder.de265_flush_data(state)
        more = ctypes.c_int(1)
        # Each call reads a unit or hands out a picture.
        for _ in range(4 * len(units) + 8):
            if decoder.de265_decode(state, ctypes.byref(more)) not in _PLAIN:
                return True
            while warning := decoder.de265_get_warning(state):
                if warning not in _PLAIN:
                    return True
            picture = decoder.de265_get_next_picture(state)
            if picture and _lacks_part(decoder, picture):
                return True
            if not more.value:
                return False
        return False
    finally:
        decoder.de265_free_decoder(state)


def _emptied(decoder: ctypes.CDLL) -> _Memory:
    """The decoder's own way to get memory, but with nothing in it to begin with."""
    usual = decoder.de265_get_default_image_allocation_functions().contents

    def get(state: int, spec: int, picture: int, user: int) -> int:
        done = int(usual.get(state, spec, picture, user))
        for place, length, rows in _chroma(decoder, picture) if done else ():
            ctypes.memset(place, 0, length * rows)
        return done

    return _Memory(_GET(get), usual.release)


def _chroma(decoder: ctypes.CDLL, picture: int) -> Iterator[tuple[int, int, int]]:
    """Address, bytes in a row and rows of each chroma plane of a picture that has any."""
    for channel in (1, 2):
        length = ctypes.c_int()
        place = decoder.de265_get_image_plane(picture, channel, ctypes.byref(length))
        if place:
            yield place, length.value, decoder.de265_get_image_height(picture, channel)


def _lacks_part(decoder: ctypes.CDLL, picture: int) -> bool:
    """Whether units of a picture were never written: no light has both chromas at nothing."""
    side = _LEAST_UNIT
    filled = []
    for channel, (place, length, rows) in enumerate(_chroma(decoder, picture), start=1):
        wide = decoder.de265_get_image_width(picture, channel)
        whole = np.ctypeslib.as_array((ctypes.c_uint8 * (length * rows)).from_address(place))
        blocks = whole.reshape(rows, length)[: rows // side * side, : wide // side * side]
        filled.append(blocks.reshape(rows // side, side, wide // side, side).any(axis=(1, 3)))
    return bool(filled) and not np.logical_or.reduce(filled).all()
