"""Places in a photo: polygons in fractions of its width and height."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from showthrough.errors import ImageError, Problem, shown
from showthrough.photo.picture.encoding import BoolArray

Point = tuple[float, float]

MIN_PIXELS = 150
"""Fewest pixels of the working picture that a colour is read from."""


@dataclass(frozen=True, slots=True)
class Window:
    """A region on the pixel grid: the box around it, and what lies inside."""

    rows: slice
    columns: slice
    inside: BoolArray
    """Pixels of the box whose centre is in the region, shape (rows, columns)."""


@dataclass(frozen=True, slots=True)
class Region:
    """A polygon; corners are (x, y) from the top left, 0 to 1 across and down the picture."""

    points: tuple[Point, ...]

    @classmethod
    def rectangle(cls, left: float, top: float, right: float, bottom: float) -> Region:
        """An upright rectangle."""
        return cls(((left, top), (right, top), (right, bottom), (left, bottom)))

    @classmethod
    def polygon(cls, points: Iterable[Sequence[float]]) -> Region:
        """A polygon from its corners in order."""
        return cls(tuple((float(p[0]), float(p[1])) for p in points))

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        across, down = zip(*self.points, strict=True)
        return min(across), min(down), max(across), max(down)

    @property
    def centre(self) -> Point:
        """Centre of the box."""
        left, top, right, bottom = self.box
        return 0.5 * (left + right), 0.5 * (top + bottom)

    def problem(self, field: str) -> Problem | None:
        """What is wrong with the polygon itself, or None."""
        flat = [v for point in self.points for v in point]
        if len(self.points) < 3 or not all(math.isfinite(v) for v in flat):
            return Problem(
                field, shown(self.points), "a region needs at least three corners, all numbers"
            )
        if min(flat) < 0.0 or max(flat) > 1.0:
            return Problem(
                field,
                shown(self.points),
                "the region lies outside the picture; corners are fractions of its width and "
                "height, from 0 to 1",
                "outside",
            )
        return None

    def window(self, size: tuple[int, int]) -> Window:
        """The region on a picture of this width and height.

        A pixel belongs where its centre is inside, by the even-odd rule.
        """
        width, height = size
        left, top, right, bottom = self.box
        columns = slice(max(0, math.floor(left * width)), min(width, math.ceil(right * width)))
        rows = slice(max(0, math.floor(top * height)), min(height, math.ceil(bottom * height)))
        x = (np.arange(columns.start, columns.stop) + 0.5) / width
        y = (np.arange(rows.start, rows.stop)[:, None] + 0.5) / height
        inside = np.zeros((y.shape[0], x.shape[0]), dtype=bool)
        for (x1, y1), (x2, y2) in zip(self.points, (*self.points[1:], self.points[0]), strict=True):
            if y1 == y2:
                continue
            crossing = x1 + (y - y1) * ((x2 - x1) / (y2 - y1))
            inside ^= ((y1 <= y) != (y2 <= y)) & (x < crossing)
        return Window(rows, columns, inside)


def check_regions(
    size: tuple[int, int],
    regions: Mapping[str, Region],
    reference: Mapping[str, Region],
    *,
    overlap: bool = True,
    free: Collection[str] = (),
) -> None:
    """Refuse regions that cannot be measured, all at once.

    Args:
        size: width and height of the working picture in pixels.
        regions: what to measure, by the name of its field.
        reference: cards, sheets or the chart, likewise.
        overlap: whether a region that lies over the reference is refused.
        free: names of regions that are not, whatever ``overlap`` says.

    Raises:
        ImageError: A region is outside the picture or too small, or one to be
            measured lies over the reference.
    """
    problems: list[Problem] = []
    taken = np.zeros(size[::-1], dtype=bool)
    for field, region in [*reference.items(), *regions.items()]:
        problem = region.problem(field)
        if problem:
            problems.append(problem)
            continue
        window = region.window(size)
        count = int(window.inside.sum())
        if count < MIN_PIXELS:
            problems.append(
                Problem(
                    field,
                    shown(region.points),
                    f"the region holds {count} pixels; at least {MIN_PIXELS} are needed: mark a "
                    "larger area or take the photo from nearer",
                    "too_small",
                )
            )
            continue
        part = taken[window.rows, window.columns]
        if field in reference:
            part |= window.inside
        elif overlap and field not in free and (part & window.inside).any():
            problems.append(
                Problem(
                    field,
                    shown(region.points),
                    "the region lies over the reference; mark it beside the card or chart",
                    "overlap",
                )
            )
    if problems:
        raise ImageError(problems)
