"""The patches as the use cases reckon with them, and what each asks of a topcoat."""

from __future__ import annotations

import math
from dataclasses import dataclass

from showthrough.colour.lights import FloatArray
from showthrough.film.build import FilmBuild, PatchNeed
from showthrough.film.hiding import Paint


@dataclass(frozen=True, slots=True)
class Surface:
    """The patches as the film room sees them."""

    grounds: FloatArray
    """Reflectance inside, shape (p, 31)."""
    lost: FloatArray
    """Part of a first coat that each patch drinks, shape (p,)."""
    log_spread: FloatArray
    """Standard deviation of ln critical film by the readings' uncertainty, shape (p,)."""


def patch_needs(
    critical_um: FloatArray,
    lost: FloatArray,
    log_spread: FloatArray,
    paint: Paint,
    build: FilmBuild,
    films_um: FloatArray | None = None,
) -> tuple[PatchNeed, ...]:
    """What each patch asks of the topcoat, with the spread of paint, film and reading.

    ``films_um`` are critical films of equally likely readings of the colours, shape (m, p).
    """
    likely = [()] * len(lost) if films_um is None else [tuple(f) for f in films_um.T.tolist()]
    base = paint.log_spread**2 + math.log(build.spread) ** 2
    return tuple(
        PatchNeed(float(c), math.sqrt(base + float(e) ** 2), float(drunk), films)
        for c, e, drunk, films in zip(critical_um, log_spread, lost, likely, strict=True)
    )
