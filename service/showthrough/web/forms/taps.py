"""Marks set by taps on the photo without script: an image button sends where it was tapped.

The photo itself is not kept: a small copy of it goes along in the form, to be tapped again, and
the photo is chosen once more when all is marked.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from showthrough.colour.space import linear_to_srgb
from showthrough.photo.picture.load import load_picture
from showthrough.photo.preview.picture import encode_picture
from showthrough.web.forms.photo_form import SIDES, Sent, Spot

SHOW, TAP, COPY, SIZE, CORNER, MARKING = "show", "tap", "copy", "copy_size", "corner", "marking"
"""Fields: the wish to see the photo, the image button, the small copy, its height in hundredths
of its width, the corner tapped first in percent, and the name of what is marked."""

WIDTH = 280
"""Of the button, in CSS pixels: it fits on the narrowest phone, so that no place is scaled."""
_PIXELS = 120_000
_MOST_HEIGHT = 400
"""Per cent of the width: a longer strip is no photo of a piece."""

_COPY = re.compile(r"[A-Za-z0-9+/]{100,}={0,2}")


@dataclass(frozen=True, slots=True)
class Stage:
    """The photo to tap on, and what is marked on it."""

    link: str
    copy: str
    size: str
    height: int
    marking: str
    corner: tuple[float, float] | None
    """In percent of width and height."""
    marks: tuple[tuple[float, float, float, float], ...]


def wanted(sent: Sent) -> bool:
    """Whether the photo is to be shown or was tapped; a key on the button sends 0, 0."""
    return bool(sent.value(SHOW)) or _tap(sent) is not None


def shown_photo(sent: Sent) -> Sent:
    """The form with a small copy of the photo that came with it.

    Raises:
        InputError: the file is no photo that can be read.
    """
    if sent.photo is None:
        return sent
    picture = load_picture(sent.photo, name=sent.file_name, max_pixels=_PIXELS)
    image = (255.0 * linear_to_srgb(picture.linear.clip(0.0, 1.0))).round().astype("uint8")
    copy = base64.b64encode(encode_picture(image, "jpeg")).decode("ascii")
    width, height = picture.size
    size = str(min(round(100 * height / width), _MOST_HEIGHT))
    return replace(sent, values={**sent.values, COPY: copy, SIZE: size, CORNER: ""})


def tapped(sent: Sent, spots: Sequence[Spot]) -> Sent:
    """The form after a tap: one corner is kept, the opposite one closes the mark."""
    at, stage = _tap(sent), stage_of(sent, spots)
    if at is None or stage is None:
        return sent
    x, y = 100.0 * at[0] / WIDTH, 100.0 * at[1] / stage.height
    x, y = min(max(x, 0.0), 100.0), min(max(y, 0.0), 100.0)
    if stage.corner is None:
        return replace(sent, values={**sent.values, CORNER: f"{x:.1f} {y:.1f}"})
    left, right = sorted((stage.corner[0], x))
    top, bottom = sorted((stage.corner[1], y))
    box = zip(SIDES, (left, top, right, bottom), strict=True)
    mark = {f"{stage.marking}_{side}": f"{value:.1f}" for side, value in box}
    values = {**sent.values, **mark, CORNER: ""}
    free = [spot.name for spot in spots if not values.get(f"{spot.name}_left")]
    return replace(sent, values=values | {MARKING: free[0] if free else stage.marking})


def stage_of(sent: Sent, spots: Sequence[Spot]) -> Stage | None:
    """The photo that goes along in the form; None where there is none."""
    copy, size = sent.value(COPY), sent.value(SIZE)
    if not _COPY.fullmatch(copy) or not size.isdecimal() or not 0 < int(size[:4]) <= _MOST_HEIGHT:
        return None
    names = [spot.name for spot in spots]
    marking = sent.value(MARKING)
    found = [_floats([sent.value(f"{name}_{side}") for side in SIDES]) for name in names]
    corner = _floats(sent.value(CORNER).split())
    return Stage(
        f"data:image/jpeg;base64,{copy}",
        copy,
        size,
        max(round(WIDTH * int(size) / 100), 1),
        marking if marking in names else names[0],
        (corner[0], corner[1]) if len(corner) == 2 else None,
        tuple((m[0], m[1], m[2], m[3]) for m in found if len(m) == len(SIDES)),
    )


def _tap(sent: Sent) -> tuple[float, float] | None:
    at = _floats([sent.value(f"{TAP}.x"), sent.value(f"{TAP}.y")])
    return (at[0], at[1]) if len(at) == 2 and any(at) else None


_NUMBER = re.compile(r"\d{1,5}(\.\d{1,4})?%?")


def _floats(texts: Sequence[str]) -> list[float]:
    """The numbers, if each text is one; none otherwise."""
    if not all(_NUMBER.fullmatch(text) for text in texts):
        return []
    return [float(text.removesuffix("%")) for text in texts]
