"""Where a patch lies: an inner point, a square inside it, its outline, its reach."""

from __future__ import annotations

import numpy as np

from showthrough.photo.picture.encoding import BoolArray
from showthrough.photo.place import Point, Region

_MOST_PIECES = 40
_LEAST_PIECE = 0.0005
"""Smaller pieces of the picture's area are left out of the outline."""

_TOLERANCE_PX = 0.8


def inner_point(mask: BoolArray) -> tuple[Point, int]:
    """The place farthest from the patch's border, as fractions, and how far in pixels."""
    inside = np.pad(mask, 1)
    depth = 0
    while True:
        smaller = inside.copy()
        smaller[1:] &= inside[:-1]
        smaller[:-1] &= inside[1:]
        smaller[:, 1:] &= inside[:, :-1]
        smaller[:, :-1] &= inside[:, 1:]
        if not smaller.any():
            break
        inside, depth = smaller, depth + 1
    rows, columns = np.nonzero(inside[1:-1, 1:-1])
    # Of several as deep, the one nearest to their middle.
    far = (rows - rows.mean()) ** 2 + (columns - columns.mean()) ** 2
    best = int(np.argmin(far))
    height, width = mask.shape
    return ((columns[best] + 0.5) / width, (rows[best] + 0.5) / height), depth


def inner_square(centre: Point, reach_px: int, shape: tuple[int, ...]) -> Region:
    """A square around an inner point that stays inside its patch."""
    height, width = shape[:2]
    half = max(0.5, 0.5 * reach_px)
    x, y = centre
    return Region.rectangle(
        max(0.0, x - half / width),
        max(0.0, y - half / height),
        min(1.0, x + half / width),
        min(1.0, y + half / height),
    )


def spread_of(mask: BoolArray, surface: BoolArray) -> float:
    """How far a patch reaches over the surface: 1 where it runs all over it."""

    def spread(part: BoolArray) -> tuple[float, float]:
        rows, columns = np.nonzero(part)
        return float(rows.std()), float(columns.std())

    own, whole = spread(mask), spread(surface)
    return min(o / max(w, 1e-9) for o, w in zip(own, whole, strict=True))


def outlines(mask: BoolArray) -> tuple[tuple[Point, ...], ...]:
    """The patch's larger pieces and holes as polygons in fractions, the largest first."""
    from skimage.measure import approximate_polygon, find_contours  # noqa: PLC0415 - slow import

    height, width = mask.shape
    padded, least = np.pad(mask, 1).astype(float), _LEAST_PIECE * height * width
    pieces = []
    for contour in find_contours(padded, 0.5):  # type: ignore[no-untyped-call] # scikit-image
        if np.ptp(contour, axis=0).prod() < least:
            continue  # a speck, and thinning the outlines of many takes long
        thin = approximate_polygon(contour, _TOLERANCE_PX)[:-1]  # type: ignore[no-untyped-call] # scikit-image
        if len(thin) < 3:
            continue
        y, x = thin[:, 0] - 0.5, thin[:, 1] - 0.5
        area = 0.5 * abs(float(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1))))
        if area >= least:
            across = np.clip(x / width, 0.0, 1.0).round(4)
            down = np.clip(y / height, 0.0, 1.0).round(4)
            pieces.append((area, tuple(zip(across.tolist(), down.tolist(), strict=True))))
    pieces.sort(key=lambda piece: -piece[0])
    return tuple(points for _, points in pieces[:_MOST_PIECES])
