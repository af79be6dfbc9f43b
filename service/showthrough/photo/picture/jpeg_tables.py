"""Whether the tables of a JPEG file, by which its numbers are read, are as an encoder left them.

A changed bit in a table moves the colours of the whole picture, and the decoder has nothing to
say: all tables are allowed to it. But encoders keep to a few of them.

Source: ITU-T T.81 (B.2.4, F.1.2 and G.1.2 on what tables may hold, Annex K for the usual ones).
"""

from __future__ import annotations

import io
import re
import struct
from collections.abc import Iterable, Iterator
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

_END, _CODES = 0xD9, 0xC4
_FRAMES = {0xC0, 0xC1, 0xC2}
_PROGRESSIVE = 0xC2

_MARKER = re.compile(rb"\xff([^\x00\xd0-\xd7\xff])", re.DOTALL)
"""In coded numbers 0xFF stands before a zero or a mark to start afresh; elsewhere it may be
doubled."""

_MOST_OF_MEANS, _MOST_OF_REST = 11, 10
"""Greatest size in bits of a mean's difference and of any other number, at 8 bits a channel."""

_NO_NUMBER = {0x00, 0xF0}
"""Meanings that stand for zeros alone: the rest of a unit, and sixteen of them."""


def damaged_tables(data: bytes) -> str | None:
    """What shows that a table of a JPEG file is damaged, in a few words; None where nothing does.

    Args:
        data: the file's bytes.

    Raises:
        OSError, ValueError, IndexError, struct.error: The file cannot be opened at all.
    """
    found = list(segments(data))
    frames = [(marker, body) for marker, body in found if marker in _FRAMES]
    if len(frames) != 1:
        return None
    marker, frame = frames[0]
    if not all(_are_codes(body, marker) for kind, body in found if kind == _CODES):
        return "a table of codes is wrong"
    tables = _steps(data)
    if _is_one_changed(tables.values()) or _are_swapped(list(frame[8::3]), len(tables)):
        return "a table of steps is wrong"
    return None


def segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and body of each segment before the end mark (T.81, B.1.1.4).

    The coded numbers after the head of a scan are left out.
    """
    found = _MARKER.search(data, 2)
    while found and found[1][0] != _END and found.end() + 2 <= len(data):
        (length,) = struct.unpack_from(">H", data, found.end())
        yield found[1][0], data[found.end() + 2 : found.end() + length]
        found = _MARKER.search(data, found.end() + length)


def _are_codes(body: bytes, frame: int) -> bool:
    """Whether each code of some tables means something, and no two of one table the same."""
    place = 0
    while place + 17 <= len(body):
        kind, count = body[place] >> 4, sum(body[place + 1 : place + 17])
        meanings = body[place + 17 : place + 17 + count]
        place += 17 + count
        if kind == 0:
            sound = all(meaning <= _MOST_OF_MEANS for meaning in meanings)
        else:
            # Progressive files also count units that end at once.
            sound = all(
                meaning & 15 <= _MOST_OF_REST
                if meaning & 15
                else frame == _PROGRESSIVE or meaning in _NO_NUMBER
                for meaning in meanings
            )
        if not sound or len(set(meanings)) < count:
            return False
    return place == len(body)


@cache
def _usual() -> NDArray[np.int64]:
    """Tables of Annex K for luma and chroma at all strengths of the usual encoder, (200, 64)."""
    found: list[NDArray[np.int64]] = []
    for quality in range(1, 101):
        out = io.BytesIO()
        Image.new("RGB", (8, 8)).save(out, "JPEG", quality=quality)
        found += _steps(out.getvalue()).values()
    return np.array(found)


def _steps(data: bytes) -> dict[int, NDArray[np.int64]]:
    """Tables of steps by their numbers, each in rows, shape (64,)."""
    with Image.open(io.BytesIO(data)) as image:
        tables = getattr(image, "quantization", {})
    return {number: np.asarray(table) for number, table in tables.items()}


def _is_one_changed(tables: Iterable[NDArray[np.int64]]) -> bool:
    """Whether of all steps one alone is not the usual one.

    An encoder that rounds otherwise than the usual one differs in several places, or by one
    in a place that moves no mean.
    """
    wrong = []
    for table in tables:
        if not table.all():
            return True
        unlike = _usual() - table
        nearest = unlike[np.count_nonzero(unlike, axis=1).argmin()]
        wrong += [(at, abs(nearest[at])) for at in np.flatnonzero(nearest)]
    return len(wrong) == 1 and (wrong[0][0] == 0 or wrong[0][1] > 1)


def _are_swapped(named: list[int], tables: int) -> bool:
    """Whether luma takes chroma's table or one chroma that of luma, by what each names."""
    if len(named) != 3:
        return False
    luma, blue, red = named
    return (luma in {blue, red}) if blue != red else (luma == blue and tables > 1)
