"""Many topcoats over one surface at once: the reckoning behind softening and sweeps."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour, colours_of
from showthrough.colour.spectrum import PAINT_BOUNDS, recover_spectra
from showthrough.colour.swatches import Swatch
from showthrough.film.build import (
    FilmBuild,
    coats_needed,
    normal_cdf,
    thin_spot_coats,
)
from showthrough.film.hiding import constants_from_colour
from showthrough.film.opacity import full_colour_thickness
from showthrough.jobs.grounds import Surface

_PAIRS_AT_ONCE = 1024


@dataclass(frozen=True, slots=True)
class Topcoats:
    """n topcoats known by colour; those no paint can be have ``reachable`` False."""

    lab: FloatArray
    """Colour as modelled, shape (n, 3)."""
    absorption: FloatArray
    """K, shape (n, 31), 1/µm; NaN where not reachable."""
    scattering: FloatArray
    reachable: np.ndarray
    """Shape (n,)."""


def topcoats_of(lab: FloatArray, budget_per_um: float, *, move: bool = True) -> Topcoats:
    """Spectra, K and S of colours (D65, 2 degrees), shape (n, 3), all with one S0."""
    found = recover_spectra(lab, PAINT_BOUNDS, move=move)
    return _topcoats(found.lab, found.reflectance, found.reachable, budget_per_um)


def swatch_colours(swatches: Sequence[Swatch]) -> list[Colour]:
    """Colours of swatches as paints.

    Raises:
        OutOfRangeError: some cannot be; every one of them is listed by its place.
    """
    names = [f"swatches[{i + 1}]" for i in range(len(swatches))]
    return colours_of([s.reading for s in swatches], names=names)


def topcoats_of_colours(colours: Sequence[Colour], budget_per_um: float) -> Topcoats:
    """The same for colours whose spectra are known already."""
    lab = np.array([c.lab for c in colours])
    spectra = np.array([c.reflectance for c in colours])
    return _topcoats(lab, spectra, np.ones(len(colours), dtype=bool), budget_per_um)


def _topcoats(
    lab: FloatArray, reflectance: FloatArray, ok: np.ndarray, budget_per_um: float
) -> Topcoats:
    k, s = constants_from_colour(np.where(ok[:, None], reflectance, 0.5), budget_per_um)
    return Topcoats(lab, k, s, ok)


def critical_over_grounds(
    topcoats: Topcoats,
    grounds: FloatArray,
    progress: Callable[[int, int], None] | None = None,
) -> FloatArray:
    """Critical film of n topcoats over g grounds.

    Args:
        topcoats: n of them.
        grounds: reflectance inside, shape (g, 31).
        progress: called with topcoats done and n.

    Returns:
        Dry film, µm, shape (n, g); inf where none hides, NaN where not reachable.
    """
    n, g = len(topcoats.lab), len(grounds)
    out = np.full((n, g), np.nan)
    index = np.flatnonzero(topcoats.reachable)
    step = max(1, _PAIRS_AT_ONCE // g)
    for start in range(0, len(index), step):
        part = index[start : start + step]
        m = len(part)
        rows = np.repeat(part, g)
        out[part] = full_colour_thickness(
            topcoats.absorption[rows],
            topcoats.scattering[rows],
            np.tile(grounds, (m, 1)),
            topcoats.lab[rows],
        ).reshape(m, g)
        if progress is not None:
            progress(min(start + step, len(index)), n)
    if progress is not None:
        progress(n, n)
    return out


def likely_counts(critical_um: FloatArray, lost: FloatArray, build: FilmBuild) -> FloatArray:
    """Likely count over all patches: critical film (..., p) -> (...); inf where none."""
    need = critical_um / build.dry_film_um
    counts = coats_needed(np.where(np.isnan(need), np.inf, need), lost, build.evenness_cv)
    return np.asarray(counts.max(axis=-1))


def chances(
    critical_um: FloatArray,
    counts: FloatArray,
    surface: Surface,
    build: FilmBuild,
    log_spread: float,
) -> FloatArray:
    """Chance that the counts are enough, over all patches; shapes as ``likely_counts``."""
    finite = np.isfinite(counts)
    n = np.where(finite, counts, 1.0)[..., None]
    have = thin_spot_coats(n, surface.lost, build.evenness_cv) * build.dry_film_um
    with np.errstate(divide="ignore", invalid="ignore"):
        margin = np.log(have / critical_um).min(axis=-1)
    spread = math.hypot(log_spread, math.log(build.spread))
    cdf = np.vectorize(lambda x: normal_cdf(x / spread), otypes=[float])
    return np.where(finite, cdf(np.where(np.isnan(margin), -np.inf, margin)), 0.0)
