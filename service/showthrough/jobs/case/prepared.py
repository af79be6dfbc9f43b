"""The prepared job: everything a use case needs of a job, found once.

A job is checked, its colours are recovered and its paints, films and needs worked out here.
Use cases take a ``PreparedJob`` and never go back to what the painter typed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour
from showthrough.errors import ProblemList
from showthrough.film import undercoat as uc
from showthrough.film.coats import CoatCounts, FilmBuild, PatchNeed, count_coats
from showthrough.film.hiding import Paint
from showthrough.film.thickness import full_colour_thickness
from showthrough.jobs.answers.prediction import FilmShown, rounded_lab
from showthrough.jobs.case.paints import (
    PreparedTopcoat,
    film_build,
    owned_paints,
    prepared_topcoat,
    usual_wet_film_um,
)
from showthrough.jobs.case.resolve import ReadJob, load_toml, read_job
from showthrough.jobs.case.uncertainty import Readings, SeenColours, likely_readings
from showthrough.jobs.schema.job import OwnedUndercoat
from showthrough.palette.finishes import Finish
from showthrough.palette.seconds import Second
from showthrough.workshop.ground import Ground, Need, needs_of


@dataclass(frozen=True, slots=True)
class Substrate:
    """One patch of the surface: its colour, how sure that is, and what it is made of."""

    name: str
    share: float
    """Part of the area, 0 to 1."""
    share_stated: bool
    colour: Colour
    radius: float
    """95 % uncertainty of the colour, CIEDE2000."""
    ground: Ground
    kind_stated: bool
    """Whether the job or the named swatch says what it is made of."""

    @property
    def skin(self) -> Literal["coated", "bare"]:
        """How it meets the paint: coated, or bare in optical contact."""
        return "bare" if self.ground.bare else "coated"


@dataclass(frozen=True, slots=True)
class Surface:
    """The patches as the topcoat meets them."""

    grounds: FloatArray
    """Reflectance inside, shape (p, 31)."""
    lost: FloatArray
    """Part of a first coat that each patch drinks, shape (p,)."""
    sigma_ln: FloatArray
    """Standard deviation of ln hiding film by what lies under the topcoat, shape (p,)."""


@dataclass(frozen=True, slots=True)
class OwnedCans:
    """The painter's own undercoats as paints; m of them."""

    cans: tuple[OwnedUndercoat, ...]
    candidates: uc.Candidates
    dry_film_um: FloatArray
    """Film of one coat, shape (m,)."""


@dataclass(frozen=True, slots=True)
class PreparedJob:
    """A job ready to be reckoned with; see the module's heading."""

    title: str
    topcoat: PreparedTopcoat
    substrates: tuple[Substrate, ...]
    surface: Surface
    """The patches as prepared for the topcoat alone: a coat that the ground needs is taken to
    be clear and to seal."""
    readings: Readings | None
    """What the colours may truly be; None where no colour states a radius."""
    drinks: FloatArray
    """Part of a first coat that the unsealed patches drink, shape (p,)."""
    needs: tuple[Need, ...]
    """What the ground asks for whatever the optics say, in the order in which it is done."""
    build: FilmBuild
    film: FilmShown
    undercoat_wet_um: float
    owned: OwnedCans | None
    finishes: tuple[Finish, ...]
    seconds: tuple[Second, ...] | None
    """The job's own second colours and woods; None where it names none."""
    film_assumptions: tuple[str, ...]
    """What the film of one coat takes for granted."""

    @property
    def names(self) -> list[str]:
        """Names of the patches."""
        return [s.name for s in self.substrates]

    @property
    def coat_needed(self) -> bool:
        """Whether going without a coat under the topcoat is no option."""
        return any(need.coat for need in self.needs)

    @property
    def ground_lab(self) -> FloatArray:
        """Colour of each patch as it is seen, CIELAB, shape (p, 3)."""
        return np.array([s.colour.lab for s in self.substrates])

    @property
    def coated(self) -> np.ndarray:
        """Whether each patch has a surface of its own, shape (p,)."""
        return np.array([not s.ground.bare for s in self.substrates])

    @property
    def seen(self) -> SeenColours:
        """The patches' colours with their radius."""
        return _seen(self.substrates)

    @property
    def paint_and_film_sigma_ln(self) -> float:
        """Standard deviation of ln hiding film over film of one coat, readings left out."""
        return math.hypot(self.topcoat.paint.log_spread, math.log(self.build.spread))

    def patch_needs(
        self,
        hiding_um: FloatArray,
        films_um: FloatArray | None = None,
        surface: Surface | None = None,
        log_spread: float | None = None,
    ) -> tuple[PatchNeed, ...]:
        """What each patch asks of the topcoat, with the spread of paint, film and reading.

        Args:
            hiding_um: dry film that hides each patch, µm, shape (p,).
            films_um: the same by equally likely readings of the colours, shape (m, p); None
                where all are sure.
            surface: the patches as some preparation leaves them; the job's own if absent.
            log_spread: of the paint, where it is not the topcoat's own.
        """
        surface = self.surface if surface is None else surface
        base = self.paint_and_film_sigma_ln**2
        if log_spread is not None:
            base = log_spread**2 + math.log(self.build.spread) ** 2
        likely = (
            [()] * len(hiding_um) if films_um is None else [tuple(f) for f in films_um.T.tolist()]
        )
        return tuple(
            PatchNeed(float(x), math.sqrt(base + float(sigma) ** 2), float(drunk), films)
            for x, sigma, drunk, films in zip(
                hiding_um, surface.sigma_ln, surface.lost, likely, strict=True
            )
        )

    def counts_with(self, paints: Sequence[Paint]) -> list[CoatCounts]:
        """Counts over the plain patches if the topcoat were each of these guessed paints."""
        p = len(self.substrates)
        hiding_um = full_colour_thickness(
            np.repeat([paint.absorption for paint in paints], p, axis=0),
            np.repeat([paint.scattering for paint in paints], p, axis=0),
            np.tile(self.surface.grounds, (len(paints), 1)),
            np.tile(self.topcoat.chip_lab, (len(paints) * p, 1)),
        ).reshape(-1, p)
        out = []
        for paint, films in zip(paints, hiding_um, strict=True):
            likely = None
            if self.readings is not None:
                constants = replace(self.topcoat, paint=paint).constants
                assert constants is not None
                likely = self.readings.made_by(constants).critical_um()
            needs = self.patch_needs(films, likely, log_spread=paint.log_spread)
            out.append(count_coats(needs, self.build))
        return out


def prepare(job: Mapping[str, Any] | PreparedJob, folder: Path | None = None) -> PreparedJob:
    """Check a job and make it ready.

    Args:
        job: a job as a mapping, as in TOML or JSON; one already prepared passes through.
        folder: where files that the job names are looked for; None refuses files, as
            the service does.

    Raises:
        InputError: with every problem of the job, by field.
    """
    if isinstance(job, PreparedJob):
        return job
    read = read_job(job, folder)
    problems = ProblemList()
    topcoat, owned = None, None
    with problems.collecting():
        topcoat = prepared_topcoat(read.job.topcoat, read.topcoat, read.paint)
    wet_under = usual_wet_film_um(read.job.application.tool, "full")
    with problems.collecting():
        owned = _owned(read, wet_under)
    problems.raise_if_any()
    assert topcoat is not None
    build, film, assumed = film_build(
        read.job.application, topcoat.volume_solids, solids_stated=topcoat.solids_stated
    )
    substrates = _substrates(read)
    needs = needs_of((s.ground for s in substrates), topcoat_bonds=topcoat.bonds)
    thirsty = np.array([s.ground.porous or s.ground.sanded_through for s in substrates])
    drinks = np.where(thirsty, build.porous_loss, 0.0)
    lost = np.zeros_like(drinks) if any(need.coat for need in needs) else drinks
    seen = _seen(substrates)
    coated = np.array([not s.ground.bare for s in substrates])
    paint = topcoat.paint
    grounds = seen.grounds_beside(topcoat.chip_lab[None], topcoat.reflectance[None], coated)[0]
    (readings,) = likely_readings(
        topcoat.seen,
        paint.absorption[None],
        paint.scattering[None],
        topcoat.constants,
        seen,
        coated,
    )
    return PreparedJob(
        title=read.job.title,
        topcoat=topcoat,
        substrates=substrates,
        surface=Surface(grounds, lost, np.zeros_like(lost)),
        readings=readings,
        drinks=drinks,
        needs=needs,
        build=build,
        film=film,
        undercoat_wet_um=wet_under,
        owned=owned,
        finishes=read.finishes,
        seconds=_seconds(read),
        film_assumptions=tuple(assumed),
    )


def prepare_file(path: str | Path) -> PreparedJob:
    """Prepare a TOML job file; spectra and paints it names are read relative to it.

    Raises:
        InputError: the file cannot be read, is too large, is not TOML, or the job in
            it is wrong; all of that job's problems at once.
    """
    path = Path(path)
    return prepare(load_toml(path, "job"), path.parent)


def _substrates(read: ReadJob) -> tuple[Substrate, ...]:
    return tuple(
        Substrate(
            patch.name,
            share,
            patch.share is not None,
            colour,
            patch.colour.radius,
            Ground(
                patch.name,
                patch.ground or ("wood" if patch.skin == "bare" else "varnish"),
                patch.skin == "bare",
                bool(patch.porous),
                bool(patch.bleeds),
                patch.sanded_through,
            ),
            patch.ground is not None,
        )
        for patch, share, colour in zip(read.job.surface, read.shares, read.patches, strict=True)
    )


def _seen(substrates: tuple[Substrate, ...]) -> SeenColours:
    return SeenColours(
        np.array([s.colour.lab for s in substrates]),
        np.array([s.colour.reflectance for s in substrates]),
        np.array([s.radius for s in substrates]),
        np.array([s.colour.measured for s in substrates]),
    )


def _owned(read: ReadJob, usual_wet_um: float) -> OwnedCans | None:
    if not read.job.undercoat:
        return None
    budgets, films = owned_paints(read.job.undercoat, read.undercoats, usual_wet_um)
    spectra = np.array([c.reflectance for c in read.undercoats])
    return OwnedCans(tuple(read.job.undercoat), uc.owned_candidates(spectra, budgets), films)


def _seconds(read: ReadJob) -> tuple[Second, ...] | None:
    if not read.job.second_colour:
        return None
    return tuple(
        Second(s.name, rounded_lab(c.lab), s.kind, "given")
        for s, c in zip(read.job.second_colour, read.seconds, strict=True)
    )
