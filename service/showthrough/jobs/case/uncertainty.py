"""What uncertain colour readings do to the film that is needed: a few readings, no slope.

Each colour that states a radius is read again at places of its cloud, all of them at once, and
everything that follows from a colour (spectrum, K and S, chip, ground) follows for each.
A derivative would see nothing at a dip of the film over the colour, nor where ground and
topcoat are alike and no film is needed at all.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from showthrough.colour.cloud import readings_about
from showthrough.colour.lights import FloatArray
from showthrough.colour.spectrum import (
    PAINT_BOUNDS,
    SURFACE_BOUNDS,
    recover_spectra,
    spectra_beside,
)
from showthrough.film.hiding import Paint
from showthrough.film.opacity import full_colour_thickness
from showthrough.film.optics import inside_reflectance

Constants = Callable[[FloatArray], tuple[FloatArray, FloatArray]]
"""K and S (m, 31) of paints from their reflectance (m, 31)."""

_MOST_OUTSIDE = 0.959
"""A coated patch lets out at most 1 - k1 of the light."""

_RELATIVE = 1e-3
"""How near films are found: far below what one reading of many adds to a chance."""


@dataclass(frozen=True, slots=True)
class SeenColours:
    """Colours as they were read, n of them; D65 and 2 degrees."""

    lab: FloatArray
    """CIELAB, shape (n, 3)."""
    reflectance: FloatArray
    """As seen from outside, shape (n, 31)."""
    radius: FloatArray
    """95 % uncertainty, CIEDE2000, shape (n,); 0 where none is stated."""
    measured: np.ndarray
    """Whether the reflectance was measured, not recovered from the colour, shape (n,)."""

    def grounds_beside(
        self, chip_lab: FloatArray, chip: FloatArray, coated: np.ndarray
    ) -> FloatArray:
        """These patches as a topcoat meets them.

        Args:
            chip_lab: CIELAB of the topcoat, shape (3,).
            chip: its reflectance, shape (31,).
            coated: whether each patch has a surface of its own, shape (n,).

        Returns:
            Reflectance inside, shape (n, 31).
        """
        return _grounds_beside(
            chip_lab[None],
            chip[None],
            self.lab[None],
            self.reflectance[None],
            coated,
            self.measured,
        )[0]


def _grounds_beside(
    chip_lab: FloatArray,
    chip: FloatArray,
    ground_lab: FloatArray,
    ground: FloatArray,
    coated: np.ndarray,
    measured: np.ndarray,
) -> FloatArray:
    """Coated patches are seen through their own surface; bare ones meet the paint as they are.

    A coated patch of the topcoat's colour is made as the topcoat is, unless it was measured.
    """
    alike = (coated & ~measured)[:, None]
    beside = spectra_beside(chip_lab, chip, ground_lab, ground) if alike.any() else ground
    seen = np.where(alike, beside, ground)
    return np.where(coated[:, None], inside_reflectance(np.minimum(seen, _MOST_OUTSIDE)), seen)


@dataclass(frozen=True, slots=True)
class Readings:
    """m equally likely readings of a topcoat over p patches."""

    absorption: FloatArray
    """K of the topcoat, 1/µm, shape (m, 31)."""
    scattering: FloatArray
    """S, shape (m, 31)."""
    chip_lab: FloatArray
    """Its colour, shape (m, 3)."""
    grounds: FloatArray
    """Reflectance inside of the patches, shape (m, p, 31)."""

    def critical_um(self, grounds: FloatArray | None = None) -> FloatArray:
        """Critical film of each reading, to 0.1 %.

        Args:
            grounds: what the topcoat meets in place of the patches, reflectance inside,
                shape (m, ..., 31).

        Returns:
            Dry film, µm, shape (m, p) or that of ``grounds`` without the bands.
        """
        beneath = self.grounds if grounds is None else grounds
        each = beneath[0, ..., 0].size
        return full_colour_thickness(
            np.repeat(self.absorption, each, axis=0),
            np.repeat(self.scattering, each, axis=0),
            beneath.reshape(-1, beneath.shape[-1]),
            np.repeat(self.chip_lab, each, axis=0),
            relative=_RELATIVE,
        ).reshape(beneath.shape[:-1])

    def part(self, count: int) -> Readings:
        """The first few of the readings, which stand for all of them more coarsely."""
        return Readings(
            self.absorption[:count],
            self.scattering[:count],
            self.chip_lab[:count],
            self.grounds[:count],
        )


def likely_readings(
    topcoat: SeenColours,
    paint: Paint,
    constants: Constants | None,
    patches: SeenColours,
    coated: np.ndarray,
) -> Readings | None:
    """Readings that stand for what the colours may truly be.

    What no paint and no surface can be is not among them, so they may be fewer than
    ``READINGS``. A measured spectrum moves by what its colour's smoothest spectrum moves.

    Args:
        topcoat: the chip, n = 1.
        paint: its K and S, which are kept where the topcoat's own colour is sure.
        constants: K and S for a moved topcoat; None where the paint was measured, whose
            colour is not moved.
        patches: the p patches.
        coated: whether each patch has a surface of its own, shape (p,).

    Returns:
        The readings; None where no colour states a radius, or none of them can be.
    """
    radius = np.concatenate([topcoat.radius, patches.radius])
    if constants is None:
        radius[0] = 0.0
    if not (radius > 0.0).any():
        return None
    lab = np.concatenate([topcoat.lab, patches.lab])
    bounds = np.array([PAINT_BOUNDS, *([SURFACE_BOUNDS] * len(patches.lab))])
    seen = np.concatenate([topcoat.reflectance, patches.reflectance])
    unsure = np.flatnonzero(radius > 0.0)
    moved = readings_about(lab[unsure], radius[unsure])
    m = len(moved)
    # The readings themselves go along: their places are what the moves are counted from.
    asked = np.concatenate([lab[unsure][None], moved])
    limits = np.broadcast_to(bounds[unsure], (m + 1, len(unsure), 2))
    found = recover_spectra(asked.reshape(-1, 3), limits.reshape(-1, 2), move=False)
    spectra = found.reflectance.reshape(m + 1, len(unsure), -1)
    shift = np.where(np.isfinite(spectra[0]), spectra[1:] - spectra[0], spectra[1:] - seen[unsure])
    possible = found.reachable.reshape(m + 1, -1)[1:].all(axis=1)
    if not possible.any():
        return None
    labs = np.repeat(lab[None], m, axis=0)
    labs[:, unsure] = moved
    reflectance = np.repeat(seen[None], m, axis=0)
    limits = bounds[unsure]
    reflectance[:, unsure] = np.clip(seen[unsure] + shift, limits[:, :1], limits[:, 1:])
    labs, reflectance = labs[possible], reflectance[possible]
    k, s = (np.repeat(v[None], len(labs), axis=0) for v in (paint.absorption, paint.scattering))
    if constants is not None and radius[0] > 0.0:
        k, s = constants(reflectance[:, 0])
    grounds = _grounds_beside(
        labs[:, 0], reflectance[:, 0], labs[:, 1:], reflectance[:, 1:], coated, patches.measured
    )
    return Readings(k, s, labs[:, 0], grounds)
