"""The prepared job: everything a use case needs of a job, found once.

A job is checked, its colours are recovered and its paints, films and needs worked out here.
Use cases take a ``PreparedJob`` and never go back to what the painter typed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour
from showthrough.errors import ProblemList
from showthrough.film import undercoat as uc
from showthrough.film.coats import (
    MOST_COATS,
    POROUS_LOSS,
    FilmBuild,
    Outlook,
    PatchNeed,
    chances_over,
    outlook_of,
)
from showthrough.film.hiding import Paint
from showthrough.jobs.answers.prediction import FilmShown, rounded_lab
from showthrough.jobs.case.paints import (
    PreparedTopcoat,
    film_build,
    owned_paints,
    prepared_topcoat,
)
from showthrough.jobs.case.resolve import ReadJob, load_toml, read_job
from showthrough.jobs.case.uncertainty import (
    Cloud,
    Readings,
    SeenColours,
    clouds_of,
    likely_readings,
)
from showthrough.jobs.schema.bench import BenchFields, Supply
from showthrough.jobs.schema.job import OwnedUndercoat, Patch, TestPiece
from showthrough.palette.finishes import Finish
from showthrough.workshop.grounds import (
    Bleeds,
    Ground,
    LeadTest,
    Need,
    Question,
    Unsound,
    Work,
    needs_of,
    preparation_of,
    questions_of,
    unsound,
)
from showthrough.workshop.grounds.kinds import drinks, is_bare, may_hold_lead

if TYPE_CHECKING:
    from showthrough.jobs.case.bench import Bench, Part
    from showthrough.jobs.case.learned import Learned
    from showthrough.palette.seconds import Second


class Substrate(NamedTuple):
    """One patch of the surface: its colour, how sure that is, and what it is made of."""

    name: str
    share: float
    """Part of the area, 0 to 1."""
    share_stated: bool
    colour: Colour
    radius: float
    """95 % uncertainty of the colour, CIEDE2000."""
    ground: Ground
    skin: Literal["coated", "bare"]
    """How it meets the paint: through a surface of its own, or bare in optical contact."""


class OwnedCans(NamedTuple):
    """The painter's own undercoats as paints; m of them."""

    cans: tuple[OwnedUndercoat, ...]
    candidates: uc.Candidates
    dry_film_thickness_um: FloatArray
    """Film of one coat, shape (m,)."""


@dataclass(frozen=True, slots=True)
class PreparedJob:
    """A job ready to be reckoned with; see the module's heading."""

    title: str
    topcoat: PreparedTopcoat
    substrates: tuple[Substrate, ...]
    beneath: FloatArray
    """Reflectance inside of the patches as the topcoat alone meets them, shape (p, 31): a coat
    that the ground needs is taken to be clear and to seal, so that nothing drinks the topcoat."""
    seen: SeenColours
    """The patches' colours with their radius."""
    coated: np.ndarray
    """Whether each patch has a surface of its own, shape (p,)."""
    readings: Readings | None
    """What the colours may truly be; None where no colour states a radius."""
    cloud: Cloud | None
    """The same of the patches alone."""
    drinks: FloatArray
    """Part of a first coat that the unsealed patches drink, shape (p,)."""
    needs: tuple[Need, ...]
    """What the ground asks for whatever the optics say, in the order in which it is done."""
    works: tuple[Work, ...]
    """Preparation before the first coat, in order."""
    unsound: tuple[Unsound, ...]
    """Patches whose film does not hold: there is no count before it does."""
    questions: tuple[Question, ...]
    lead_test: LeadTest | None
    least_topcoats: int
    """For a sound film, whatever the optics say."""
    test_piece: TestPiece | None
    child: bool
    antique: bool
    build: FilmBuild
    film: FilmShown
    owned: OwnedCans | None
    finishes: tuple[Finish, ...]
    seconds: tuple[Second, ...] | None
    """The job's own second colours and woods; None where it names none."""
    film_assumptions: tuple[str, ...]
    """What the film of one coat takes for granted."""
    learned: Learned | None = None
    """What finished jobs made of it; None where they say nothing of it."""
    part: Part | None = None
    """How much of it there is; None where the job says nothing of the whole work."""
    bench: Bench | None = None
    """Room, cans, days and money of the whole job; None as above."""
    groups: tuple[PreparedJob, ...] = ()
    """All groups in their order, this one among them; none where the job has no groups."""

    @property
    def names(self) -> list[str]:
        """Names of the patches."""
        return [s.name for s in self.substrates]

    @property
    def coat_needed(self) -> bool:
        """Whether going without a coat under the topcoat is no option."""
        return any(need.all_over for need in self.needs)

    @property
    def paint_and_film_sigma_ln(self) -> float:
        """Standard deviation of ln hiding film over film of one coat, readings left out."""
        both = math.hypot(self.topcoat.paint.sigma_ln, math.log(self.build.geometric_sd))
        if self.learned is None or self.learned.covariance == 0.0:
            return both
        return math.sqrt(both**2 + 2.0 * self.learned.covariance)

    def patch_needs(
        self,
        hiding_um: FloatArray,
        films_um: FloatArray | None = None,
        sigma_ln: float | None = None,
    ) -> tuple[PatchNeed, ...]:
        """What each patch asks of the topcoat, with the sigma of paint, film and reading.

        Args:
            hiding_um: dry film that hides each patch, µm, shape (p,).
            films_um: the same by equally likely readings of the colours, shape (m, p); None
                where all are sure.
            sigma_ln: of the paint, where it is not the topcoat's own.
        """
        base = self.paint_and_film_sigma_ln**2
        if sigma_ln is not None:
            base = sigma_ln**2 + math.log(self.build.geometric_sd) ** 2
        likely = [()] * len(hiding_um) if films_um is None else films_um.T
        return tuple(
            PatchNeed(float(x), math.sqrt(base), films_um=films)
            for x, films in zip(hiding_um, likely, strict=True)
        )

    def counts_with(self, paints: Sequence[Paint], hiding_um: FloatArray) -> list[Outlook]:
        """Counts over the plain patches if the topcoat were each of some guessed paints.

        ``hiding_um`` are the hiding films of each over them, shape (g, p).
        """
        if self.readings is None:
            film = math.log(self.build.geometric_sd)
            spread = np.full(hiding_um.shape, [[math.hypot(p.sigma_ln, film)] for p in paints])
            return list(map(Outlook.of, self.chances_over(hiding_um[:, None], spread).tolist()))
        made = []
        for paint in paints:
            constants = self.topcoat._replace(paint=paint).constants
            assert constants is not None
            made.append(self.readings.made_by(constants))
        # One search for all of them.
        likely = Readings(*map(np.concatenate, zip(*made, strict=True))).hiding_film_um()
        return [
            outlook_of(self.patch_needs(films, each, sigma_ln=paint.sigma_ln), self.build)
            for paint, films, each in zip(
                paints, hiding_um, np.split(likely, len(paints)), strict=True
            )
        ]

    def chances_over(self, films_um: FloatArray, sigma_ln: FloatArray) -> FloatArray:
        """Chances of 1 to 12 topcoats over m surfaces, which drink nothing of them.

        Args:
            films_um: dry film that hides each patch, µm, by r equally likely readings of the
                colours (one where they are sure), shape (m, r, p).
            sigma_ln: standard deviation of its logarithm, shape (m, p).

        Returns:
            Shape (m, 12).
        """
        build, counts = self.build, range(1, MOST_COATS + 1)
        none, dry_um = np.zeros(films_um.shape[-1]), build.dry_film_thickness_um
        return chances_over(films_um, sigma_ln, none, dry_um, counts, build.evenness_cv)


def prepare(job: Mapping[str, Any] | PreparedJob, folder: Path | None = None) -> PreparedJob:
    """Check a job and make it ready.

    Args:
        job: a job as a mapping, as in TOML or JSON; one already prepared passes through.
        folder: where files that the job names are looked for; None refuses files, as
            the service does.

    Returns:
        The job; of one with groups its largest group, which holds all of them.

    Raises:
        InputError: with every problem of the job, by field.
    """
    if isinstance(job, PreparedJob):
        return job
    if not isinstance(job, Mapping) or not _says_of_the_bench(job):
        return _prepared(read_job(job, folder))
    from showthrough.jobs.case.groups import prepare_whole

    return prepare_whole(job, folder, _prepared)


_BENCH_KEYS: Mapping[str, frozenset[str]] = {
    "": frozenset(BenchFields.model_fields) | {"group"},
    "topcoat": frozenset(Supply.model_fields),
    "application": frozenset(
        {"gun", "openness", "thinning", "transfer_efficiency", "session_loss_ml", "flips"}
    ),
}
"""What paint, days and money are reckoned from, by the table that says it."""


def _says_of_the_bench(job: Mapping[str, Any]) -> bool:
    tables = {"": job, **{key: job.get(key) for key in ("topcoat", "application")}}
    return any(
        not keys.isdisjoint(table)
        for name, keys in _BENCH_KEYS.items()
        if isinstance(table := tables[name], Mapping)
    )


def _prepared(read: ReadJob) -> PreparedJob:
    """A checked job, or one group of it, made ready."""
    with ProblemList() as problems:
        with problems.collecting():
            topcoat = prepared_topcoat(
                read.job.topcoat, read.topcoat, read.paint, read.job.application.tool
            )
        with problems.collecting():
            owned = _owned(read)
    build, film, assumed = film_build(
        read.job.application, topcoat.volume_solids, solids_stated=topcoat.solids_stated
    )
    substrates = _substrates(read)
    grounds = tuple(s.ground for s in substrates)
    chemistry = read.job.topcoat.chemistry
    lead_test = _lead_test(read, grounds)
    thirst = np.where([drinks(ground) for ground in grounds], POROUS_LOSS, 0.0)
    seen = SeenColours(
        np.array([s.colour.lab for s in substrates]),
        np.array([s.colour.reflectance for s in substrates]),
        np.array([s.radius for s in substrates]),
        np.array([s.colour.measured for s in substrates]),
    )
    coated = np.array([s.skin == "coated" for s in substrates])
    paint = topcoat.paint
    twin = None if read.paint is not None or read.twin is None else read.twin[None]
    beneath = seen.substrates_beside(
        topcoat.chip_lab[None], topcoat.reflectance[None], coated, twin
    )[0]
    readings = None
    moves = topcoat.radius > 0.0 and topcoat.constants is not None
    found_clouds = clouds_of(
        seen, topcoat.seen if moves else None, None if twin is None else twin[0]
    )
    if found_clouds is not None:
        found, many = likely_readings(
            topcoat.seen,
            paint.absorption[None],
            paint.scattering[None],
            topcoat.constants,
            found_clouds.patches,
            coated,
            seen.measured,
            found_clouds,
        )
        readings = found if many.any() else None
    made = PreparedJob(
        title=read.job.title,
        topcoat=topcoat,
        substrates=substrates,
        beneath=beneath,
        seen=seen,
        coated=coated,
        readings=readings,
        cloud=None if found_clouds is None else found_clouds.patches,
        drinks=thirst,
        needs=needs_of(grounds, topcoat_bonds=topcoat.bonds, topcoat_chemistry=chemistry),
        works=preparation_of(
            grounds,
            lead_test=lead_test,
            topcoat_bonds=topcoat.bonds,
            topcoat_chemistry=chemistry,
        ),
        unsound=unsound(grounds),
        questions=questions_of(grounds, lead_test=lead_test),
        lead_test=lead_test,
        least_topcoats=read.job.application.least_topcoats,
        test_piece=read.job.test_piece,
        child=read.job.child,
        antique=read.job.antique,
        build=build,
        film=film,
        owned=owned,
        finishes=read.finishes,
        seconds=_seconds(read),
        film_assumptions=tuple(assumed),
    )
    if not read.job.finished:
        return made
    from showthrough.jobs.case.learned import with_finished

    return with_finished(made, read.job.finished, read.job.application)


def prepare_file(path: str | Path) -> PreparedJob:
    """Prepare a TOML job file; spectra and paints it names are read relative to it.

    Raises:
        InputError: the file cannot be read, is too large, is not TOML, or the job in
            it is wrong; all of that job's problems at once.
    """
    path = Path(path)
    return prepare(load_toml(path, "job"), path.parent)


_BLEEDS: dict[bool | str | None, Bleeds | None] = {
    True: "yes",
    False: "no",
    "may": "may",
    None: None,
}


def _ground(patch: Patch, share: float) -> Ground:
    return Ground(
        patch.name,
        patch.ground or "unknown",
        share,
        patch.condition,
        patch.stain,
        _BLEEDS[patch.bleeds],
        patch.porous,
        patch.sanded_through,
        None if patch.skin is None else patch.skin == "bare",
        patch.edge,
    )


def _substrates(read: ReadJob) -> tuple[Substrate, ...]:
    grounds = map(_ground, read.job.surface, read.shares)
    return tuple(
        Substrate(
            patch.name,
            share,
            patch.share is not None,
            colour,
            patch.colour.radius,
            ground,
            patch.skin or ("bare" if is_bare(ground) else "coated"),
        )
        for patch, share, colour, ground in zip(
            read.job.surface, read.shares, read.patches, grounds, strict=True
        )
    )


def _lead_test(read: ReadJob, grounds: tuple[Ground, ...]) -> LeadTest | None:
    """The test that holds for all old finishes: none while one is untested, lead if one has it."""
    old = [
        patch.lead_test
        for patch, ground in zip(read.job.surface, grounds, strict=True)
        if may_hold_lead(ground)
    ]
    tests = [LeadTest(t.by, t.result, t.date) for t in old if t is not None]
    found = next((t for t in tests if t.result == "lead"), None)
    if found is not None or len(tests) < len(old):
        return found
    # A laboratory's word for one patch is not one for the next.
    return next((t for t in tests if t.kind == "kit"), next(iter(tests), None))


def _owned(read: ReadJob) -> OwnedCans | None:
    if not read.job.undercoat:
        return None
    budgets, films = owned_paints(read.job.undercoat, read.undercoats)
    spectra = np.array([c.reflectance for c in read.undercoats])
    return OwnedCans(tuple(read.job.undercoat), uc.owned_candidates(spectra, budgets), films)


def _seconds(read: ReadJob) -> tuple[Second, ...] | None:
    if not read.job.second_colour:
        return None
    from showthrough.palette.seconds import Second

    return tuple(
        Second(s.name, rounded_lab(c.lab), s.kind, "given")
        for s, c in zip(read.job.second_colour, read.seconds, strict=True)
    )
