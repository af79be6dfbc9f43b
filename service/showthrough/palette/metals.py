"""Colours of metals: clean and polished, and as they look on a piece of furniture.

A clean, flat, polished metal reflects

    R = ((n - m)^2 + k^2) / ((n + m)^2 + k^2)

at normal incidence, with its optical constants n and k and the index m of what
lies on it (1 for air). That colour is much lighter than a fitting looks, because
a fitting shows the room, wears scratches, and carries tarnish or lacquer. The
model of that is simple on purpose; each step is one function below, and its
amounts (``SURFACES``) are typical values from memory, not measurements.

Source: the reflectance is Fresnel's; n and k from the public-domain
refractiveindex.info database, page by page in data/metals.csv.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import WAVELENGTHS, FloatArray, frozen
from showthrough.errors import InputError
from showthrough.tables import data_text, rows_of

LACQUER_INDEX = 1.5
"""Refractive index of clear lacquer (the usual value for a film-forming resin)."""

FILM_REFLECTION = 0.04
"""What the outer face of a lacquer or tarnish film reflects (Fresnel, n = 1.5)."""

TARNISH_POWER = 1.5
"""Tarnish absorbs as wavelength to minus this power, so that it looks brown (from memory)."""


@dataclass(frozen=True, slots=True)
class MetalPage:
    """Optical constants of one metal from one published page."""

    metal: str
    page: str
    """shelf/book/page of the database."""
    source: str
    """Author and year."""
    index: FloatArray
    """n, shape (31,)."""
    extinction: FloatArray
    """k, shape (31,)."""

    def reflectance(self, outer_index: float = 1.0) -> FloatArray:
        """Normal reflectance of the clean metal under air or lacquer, shape (31,)."""
        return mirror_reflectance(self.index, self.extinction, outer_index)


class Surface(NamedTuple):
    """What use and workmanship do to a metal; amounts typical, from memory."""

    name: str
    room: float
    """How bright the room looks in the metal, beside a white sheet (1)."""
    twice: float = 0.0
    """Share of the light that meets the metal twice, in scratches and brush lines."""
    tarnish: float = 0.0
    """Optical depth of the tarnish film at 550 nm, one way."""
    bare: float = 0.0
    """Share of the area rubbed free of tarnish."""
    lacquered: bool = False


SURFACES: dict[str, Surface] = {
    s.name: s
    for s in (
        # Common practice, no source: walls and furniture give back about half of the light
        # that falls on them, so a mirror among them shows somewhat under half of white; a
        # brushed face also gathers light from the lamp and the window.
        Surface("bright", room=0.45),
        Surface("bright lacquered", room=0.45, lacquered=True),
        Surface("satin", room=0.62, twice=0.2),
        Surface("satin lacquered", room=0.62, twice=0.2, lacquered=True),
        Surface("aged", room=0.62, twice=0.2, tarnish=0.45),
        Surface("aged relieved", room=0.55, twice=0.1, tarnish=0.5, bare=0.4),
        Surface("oxidised", room=0.5, twice=0.1, tarnish=0.6),
        Surface("dark", room=0.6, twice=0.2, tarnish=1.2),
    )
}


@cache
def metal_pages() -> tuple[MetalPage, ...]:
    """All pages of optical constants, in the order of the file."""
    found: dict[tuple[str, str, str], list[FloatArray]] = {}
    for metal, page, source, _constant, *figures in rows_of(data_text(__file__, "metals.csv"))[1:]:
        values = frozen(np.array(figures, dtype=float))
        found.setdefault((metal, page, source), []).append(values)
    return tuple(MetalPage(*key, *constants) for key, constants in found.items())


def metals() -> tuple[str, ...]:
    """Names of the metals with published optical constants."""
    return tuple(dict.fromkeys(page.metal for page in metal_pages()))


def pages_of(metal: str) -> tuple[MetalPage, ...]:
    """The published pages for one metal; one or two.

    Raises:
        InputError: no page for this metal.
    """
    found = tuple(page for page in metal_pages() if page.metal == metal)
    if not found:
        known = ", ".join(metals())
        message = f"no optical constants for {metal!r}; there are: {known}"
        raise InputError.at("metal", metal, message)
    return found


def mirror_reflectance(
    index: ArrayLike, extinction: ArrayLike, outer_index: float = 1.0
) -> FloatArray:
    """Normal reflectance of a flat clean metal.

    Args:
        index: n of the metal, any shape.
        extinction: k of the metal, same shape.
        outer_index: index of what lies on the metal: 1 for air.

    Source:
        Fresnel: R = ((n - m)^2 + k^2) / ((n + m)^2 + k^2).
    """
    n, k = np.asarray(index, dtype=float), np.asarray(extinction, dtype=float)
    return ((n - outer_index) ** 2 + k * k) / ((n + outer_index) ** 2 + k * k)


@cache
def clean_reflectance(metal: str, outer_index: float = 1.0) -> FloatArray:
    """Reflectance of clean polished metal: the mean of its pages, shape (31,)."""
    return frozen(np.mean([page.reflectance(outer_index) for page in pages_of(metal)], axis=0))


def under_lacquer(immersed: ArrayLike) -> FloatArray:
    """A clear film over metal: its face reflects, and returns part of what comes back.

    R' = r + (1 - r)^2 R / (1 - r R), the surface correction of a film whose light
    stays near the normal, so that both faces reflect r.

    Args:
        immersed: reflectance of the metal under the film's index.
    """
    metal, face = np.asarray(immersed, dtype=float), FILM_REFLECTION
    return face + (1.0 - face) ** 2 * metal / (1.0 - face * metal)


def under_tarnish(reflectance: ArrayLike, optical_depth: float) -> FloatArray:
    """An absorbing brown film: light crosses it in and out.

    R' = r + (1 - r) R exp(-2 t (550/wavelength)^1.5), where the face reflection r
    grows with the film, from none to that of a closed film.

    Args:
        reflectance: of the metal, shape (31,).
        optical_depth: t at 550 nm, one way; 0 for none.
    """
    depth = optical_depth * (550.0 / WAVELENGTHS) ** TARNISH_POWER
    face = FILM_REFLECTION * (1.0 - np.exp(-2.0 * optical_depth))
    return face + (1.0 - face) * np.asarray(reflectance, dtype=float) * np.exp(-2.0 * depth)


def scratched(reflectance: ArrayLike, twice: float) -> FloatArray:
    """A share of the light meets the metal twice: R' = (1 - w) R + w R^2."""
    once = np.asarray(reflectance, dtype=float)
    return (1.0 - twice) * once + twice * once * once


def in_service_reflectance(metal: str, surface: Surface) -> FloatArray:
    """Reflectance factor of a fitting as seen in a room, shape (31,).

    The picture of the room (``surface.room``) in scratched metal under its film.
    A rubbed finish is the mean of tarnished and bare areas.

    Raises:
        InputError: no optical constants for this metal.
    """
    if surface.lacquered:
        bare = under_lacquer(clean_reflectance(metal, LACQUER_INDEX))
    else:
        bare = clean_reflectance(metal)
    bare = scratched(bare, surface.twice)
    covered = under_tarnish(bare, surface.tarnish)
    return surface.room * (surface.bare * bare + (1.0 - surface.bare) * covered)
