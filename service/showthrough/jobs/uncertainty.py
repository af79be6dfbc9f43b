"""How far an uncertain colour reading moves the film that is needed."""

from __future__ import annotations

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS, recover_spectra
from showthrough.film import undercoat as uc
from showthrough.film.hiding import BUDGET_PER_UM, constants_from_colour
from showthrough.film.optics import inside_reflectance
from showthrough.jobs.paints import TopcoatModel
from showthrough.jobs.resolve import ReadJob

_RADIUS_TO_SIGMA = 2.795
"""95 % of a three-dimensional normal cloud lies within 2.795 standard deviations."""

_FLOOR_UM = 1e-3
_MOST = 1.5


def reading_spread(
    read: ReadJob, topcoat: TopcoatModel, grounds: FloatArray, critical_um: FloatArray
) -> FloatArray:
    """Standard deviation of ln critical film by the readings' own uncertainty.

    Each uncertain colour is moved along L*, a* and b* by one standard deviation and
    the critical film found again: linear propagation.

    Args:
        read: the job; a colour's ``radius`` is its 95 % uncertainty, CIEDE2000.
        topcoat: the topcoat; a measured paint's colour is not moved.
        grounds: reflectance inside, shape (p, 31).
        critical_um: critical film per patch, shape (p,).

    Returns:
        Shape (p,); zero where no reading states a radius.
    """
    variance = np.zeros(len(critical_um))
    k, s = topcoat.paint.absorption, topcoat.paint.scattering
    colour = read.job.topcoat.colour
    if colour is not None and colour.radius > 0.0 and topcoat.paint.evidence in {"colour", "label"}:
        moved = _moved(topcoat.chip_lab, colour.radius)
        found = recover_spectra(moved, PAINT_BOUNDS)
        scale = float((k + s).max()) / BUDGET_PER_UM
        ks, ss = constants_from_colour(found.reflectance, BUDGET_PER_UM * scale)
        for i in np.flatnonzero(found.reachable):
            other = uc.critical_over(ks[i], ss[i], found.lab[i], grounds)
            variance += _log_shift(other, critical_um) ** 2
    for p, patch in enumerate(read.job.surface):
        if patch.colour.radius <= 0.0:
            continue
        moved = _moved(read.patches[p].lab, patch.colour.radius)
        found = recover_spectra(moved, SURFACE_BOUNDS)
        seen = np.minimum(found.reflectance[found.reachable], 0.959)
        inside = inside_reflectance(seen) if patch.skin == "coated" else seen
        if len(inside):
            other = uc.critical_over(k, s, topcoat.chip_lab, inside)
            variance[p] += float((_log_shift(other, critical_um[p : p + 1]) ** 2).sum())
    return np.sqrt(variance)


def _moved(lab: FloatArray, radius: float) -> FloatArray:
    """The colour moved by one standard deviation along each axis, shape (3, 3).

    Steps in a* and b* grow with chroma as CIEDE2000's own weighting does.
    """
    sigma = radius / _RADIUS_TO_SIGMA
    chroma = float(np.hypot(lab[1], lab[2]))
    step_l = sigma * (1.0 + 0.015 * (lab[0] - 50.0) ** 2 / np.sqrt(20.0 + (lab[0] - 50.0) ** 2))
    step_c = sigma * (1.0 + 0.045 * chroma)
    return lab + np.diag([-step_l if lab[0] > 90.0 else step_l, step_c, step_c])


def _log_shift(other: FloatArray, critical_um: FloatArray) -> FloatArray:
    with np.errstate(divide="ignore", invalid="ignore"):
        shift = np.log(np.maximum(other, _FLOOR_UM) / np.maximum(critical_um, _FLOOR_UM))
    return np.where(np.isfinite(shift), np.clip(shift, -_MOST, _MOST), _MOST)
