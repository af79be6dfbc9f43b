"""What a search over undercoats finds for a topcoat, and the closed rule beside it.

Two grounds are told apart: an undercoat too thick to see through, which asks only what
colour it should have, and one real coat, through which the old surface still shows.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showthrough.colour.lights import white_point
from showthrough.colour.space import lab_to_lch, lab_to_xyz, lch_to_lab, xyz_to_lab
from showthrough.colour.spectrum import SURFACE_BOUNDS, recover_spectra
from showthrough.film.hiding import constants_from_colour
from showthrough.film.optics import film_reflectance, inside_reflectance
from showthrough.film.thickness import full_colour_thickness
from showthrough.film.undercoat import (
    UNDERCOAT_SOLIDS,
    UNDERCOAT_WET_UM,
    closed_grey,
)

LAMINATE = (40.0, 11.0, 19.0)
"""Brown laminate (common practice, no source)."""

LIGHTNESS = np.arange(8.0, 96.5, 0.5)

# Topcoats such as the sample swatches hold, invented; CIELAB D65/2.
TOPCOATS = {
    "yellow-green": (66.0, -24.0, 55.0),
    "red": (42.0, 58.0, 38.0),
    "dark blue": (24.0, 3.0, -22.0),
    "vivid yellow": (82.0, 6.0, 80.0),
    "warm white": (92.0, 0.0, 6.0),
    "greyish green": (65.0, -10.0, 10.0),
    "deep green": (32.0, -22.0, 12.0),
    "blue-green": (45.0, -26.0, -10.0),
    "light blue": (72.0, -10.0, -20.0),
    "vivid blue": (42.0, 4.0, -42.0),
    "violet": (40.0, 28.0, -34.0),
    "pale purple": (70.0, 14.0, -16.0),
    "light red": (66.0, 34.0, 8.0),
    "dark red": (28.0, 30.0, 10.0),
    "dull orange": (52.0, 30.0, 32.0),
    "vivid orange": (62.0, 44.0, 62.0),
    "dull yellow": (62.0, 12.0, 48.0),
    "pale yellow": (90.0, 1.0, 18.0),
    "pale green": (82.0, -18.0, 8.0),
    "brown": (34.0, 14.0, 18.0),
}


@dataclass(frozen=True, slots=True)
class Finding:
    """Dry film of topcoat in um over each undercoat, and the best L* of each kind."""

    none_um: float
    own_grey_um: float
    grey_um: float
    grey_lightness: float
    tint_um: float
    tint_lightness: float
    closed_lightness: float


def closed_lightness(absorption, scattering):
    """L* of the grey by the closed rule."""
    return float(xyz_to_lab(closed_grey(absorption, scattering) / 100.0 * white_point())[0])


def _greys(lightness):
    y = lab_to_xyz(np.stack([lightness, 0.0 * lightness, 0.0 * lightness], axis=-1))[..., 1]
    return np.repeat(y[..., None] / 100.0, 31, axis=-1)


def _laid(reflectance, coated_um, below, rule):
    """Undercoats of these colours as the topcoat meets them; inf film is the opaque coat."""
    k, s = rule(reflectance)
    return film_reflectance(k, s, coated_um, below)


def films_over(k, s, chip, grounds):
    """Hiding films of one topcoat over n grounds, shapes (31,), (31,), (3,), (n, 31) -> (n,)."""
    rows = [np.broadcast_to(v, (len(grounds), len(v))) for v in (k, s, chip)]
    return full_colour_thickness(*rows[:2], grounds, rows[2])


def finding(lab, *, opaque, surface=LAMINATE, rule=constants_from_colour):
    """Search greys and tints of half the topcoat's chroma, every half L*; ``rule`` gives K, S."""
    lab = np.asarray(lab)
    paint = recover_spectra([lab]).reflectance[0]
    k, s = rule(paint)
    below = inside_reflectance(recover_spectra([surface], SURFACE_BOUNDS).reflectance[0])
    laid_um = np.inf if opaque else UNDERCOAT_WET_UM * UNDERCOAT_SOLIDS

    def films(reflectance):
        return films_over(k, s, lab, _laid(reflectance, laid_um, below, rule))

    light, chroma, hue = lab_to_lch(lab)
    greys = films(_greys(LIGHTNESS))
    half = lch_to_lab(
        np.stack([LIGHTNESS, 0.0 * LIGHTNESS + chroma / 2.0, 0.0 * LIGHTNESS + hue], axis=-1)
    )
    found = recover_spectra(half, SURFACE_BOUNDS)
    kept = found.reachable & (found.moved == 0.0)
    tints = films(found.reflectance[kept])
    return Finding(
        none_um=float(films_over(k, s, lab, below[None])[0]),
        own_grey_um=float(films(_greys(np.array([light])))[0]),
        grey_um=float(greys.min()),
        # Several neighbours tie where the film is none at all.
        grey_lightness=float(LIGHTNESS[greys == greys.min()].mean()),
        tint_um=float(tints.min()),
        tint_lightness=float(LIGHTNESS[kept][tints == tints.min()].mean()),
        closed_lightness=closed_lightness(k, s),
    )
