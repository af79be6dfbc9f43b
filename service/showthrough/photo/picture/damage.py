"""Whether a picture file was damaged on its way, where its decoder would read on.

A decoder of JPEG fills what it cannot read with something and goes on, and a changed bit
can leave a stream that reads well: only what follows it is of another colour. So the
decoder's warnings are taken at their word, and the means of the picture's smallest units
are searched for a step that runs along their order in the file, which is no line in a room.

Sources: ITU-T T.81 (order of the units, differences between their means, ``MCU`` there);
ISO/IEC 15948 (check sums of PNG).
"""

from __future__ import annotations

import io
import re
import struct
import zlib
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from showthrough.photo.picture.encoding import BoolArray
from showthrough.photo.picture.heic_damage import heic_damage
from showthrough.photo.picture.jpeg_tables import damaged_tables, segments

_STEP, _STEP_UNITS = 2.0, 50
"""Step of the means, of 255, that is told from the picture itself by so many units beside each
other; fewer tell less of it, as with any mean."""

_CORNER_STEP = 6.0
"""The same where the first unit alone tells it."""

_MOST_OF_ROW = 0.8
"""Share of a row of units that steps together; the picture's own detail takes the rest."""

_NEARLY_ALL = 0.9
"""The same where no jog shows that the step is damage."""

_EVEN = 0.05
"""Share of unlike neighbours below which a picture is drawn; in a photo they are one of eight
at least, where units meet."""

_LEAST_UNITS = 8
"""Units across a picture from which a row of them tells anything."""

_PADDING = re.compile(r"(\d+) extraneous bytes before marker 0xd9")
_HARMLESS = "unknown JFIF revision"

_ENDS = (1.0, 254.0)
"""Numbers at and beyond which light may have been cut off."""

_MOST_CUT = 0.25
"""Share of a unit's edge cut off from which its step is not known."""

_EVEN_STEP, _SLIGHT = 0.7, 1.2
"""Share by which the middle half of a step's units may differ, of what exceeds a slight step."""

_NEAR = 0.3
"""Share by which the jog may differ from the step that it is part of: it is read on one unit."""

_OF_LINES = 2.0
"""How many times higher a step must be than what a picture's own lines make near it."""

_RESTART = 0xDD
"""Marker of a restart interval (T.81, B.2.4.4)."""

Plane = NDArray[np.float32]


def damage_of(data: bytes, kind: str) -> str | None:
    """What shows that a file of some kind is damaged, in a few words; None where nothing does.

    Args:
        data: the file's bytes.
        kind: JPEG, PNG and HEIC are looked at; of the others their decoders are believed.

    Raises:
        OSError, ValueError, IndexError, struct.error: The file cannot be opened at all.
    """
    if kind == "PNG":
        return _png_damage(data)
    if kind == "JPEG":
        return damaged_tables(data) or _warning(data) or _broken_run(data)
    return heic_damage(data) if kind == "HEIC" else None


def _png_damage(data: bytes) -> str | None:
    """The first chunk whose check sum is wrong."""
    place = 8
    while place < len(data):
        length, name = struct.unpack_from(">I4s", data, place)
        end = place + 8 + length
        if struct.unpack_from(">I", data, end)[0] != zlib.crc32(data[place + 4 : end]):
            return "a check sum is wrong"
        if name == b"IEND":
            return None
        place = end + 4
    return "its end is missing"


def _warning(data: bytes) -> str | None:
    """What the decoder finds wrong and reads on over."""
    import simplejpeg  # noqa: PLC0415 - only for this format

    with Image.open(io.BytesIO(data)) as image:
        inks = image.mode == "CMYK"
    try:
        # An eighth of the size is quicker; every bit of the stream is still read.
        simplejpeg.decode_jpeg(
            data, "CMYK" if inks else "GRAY", min_height=1, min_width=1, min_factor=8, strict=True
        )
    except ValueError as error:
        said = str(error)
        padding = _PADDING.search(said)
        # Some phones fill a file up with zeros before its end mark.
        if padding and b"\0" * int(padding[1]) + b"\xff\xd9" in data:
            return None
        return None if _HARMLESS in said else "parts of it cannot be read"
    return None


def _broken_run(data: bytes) -> str | None:
    """Whether all units after some place in the file are of another colour."""
    with Image.open(io.BytesIO(data)) as image:
        layers = getattr(image, "layer", [])
        # Units that start afresh now and then (DRI, T.81 B.2.4.4) bound what damage can do.
        if (
            image.mode not in ("L", "RGB")
            or not layers
            or any(marker == _RESTART and body != b"\0\0" for marker, body in segments(data))
        ):
            return None
        wide, high = (max(layer[i] for layer in layers) for i in (1, 2))
    if len(layers) == 1:
        wide = high = 1
    # At this scale every channel has its own pixels, none of them blended from neighbours.
    scale = max(wide, high)
    planes = _drawn(data, scale)
    unit = (8 * high // scale, 8 * wide // scale)
    if planes.shape[0] <= 2 * unit[0] or planes.shape[1] < _LEAST_UNITS * unit[1]:
        return None
    luma, *chroma = (planes[..., i] for i in range(planes.shape[2]))
    steps = np.abs(_jumps(luma, unit).height)
    if _runs_on(luma, unit, luma, np.zeros_like(steps)) or any(
        _runs_on(plane, unit, luma, steps) for plane in chroma
    ):
        return "from some place on its colours are shifted"
    return None


def _drawn(data: bytes, scale: int) -> Plane:
    """Luma and chroma at a part of the size, 0 to 255, shape (h, w, 1 or 3)."""
    with Image.open(io.BytesIO(data)) as image:
        size = (max(1, image.width // scale), max(1, image.height // scale))
        image.draft("L" if image.mode == "L" else "YCbCr", size)
        return np.atleast_3d(np.asarray(image, dtype=np.float32))


@dataclass(frozen=True, slots=True)
class _Jumps:
    """Step in value across the upper edge of each unit, beyond the slope on both sides.

    Lines in a photo are blurred by the lens and seldom lie just there.
    """

    height: Plane
    """Shape (rows, columns); not a number in the first row and where nothing is known."""
    cut: BoolArray
    """Where black or white cuts steps short, so that the height is the least that it may be."""


def _jumps(plane: Plane, unit: tuple[int, int]) -> _Jumps:
    high, wide = unit
    rows, columns = -(-plane.shape[0] // high), -(-plane.shape[1] // wide)
    edge = np.arange(1, rows) * high
    edge = edge[edge + 1 < plane.shape[0]]
    two_above, above, below, two_below = (plane[edge + i] for i in (-2, -1, 0, 1))
    at_end = (np.minimum(above, below) <= _ENDS[0]) | (np.maximum(above, below) >= _ENDS[1])

    def of_units(values: NDArray[Any]) -> NDArray[Any]:
        padded = np.pad(values, ((0, 0), (0, columns * wide - plane.shape[1])), mode="edge")
        return padded.reshape(edge.size, columns, wide)

    height = np.full((rows, columns), np.nan, dtype=np.float32)
    cut = np.zeros((rows, columns), dtype=bool)
    found = slice(1, 1 + edge.size)
    height[found] = np.median(of_units(_jump(two_above, above, below, two_below)), axis=2)
    cut[found] = of_units(at_end).mean(axis=2) > _MOST_CUT
    height[cut & (np.abs(height) <= 0.5 * _STEP)] = np.nan
    return _Jumps(height, cut)


def _jump(two_before: Plane, before: Plane, after: Plane, two_after: Plane) -> Plane:
    """Step from one line of pixels to the next, beyond the slope on both sides."""
    return 1.5 * (after - before) - 0.5 * (two_after - two_before)


def _runs_on(plane: Plane, unit: tuple[int, int], luma: Plane, edges: Plane) -> bool:
    """Whether all units after one of them, in reading order, step together.

    Such a step runs along the upper edge of that unit's row from there on, and along its
    lower edge up to there, with a jog between. In a drawing edges may lie just so.

    Args:
        plane: luma or one of chroma.
        unit: rows and columns of a unit.
        luma: the picture's luma.
        edges: steps that show an edge between two things, shape (rows, columns): for chroma
            those of luma, as a rule.
    """
    jumps = _jumps(plane, unit)
    columns = jumps.height.shape[1]
    # What follows each unit, as many as a row has, lies along the step. In the last row damage
    # goes no further than that row.
    after, cut = jumps.height.ravel()[1:], jumps.cut.ravel()[1:]
    known = _count(np.isfinite(after), columns)
    seen = _count(edges.ravel()[1:] > _STEP, columns) / columns
    for way in (1.0, -1.0):
        stepped = _count(way * after > 0.5 * _STEP, columns)
        suspects = (known >= columns / 3) & (stepped >= _MOST_OF_ROW * known)
        uncut = np.where(cut, np.nan, way * after)
        for last in np.flatnonzero(suspects):
            heights = _heights(uncut, int(last), columns)
            row, column = divmod(int(last), columns)
            if (
                not heights
                or _is_drawn(luma, row * unit[0])
                or _is_drawn(luma, (row + 1) * unit[0])
                or min(heights) < _OF_LINES * _lines(plane, unit, row, column)
            ):
                continue
            least, most = min(heights), max(heights)
            alike = most - least < max(0.5 * _STEP, 0.25 * most)
            whole = stepped[last] >= _NEARLY_ALL * known[last] and seen[last] < 1 / 3
            # A step all along the row that the picture goes on across is none of its own; but one
            # that begins with the row may be an edge that lies just there.
            if alike and whole and column < columns - 1 and _goes_on(luma, unit, row, column):
                return True
            jog = way * _jog(plane, unit, row, column)
            # Where one of two rows is not known, or has an edge of the picture's own along it, the
            # jog tells the height.
            if (abs(jog - least) < _NEAR * least and (alike or whole)) or (
                len(heights) > 1 and alike and 0.5 * least < jog < 1.5 * most
            ):
                return True
        if _leaves_corner(way * plane, unit, way * jumps.height[1], luma):
            return True
    return False


def _leaves_corner(plane: Plane, unit: tuple[int, int], below: Plane, luma: Plane) -> bool:
    """Whether all but the first few units step up together, and nothing else beside them does.

    Args:
        plane: one channel, so turned that a step up is looked for.
        unit: rows and columns of a unit.
        below: steps at the lower edge of each unit of the first row, shape (columns,).
        luma: the picture's luma.
    """
    high, wide = unit
    if _is_drawn(luma, high):
        return False
    for count in range(1, below.size // 3 + 1):
        if not below[count - 1] > _STEP:
            return False
        height = float(np.median(below[:count]))
        above, under = (plane[i : i + high, : count * wide].mean() for i in (0, high))
        edge = (plane[:high, count * wide + i] for i in (-2, -1, 0, 1))
        # The unit that was changed itself may hold anything: then the one after it tells.
        beside = float(np.median(_jump(*edge))), _jog(plane, unit, 0, count)
        if (
            height > _CORNER_STEP / np.sqrt(count)
            and abs(float(under - above) - height) < _NEAR * height
            and min(abs(step - height) for step in beside) < _NEAR * height
            and float(np.nanmax(np.abs(below[count + 1 :]))) < 0.5 * height
        ):
            return True
    return False


def _longer_part(plane: Plane, unit: tuple[int, int], row: int, column: int) -> tuple[int, Plane]:
    """The longer part of the step after a unit: its line of pixels, and the columns it spans.

    Up to the unit the step lies below its row, beyond it above.
    """
    high, wide = unit
    start = (column + 1) * wide
    if 2 * start > plane.shape[1]:
        return (row + 1) * high, plane[:, :start]
    return row * high, plane[:, start:]


def _lines(plane: Plane, unit: tuple[int, int], row: int, column: int) -> float:
    """Height that a fifth of the lines of pixels within the units beside a step exceed.

    Along the longer part of it. Horizontal grain steps at any line, damage where units meet.
    """
    high = unit[0]
    edge, part = _longer_part(plane, unit, row, column)
    at = np.arange(max(2, edge - 2 * high), min(plane.shape[0] - 2, edge + 2 * high))
    at = at[(at % high > 1) & (at % high < high - 1)]
    if not at.size:
        return 0.0
    jumps = _jump(*(part[at + i] for i in (-2, -1, 0, 1)))
    return float(np.quantile(np.abs(np.median(jumps, axis=1)), 0.8))


def _jog(plane: Plane, unit: tuple[int, int], row: int, column: int) -> float:
    """Step from the unit before to the unit after, beyond that in the rows beside."""
    high, wide = unit
    if not 0 < column < plane.shape[1] // wide - 1:
        return 0.0

    def step(at: int) -> float:
        line = plane[at * high : (at + 1) * high]
        after = line[:, (column + 1) * wide : (column + 2) * wide]
        return float(after.mean() - line[:, (column - 1) * wide : column * wide].mean())

    here = step(row)
    rows = plane.shape[0] // high
    beside = [step(at) for at in (row - 1, row + 1) if 0 <= at < rows]
    return here - min(beside, key=lambda value: abs(here - value), default=0.0)


def _count(true: BoolArray, length: int) -> NDArray[np.int64]:
    """How many of so many values from each place on are true."""
    total = np.concatenate([[0], np.cumsum(true)])
    return np.asarray(total[length:] - total[:-length])


def _heights(after: Plane, last: int, columns: int) -> list[float]:
    """Heights of the jumps after a unit: those along its own row, and those along the next.

    Where nothing is known of a row's jumps it has no height. There are none at all where the
    jumps differ among themselves, or hardly rise above both rows beside.
    """
    run = after[last : last + columns]
    cut = columns - 1 - last % columns
    parts = [part[np.isfinite(part)] for part in (run[:cut], run[cut:])]
    parts = [part for part in parts if part.size]
    if sum(part.size for part in parts) < max(_LEAST_UNITS, columns / 6):
        return []
    heights = [float(np.median(part)) for part in parts]
    beside = [after[at : at + columns] for at in (last - columns, last + columns) if at >= 0]
    usual = [abs(float(np.median(b[np.isfinite(b)]))) for b in beside if np.isfinite(b).any()]
    least = min(heights)
    alike = all(float(np.quantile(part, 1.0 - _MOST_OF_ROW)) > 0.5 * least for part in parts)
    # Edges of the picture's own are uneven; along one part of the row they may add to the step.
    even = any(
        part.size >= columns / 6
        and float(np.subtract(*np.quantile(part, (0.75, 0.25)))) < _EVEN_STEP * (height - _SLIGHT)
        for part, height in zip(parts, heights, strict=True)
    )
    told = _STEP * max(1.0, float(np.sqrt(_STEP_UNITS / columns)))
    return heights if alike and even and least > told + 1.5 * min(usual, default=0.0) else []


def _is_drawn(luma: Plane, edge: int) -> bool:
    """Whether hardly any neighbours differ above and below an edge, as in no photo.

    What black or white cuts off is left out: there nothing differs in a photo either.
    """
    rows = luma[max(0, edge - 2) : edge + 2]
    inside = ((rows > _ENDS[0]) & (rows < _ENDS[1]))[:, 1:]
    unlike = np.abs(np.diff(rows, axis=1)) > 0.5
    return bool(inside.any()) and float(unlike[inside].mean()) < _EVEN


def _goes_on(luma: Plane, unit: tuple[int, int], row: int, column: int) -> bool:
    """Whether a picture's detail goes on across the step after a unit, along the longer row.

    Then no bar, frame or other picture begins there.
    """
    edge, part = _longer_part(luma, unit, row, column)
    if not 1 < edge < luma.shape[0]:
        return False
    # Detail alone is compared: light falls off alike over a bar and what lies above it.
    rows = part[edge - 2 : edge + 1, 2:] - part[edge - 2 : edge + 1, :-2]
    two_above, above, below = rows
    if min(float(row.std()) for row in rows) < 1.0:
        return False
    usual, here = (np.corrcoef(above, other)[0, 1] for other in (two_above, below))
    return bool(here > max(0.4, 0.7 * usual))
