"""Readings of photos and drawdowns in the shapes that the pages draw."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
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
from showthrough.say.chances import capital, count_words, short_chance
from showthrough.web.forms.paths import Fields, fields_of_job, query_of

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


def _link(fields: Fields, gone: tuple[str, ...], said: dict[str, Any], **more: str) -> str:
    """The plan of the job with something else in the places that begin with ``gone``."""
    kept = {k: v for k, v in fields.items() if not k.startswith(gone)}
    return f"/?{query_of(kept | fields_of_job(said) | more)}"


_TOPCOAT = ("topcoat.colour", "topcoat.paint", "topcoat.name")
"""How the earlier colour was read goes with it."""


def topcoat_link(fields: Fields, answer: ChipAnswer) -> str:
    """The plan with the chip as its topcoat."""
    return _link(fields, _TOPCOAT, {"topcoat": {"colour": answer.topcoat}})


def surface_link(fields: Fields, answer: ChipAnswer) -> str:
    """The plan with the chip as what is there now."""
    gone = ("surface.1.colour", "surface.1.name")
    return _link(fields, gone, {"surface": [{"colour": answer.topcoat}]})


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


def surface_notes(answer: SurfaceAnswer) -> list[str]:
    """Notes on all patches first, then those on single ones with their names."""
    shared = [n for n in answer.patches[0].notes if all(n in p.notes for p in answer.patches)]
    single = [f"{capital(p.name)}: {n}" for p in answer.patches for n in p.notes if n not in shared]
    return list(dict.fromkeys([*answer.notes, *shared, *single]))


def paint_link(fields: Fields, answer: DrawdownAnswer) -> str:
    """The plan with the measured paint as its topcoat."""
    solids = answer.paint["measured"]["volume_solids"]
    said = {"topcoat": {"paint": answer.paint, "volume_solids": solids}}
    named = {"topcoat.name": answer.name} if answer.name else {}
    return _link(fields, (*_TOPCOAT, "topcoat.label"), said, **named)


_WIDTH, _HEIGHT, _LEFT, _RIGHT, _TOP, _FLOOR = 360.0, 226.0, 48.0, 352.0, 20.0, 186.0
_MOST_DECADES = 4


def constants_drawing(answer: DrawdownAnswer) -> dict[str, Any]:
    """K and S with their uncertainty, one standard deviation, on a logarithmic scale.

    Levels are heights and names on that scale, marks places and names of wavelengths.
    """
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

    def band(name: str, values: Sequence[float], spreads: Sequence[float]) -> dict[str, str]:
        xs = [x_of(nm) for nm in answer.wavelengths_nm]
        pairs = list(zip(xs, values, spreads, strict=True))
        line = " ".join(f"{x},{y_of(v)}" for x, v, _ in pairs)
        upper = [f"{x},{y_of(v * s)}" for x, v, s in pairs]
        lower = [f"{x},{y_of(v / s)}" for x, v, s in reversed(pairs)]
        return {"name": name, "line": line, "area": " ".join(upper + lower)}

    return {
        "width": _WIDTH,
        "height": _HEIGHT,
        "left": _LEFT,
        "right": _RIGHT,
        "floor": _FLOOR,
        "bands": (
            band("K", answer.absorption, answer.absorption_spread),
            band("S", answer.scattering, answer.scattering_spread),
        ),
        "levels": [(y_of(10.0**n), f"{10.0**n:g}") for n in range(low, top + 1)],
        "marks": [(x_of(nm), f"{nm}") for nm in range(400, 701, 50)],
        "telling": f"Scattering S is {answer.scattering_per_um:.3g} per µm of dry film on average; "
        f"absorption K runs from {min(answer.absorption):.2g} to {max(answer.absorption):.2g}.",
    }


def paint_file(answer: DrawdownAnswer) -> dict[str, str]:
    """The TOML file of a measured paint; its content is in the link, nothing is stored for it."""
    plain = "".join(c if c.isascii() and c.isalnum() else "-" for c in answer.name.lower())
    name = "-".join(part for part in plain[:_LONGEST_NAME].split("-") if part) or "paint"
    text = paint_toml(answer.paint)
    link = f"data:application/toml;charset=utf-8,{quote(text)}"
    return {"name": f"{name}.toml", "text": text, "link": link}


def stepped(drawn: Drawn) -> dict[str, Any]:
    """A drawn preview, coat by coat.

    Frames are what each shows, how sure it is to be enough, and the picture itself as a link;
    ``said`` is what was drawn, in a few words.
    """
    answer = drawn.answer
    over = "" if answer.undercoat is None else f"over the {answer.undercoat}"
    enough = answer.prediction.coats.enough if answer.undercoat is None else {}
    first = "as it stands" if answer.undercoat is None else answer.undercoat
    frames = []
    for frame in drawn.frames():
        n = frame.coat
        sure = short_chance(enough[n]) if n in enough else ""
        picture = base64.b64encode(encode_picture(frame.image, "jpeg")).decode("ascii")
        name = count_words(n) if n else first
        frames.append((name, sure, f"data:image/jpeg;base64,{picture}"))
    return {
        "title": over[:1].upper() + over[1:] or "Straight onto the ground",
        "said": f"{count_words(answer.coats)} {over}".rstrip(),
        "frames": frames,
    }
