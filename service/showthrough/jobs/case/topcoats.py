"""Many topcoats over one surface at once: the reckoning behind softening and sweeps."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour
from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS, recover_spectra
from showthrough.film.coats import (
    MOST_COATS,
    FilmBuild,
    PatchNeed,
    chance_enough,
    coats_needed,
    likely_coats,
    normal_cdf,
    thin_spot_coats,
)
from showthrough.film.hiding import OpaqueColour, Paint, budget_of
from showthrough.film.thickness import full_colour_thickness
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.case.uncertainty import SeenColours, likely_readings

_PAIRS_AT_ONCE = 1024


@dataclass(frozen=True, slots=True)
class Topcoats:
    """n topcoats known by colour; those no paint can be have ``reachable`` False."""

    lab: FloatArray
    """Colour as modelled, shape (n, 3)."""
    absorption: FloatArray
    """K, shape (n, 31), 1/µm; NaN where not reachable."""
    scattering: FloatArray
    reflectance: FloatArray
    """Of the opaque topcoats, outside, shape (n, 31)."""
    sigma_ln: FloatArray
    """Standard deviation of ln hiding film by what is known of the paints, shape (n,)."""
    reachable: np.ndarray
    """Shape (n,)."""
    twin: FloatArray | None = None
    """Reflectance of surfaces of their colours, shape (n, 31), NaN where there is none; None
    where they were not sought."""
    paint_and_film_sigma_ln: float | None = None
    """Standard deviation of ln hiding film over film of a coat, where jobs know both together."""

    def take(self, index: np.ndarray) -> Topcoats:
        """The topcoats at these places."""
        return Topcoats(
            self.lab[index],
            self.absorption[index],
            self.scattering[index],
            self.reflectance[index],
            self.sigma_ln[index],
            self.reachable[index],
            None if self.twin is None else self.twin[index],
            self.paint_and_film_sigma_ln,
        )


def topcoats_of(lab: FloatArray, like: Paint, *, move: bool = True) -> Topcoats:
    """Spectra, K and S of colours (D65, 2 degrees), shape (n, 3), as mixed in one paint."""
    n = len(lab)
    # Each colour as that of a surface comes with it: one search for both.
    bounds = np.repeat([PAINT_BOUNDS, SURFACE_BOUNDS], n, axis=0)
    both = recover_spectra(np.concatenate([lab, lab]), bounds, move=False)
    modelled, ok = both.lab[:n], both.reachable[:n]
    reflectance, twin = both.reflectance[:n], both.reflectance[n:]
    lost = np.flatnonzero(~ok)
    if move and lost.size:
        found = recover_spectra(lab[lost], PAINT_BOUNDS)
        modelled[lost], ok[lost] = found.lab, found.reachable
        reflectance[lost] = found.reflectance
        twin[lost] = recover_spectra(found.lab, SURFACE_BOUNDS, move=False).reflectance
    return replace(_topcoats(modelled, reflectance, ok, like), twin=twin)


def topcoats_of_colours(colours: Sequence[Colour], like: Paint) -> Topcoats:
    """The same for colours whose spectra are known already."""
    lab = np.array([c.lab for c in colours])
    spectra = np.array([c.reflectance for c in colours])
    return _topcoats(lab, spectra, np.ones(len(colours), dtype=bool), like)


def _topcoats(lab: FloatArray, reflectance: FloatArray, ok: np.ndarray, like: Paint) -> Topcoats:
    colour = OpaqueColour.of(np.where(ok[:, None], reflectance, 0.5))
    k, s = colour.constants(budget_of(like), like.facts)
    return Topcoats(lab, k, s, reflectance, colour.sigma_ln(like.facts), ok)


def hiding_film_over_substrates(
    topcoats: Topcoats,
    substrates: FloatArray,
    progress: Callable[[int, int], None] | None = None,
) -> FloatArray:
    """Hiding film of n topcoats over g substrates.

    Args:
        topcoats: n of them.
        substrates: reflectance inside, shape (g, 31) for all topcoats alike or (n, g, 31).
        progress: called with topcoats done and n.

    Returns:
        Dry film, µm, shape (n, g); inf where none hides, NaN where not reachable.
    """
    n, g = len(topcoats.lab), substrates.shape[-2]
    out = np.full((n, g), np.nan)
    index = np.flatnonzero(topcoats.reachable)
    step = max(1, _PAIRS_AT_ONCE // g)
    for start in range(0, len(index), step):
        part = index[start : start + step]
        m = len(part)
        rows = np.repeat(part, g)
        beneath = (
            np.tile(substrates, (m, 1))
            if substrates.ndim == 2
            else substrates[part].reshape(m * g, -1)
        )
        out[part] = full_colour_thickness(
            topcoats.absorption[rows], topcoats.scattering[rows], beneath, topcoats.lab[rows]
        ).reshape(m, g)
        if progress is not None:
            progress(min(start + step, len(index)), n)
    if progress is not None:
        progress(n, n)
    return out


def likely_counts(hiding_film_um: FloatArray, build: FilmBuild) -> FloatArray:
    """Likely count over all patches: hiding film (..., p) -> (...); inf where none."""
    need = hiding_film_um / build.dry_film_thickness_um
    counts = coats_needed(np.where(np.isnan(need), np.inf, need), 0.0, build.evenness_cv)
    return np.asarray(counts.max(axis=-1))


@dataclass(frozen=True, slots=True)
class Covered:
    """n topcoats over a job's patches: films that hide them and likely counts."""

    job: PreparedJob
    topcoats: Topcoats
    substrates: FloatArray
    """The patches as each topcoat meets them, reflectance inside, shape (n, p, 31)."""
    hiding_um: FloatArray
    """Dry film that hides each patch, µm, shape (n, p); NaN where not reachable."""
    counts: FloatArray
    """Likely counts, shape (n,); inf where over 12."""
    needs: tuple[tuple[PatchNeed, ...], ...] | None
    """What the patches ask of each, where some colour states a radius."""

    def chances(self, counts: FloatArray) -> FloatArray:
        """Chance that these counts are enough, shape (n,); 0 where a count is inf."""
        build = self.job.build
        if self.needs is not None:
            dry, cv = build.dry_film_thickness_um, build.evenness_cv
            return np.array(
                [
                    chance_enough(need, dry, int(n), cv) if math.isfinite(n) else 0.0
                    for need, n in zip(self.needs, counts, strict=True)
                ]
            )
        finite = np.isfinite(counts)
        n = np.where(finite, counts, 1.0)[:, None]
        have = thin_spot_coats(n, 0.0, build.evenness_cv) * build.dry_film_thickness_um
        with np.errstate(divide="ignore", invalid="ignore"):
            margin = np.log(have / self.hiding_um)
        margin = np.where(self.hiding_um == 0.0, np.inf, margin).min(axis=-1)
        margin = np.where(np.isnan(margin), -np.inf, margin)
        known = self.topcoats.paint_and_film_sigma_ln
        apart = np.hypot(self.topcoats.sigma_ln, math.log(build.geometric_sd))
        margin = margin / (apart if known is None else known)
        return np.where(finite, normal_cdf(margin), 0.0)

    def suffice(self, count: int, chance: float) -> np.ndarray:
        """Whether a count is enough with at least this chance, shape (n,)."""
        return self.chances(np.full(len(self.counts), float(count))) >= chance


def covered(job: PreparedJob, topcoats: Topcoats, *, as_read: bool = False) -> Covered:
    """Films and counts of many topcoats by the very rules of a single prediction.

    Args:
        job: its film, patches, and how well colours are known; each topcoat is taken to be
            known as well as the job's own, so that it has its radius too.
        topcoats: n of them.
        as_read: take all colours as they were read, which is many times quicker: for a first
            search among very many.
    """
    seen, coated = job.seen, job.coated
    sure = np.where(topcoats.reachable[:, None], topcoats.reflectance, 0.5)
    substrates = seen.substrates_beside(topcoats.lab, sure, coated, topcoats.twin)
    hiding_um = hiding_film_over_substrates(topcoats, substrates)
    if job.readings is None or job.cloud is None or as_read:
        counts = likely_counts(hiding_um, job.build)
        counts = np.where(counts > MOST_COATS, np.inf, counts)
        return Covered(job, topcoats, substrates, hiding_um, counts, None)
    n = len(topcoats.lab)
    readings, many = likely_readings(
        SeenColours(topcoats.lab, sure, np.full(n, job.topcoat.radius), np.zeros(n, dtype=bool)),
        topcoats.absorption,
        topcoats.scattering,
        job.topcoat.constants,
        job.cloud,
        coated,
        seen.measured,
    )
    films = np.split(readings.hiding_film_um(), np.cumsum(many)[:-1])
    needs = tuple(
        job.patch_needs(
            um,
            film if len(film) else None,
            sigma_ln=float(sigma_ln) if topcoats.paint_and_film_sigma_ln is None else None,
        )
        for um, film, sigma_ln in zip(hiding_um, films, topcoats.sigma_ln, strict=True)
    )
    counts = np.array([likely_coats(need, job.build) or np.inf for need in needs])
    return Covered(job, topcoats, substrates, hiding_um, counts, needs)
