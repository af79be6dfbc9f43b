"""The last film at which a ground still shows, found by looking everywhere.

Every thickness on a dense scale is tried with the plain film formula; the thickest that
misses the tolerance, and its neighbour that does not, bracket the crossing, which halving
then narrows. No use is made of how the difference falls.
"""

from __future__ import annotations

import math

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.film.optics import film_reflectance, outside_reflectance

STEPS = 3000
RANGE = (1e-3, 2048.0)
"""Optical thickness (S + greatest K) X that is looked at."""


def seen_lab(absorption, scattering, films, substrate):
    """Colours of one paint at many films, shapes (31,), (31,), (t,), (31,) -> (t, 3)."""
    inner = film_reflectance(absorption, scattering, np.asarray(films)[:, None], substrate)
    return spectrum_to_lab(outside_reflectance(inner))


def last_crossing(missing, unit, tolerance):
    """Thickest film at which ``missing(films)`` is above the tolerance; 0 or inf at the ends."""
    films = np.geomspace(*RANGE, STEPS) * unit
    over = np.flatnonzero(missing(films) > tolerance)
    if over.size == 0:
        return 0.0 if missing(np.zeros(1))[0] <= tolerance else float(films[0])
    if over[-1] == STEPS - 1:
        return math.inf
    low, high = float(films[over[-1]]), float(films[over[-1] + 1])
    for _ in range(40):
        middle = 0.5 * (low + high)
        if missing(np.array([middle]))[0] > tolerance:
            low = middle
        else:
            high = middle
    return high


def full_colour(absorption, scattering, substrate, chip, tolerance=1.0):
    """Film beyond which one paint over one ground keeps the chip's colour."""
    unit = 1.0 / float((absorption + scattering).max())
    return last_crossing(
        lambda films: ciede2000(seen_lab(absorption, scattering, films, substrate), chip),
        unit,
        tolerance,
    )


def even(absorption, scattering, substrate_1, substrate_2, tolerance=1.0):
    """Film beyond which two grounds under one paint look the same."""
    unit = 1.0 / float((absorption + scattering).max())
    return last_crossing(
        lambda films: ciede2000(
            seen_lab(absorption, scattering, films, substrate_1),
            seen_lab(absorption, scattering, films, substrate_2),
        ),
        unit,
        tolerance,
    )
