"""The Munsell renotation: chromaticities of hue, value and chroma, and back.

The tables and the interpolation between them are those of colour-science. It is
imported only when a hue is met, since that costs most of a second, and with its
warnings silenced. The way back is a Newton search of our own over the library's
way there: the library's own search gives up on some colours that lie exactly on a
tabulated one, where its interpolation has a kink.

Source: Newhall, Nickerson, Judd 1943; ASTM D1535; colour-science 0.4.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from threading import RLock
from typing import Any, NamedTuple

import numpy as np

from showthrough.colour.lights import FloatArray

_FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")

# CIELAB hue angle (degrees) of hues 5R, 5Y, 5G, 5B, 5P at medium value, to begin a search.
_START_ANGLE = (-45.0, 25.0, 90.0, 165.0, 235.0, 315.0, 385.0)
_START_CIRCLE = (-15.0, 5.0, 25.0, 45.0, 65.0, 85.0, 105.0)

_CLOSE = 1e-6
_CLOSE_ENOUGH = 1e-4  # a tenth of a chroma step is about 1e-3 in x or y
_STEPS = 30


class Step(NamedTuple):
    """A chromatic Munsell colour by numbers."""

    circle: float
    """Hue on the circle of 100 steps; 5R is 5, 5YR is 15, 10RP is 100."""
    value: float
    chroma: float


def chromaticity(step: Step) -> tuple[float, float] | None:
    """Chromaticity x, y under illuminant C, 2 degrees; None outside the tables."""
    with _renotation() as munsell:
        return _chromaticity(munsell, step)


def greatest_chroma(step: Step) -> float:
    """Greatest tabulated chroma at a hue and value."""
    with _renotation() as munsell:
        hue, code = _hue(munsell, step.circle)
        return min(
            float(munsell.maximum_chroma_from_renotation([hue, min(level, 9.0), code]))
            for level in (math.floor(step.value), math.ceil(step.value))
        )


def step_of_chromaticity(x: float, y: float, value: float, ab: tuple[float, float]) -> Step | None:
    """The Munsell colour with a chromaticity, or None outside the tables.

    Args:
        x: chromaticity under illuminant C, 2 degrees.
        y: the same.
        value: Munsell value, 1 to below 10.
        ab: CIELAB a*, b* in the same light, from which the search begins.
    """
    angle = math.degrees(math.atan2(ab[1], ab[0])) % 360.0
    turn = 2.0 * math.pi * float(np.interp(angle, _START_ANGLE, _START_CIRCLE)) / 100.0
    with _renotation() as munsell:
        # On the plane of chroma and hue, where the way there is nearly linear.
        place = np.array([math.cos(turn), math.sin(turn)]) * math.hypot(*ab) / 5.5
        seen = _seen(munsell, place, value)
        while seen is None and math.hypot(*place) > 0.5:
            place = 0.8 * place
            seen = _seen(munsell, place, value)
        if seen is None:
            return None
        target: FloatArray = np.array([x, y])
        for _ in range(_STEPS):
            miss = target - seen
            if np.abs(miss).max() < _CLOSE:
                break
            slope = _slope(munsell, place, value, seen)
            if slope is None:
                break
            move = np.asarray(np.linalg.solve(slope, miss), dtype=float)
            better = _halved_until_better(munsell, place, value, move, target)
            if better is None:
                break
            place, seen = better
        if np.abs(target - seen).max() > _CLOSE_ENOUGH:
            return None
    return _step(place, value)


def _step(place: FloatArray, value: float) -> Step:
    circle = math.degrees(math.atan2(place[1], place[0])) % 360.0 / 3.6
    return Step(circle, value, math.hypot(*place))


def _seen(munsell: Any, place: FloatArray, value: float) -> FloatArray | None:
    found = _chromaticity(munsell, _step(place, value))
    return None if found is None else np.array(found)


def _slope(munsell: Any, place: FloatArray, value: float, seen: FloatArray) -> FloatArray | None:
    """Jacobian by differences towards the grey axis, which stay inside the tables."""
    columns = []
    for axis in range(2):
        nudge = np.zeros(2)
        nudge[axis] = -math.copysign(0.01, place[axis])
        moved = _seen(munsell, place + nudge, value)
        if moved is None:
            return None
        columns.append((moved - seen) / nudge[axis])
    slope = np.array(columns).T
    return slope if abs(np.linalg.det(slope)) > 1e-12 else None


def _halved_until_better(
    munsell: Any, place: FloatArray, value: float, move: FloatArray, target: FloatArray
) -> tuple[FloatArray, FloatArray] | None:
    """The first of full step, half step and so on that comes nearer to the target."""
    before = _seen(munsell, place, value)
    if before is None:
        return None
    for halving in range(8):
        trial = place + move * 0.5**halving
        seen = _seen(munsell, trial, value)
        if seen is not None and np.hypot(*(target - seen)) < np.hypot(*(target - before)):
            return trial, seen
    return None


def _hue(munsell: Any, circle: float) -> tuple[float, int]:
    """Hue within its family, above 0 up to 10, and the library's code of the family."""
    family = (math.ceil(circle / 10.0) - 1) % 10
    hue = circle - 10.0 * (math.ceil(circle / 10.0) - 1)
    return hue, int(munsell.MUNSELL_HUE_LETTER_CODES[_FAMILIES[family]])


def _chromaticity(munsell: Any, step: Step) -> tuple[float, float] | None:
    hue, code = _hue(munsell, step.circle)
    try:
        x, y, _ = munsell.munsell_specification_to_xyY([hue, step.value, step.chroma, code])
    except (ValueError, AssertionError, RuntimeError):
        return None
    return float(x), float(y)


_lock = RLock()


@contextmanager
def _renotation() -> Iterator[Any]:
    """The library's module, without its warnings.

    The list of warning filters belongs to the whole process, hence the lock.
    """
    with _lock, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour.notation import munsell  # noqa: PLC0415 - costs most of a second

        yield munsell
