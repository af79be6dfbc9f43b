"""What paint does to one pixel of a photographed surface, reckoned directly.

The light of a pixel, with its shading divided out, is the colour of a surface; the
smoothest spectrum of that colour is the ground; films lie over it; what comes back
is light again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import (
    lab_to_lch,
    lch_to_lab,
    linear_rgb_to_xyz,
    xyz_to_lab,
    xyz_to_linear_rgb,
)
from showthrough.colour.spectrum import SURFACE_BOUNDS, recover_spectra, spectrum_to_xyz
from showthrough.film.hiding import Paint
from showthrough.film.optics import film_reflectance, inside_reflectance, outside_reflectance

Skin = Literal["coated", "bare"]

GLARE = 0.94
"""Most light that a surface sends back in a channel; what is brighter is taken as this.
Just below the greatest reflectance of a surface, where spectra turn into blocks."""

_CHROMA_STEPS = 12


@dataclass(frozen=True, slots=True)
class Coating:
    """What goes over a ground."""

    topcoat: Paint
    undercoat: Paint | None = None
    undercoat_um: float = 0.0
    """Dry film of the undercoat, µm."""


def surface_spectra(light: FloatArray) -> FloatArray:
    """Spectra of the surfaces that show these colours.

    Args:
        light: linear light with the sRGB primaries, white = 1, shape (n, 3).

    Returns:
        Reflectance, specular excluded, shape (n, 31), all finite.

    Limits:
        Light below 0 or above ``GLARE`` is taken as that bound. A colour that no
        surface can have is moved as ``recover_spectra`` moves it, its hue kept; one that
        is farther out than that gives up chroma first.
    """
    lab = xyz_to_lab(linear_rgb_to_xyz(np.clip(light, 0.0, GLARE)))
    found = recover_spectra(lab, SURFACE_BOUNDS)
    spectra = found.reflectance
    lost = np.flatnonzero(~found.reachable)
    if lost.size:
        spectra[lost] = nearest_chroma(lab[lost])
    return np.clip(spectra, *SURFACE_BOUNDS)


def nearest_chroma(lab: FloatArray) -> FloatArray:
    """Spectra of the purest surfaces of the same hue, shape (n, 3) -> (n, 31).

    Chroma is given up until ``recover_spectra`` can move the rest of the way, which also
    moves the lightness towards the middle grey's.

    Source: bisection on ``recover_spectra``; to 1/4096 of the chroma asked for.
    """
    lch = lab_to_lch(lab)
    low, high = np.zeros(len(lch)), np.ones(len(lch))
    # A neutral is always found: it is moved along L* as far as it takes.
    best = recover_spectra(lch_to_lab(lch * (1.0, 0.0, 1.0)), SURFACE_BOUNDS).reflectance
    for _ in range(_CHROMA_STEPS):
        middle = 0.5 * (low + high)
        trial = lch.copy()
        trial[:, 1] *= middle
        found = recover_spectra(lch_to_lab(trial), SURFACE_BOUNDS)
        hit = found.reachable
        best[hit] = found.reflectance[hit]
        low, high = np.where(hit, middle, low), np.where(hit, high, middle)
    return best


def painted_light(
    spectra: FloatArray, skin: Skin, coating: Coating, films_um: Sequence[float]
) -> FloatArray:
    """Light of grounds under films, per film.

    Args:
        spectra: reflectance of the grounds as seen, shape (n, 31).
        skin: "coated" grounds are looked at through their own surface, which is
            undone (Saunderson); "bare" ones are taken as they are seen.
        coating: the paints.
        films_um: dry films of the topcoat, µm, m of them.

    Returns:
        Linear light with the sRGB primaries, not clipped, shape (n, m, 3).
    """
    ground = inside_reflectance(spectra) if skin == "coated" else spectra
    if coating.undercoat is not None:
        under = coating.undercoat
        ground = film_reflectance(under.absorption, under.scattering, coating.undercoat_um, ground)
    top = coating.topcoat
    light = np.empty((len(spectra), len(films_um), 3))
    for i, film_um in enumerate(films_um):
        inside = film_reflectance(top.absorption, top.scattering, film_um, ground)
        light[:, i] = xyz_to_linear_rgb(spectrum_to_xyz(outside_reflectance(inside)))
    return light
