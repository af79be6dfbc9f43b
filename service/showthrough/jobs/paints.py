"""Topcoat, film build and undercoats of a job, as the film room wants them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.errors import InputError
from showthrough.film.build import (
    STATED_FILM_SPREAD,
    TRANSFER,
    USUAL_COAT,
    USUAL_DENSITY_G_ML,
    USUAL_FILM_SPREAD,
    USUAL_SOLIDS_SPREAD,
    USUAL_VOLUME_SOLIDS,
    WET_FILM_UM,
    FilmBuild,
    joint_spread,
)
from showthrough.film.hiding import (
    LABEL_TO_BENCH,
    Paint,
    label_budget_per_um,
    paint_from_colour,
)
from showthrough.film.knowledge import BUDGET_PER_UM, NOTHING_KNOWN, PaintFacts
from showthrough.film.optics import infinite_reflectance, outside_reflectance
from showthrough.film.undercoat import UNDERCOAT_SOLIDS
from showthrough.jobs.parts import used_wet_film_um
from showthrough.jobs.resolve import ReadJob
from showthrough.jobs.result import FilmShown
from showthrough.jobs.schema import Application, Label, OwnedUndercoat


@dataclass(frozen=True, slots=True)
class TopcoatModel:
    """The topcoat's optics and the chip that it is to reach."""

    paint: Paint
    chip_lab: FloatArray
    reflectance: FloatArray
    """Of the opaque topcoat, outside, shape (31,)."""
    volume_solids: float
    solids_stated: bool
    notes: tuple[str, ...]


def topcoat_model(read: ReadJob, folder: Path | None = None) -> TopcoatModel:
    """The topcoat from the best evidence that the job holds."""
    topcoat = read.job.topcoat
    stated = topcoat.volume_solids is not None
    solids = topcoat.volume_solids if topcoat.volume_solids is not None else USUAL_VOLUME_SOLIDS
    if topcoat.paint is not None or topcoat.paint_file is not None:
        from showthrough.jobs.measured import measured_paint

        paint = measured_paint(topcoat.paint, topcoat.paint_file, folder)
        inside = infinite_reflectance(paint.absorption, paint.scattering)
        seen = outside_reflectance(inside)
        return TopcoatModel(paint, spectrum_to_lab(seen), seen, solids, stated, ())
    colour = read.topcoat
    assert colour is not None
    notes: list[str] = list(colour.notes)
    facts = PaintFacts(
        topcoat.pigment,
        topcoat.body,
        topcoat.tio2_share,
        topcoat.label.tested if topcoat.label is not None else None,
    )
    if topcoat.label is None:
        paint = paint_from_colour(colour.reflectance, facts=facts)
    else:
        paint = paint_from_colour(
            colour.reflectance,
            _label_budget("topcoat.label", topcoat.label, solids, colour.reflectance, facts),
            evidence="label",
            facts=facts,
        )
        what = "white base" if topcoat.label.tested == "base" else "colour"
        notes.append(
            f"The label's contrast ratio is taken to be the {what}'s, of a laboratory film; a "
            f"bench film is taken to show {LABEL_TO_BENCH:.0%} of that hiding (a default)."
        )
    return TopcoatModel(paint, colour.lab, colour.reflectance, solids, stated, tuple(notes))


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


def usual_wet_film_um(tool: str, coat: str) -> float:
    """The wet film of a tool and coat, µm (a default, from memory)."""
    return WET_FILM_UM[tool, coat]


def film_build(
    application: Application, volume_solids: float, *, solids_stated: bool
) -> tuple[FilmBuild, FilmShown, list[str]]:
    """Film of one coat, the same to show, and the assumptions it rests on."""
    tool = application.tool
    coat = application.coat or USUAL_COAT[tool]
    assumed: list[str] = []
    spreads: list[float] = []
    basis: Literal["stated", "paint used", "tool"]
    if not solids_stated:
        spreads.append(USUAL_SOLIDS_SPREAD)
        assumed.append(
            f"Volume solids {volume_solids:.0%}: a default for water-borne furniture paint; the "
            "data sheet knows better."
        )
    if application.paint_used is not None:
        wet = _wet_from_use(application, assumed, spreads)
        basis = "paint used"
    elif application.wet_film_um is not None:
        wet, basis = application.wet_film_um, "stated"
        spreads.append(STATED_FILM_SPREAD)
    else:
        wet, basis = usual_wet_film_um(tool, coat), "tool"
        spreads.append(USUAL_FILM_SPREAD)
        assumed.append(
            f"Wet film {wet:g} µm: a default for a {coat} coat by {tool}; a wet film gauge, or "
            "the paint used over an area, knows better."
        )
    spread = joint_spread(*spreads)
    build = FilmBuild(
        wet,
        volume_solids,
        spread,
        application.sanding_loss,
        application.evenness_cv,
    )
    shown = FilmShown(
        tool=tool,
        coat=coat,
        wet_film_um=wet,
        volume_solids=volume_solids,
        dry_film_um=build.dry_film_um,
        spread=spread,
        evenness_cv=application.evenness_cv,
        sanding_loss=application.sanding_loss,
        basis=basis,
    )
    assumed.append(
        f"Local film varies by {application.evenness_cv:.0%} within one coat; the thin spots "
        "(the tenth part that has least) decide."
    )
    assumed.append(
        f"Scuff sanding between coats takes {application.sanding_loss:.0%} of a coat, off the "
        "high spots, not the thin ones."
    )
    return build, shown, assumed


def _wet_from_use(application: Application, assumed: list[str], spreads: list[float]) -> float:
    use = application.paint_used
    assert use is not None
    usual, transfer_spread = TRANSFER[application.tool]
    if application.transfer_efficiency is None:
        spreads.append(transfer_spread)
        assumed.append(
            f"{usual:.0%} of the paint used stays on the piece: a default for {application.tool}."
        )
    if use.g is not None and use.density_g_ml is None:
        assumed.append(f"The wet paint weighs {USUAL_DENSITY_G_ML:g} g/ml: a default.")
    spreads.append(STATED_FILM_SPREAD)
    return used_wet_film_um(application)


@dataclass(frozen=True, slots=True)
class OwnedModel:
    """The painter's own undercoats as arrays."""

    reflectance: FloatArray
    budget_per_um: FloatArray
    dry_film_um: FloatArray


def owned_model(read: ReadJob, usual_wet_um: float) -> OwnedModel:
    """Own undercoats with their films; arrays over m cans."""
    owned: list[OwnedUndercoat] = read.job.undercoat
    reflectance = np.array([c.reflectance for c in read.undercoats]).reshape(-1, 31)
    budgets, films = [], []
    for i, (own, colour) in enumerate(zip(owned, read.undercoats, strict=True)):
        solids = own.volume_solids or UNDERCOAT_SOLIDS
        films.append((own.wet_film_um or usual_wet_um) * solids)
        budgets.append(
            BUDGET_PER_UM
            if own.label is None
            else _label_budget(f"undercoat[{i + 1}].label", own.label, solids, colour.reflectance)
        )
    return OwnedModel(reflectance, np.array(budgets), np.array(films))
