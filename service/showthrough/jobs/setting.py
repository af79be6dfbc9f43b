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
from showthrough.film.hiding import budget_of, constants_from_colour
from showthrough.jobs.grounds import Surface
from showthrough.jobs.paints import TopcoatModel, film_build, topcoat_model, usual_wet_film_um
from showthrough.jobs.resolve import ReadJob, read_job
from showthrough.jobs.result import FilmShown
from showthrough.jobs.uncertainty import Readings, SeenColours, likely_readings

_GUESSED = {"colour", "label"}
"""Evidence with which K and S follow from the colour."""


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
        _surface(read, topcoat, seen_patches(read), build),
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


def seen_patches(read: ReadJob) -> SeenColours:
    """The patches' colours with their radius."""
    return SeenColours(
        np.array([c.lab for c in read.patches]),
        np.array([c.reflectance for c in read.patches]),
        np.array([p.colour.radius for p in read.job.surface]),
        np.array([c.measured for c in read.patches]),
    )


def readings_of(setting: Setting) -> Readings | None:
    """What the job's colours may truly be, or None where all of them are sure."""
    read, topcoat = setting.read, setting.topcoat
    colour = read.job.topcoat.colour
    paint = topcoat.paint
    chip = SeenColours(
        topcoat.chip_lab[None],
        topcoat.reflectance[None],
        np.array([0.0 if colour is None else colour.radius]),
        np.array([read.topcoat is not None and read.topcoat.measured]),
    )
    budget = budget_of(paint)
    return likely_readings(
        chip,
        paint,
        (lambda r: constants_from_colour(r, budget)) if paint.evidence in _GUESSED else None,
        seen_patches(read),
        np.array([p.skin == "coated" for p in read.job.surface]),
    )


def _surface(
    read: ReadJob, topcoat: TopcoatModel, patches: SeenColours, build: FilmBuild
) -> Surface:
    coated = np.array([p.skin == "coated" for p in read.job.surface])
    grounds = patches.grounds_beside(topcoat.chip_lab, topcoat.reflectance, coated)
    thirsty = np.array([bool(p.porous or p.sanded_through) for p in read.job.surface])
    return Surface(grounds, np.where(thirsty, build.porous_loss, 0.0), np.zeros(len(coated)))
