"""Topcoat, film build and own undercoats of a job, as the film room wants them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Literal, NamedTuple

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.errors import InputError
from showthrough.film.coats import (
    AEROSOL_SOLIDS,
    MOST_AEROSOL_SOLIDS,
    STATED_FILM_GEOMETRIC_SD,
    USUAL_COAT,
    USUAL_DENSITY_G_ML,
    USUAL_FILM_GEOMETRIC_SD,
    USUAL_SOLIDS_GEOMETRIC_SD,
    USUAL_VOLUME_SOLIDS,
    WET_FILM_THICKNESS_UM,
    FilmBuild,
    Tool,
    joint_geometric_sd,
)
from showthrough.film.hiding import (
    LABEL_TO_BENCH,
    OpaqueColour,
    Paint,
    budget_of,
    constants_from_colour,
    label_budget_per_um,
)
from showthrough.film.knowledge import BUDGET_PER_UM, NOTHING_KNOWN, PaintFacts
from showthrough.film.optics import infinite_reflectance, outside_reflectance
from showthrough.film.undercoat import UNDERCOAT_SOLIDS, UNDERCOAT_WET_UM
from showthrough.jobs.answers.prediction import FilmShown
from showthrough.jobs.case.parts import used_wet_film_thickness_um, usual_transfer
from showthrough.jobs.case.uncertainty import Constants, SeenColours
from showthrough.jobs.schema.bench import LEAST_WET_UM, MOST_WET_UM
from showthrough.jobs.schema.job import Application, Label, OwnedUndercoat, Topcoat
from showthrough.records.learning.logs import Rate
from showthrough.say.learned import from_jobs
from showthrough.say.sentence import TOOLS
from showthrough.workshop.grounds import Chemistry

Guesses = Callable[[Sequence[PaintFacts]], list[Paint]]
"""The paints of one colour that follow from each of some facts."""

_GUESSED = frozenset({"colour", "label", "jobs"})
"""Evidence with which K and S follow from the colour."""


class PreparedTopcoat(NamedTuple):
    """The topcoat's optics, the chip that it is to reach, and what its label says."""

    name: str | None
    """The painter's own name for it."""
    paint: Paint
    chip_lab: FloatArray
    reflectance: FloatArray
    """Of the opaque topcoat, outside, shape (31,)."""
    radius: float
    """95 % uncertainty of the chip's colour, CIEDE2000; 0 for a measured paint."""
    spectrum_measured: bool
    """Whether the reflectance was measured; otherwise it was recovered from a colour."""
    volume_solids: float
    solids_stated: bool
    sheen: str | None
    bonds: bool
    """Its label says that it holds on slick grounds by itself."""
    chemistry: Chemistry | None
    moved: str | None
    """How the colour was moved to one that paint can be."""
    notes: tuple[str, ...]
    """What was taken for granted of colour and label."""
    guesses: Guesses | None
    """The paint as each of other facts would have it; None where it was measured."""

    @property
    def seen(self) -> SeenColours:
        """The chip's colour with its radius."""
        return SeenColours(
            self.chip_lab[None],
            self.reflectance[None],
            np.array([self.radius]),
            np.array([self.spectrum_measured]),
        )

    @property
    def constants(self) -> Constants | None:
        """K and S of other colours of this paint; None where it was measured itself."""
        if self.paint.evidence not in _GUESSED:
            return None
        budget, facts = budget_of(self.paint), self.paint.facts
        return lambda reflectance: constants_from_colour(reflectance, budget, facts)


def prepared_topcoat(
    topcoat: Topcoat, colour: Colour | None, measured: Paint | None, tool: Tool
) -> PreparedTopcoat:
    """The topcoat from the best evidence that the job holds.

    Args:
        topcoat: as the job states it.
        colour: its colour; may be None where the paint was measured.
        measured: the measured paint, or None.
        tool: an aerosol's content holds propellant as well.

    Raises:
        InputError: no paint of that colour has the label's contrast ratio.
    """
    solids, stated = _solids(topcoat, tool)
    radius = 0.0
    moved: str | None = None
    notes: list[str] = []
    guesses: Guesses | None = None
    if measured is not None:
        paint = measured
        reflectance = outside_reflectance(infinite_reflectance(paint.absorption, paint.scattering))
        lab, known = spectrum_to_lab(reflectance), paint.evidence == "spectrum"
    else:
        assert colour is not None
        assert topcoat.colour is not None
        reflectance, lab, known = colour.reflectance, colour.lab, colour.measured
        radius = topcoat.colour.radius
        notes = list(colour.notes)
        moved = next(iter(colour.notes), None)
        facts = PaintFacts(
            topcoat.pigment,
            topcoat.body,
            topcoat.tio2_share,
            None if topcoat.label is None else topcoat.label.tested,
        )
        guesses = _guesses(topcoat.label, solids, reflectance, lab)
        [paint] = guesses([facts])
    if measured is None and topcoat.label is not None:
        what = "white paint it was tinted from" if topcoat.label.tested == "base" else "colour"
        notes.append(
            f"The label's contrast ratio is taken to be that of the {what}, in a laboratory "
            f"film; a bench film is taken to show {LABEL_TO_BENCH:.0%} of that hiding (a default)."
        )
    return PreparedTopcoat(
        topcoat.name,
        paint,
        lab,
        reflectance,
        radius,
        known,
        solids,
        stated,
        topcoat.sheen,
        topcoat.bonds,
        topcoat.chemistry,
        moved,
        tuple(notes),
        guesses,
    )


def _solids(topcoat: Topcoat, tool: Tool) -> tuple[float, bool]:
    """Volume solids, and whether they are as stated: an aerosol is reckoned from its content."""
    said = topcoat.volume_solids
    if tool == "aerosol":
        return (said, True) if said and said <= MOST_AEROSOL_SOLIDS else (AEROSOL_SOLIDS, False)
    return (USUAL_VOLUME_SOLIDS, False) if said is None else (said, True)


def _guesses(
    label: Label | None, solids: float, reflectance: FloatArray, lab: FloatArray
) -> Guesses:
    """How a topcoat follows from its colour, its label and the facts that are known."""
    colour = OpaqueColour.of(reflectance, lab)
    if label is None:
        return colour.paints
    # The facts are the coloured paint's: they say nothing of a white base.
    base = None
    if label.tested == "base":
        base = _label_budget("topcoat.label", label, solids, reflectance)

    def guessed(facts: Sequence[PaintFacts]) -> list[Paint]:
        budgets = [
            base or _label_budget("topcoat.label", label, solids, reflectance, each)
            for each in facts
        ]
        return colour.paints(facts, "label", budgets)

    return guessed


def _label_budget(
    field: str,
    label: Label,
    solids: float,
    reflectance: FloatArray,
    facts: PaintFacts = NOTHING_KNOWN,
) -> float:
    tested = reflectance if label.tested == "this colour" else None
    try:
        return label_budget_per_um(
            label.contrast_ratio, label.spreading_rate_m2_l, solids, tested, facts=facts
        )
    except InputError as error:
        raise error.within(field) from None


def film_build(
    application: Application,
    volume_solids: float,
    *,
    solids_stated: bool,
    learned: Rate | None = None,
) -> tuple[FilmBuild, FilmShown, list[str]]:
    """Film of one coat, the same to show, and the assumptions it rests on.

    ``learned`` is the painter's own factor on it, from finished jobs.
    """
    tool, use, solids = application.tool, application.paint_used, volume_solids
    coat = application.coat or USUAL_COAT[tool]
    usual = None if application.transfer_efficiency else usual_transfer(application)
    basis: Literal["stated", "paint used", "tool"] = "stated"
    wet, geometric_sds = application.wet_film_um, [STATED_FILM_GEOMETRIC_SD]
    if use is not None:
        wet, basis = used_wet_film_thickness_um(application), "paint used"
        geometric_sds += [] if usual is None else [usual.geometric_sd.value]
    elif wet is None:
        wet, basis = WET_FILM_THICKNESS_UM[tool, coat], "tool"
        geometric_sds = [USUAL_FILM_GEOMETRIC_SD]
    if not solids_stated:
        geometric_sds.append(USUAL_SOLIDS_GEOMETRIC_SD)
    geometric_sd, before = joint_geometric_sd(*geometric_sds), wet
    volume_solids /= 1.0 + application.thinning
    water = "water-borne furniture paint"
    can = "an aerosol's content, propellant included"
    assumed: list[str] = []
    if not solids_stated:
        assumed.append(
            f"Volume solids {solids:.0%}: a default for {can if tool == 'aerosol' else water}; "
            "the data sheet knows better."
        )
    if use is not None and usual is not None:
        assumed.append(
            f"{usual.part.value:.0%} of the paint used stays on the piece: a default for a "
            f"{TOOLS[tool]}."
        )
    if use is not None and use.g is not None and use.density_g_ml is None:
        assumed.append(f"The wet paint weighs {USUAL_DENSITY_G_ML:g} g/ml: a default.")
    if learned is not None:
        moved = min(max(wet * math.exp(learned.log_factor), LEAST_WET_UM), MOST_WET_UM)
        wet, geometric_sd = float(f"{moved:.3g}"), math.exp(learned.sigma)
        told = {"tool": "is usual", "stated": "is stated", "paint used": "the paint used makes"}
        assumed.append(
            f"Wet film {wet:g} µm, {from_jobs(learned.jobs)}, where {before:.3g} µm {told[basis]}."
        )
    elif basis == "tool":
        assumed.append(
            f"Wet film {wet:g} µm: a default for a {coat} coat with a {TOOLS[tool]}; a wet film "
            "gauge, or the paint used over an area, knows better."
        )
    if application.thinning > 0.0:
        assumed.append(
            f"Thinned by {application.thinning:.0%}, what is laid holds {volume_solids:.0%} "
            "solids; the wet film is that of the thinned paint."
        )
    assumed.append(
        f"Film varies by {application.evenness_cv:.0%} within one coat (one standard deviation); "
        "the thinnest tenth decides."
    )
    assumed.append(
        f"Sanding between coats takes {application.sanding_loss:.0%} of a coat, from its high "
        "spots and not from the thinnest tenth."
    )
    build = FilmBuild(
        wet,
        volume_solids,
        geometric_sd,
        application.sanding_loss,
        application.evenness_cv,
    )
    shown = FilmShown(
        tool=tool,
        coat=coat,
        wet_film_um=wet,
        volume_solids=volume_solids,
        dry_film_um=build.dry_film_thickness_um,
        spread=geometric_sd,
        evenness_cv=application.evenness_cv,
        sanding_loss=application.sanding_loss,
        basis=basis if learned is None else "finished jobs",
    )
    return build, shown, assumed


def owned_paints(
    cans: Sequence[OwnedUndercoat], colours: Sequence[Colour]
) -> tuple[FloatArray, FloatArray]:
    """S0 (1/µm dry) and dry film of one coat (µm) of the painter's own cans, each shape (m,).

    Raises:
        InputError: no paint of a can's colour has its label's contrast ratio; by field.
    """
    budgets, films = [], []
    for i, (own, colour) in enumerate(zip(cans, colours, strict=True)):
        solids = own.volume_solids or UNDERCOAT_SOLIDS
        films.append((own.wet_film_um or UNDERCOAT_WET_UM) * solids)
        budgets.append(
            BUDGET_PER_UM
            if own.label is None
            else _label_budget(f"undercoat[{i + 1}].label", own.label, solids, colour.reflectance)
        )
    return np.array(budgets), np.array(films)
