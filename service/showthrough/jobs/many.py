"""Many topcoats over one surface at once: the reckoning behind softening and sweeps."""

from __future__ import annotations

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
from showthrough.film.hiding import Paint, constants_from_colour
from showthrough.film.opacity import full_colour_thickness
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.case.uncertainty import reading_sigma

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


def sigmas(job: PreparedJob, topcoats: Topcoats, hiding_um: FloatArray) -> FloatArray:
    """Standard deviation of ln hiding film over film of one coat, all doubts together.

    Args:
        job: its paint, film and patches; each topcoat is taken to be known as well as the
            job's own, so that it has its radius too.
        topcoats: n of them.
        hiding_um: dry film that hides each patch, µm, shape (n, p).

    Returns:
        Shape (n, p).
    """
    base = job.paint_and_film_sigma_ln
    out = np.full(hiding_um.shape, base)
    if job.topcoat.radius <= 0.0 and not job.ground_radius.any():
        return out
    for i in np.flatnonzero(topcoats.reachable):
        paint = Paint(
            topcoats.absorption[i], topcoats.scattering[i], job.topcoat.paint.spread, "colour"
        )
        out[i] = np.hypot(
            base,
            reading_sigma(
                topcoats.lab[i],
                paint,
                job.topcoat.radius,
                job.substrates,
                job.surface.grounds,
                hiding_um[i],
            ),
        )
    return out


def chances(
    hiding_um: FloatArray,
    counts: FloatArray,
    lost: FloatArray,
    sigma_ln: FloatArray,
    build: FilmBuild,
) -> FloatArray:
    """Chance that the counts are enough on the patch that needs most.

    Args:
        hiding_um: dry film that hides each patch, µm, shape (..., p).
        counts: coats, shape (...); inf where none are enough.
        lost: part of the first coat that each patch drinks, broadcast to (..., p).
        sigma_ln: standard deviation of ln hiding film over film of one coat, paint, film and
            reading together, broadcast to (..., p); > 0.
        build: film of one coat.
    """
    finite = np.isfinite(counts)
    n = np.where(finite, counts, 1.0)[..., None]
    have = thin_spot_coats(n, lost, build.evenness_cv) * build.dry_film_um
    with np.errstate(divide="ignore", invalid="ignore"):
        margin = np.where(hiding_um == 0.0, np.inf, np.log(have / hiding_um) / sigma_ln)
    worst = margin.min(axis=-1)
    cdf = np.vectorize(normal_cdf, otypes=[float])
    return np.where(finite, cdf(np.where(np.isnan(worst), -np.inf, worst)), 0.0)
