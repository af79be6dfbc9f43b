"""The curve of topcoat film against the grey under it, as a drawing.

Its bars are the greys themselves, touching; their tops are the curve.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import groupby

from showthrough.film.coats import MOST_COATS
from showthrough.jobs.answers.prediction import GreyCurve

_LEVELS = 5.0
"""Lines across the drawing, about."""


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring greys that need as many topcoats."""

    text: str
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Curve:
    """Topcoat film against the grey under it, in the units of the drawing."""

    width: float
    height: float
    floor: float
    bars: tuple[tuple[float, float, float, float, str], ...]
    """x, y, width, height and colour of each grey."""
    line: str
    """Points of the line along the tops."""
    runs: tuple[Run, ...]
    marks: tuple[tuple[float, str], ...]
    """Places and names on the value scale."""
    levels: tuple[tuple[float, str], ...]
    """Heights and names on the film scale."""
    plain_y: float | None
    """Height of the film needed without an undercoat."""
    best_x: float | None
    telling: str


_LEFT, _RIGHT, _TOP, _FLOOR = 34.0, 356.0, 22.0, 176.0
_WIDTH, _HEIGHT = 360.0, 236.0


def grey_curve(curve: GreyCurve, plain_um: float | None) -> Curve | None:
    """The curve as a drawing; None where no grey lets the topcoat hide."""
    known = [p.critical_um for p in curve.points if p.critical_um is not None]
    if not known:
        return None
    most = max(*known, plain_um or 0.0, 1e-9)
    step = _round_step(most / _LEVELS)
    top = step * math.ceil(most / step * 1.0001)
    width = (_RIGHT - _LEFT) / len(curve.points)

    def height_of(um: float) -> float:
        return round(_FLOOR - (_FLOOR - _TOP) * um / top, 2)

    bars, line, marks = [], [], []
    best_x = None
    for i, point in enumerate(curve.points):
        x = _LEFT + i * width
        um = point.critical_um
        y = _TOP if um is None else height_of(um)
        if um is not None:
            bars.append((round(x, 2), y, round(width, 2), round(_FLOOR - y, 2), point.hex))
            line += [f"{x:.2f},{y}", f"{x + width:.2f},{y}"]
        if point.munsell_value == int(point.munsell_value):
            marks.append((round(x + width / 2, 2), f"N {point.munsell_value:g}"))
        if point.munsell_value == curve.best_value:
            best_x = round(x + width / 2, 2)
    return Curve(
        _WIDTH,
        _HEIGHT,
        _FLOOR,
        tuple(bars),
        " ".join(line),
        _runs(curve, width),
        tuple(marks),
        tuple((height_of(n * step), f"{n * step:g}") for n in range(round(top / step) + 1)),
        None if plain_um is None else height_of(plain_um),
        best_x,
        _telling(curve),
    )


def _runs(curve: GreyCurve, width: float) -> tuple[Run, ...]:
    runs, start = [], 0
    for count, members in groupby(curve.points, key=lambda p: p.topcoats):
        length = len(list(members))
        many = count is None or count > MOST_COATS
        text = f">{MOST_COATS}" if many else str(count)
        runs.append(Run(text, round(_LEFT + start * width, 2), round(length * width, 2)))
        start += length
    return tuple(runs)


def _round_step(rough: float) -> float:
    """1, 2 or 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(rough))
    return power * next(f for f in (1.0, 2.0, 5.0, 10.0) if f * power >= rough)


def _telling(curve: GreyCurve) -> str:
    """The curve in one sentence, for those who cannot see it."""
    if curve.best_value is None:
        return "No grey lets this topcoat hide."
    best = min(
        (p for p in curve.points if p.critical_um is not None), key=lambda p: p.critical_um or 0.0
    )
    text = f"Least topcoat over N {curve.best_value:g}: {best.critical_um:.0f} µm dry"
    if curve.good_from is not None and curve.good_from != curve.good_to:
        text += (
            f"; any grey from N {curve.good_from:g} to N {curve.good_to:g} needs as few topcoats"
            f" ({best.topcoats})"
        )
    return text + "."
