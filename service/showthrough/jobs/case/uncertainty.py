"""What uncertain colour readings do to the film that is needed: a few readings, no slope.

Each colour that states a radius is read again at places of its cloud, all of them at once, and
everything that follows from a colour (spectrum, K and S, chip, substrate) follows for each.
A derivative would see nothing at a dip of the film over the colour, nor where ground and
topcoat are alike and no film is needed at all.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from showthrough.colour.cloud import READINGS, colours_about, standard_readings
from showthrough.colour.lights import FloatArray
from showthrough.colour.spectrum import (
    PAINT_BOUNDS,
    SURFACE_BOUNDS,
    recover_spectra,
    spectra_beside,
)
from showthrough.film.optics import inside_reflectance
from showthrough.film.thickness import full_colour_thickness

Constants = Callable[[FloatArray], tuple[FloatArray, FloatArray]]
"""K and S (m, 31) of paints from their reflectance (m, 31)."""

_MOST_OUTSIDE = 0.959
"""A coated patch lets out at most 1 - k1 of the light."""

_RELATIVE = 1e-3
"""How near films are found: far below what one reading of many adds to a chance."""


class SeenColours(NamedTuple):
    """Colours as they were read, n of them; D65 and 2 degrees."""

    lab: FloatArray
    """CIELAB, shape (n, 3)."""
    reflectance: FloatArray
    """As seen from outside, shape (n, 31)."""
    radius: FloatArray
    """95 % uncertainty, CIEDE2000, shape (n,); 0 where none is stated."""
    measured: np.ndarray
    """Whether the reflectance was measured, not recovered from the colour, shape (n,)."""

    def substrates_beside(
        self,
        chip_lab: FloatArray,
        chip: FloatArray,
        coated: np.ndarray,
        twin: FloatArray | None = None,
    ) -> FloatArray:
        """These patches as each of m topcoats meets them.

        Args:
            chip_lab: CIELAB of the topcoats, shape (m, 3).
            chip: their reflectance, shape (m, 31).
            coated: whether each patch has a surface of its own, shape (n,).
            twin: their colours as surfaces, as in ``spectra_beside``.

        Returns:
            Reflectance inside, shape (m, n, 31).
        """
        shape = (len(chip), *self.lab.shape)
        return _substrates_beside(
            chip_lab,
            chip,
            np.broadcast_to(self.lab, shape),
            np.broadcast_to(self.reflectance, (*shape[:2], self.reflectance.shape[1])),
            coated,
            self.measured,
            twin,
        )


class Cloud(NamedTuple):
    """Equally likely truths behind n colours, varying independently."""

    lab: FloatArray
    """CIELAB, shape (READINGS, n, 3)."""
    reflectance: FloatArray
    """As seen from outside, shape (READINGS, n, 31)."""
    possible: np.ndarray
    """Whether paint and surfaces can have the colour, shape (READINGS, n)."""
    smoothest: FloatArray
    """The smoothest spectra of the same colours, shape (READINGS, n, 31); NaN where the colour
    cannot be. Of a sure colour it is the reflectance itself."""


class _Asked(NamedTuple):
    """Colours whose clouds are sought."""

    seen: SeenColours
    which: np.ndarray
    """Which of the standard clouds each colour has, shape (n,)."""
    bounds: tuple[tuple[float, float], ...]
    """Least and greatest reflectance of such colours; a cloud for each pair."""


def clouds(*asked: _Asked) -> list[Cloud]:
    """What colours may truly be, of each of some groups; one search for all of them."""
    around = []
    for each in asked:
        unsure = np.flatnonzero(each.seen.radius > 0.0)
        labs = _about(each, unsure)
        around += [(each.seen, bounds, unsure, labs) for bounds in each.bounds]
    flat = [labs.reshape(-1, 3) for *_, labs in around]
    sizes = [len(labs) for labs in flat]
    limits = np.repeat([bounds for _, bounds, _, _ in around], sizes, axis=0)
    found = recover_spectra(np.concatenate(flat), limits, move=False)
    ends = np.cumsum(sizes)[:-1]
    spectra, reachable = (np.split(v, ends) for v in (found.reflectance, found.reachable))
    return [_cloud(*one, *each) for one, *each in zip(around, spectra, reachable, strict=True)]


def _about(asked: _Asked, unsure: np.ndarray) -> FloatArray:
    """The unsure readings themselves, then places about them, shape (1 + READINGS, u, 3).

    They go along because their spectra are what the moves are counted from.
    """
    seen, standard = asked.seen, standard_readings()
    places = standard[:, asked.which[unsure] % standard.shape[1]]
    moved = colours_about(seen.lab[unsure], seen.radius[unsure], places)
    return np.concatenate([seen.lab[unsure][None], moved])


def _cloud(
    seen: SeenColours,
    bounds: tuple[float, float],
    unsure: np.ndarray,
    labs: FloatArray,
    spectra: FloatArray,
    reachable: np.ndarray,
) -> Cloud:
    n = len(seen.lab)
    lab = np.repeat(seen.lab[None], READINGS, axis=0)
    reflectance = np.repeat(seen.reflectance[None], READINGS, axis=0)
    smoothest = reflectance.copy()
    possible = np.ones((READINGS, n), dtype=bool)
    if unsure.size:
        first, *_ = spectra = spectra.reshape(*labs.shape[:2], -1)
        own = seen.reflectance[unsure]
        shift = np.where(np.isfinite(first), spectra[1:] - first, spectra[1:] - own)
        lab[:, unsure] = labs[1:]
        smoothest[:, unsure] = spectra[1:]
        reflectance[:, unsure] = np.clip(own + shift, *bounds)
        possible[:, unsure] = reachable.reshape(labs.shape[:2])[1:]
    return Cloud(lab, reflectance, possible, smoothest)


def _substrates_beside(
    chip_lab: FloatArray,
    chip: FloatArray,
    substrate_lab: FloatArray,
    substrate: FloatArray,
    coated: np.ndarray,
    measured: np.ndarray,
    twin: FloatArray | None = None,
) -> FloatArray:
    """Coated patches are seen through their own surface; bare ones meet the paint as they are.

    A coated patch of the topcoat's colour is made as the topcoat is, unless it was measured.
    """
    alike = (coated & ~measured)[:, None]
    beside = (
        spectra_beside(chip_lab, chip, substrate_lab, substrate, twin) if alike.any() else substrate
    )
    seen = np.where(alike, beside, substrate)
    return np.where(coated[:, None], inside_reflectance(np.minimum(seen, _MOST_OUTSIDE)), seen)


class Readings(NamedTuple):
    """m equally likely readings of a topcoat over p patches."""

    absorption: FloatArray
    """K of the topcoat, 1/µm, shape (m, 31)."""
    scattering: FloatArray
    """S, shape (m, 31)."""
    chip_lab: FloatArray
    """Its colour, shape (m, 3)."""
    chip: FloatArray
    """Its reflectance, outside, shape (m, 31)."""
    substrates: FloatArray
    """Reflectance inside of the patches, shape (m, p, 31)."""

    def hiding_film_um(self, substrates: FloatArray | None = None) -> FloatArray:
        """Hiding film of each reading, to 0.1 %.

        Args:
            substrates: what the topcoat meets in place of the patches, reflectance inside,
                shape (m, ..., 31).

        Returns:
            Dry film, µm, shape (m, p) or that of ``substrates`` without the bands.
        """
        beneath = self.substrates if substrates is None else substrates
        each = math.prod(beneath.shape[1:-1])
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
            self.chip[:count],
            self.substrates[:count],
        )

    def made_by(self, constants: Constants) -> Readings:
        """The same colours of a topcoat with these K and S."""
        absorption, scattering = constants(self.chip)
        return self._replace(absorption=absorption, scattering=scattering)


class Clouds(NamedTuple):
    """What the colours of a job may truly be."""

    patches: Cloud
    chip: Cloud | None
    """The topcoat's; None where it does not move."""
    twin: FloatArray | None
    """The topcoat's colours as those of a surface, shape (READINGS, 31)."""


def clouds_of(
    patches: SeenColours, topcoat: SeenColours | None, twin: FloatArray | None = None
) -> Clouds | None:
    """What p patches and a topcoat may truly be; None where all colours are sure.

    Args:
        patches: as they were read.
        topcoat: the chip, if its colour moves.
        twin: its very colour as that of a surface, shape (31,), where it does not move.
    """
    over = _Asked(patches, 1 + np.arange(len(patches.lab)), (SURFACE_BOUNDS,))
    if topcoat is not None:
        moving = _Asked(topcoat, np.zeros(1, dtype=int), (PAINT_BOUNDS, SURFACE_BOUNDS))
        below, chip, beside = clouds(over, moving)
        return Clouds(below, chip, beside.smoothest[:, 0])
    if not (patches.radius > 0.0).any():
        return None
    [below] = clouds(over)
    return Clouds(below, None, None if twin is None else np.tile(twin, (READINGS, 1)))


def likely_readings(
    topcoats: SeenColours,
    absorption: FloatArray,
    scattering: FloatArray,
    constants: Constants | None,
    beneath: Cloud,
    coated: np.ndarray,
    measured: np.ndarray,
    known: Clouds | None = None,
) -> tuple[Readings, np.ndarray]:
    """Readings that stand for what the colours may truly be, of n topcoats in order.

    What no paint and no surface can be is not among them, so they may be fewer than
    ``READINGS`` for each. A measured spectrum moves by what its colour's smoothest spectrum
    moves.

    Args:
        topcoats: the chips.
        absorption: their K, 1/µm, shape (n, 31), kept where a topcoat's own colour is sure.
        scattering: their S, shape (n, 31).
        constants: K and S for moved topcoats; None where the paint was measured, whose
            colour is not moved.
        beneath: what the p patches may be.
        coated: whether each patch has a surface of its own, shape (p,).
        measured: whether the reflectance of each patch was measured, shape (p,).
        known: of a single topcoat its cloud, where it was found with that of the patches.

    Returns:
        The readings of all topcoats, m in all, and how many each has, shape (n,).
    """
    n = len(topcoats.lab)
    sound = np.repeat(beneath.possible.all(axis=1, keepdims=True), n, axis=1).T
    chip = None if known is None else known.chip
    if known is None and constants is not None and (topcoats.radius > 0.0).any():
        [chip] = clouds(_Asked(topcoats, np.zeros(n, dtype=int), (PAINT_BOUNDS,)))
    if chip is not None:
        sound = sound & chip.possible.T
    own, reading = np.nonzero(sound)
    if chip is not None and constants is not None:
        lab, seen = chip.lab[reading, own], chip.reflectance[reading, own]
        k, s = constants(seen)
    else:
        lab, seen = topcoats.lab[own], topcoats.reflectance[own]
        k, s = absorption[own], scattering[own]
    twin = None if known is None or known.twin is None else known.twin[reading]
    substrates = _substrates_beside(
        lab, seen, beneath.lab[reading], beneath.reflectance[reading], coated, measured, twin
    )
    return Readings(k, s, lab, seen, substrates), sound.sum(axis=1)
