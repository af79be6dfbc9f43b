"""Marks that cannot be what they are said to be: refused with what would be right.

A card marked on wood, a white card declared grey, kinds of two cards swapped, and card and
chip swapped each make a calm reading that is far off.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.errors import ImageError, Problem, ProblemList
from showthrough.photo.calibrate.shade import Patch
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import Region
from showthrough.photo.sample import region_pixels

_CAST = 1.7
"""Largest over smallest channel from which a mark is coloured: bare pine has 1.9 and more, while
white balance and a phone's taste for colour together leave a card below 1.6 (simulated)."""

_CAST_OF_GREY = 2.2
"""The same for a grey card that is the only one."""

_GRAIN = 0.02
"""Spread of the blocks of a coloured mark from which it has a grain; cards stay well below."""

_GOES_ON = 0.08
"""How near, in ln, what lies around a mark is to it where the mark is no thing of its own."""

_AROUND = 0.6
"""Width of what is looked at around a mark, over the mark's own."""

_BRIGHT = 0.4
"""Part of the file's white from which a grey card is too bright, being the brightest thing."""

_BRIGHTEST = 0.98
_NEARLY = 1.2

_KINDS_APART = 1.1
"""In ln: how far two cards' levels may be from what they are; a tone curve makes up to 0.7."""

_LIGHTER = 0.14
"""In ln: how much lighter than white a chip may read before marks are doubted."""


def check_cards(
    picture: Picture,
    cards: Sequence[tuple[Region, FloatArray, bool]],
    patches: Sequence[Patch],
) -> None:
    """Refuse cards that are none, or of another kind than said.

    Args:
        picture: the photo.
        cards: of each its region, its own colour as sensor numbers (3,), and whether that is
            a typical one and not measured.
        patches: the cards as photographed, over their own colours.

    Raises:
        ImageError: all that is wrong.
    """
    problems = ProblemList()
    levels = [np.median(patch.log_light, axis=0) for patch in patches]
    for i, level in enumerate(levels[1:], 1):
        apart = float((level - levels[0]).mean())
        if abs(apart) > _KINDS_APART:
            problems.add(
                f"cards[{i}]",
                f"{np.exp(abs(apart)):.1f} times {'lighter' if apart > 0 else 'darker'}",
                "the cards cannot both be what is said: beside the first card this one is "
                f"{np.exp(abs(apart)):.1f} times {'lighter' if apart > 0 else 'darker'} than it "
                "should be: check which is the white, the grey and the black one",
            )
    if problems.problems:
        raise ImageError(problems.problems)
    for i, ((region, own, typical), patch, level) in enumerate(
        zip(cards, patches, levels, strict=True)
    ):
        field = f"cards[{i}]"
        neutral = float(np.ptp(np.log(own))) < np.log(1.1)
        # A tone curve strengthens the cast of a grey; beside another card it is known.
        cast = float(np.ptp(level - levels[0] if i else level))
        limit = _CAST if i or own.max() > 0.5 else _CAST_OF_GREY
        coloured = neutral and cast > np.log(limit)
        if coloured and (patch.noise > _GRAIN or _no_thing(picture, region)):
            problems.add(
                field,
                f"strongest channel {np.exp(cast):.1f} times the weakest",
                "the area marked as the card looks like wood or the surface around it, and not "
                "like a white or grey card: mark the card itself",
            )
        elif typical and neutral and own.max() < 0.5 and _too_bright(picture, level, own):
            problems.add(
                field,
                "the brightest thing in the picture",
                "the area marked as a grey card is the brightest thing in the picture, as a white "
                "card would be: say white if it is white; if it is grey, give its own colour, or "
                "lay a sheet of white paper into the picture",
            )
    if problems.problems:
        raise ImageError(problems.problems)


def _too_bright(picture: Picture, level: FloatArray, own: FloatArray) -> bool:
    """Whether a card is bright in the file, and nothing in the picture is much brighter."""
    shown = float((np.exp(level) * own).mean())
    step = max(1, max(picture.size) // 300)
    light = picture.linear[::step, ::step].mean(axis=2)
    return shown > _BRIGHT and float(np.quantile(light, _BRIGHTEST)) < _NEARLY * shown


def _no_thing(picture: Picture, region: Region) -> bool:
    """Whether what lies around a mark is the same on at least three sides."""
    left, top, right, bottom = region.box
    wide, high = _AROUND * (right - left), _AROUND * (bottom - top)
    sides = [
        (left - wide, top, left, bottom),
        (right, top, right + wide, bottom),
        (left, top - high, right, top),
        (left, bottom, right, bottom + high),
    ]
    inside = np.log(np.maximum(np.median(region_pixels(picture, region).values, axis=0), 1e-6))
    same = 0
    for box in sides:
        one, two, three, four = np.clip(box, 0.0, 1.0)
        if three - one < 0.5 * wide or four - two < 0.5 * high:
            continue
        values = region_pixels(picture, Region.rectangle(one, two, three, four)).values
        if values.shape[0]:
            beside = np.log(np.maximum(np.median(values, axis=0), 1e-6)) - inside
            # Light falls off; colour does not change with it.
            same += float(np.ptp(beside)) < _GOES_ON and abs(float(beside.mean())) < 4.0 * _GOES_ON
    return same >= 3


def check_swap(chip: Region, card: Region, field: str, brightness: float, doubt: float) -> None:
    """Refuse a chip that reads lighter than white, and offer to swap its mark with the card's.

    Args:
        chip: what was marked as the chip.
        card: what was marked as the card.
        field: the chip's name in messages.
        brightness: luminance of the chip as read, 1 for a perfect white.
        doubt: standard deviation of ln(light) at the chip.

    Raises:
        ImageError: with the code ``swapped``.
    """
    if np.log(max(brightness, 1e-9)) < _LIGHTER + 2.0 * doubt:
        return
    places = [",".join(f"{v:.4g}" for v in region.box) for region in (card, chip)]
    raise ImageError(
        [
            Problem(
                field,
                f"{brightness:.1f} times a perfect white",
                "the chip reads lighter than white can be, so that card and chip look swapped: "
                f"mark the chip at {places[0]} and the card at {places[1]}; or if the card is a "
                "grey one, say so",
                "swapped",
            )
        ]
    )
