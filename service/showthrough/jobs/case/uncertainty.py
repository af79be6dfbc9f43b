"""How far an uncertain colour reading moves the film that is needed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS, recover_spectra
from showthrough.film import undercoat as uc
from showthrough.film.hiding import Paint, budget_of, constants_from_colour
from showthrough.film.optics import inside_reflectance

if TYPE_CHECKING:
    from showthrough.jobs.case.prepared import Substrate

_RADIUS_TO_SIGMA = 2.795
"""95 % of a three-dimensional normal cloud lies within 2.795 standard deviations."""

_FLOOR_UM = 1e-3
_MOST = 1.5
_STEP = 0.25
"""Step of the slope, CIEDE2000; a fixed one, so that a larger radius never counts for less."""


def reading_sigma(
    chip_lab: FloatArray,
    paint: Paint,
    radius: float,
    substrates: Sequence[Substrate],
    grounds: FloatArray,
    critical_um: FloatArray,
) -> FloatArray:
    """Standard deviation of ln critical film by the readings' own uncertainty.

    Each uncertain colour is moved a little along L*, a* and b* and the critical film found
    again; the slope times the standard deviation is its share: linear propagation.

    Args:
        chip_lab: colour of the topcoat, CIELAB D65/2, shape (3,).
        paint: the topcoat.
        radius: 95 % uncertainty of the topcoat's colour, CIEDE2000; 0 for a measured paint.
        substrates: the patches, p of them.
        grounds: reflectance inside, shape (p, 31).
        critical_um: critical film per patch, shape (p,).

    Returns:
        Shape (p,); zero where no reading states a radius.
    """
    variance = np.zeros(len(critical_um))
    k, s = paint.absorption, paint.scattering
    if radius > 0.0:
        moved = _moved(chip_lab)
        found = recover_spectra(moved, PAINT_BOUNDS)
        ks, ss = constants_from_colour(found.reflectance, budget_of(paint))
        for i in np.flatnonzero(found.reachable):
            other = uc.critical_over(ks[i], ss[i], found.lab[i], grounds)
            variance += _share(other, critical_um, radius) ** 2
    for p, patch in enumerate(substrates):
        if patch.radius <= 0.0:
            continue
        moved = _moved(patch.colour.lab)
        found = recover_spectra(moved, SURFACE_BOUNDS)
        seen = np.minimum(found.reflectance[found.reachable], 0.959)
        inside = inside_reflectance(seen) if patch.skin == "coated" else seen
        if len(inside):
            other = uc.critical_over(k, s, chip_lab, inside)
            shares = _share(other, critical_um[p : p + 1], patch.radius)
            variance[p] += float((shares**2).sum())
    return np.sqrt(variance)


def _moved(lab: FloatArray) -> FloatArray:
    """The colour moved by a step along each axis, shape (3, 3).

    Steps in a* and b* grow with chroma as CIEDE2000's own weighting does.
    """
    chroma = float(np.hypot(lab[1], lab[2]))
    step_l = _STEP * (1.0 + 0.015 * (lab[0] - 50.0) ** 2 / np.sqrt(20.0 + (lab[0] - 50.0) ** 2))
    step_c = _STEP * (1.0 + 0.045 * chroma)
    return lab + np.diag([-step_l if lab[0] > 90.0 else step_l, step_c, step_c])


def _share(other: FloatArray, critical_um: FloatArray, radius: float) -> FloatArray:
    """What one axis adds to the standard deviation of ln critical film."""
    with np.errstate(divide="ignore", invalid="ignore"):
        shift = np.log(np.maximum(other, _FLOOR_UM) / np.maximum(critical_um, _FLOOR_UM))
    shift = np.where(np.isfinite(shift), shift, _MOST)
    return np.clip(shift * radius / (_RADIUS_TO_SIGMA * _STEP), -_MOST, _MOST)
