"""Readings of photos and drawdowns as a terminal shows them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from showthrough.cli.text.common import mark, wrapped
from showthrough.colour.names import describe_colour

if TYPE_CHECKING:
    from showthrough.jobs.answers.photos import (
        ChipAnswer,
        DrawdownAnswer,
        ReadColour,
        SurfaceAnswer,
    )

_VERDICT = {
    "well-conditioned": "a good draw",
    "opaque": "drawn too thick to measure",
    "transparent": "drawn too thin to tell much",
}

_BASIS = {
    "chart": "with a 24-patch chart",
    "card": "with a card",
    "none": "uncalibrated: no reference in the picture",
}


def _colour_line(read: ReadColour, *, colour: bool) -> str:
    lightness, a, b = read.lab
    return (
        f"{mark(read.hex, colour=colour)} {describe_colour(read.lab)}, "
        f"lab({lightness:.1f} {a:.1f} {b:.1f}); the true "
        f"colour differs by at most {read.radius:.1f} (CIEDE2000; 1 is just seen) in 95 of 100 "
        "cases"
    )


def chip_text(answer: ChipAnswer, *, colour: bool, width: int) -> str:
    """One colour, how sure, and the line for a job file."""
    read = answer.colour
    lab = ", ".join(f"{v:g}" for v in read.lab)
    lines = [
        _colour_line(read, colour=colour),
        f"Read {_BASIS[read.basis]}; light: {read.light}; file: {read.processing}.",
        *wrapped(read.notes, width),
        "",
        "For a job file:",
        "[topcoat]",
        f"colour = {{ lab = [{lab}], radius = {read.radius:g} }}",
    ]
    return "\n".join(lines) + "\n"


def surface_text(answer: SurfaceAnswer, *, colour: bool, width: int) -> str:
    """Patches with shares, then the blocks for a job file."""
    lines = [
        f"{patch.share:4.0%}  {patch.name}: {_colour_line(patch, colour=colour)}"
        for patch in answer.patches
    ]
    notes = dict.fromkeys([*answer.notes, *(n for p in answer.patches for n in p.notes)])
    lines += ["", "What no picture tells; say it of each patch:", *wrapped(answer.asks, width)]
    lines += ["", *wrapped(notes, width), "", surface_toml(answer)]
    return "\n".join(lines)


def surface_toml(answer: SurfaceAnswer) -> str:
    """The patches as [[surface]] blocks; names are the painter's to change."""
    blocks = ["# For a job file. Say of each patch what it is: skin, ground, porous, bleeds."]
    for patch in answer.patches:
        lab = ", ".join(f"{v:g}" for v in patch.lab)
        blocks += [
            "",
            "[[surface]]",
            f'name = "{patch.name}"',
            f"colour = {{ lab = [{lab}], radius = {patch.radius:g} }}",
            f"share = {patch.share:g}",
        ]
    return "\n".join(blocks) + "\n"


def drawdown_text(answer: DrawdownAnswer, *, colour: bool, width: int) -> str:
    """What the film says of the paint."""
    opaque = answer.opaque
    lightness, a, b = opaque.lab
    hiding = "not within reach" if answer.hiding_um is None else f"{answer.hiding_um:.0f} µm dry"
    within = f"lab({lightness:.1f} {a:.1f} {b:.1f}), within {answer.opaque_radius:.1f} CIEDE2000"
    parts = f"readings {answer.reading_spread:.2f}, film {answer.film_spread:.2f}"
    missed = f"{answer.residual_black:.2f} over black, {answer.residual_white:.2f} over white"
    lines = [
        f"{answer.name or 'The paint'}: {_VERDICT[answer.verdict]}",
        f"  fully covering    {mark(opaque.hex, colour=colour)} {within}",
        f"  contrast ratio    {answer.contrast_ratio:.3f}",
        f"  black from white  differ by {answer.difference:.1f} through the film",
        f"  scattering        {answer.scattering_per_um:.4f} per µm dry (mean, 420-680 nm)",
        f"  hides black/white {hiding}",
        f"  known to a factor {answer.spread:.2f} ({parts})",
        f"  checks out within {missed}",
        *wrapped(answer.notes, width),
    ]
    return "\n".join(lines) + "\n"
