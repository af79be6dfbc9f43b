"""What to tell the painter about a colour that cannot be exactly as given."""

from __future__ import annotations

import math

import numpy as np

from showthrough.colour.lights import WAVELENGTHS, FloatArray, white_point
from showthrough.colour.space import xyz_to_lab
from showthrough.colour.spectrum import (
    DEEP_PAINT_BOUNDS,
    NEAR_NEUTRAL_CHROMA,
    PAINT_BOUNDS,
    SURFACE_BOUNDS,
    reachable_chroma,
)

Bounds = tuple[float, float]
"""Least and greatest reflectance, specular excluded."""

_WORTH_SAYING = 0.05  # a smaller move shows nowhere
_ROUNDING = 1e-9


def move_notes(
    label: str, bounds: Bounds, moved: float, moved_by: float, lab: FloatArray
) -> tuple[str, ...]:
    """A sentence when the colour was moved to a possible one, or none.

    Args:
        label: what to call the colour.
        bounds: the bounds that did not hold it.
        moved: how far L* was moved, in the reading's own light.
        moved_by: how far it was moved in all, CIEDE2000.
        lab: what it was moved to, D65 and 2 degrees, shape (3,).
    """
    if max(abs(moved), moved_by) < _WORTH_SAYING:
        return ()
    away = f"CIEDE2000 {moved_by:.1f} away"
    if math.hypot(lab[1], lab[2]) > NEAR_NEUTRAL_CHROMA:
        numbers = " ".join(f"{v:.1f}" for v in lab + 0.0)
        than = f"{_kind(bounds)} of its lightness and hue"
        return (f"{label} is stronger than {than}; it is modelled as lab({numbers}), {away}.",)
    word = "darker" if moved > 0.0 else "lighter"
    than = _kind(bounds)
    if math.hypot(lab[1], lab[2]) > 1.0:
        than += " of its hue and strength"
    lightness = f"lightness {lab[0]:.1f} of 100"
    return (f"{label} is {word} than {than}; it is modelled as {lightness}, {away}.",)


def clip_notes(label: str, bounds: Bounds, reflectance: FloatArray) -> tuple[str, ...]:
    """A sentence for each bound that a measured spectrum, shape (31,), goes beyond."""
    low, high = bounds
    notes = []
    for beyond, bound, word in (
        (reflectance < low - _ROUNDING, low, "below"),
        (reflectance > high + _ROUNDING, high, "above"),
    ):
        if beyond.any():
            nm = WAVELENGTHS[beyond]
            where = f"at {nm[0]:g} nm" if nm.size == 1 else f"between {nm[0]:g} and {nm[-1]:g} nm"
            notes.append(
                f"{label} goes {word} {100 * bound:g}%, as far as {_kind(bounds)} goes, in "
                f"{nm.size} of {WAVELENGTHS.size} bands {where}; there it is modelled as "
                f"{100 * bound:g}%."
            )
    return tuple(notes)


def out_of_reach(
    lab: FloatArray,
    bounds: Bounds,
    light: tuple[str, int],
    *,
    mirror: float = 0.0,
    bounded: bool = True,
) -> str:
    """The message for a colour that cannot be, with the bound that it goes beyond.

    Args:
        lab: CIELAB in the reading's own light, shape (3,).
        bounds: the bounds that do not hold it.
        light: illuminant and observer of the reading.
        mirror: mirror reflection that is part of the reading.
        bounded: whether to seek the greatest chroma, which takes about 10 ms.
    """
    what = {PAINT_BOUNDS: "paint", SURFACE_BOUNDS: "surface"}.get(bounds, "colour")
    low, high = DEEP_PAINT_BOUNDS if bounds == PAINT_BOUNDS else bounds
    limits = (low + mirror, high + mirror)
    white = white_point(*light)
    darkest, lightest = xyz_to_lab(np.outer(limits, white), white)[:, 0]
    chroma = math.hypot(lab[1], lab[2])
    if lab[0] < darkest or lab[0] > lightest:
        word, end = ("darker", darkest) if lab[0] < darkest else ("lighter", lightest)
        return (
            f"L* {lab[0]:.0f} with chroma {chroma:.0f} is {word} than any {what} can be "
            f"(about L* {end:.0f}, and that only as a grey)"
        )
    message = f"chroma {chroma:.0f} is more than any {what} of this lightness and hue can have"
    if bounded:
        most = reachable_chroma(lab, bounds, *light, specular_included=mirror > 0.0)
        message += f" (about {most:.0f})"
    return message


def _kind(bounds: Bounds) -> str:
    """What the bounds belong to, in words."""
    if bounds == PAINT_BOUNDS:
        return "any paint film"
    if bounds == SURFACE_BOUNDS:
        return "any surface we model"
    return f"anything of reflectance {bounds[0]:g} to {bounds[1]:g}"
