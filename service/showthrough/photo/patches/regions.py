"""Patches of a bare surface, proposed from a photo: light and dark grain, filler, old paint."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.lights import FloatArray
from showthrough.errors import ImageError, InputError
from showthrough.photo.calibrate.balance import Calibration, Card, calibrate, checked_references
from showthrough.photo.calibrate.chart import Chart
from showthrough.photo.measure import PhotoColour, judged
from showthrough.photo.patches.groups import Groups, group_colours
from showthrough.photo.patches.names import patch_names
from showthrough.photo.patches.shapes import inner_point, inner_square, outlines, spread_of
from showthrough.photo.picture.encoding import BoolArray
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import Point, Region, check_regions
from showthrough.photo.sample import robust_mean
from showthrough.photo.sensor import to_sensor

MOST_PATCHES = 6
LEAST_SHARE = 0.03
"""Smaller patches are left to the user to mark."""

_WORKING_SIDE = 420
"""Longer side of the copy that is parted, in pixels; more shows grain finer than paint cares."""


@dataclass(frozen=True, slots=True)
class ProposedPatch:
    """One patch of the surface."""

    name: str
    """A proposal; the user may change it."""
    share: float
    """Share of the surface, 0 to 1."""
    colour: PhotoColour
    """Its colour and how sure that is."""
    centre: Point
    """A place well inside the patch, as fractions of the picture."""
    spot: Region
    """A square around the centre that lies inside the patch."""
    outline: tuple[tuple[Point, ...], ...]
    """Its largest pieces and their holes as polygons in fractions; even-odd."""

    @property
    def lab(self) -> tuple[float, float, float]:
        """CIELAB D65, 2 degrees."""
        return self.colour.lab

    @property
    def radius(self) -> float:
        """The true colour is within this CIEDE2000 in about 95 of 100 cases."""
        return self.colour.radius


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a photo of a bare surface seems to show."""

    patches: tuple[ProposedPatch, ...]
    """By falling share."""
    labels: NDArray[np.int8]
    """Which patch each pixel of a small copy of the photo belongs to, shape (h, w); -1 none."""
    notes: tuple[str, ...]

    def mask(self, index: int, size: tuple[int, int]) -> BoolArray:
        """Where patch ``index`` lies on a picture of this width and height, shape (h, w)."""
        height, width = self.labels.shape
        rows = (np.arange(size[1]) * height) // size[1]
        columns = (np.arange(size[0]) * width) // size[0]
        return np.asarray(self.labels[rows][:, columns] == index, dtype=bool)


def propose_patches(
    picture: Picture,
    area: Region | None = None,
    *,
    most: int = MOST_PATCHES,
    cards: Sequence[Card] = (),
    chart: Chart | None = None,
    sheets: Sequence[Region] = (),
    light: str | None = None,
    processing: str = "unknown",
) -> Proposal:
    """Part a bare surface into patches of one colour each.

    The same picture and references give the same patches.

    Args:
        picture: the photo.
        area: the part of the picture that is the surface; all of it where None.
        most: most patches to propose, 1 to 6.
        cards: cards of known colour; the first is the main one.
        chart: a 24-patch chart; it outranks the cards.
        sheets: plain areas of unknown colour that show how the light lies.
        light: kind of light, a key of ``LIGHT_NAMES``; None where it is not known.
        processing: how the file was made, a key of ``PROCESSING``.

    Raises:
        InputError: The area or a reference cannot be used; all problems are listed.
    """
    if not 1 <= most <= MOST_PATCHES:
        raise InputError.at("most", most, f"the number of patches must be 1 to {MOST_PATCHES}")
    references = checked_references(cards, chart, sheets)
    checked = {} if area is None else {"area": area}
    check_regions(picture.size, checked, references, overlap=False)
    calibration = calibrate(
        picture, cards=cards, chart=chart, sheets=sheets, light=light, processing=processing
    )
    sensor, usable = _small_copy(picture, area, list(references.values()))
    if usable.sum() < 400:
        raise ImageError.at(
            "area",
            f"{int(usable.sum())} pixels",
            "too little of the surface is left beside the reference and burnt-out parts: mark a "
            "larger area",
        )
    height, width = usable.shape
    x, y = np.meshgrid((np.arange(width) + 0.5) / width, (np.arange(height) + 0.5) / height)
    even = calibration.flatten(sensor, x, y)
    field = calibration.field
    # A card shows the light where it lies; how it falls off from there the surface shows best.
    groups = group_colours(
        even,
        usable,
        calibration.lab,
        most,
        LEAST_SHARE,
        shaded=not sheets,
        near=None if field is None else field.origin,
    )
    return _described(calibration, picture, groups, (x, y))


def _small_copy(
    picture: Picture, area: Region | None, references: Sequence[Region]
) -> tuple[FloatArray, BoolArray]:
    """Sensor numbers (h, w, 3) of a small copy, and which of its pixels are surface."""
    from scipy import ndimage  # noqa: PLC0415 - slow to import

    factor = max(1, -(-max(picture.size) // _WORKING_SIDE))
    height, width = picture.size[1] // factor, picture.size[0] // factor
    part = (slice(0, height * factor), slice(0, width * factor))
    tiles = picture.linear[part].reshape(height, factor, width, factor, 3)
    linear = tiles.mean(axis=(1, 3), dtype=np.float32).astype(float)
    clipped_high = picture.clipped_high[part].reshape(height, factor, width, factor)
    usable = clipped_high.mean(axis=(1, 3)) < 0.25
    size = (width, height)
    if area is not None:
        window = area.window(size)
        inside = np.zeros_like(usable)
        inside[window.rows, window.columns] = window.inside
        usable &= inside
    for region in references:
        window = region.window(size)
        grown = np.zeros_like(usable)
        grown[window.rows, window.columns] = window.inside
        # A card's edge is no surface.
        usable &= ~ndimage.binary_dilation(grown, iterations=max(2, width // 60))
    return linear @ to_sensor().T, usable


def _described(
    calibration: Calibration,
    picture: Picture,
    groups: Groups,
    place: tuple[FloatArray, FloatArray],
) -> Proposal:
    """Colours, names and coordinates of the groups."""
    total = int((groups.labels >= 0).sum())
    notes = list(groups.notes)
    if calibration.field is None:
        notes.append(
            "No card, sheet or chart shows how the light lies: its fall-off was guessed from the "
            "surface itself."
        )
    found = []
    for index in range(groups.count):
        mask = groups.labels == index
        core = groups.core & mask
        pixels = groups.even[core if core.sum() >= 50 else mask]
        # Grain and dust belong to the patch: only glare is set aside.
        mean = robust_mean(pixels, weave=4.0)
        doubt = _doubt(calibration, place, mask)
        found.append((mask, judged(picture, calibration, mean, doubt)))
    names = patch_names(
        [c.lab for _, c in found],
        [float(m.sum()) / total for m, _ in found],
        [spread_of(m, groups.labels >= 0) for m, _ in found],
    )
    patches = []
    for (mask, colour), name in zip(found, names, strict=True):
        centre, reach = inner_point(mask)
        patches.append(
            ProposedPatch(
                name,
                float(mask.sum()) / total,
                colour,
                centre,
                inner_square(centre, reach, mask.shape),
                outlines(mask),
            )
        )
    return Proposal(tuple(patches), groups.labels, tuple(notes))


def _doubt(
    calibration: Calibration, place: tuple[FloatArray, FloatArray], mask: BoolArray
) -> float:
    """Typical standard deviation of ln(light) over a patch."""
    if calibration.field is None:
        return 0.0
    rows, columns = np.nonzero(mask)
    step = max(1, rows.size // 50)
    doubts = [
        calibration.field.uncertainty(float(place[0][r, c]), float(place[1][r, c]))
        for r, c in zip(rows[::step], columns[::step], strict=True)
    ]
    return float(np.median(doubts))
