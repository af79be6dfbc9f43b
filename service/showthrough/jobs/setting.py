"""What every use case needs of a job: topcoat, film of one coat, and surface."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.film.build import FilmBuild
from showthrough.film.ground import Ground, Need, needs_of
from showthrough.film.optics import inside_reflectance
from showthrough.jobs.grounds import Surface
from showthrough.jobs.paints import TopcoatModel, film_build, topcoat_model, usual_wet_film_um
from showthrough.jobs.resolve import ReadJob, read_job
from showthrough.jobs.result import FilmShown

_MOST_OUTSIDE = 0.959
"""A coated patch lets out at most 1 - k1 of the light."""


@dataclass(frozen=True, slots=True)
class Setting:
    """A job as the film room wants it."""

    read: ReadJob
    topcoat: TopcoatModel
    build: FilmBuild
    film: FilmShown
    surface: Surface
    grounds: tuple[Ground, ...]
    undercoat_wet_um: float
    assumed: tuple[str, ...]

    @property
    def names(self) -> list[str]:
        """Names of the patches."""
        return [g.name for g in self.grounds]

    @property
    def needs(self) -> tuple[Need, ...]:
        """What the ground asks for whatever the optics say."""
        return needs_of(self.grounds, topcoat_bonds=self.read.job.topcoat.bonds)

    @property
    def coat_needed(self) -> bool:
        """Whether going without a coat under the topcoat is no option."""
        return any(need.coat for need in self.needs)

    @property
    def ground_lab(self) -> FloatArray:
        """Colour of each patch as it is seen, CIELAB, shape (p, 3)."""
        return np.array([c.lab for c in self.read.patches])


def setting_of(job: Mapping[str, Any] | ReadJob, folder: Path | None = None) -> Setting:
    """Read a job and make it ready; raises InputError with all that is wrong."""
    read = job if isinstance(job, ReadJob) else read_job(job, folder)
    topcoat = topcoat_model(read, folder)
    build, film, assumed = film_build(
        read.job.application, topcoat.volume_solids, solids_stated=topcoat.solids_stated
    )
    return Setting(
        read,
        topcoat,
        build,
        film,
        _surface(read, build),
        tuple(_grounds(read)),
        usual_wet_film_um(film.tool, "full"),
        tuple(assumed),
    )


def _grounds(read: ReadJob) -> list[Ground]:
    return [
        Ground(
            p.name,
            p.ground or ("wood" if p.skin == "bare" else "varnish"),
            p.skin == "bare",
            bool(p.porous),
            bool(p.bleeds),
            p.sanded_through,
        )
        for p in read.job.surface
    ]


def _surface(read: ReadJob, build: FilmBuild) -> Surface:
    """Coated patches are seen through their own surface; bare ones meet the paint as they are."""
    seen = np.array([c.reflectance for c in read.patches])
    coated = np.array([p.skin == "coated" for p in read.job.surface])
    below = inside_reflectance(np.minimum(seen, _MOST_OUTSIDE))
    grounds = np.where(coated[:, None], below, seen)
    thirsty = np.array([bool(p.porous or p.sanded_through) for p in read.job.surface])
    return Surface(grounds, np.where(thirsty, build.porous_loss, 0.0), np.zeros(len(seen)))
