"""Readings of photos and drawdowns in the shapes that the pages draw."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.space import hex_of_lab
from showthrough.jobs.answers.photos import (
    ChipAnswer,
    DrawdownAnswer,
    ReadColour,
    SurfaceAnswer,
)
from showthrough.jobs.photos.photos import paint_toml
from showthrough.jobs.photos.preview import Drawn
from showthrough.photo.preview.picture import encode_picture
from showthrough.say.chances import count_words, short_chance
from showthrough.web.forms.paths import Fields, Pairs, fields_of_job, query_of
from showthrough.web.shell import capital

BASIS = {
    "chart": "Read with a 24-patch chart",
    "card": "Read with a card",
    "none": "Uncalibrated: no reference in the picture",
}
VERDICTS = {
    "well-conditioned": "measured",
    "transparent": "measured, though it hides little",
    "opaque": "opaque",
}
_LONGEST_NAME = 40


def based_on(read: ReadColour) -> str:
    """What a reading rests on, in a sentence."""
    aside = "" if read.set_aside < 0.005 else f"; {read.set_aside:.0%} set aside as glare or dust"
    return f"{BASIS[read.basis]}. Light: {read.light}. Mean of {read.pixels} pixels{aside}."


def with_topcoat(fields: Fields, topcoat: dict[str, Any]) -> Fields:
    """The job with another topcoat colour; how the earlier one was read goes with it."""
    gone = ("topcoat.colour", "topcoat.paint", "topcoat.name")
    kept = {k: v for k, v in fields.items() if not k.startswith(gone)}
    return kept | fields_of_job({"topcoat": {"colour": topcoat}})


def topcoat_link(fields: Fields, answer: ChipAnswer) -> str:
    """The plan with the chip as its topcoat."""
    return f"/?{query_of(with_topcoat(fields, answer.topcoat))}"


def surface_link(fields: Fields, answer: ChipAnswer) -> str:
    """The plan with the chip as what is there now."""
    gone = ("surface.1.colour", "surface.1.name")
    kept = {k: v for k, v in fields.items() if not k.startswith(gone)}
    return f"/?{query_of(kept | fields_of_job({'surface': [{'colour': answer.topcoat}]}))}"


def between(read: ReadColour) -> tuple[str, str]:
    """Screen colours of the darkest and the lightest that a reading may be, at its radius."""
    lab = np.array(read.lab)

    def at_radius(way: float) -> str:
        low, high = 0.0, 60.0
        for _ in range(_HALVINGS):
            mid = (low + high) / 2
            off = float(ciede2000(lab + np.array([way * mid, 0.0, 0.0]), lab))
            low, high = (mid, high) if off < read.radius else (low, mid)
        lightness = min(max(read.lab[0] + way * low, 0.0), 100.0)
        return hex_of_lab((lightness, read.lab[1], read.lab[2]))

    return at_radius(-1.0), at_radius(1.0)


_HALVINGS = 24


def surface_form(fields: Fields, answer: SurfaceAnswer) -> tuple[Pairs, list[dict[str, str]]]:
    """The job without its surface, to be carried along, and the proposed patches as its rows."""
    kept = [pair for pair in fields.items() if not pair[0].startswith("surface.")]
    return kept, [fields_of_job({"surface": [row]}) for row in answer.surface]


def surface_notes(answer: SurfaceAnswer) -> list[str]:
    """Notes on all patches first, then those on single ones with their names."""
    shared = [n for n in answer.patches[0].notes if all(n in p.notes for p in answer.patches)]
    single = [f"{capital(p.name)}: {n}" for p in answer.patches for n in p.notes if n not in shared]
    return list(dict.fromkeys([*answer.notes, *shared, *single]))


def paint_link(fields: Fields, answer: DrawdownAnswer) -> str:
    """The plan with the measured paint as its topcoat."""
    gone = ("topcoat.colour", "topcoat.paint", "topcoat.name", "topcoat.label")
    kept = {k: v for k, v in fields.items() if not k.startswith(gone)}
    solids = answer.paint["measured"]["volume_solids"]
    kept |= fields_of_job({"topcoat": {"paint": answer.paint, "volume_solids": solids}})
    if answer.name:
        kept["topcoat.name"] = answer.name
    return f"/?{query_of(kept)}"


@dataclass(frozen=True, slots=True)
class Band:
    """One constant over the wavelengths: a line, and what is uncertain about it."""

    name: str
    line: str
    area: str


@dataclass(frozen=True, slots=True)
class Constants:
    """K and S of a paint as a drawing."""

    width: float
    height: float
    left: float
    right: float
    floor: float
    bands: tuple[Band, ...]
    levels: tuple[tuple[float, str], ...]
    """Heights and names on the logarithmic scale."""
    marks: tuple[tuple[float, str], ...]
    """Places and names of wavelengths."""
    telling: str


_WIDTH, _HEIGHT, _LEFT, _RIGHT, _TOP, _FLOOR = 360.0, 226.0, 48.0, 352.0, 20.0, 186.0
_MOST_DECADES = 4


def constants_drawing(answer: DrawdownAnswer) -> Constants:
    """K and S with their uncertainty, one standard deviation, on a logarithmic scale."""
    most = max(*answer.absorption, *answer.scattering, 1e-9)
    top = math.ceil(math.log10(most) + 0.1)
    least = min(v for v in (*answer.absorption, *answer.scattering, most) if v > 0.0)
    low = max(math.floor(math.log10(least) - 0.1), top - _MOST_DECADES)

    def y_of(value: float) -> float:
        part = (math.log10(max(value, 10.0**low)) - low) / (top - low)
        return round(_FLOOR - (_FLOOR - _TOP) * min(part, 1.0), 2)

    first, last = answer.wavelengths_nm[0], answer.wavelengths_nm[-1]

    def x_of(nm: float) -> float:
        return round(_LEFT + (_RIGHT - _LEFT) * (nm - first) / (last - first), 2)

    def band(name: str, values: Sequence[float], spreads: Sequence[float]) -> Band:
        xs = [x_of(nm) for nm in answer.wavelengths_nm]
        pairs = list(zip(xs, values, spreads, strict=True))
        line = " ".join(f"{x},{y_of(v)}" for x, v, _ in pairs)
        upper = [f"{x},{y_of(v * s)}" for x, v, s in pairs]
        lower = [f"{x},{y_of(v / s)}" for x, v, s in reversed(pairs)]
        return Band(name, line, " ".join(upper + lower))

    return Constants(
        _WIDTH,
        _HEIGHT,
        _LEFT,
        _RIGHT,
        _FLOOR,
        (
            band("K", answer.absorption, answer.absorption_spread),
            band("S", answer.scattering, answer.scattering_spread),
        ),
        tuple((y_of(10.0**n), f"{10.0**n:g}") for n in range(low, top + 1)),
        tuple((x_of(nm), f"{nm}") for nm in range(400, 701, 50)),
        f"Scattering S is {answer.scattering_per_um:.3g} per µm of dry film on average; "
        f"absorption K runs from {min(answer.absorption):.2g} to {max(answer.absorption):.2g}.",
    )


@dataclass(frozen=True, slots=True)
class PaintFile:
    """A measured paint to be saved."""

    name: str
    text: str
    link: str
    """Its content as a link; nothing is stored for it."""


def paint_file(answer: DrawdownAnswer) -> PaintFile:
    """The TOML file of a measured paint."""
    plain = "".join(c if c.isascii() and c.isalnum() else "-" for c in answer.name.lower())
    name = "-".join(part for part in plain[:_LONGEST_NAME].split("-") if part) or "paint"
    text = paint_toml(answer.paint)
    return PaintFile(f"{name}.toml", text, f"data:application/toml;charset=utf-8,{quote(text)}")


@dataclass(frozen=True, slots=True)
class Stepped:
    """The coats of one way to paint, a picture each."""

    title: str
    coats: int
    undercoat: str | None
    frames: tuple[tuple[str, str, str], ...]
    """What each shows, how sure it is to be enough, and the picture itself as a link."""


def stepped(drawn: Drawn) -> Stepped:
    """A drawn preview, coat by coat."""
    answer = drawn.answer
    enough = answer.prediction.coats.enough if answer.undercoat is None else {}
    first = "as it stands" if answer.undercoat is None else answer.undercoat
    frames = []
    for frame in drawn.frames():
        n = frame.coat
        sure = short_chance(enough[n]) if n in enough else ""
        picture = base64.b64encode(encode_picture(frame.image, "jpeg")).decode("ascii")
        name = count_words(n) if n else first
        frames.append((name, sure, f"data:image/jpeg;base64,{picture}"))
    title = "Straight onto the ground"
    if answer.undercoat is not None:
        title = f"Over the {answer.undercoat}"
    return Stepped(title, answer.coats, answer.undercoat, tuple(frames))


def strips_words(strips: Sequence[Stepped]) -> str:
    """What was drawn, in one line."""
    parts = [
        count_words(each.coats) + (f" over the {each.undercoat}" if each.undercoat else "")
        for each in strips
    ]
    return f"{' or '.join(parts)}, drawn"
