"""Random paints and grounds, spread over what paint and surfaces can be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showthrough.colour.space import lch_to_lab
from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS, recover_spectra
from showthrough.film.hiding import constants_from_colour
from showthrough.film.optics import inside_reflectance


def colours(rng, n, bounds, most_chroma):
    """CIELAB and spectra of n colours within bounds, none of them moved or a deep paint."""
    lab = lch_to_lab(
        np.stack(
            [
                rng.uniform(10.0, 96.0, 4 * n),
                most_chroma * rng.random(4 * n) ** 1.5,  # dull ones are commoner
                rng.uniform(0.0, 360.0, 4 * n),
            ],
            axis=1,
        )
    )
    found = recover_spectra(lab, bounds)
    with np.errstate(invalid="ignore"):
        ordinary = found.reflectance.min(axis=1) >= bounds[0]
    kept = np.flatnonzero(found.reachable & (found.moved == 0.0) & ordinary)[:n]
    assert kept.size == n
    return lab[kept], found.reflectance[kept]


@dataclass(frozen=True, slots=True)
class Pairs:
    """n topcoats over n surfaces."""

    lab: np.ndarray
    absorption: np.ndarray
    scattering: np.ndarray
    surface_lab: np.ndarray
    bare: np.ndarray
    substrate: np.ndarray
    """Reflectance as the film meets it: inside, or as it is where bare."""


def pairs(seed, n):
    """Random topcoats over random surfaces, three in ten of them bare."""
    rng = np.random.default_rng(seed)
    lab, paint = colours(rng, n, PAINT_BOUNDS, 90.0)
    surface_lab, surface = colours(rng, n, SURFACE_BOUNDS, 60.0)
    bare = rng.random(n) < 0.3
    absorption, scattering = constants_from_colour(paint)
    substrate = np.where(bare[:, None], surface, inside_reflectance(surface))
    return Pairs(lab, absorption, scattering, surface_lab, bare, substrate)
