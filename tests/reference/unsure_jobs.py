"""Chances of counts by plain sampling of what unsure colours may be.

Beside the few readings of the package: thousands of seeded draws, each with its own spectrum,
K and S, ground and film, the truth at a distance of CIEDE2000 that is found by bisection. What
no paint or surface can be is not drawn. Spectra, films and CIEDE2000 are the package's own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.spectrum import (
    PAINT_BOUNDS,
    SURFACE_BOUNDS,
    recover_spectra,
    spectra_beside,
)
from showthrough.film.hiding import constants_from_colour
from showthrough.film.optics import inside_reflectance
from showthrough.film.thickness import full_colour_thickness

CHI_95 = 2.7955
"""Root of the 95 % quantile of chi square with 3 degrees of freedom (standard tables: 7.815)."""


@dataclass
class UnsureJob:
    chip: np.ndarray
    radius: float
    grounds: np.ndarray
    radii: np.ndarray
    coated: np.ndarray
    dry_um: float
    sigma: float


def random_job(rng, radii=(1.0, 2.0, 4.0, 8.0)):
    """A topcoat over one to three patches; three in ten have a patch of nearly its colour."""
    count = int(rng.integers(1, 4))
    while True:
        chip = np.array([rng.uniform(20, 95), rng.uniform(-45, 45), rng.uniform(-45, 60)])
        grounds = np.column_stack(
            [rng.uniform(20, 90, count), rng.uniform(-12, 22, count), rng.uniform(-5, 35, count)]
        )
        if rng.random() < 0.3:
            grounds[0] = chip + rng.normal(size=3) * rng.choice([0.0, 1.0, 3.0])
        paint = recover_spectra([chip], PAINT_BOUNDS, move=False)
        surface = recover_spectra(grounds, SURFACE_BOUNDS, move=False)
        if paint.reachable.all() and surface.reachable.all():
            break
    kind = rng.integers(3)  # the topcoat, the patches, or all are unsure
    return UnsureJob(
        chip,
        float(rng.choice(radii)) if kind else 0.0,
        grounds,
        rng.choice(radii, count) if kind != 1 else np.zeros(count),
        rng.random(count) < 0.7,
        float(rng.choice([17.1, 34.2])),
        float(rng.choice([0.2, 0.3, 0.4])),
    )


def cloud(rng, lab, radius, draws):
    """Truths about a reading: a random way out, and the length by bisection."""
    if radius == 0.0:
        return np.tile(lab, (draws, 1))
    z = rng.normal(size=(draws, 3))
    far = np.linalg.norm(z, axis=1) * radius / CHI_95
    # Round in CIEDE2000: the way is weighted by how far a small step along each axis is seen.
    hue = math.atan2(lab[2], lab[1])
    axes = np.array(
        [[1, 0, 0], [0, math.cos(hue), math.sin(hue)], [0, -math.sin(hue), math.cos(hue)]]
    )
    chroma = math.hypot(lab[1], lab[2])
    light = (lab[0] - 50.0) ** 2
    weights = [1 + 0.015 * light / math.sqrt(20 + light), 1 + 0.045 * chroma, 1 + 0.015 * chroma]
    way = (z * weights) @ axes
    low, high = np.zeros(draws), np.full(draws, 40.0)
    for _ in range(40):
        middle = 0.5 * (low + high)
        short = ciede2000(lab, lab + middle[:, None] * way) < far
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return lab + low[:, None] * way


def sampled_chances(job, rng, draws=4000):
    """Chances that 1 to 12 coats are enough on all patches."""
    chips = cloud(rng, job.chip, job.radius, draws)
    grounds = np.stack(
        [cloud(rng, g, r, draws) for g, r in zip(job.grounds, job.radii, strict=True)], axis=1
    )
    chip = recover_spectra(chips, PAINT_BOUNDS, move=False)
    under = recover_spectra(grounds.reshape(-1, 3), SURFACE_BOUNDS, move=False)
    possible = chip.reachable & under.reachable.reshape(draws, -1).all(axis=1)
    chips, seen = chips[possible], chip.reflectance[possible]
    bare = under.reflectance.reshape(draws, -1, 31)[possible]
    beside = spectra_beside(chips, seen, grounds[possible], bare)
    inside = np.where(job.coated[:, None], inside_reflectance(np.minimum(beside, 0.959)), bare)
    k, s = constants_from_colour(seen)
    p = len(job.grounds)
    films = full_colour_thickness(
        np.repeat(k, p, axis=0),
        np.repeat(s, p, axis=0),
        inside.reshape(-1, 31),
        np.repeat(chips, p, axis=0),
    ).reshape(-1, p)
    have = job.dry_um * np.exp(rng.normal(0.0, job.sigma, len(films)))
    return np.array(
        [
            ((n - 1.2816 * 0.25 * math.sqrt(n)) * have[:, None] >= films).all(axis=1).mean()
            for n in range(1, 13)
        ]
    )
