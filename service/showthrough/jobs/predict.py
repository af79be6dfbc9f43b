"""How many coats a topcoat takes over a surface, and what would change that."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import hex_of_lab
from showthrough.film import undercoat as uc
from showthrough.film.build import (
    ADVISED_LEAST_COATS,
    MOST_COATS,
    FilmBuild,
    coats_needed,
    count_coats,
)
from showthrough.film.hiding import paint_from_colour
from showthrough.jobs import words
from showthrough.jobs.finishes import finishes_shown
from showthrough.jobs.grounds import Surface, patch_needs
from showthrough.jobs.ladder import films_after, ladder_of, ladder_steps
from showthrough.jobs.paints import owned_model
from showthrough.jobs.resolve import ReadJob, read_job_file
from showthrough.jobs.result import (
    Coats,
    ColourShown,
    CountRange,
    HidingShown,
    NeedShown,
    PatchShown,
    Prediction,
    rounded_lab,
)
from showthrough.jobs.setting import Setting, setting_of
from showthrough.jobs.uncertainty import reading_spread
from showthrough.jobs.undercoat_trials import reckon
from showthrough.jobs.undercoats import helps, search_undercoats
from showthrough.palette.beside import rank_finishes
from showthrough.workshop.cautions import cautions_for


def predict(job: Mapping[str, Any] | ReadJob, folder: Path | None = None) -> Prediction:
    """Answer a job.

    Args:
        job: a job as a mapping (the words of the TOML file), or one already read.
        folder: where files that the job names are looked for; None refuses files.

    Returns:
        The whole answer; see ``jobs.result``.

    Raises:
        InputError: with every problem of the job, by field.
    """
    setting = setting_of(job, folder)
    read, topcoat, build, film_shown = setting.read, setting.topcoat, setting.build, setting.film
    surface, wet_under = setting.surface, setting.undercoat_wet_um
    paint, chip = topcoat.paint, topcoat.chip_lab
    owned = owned_model(read, wet_under)
    reckoned = reckon(
        paint,
        chip,
        surface,
        wet_under,
        uc.owned_candidates(owned.reflectance, owned.budget_per_um) if read.undercoats else None,
        owned.dry_film_um if read.undercoats else None,
    )
    critical = reckoned.plain_um
    surface = Surface(
        surface.grounds, surface.lost, reading_spread(read, topcoat, surface.grounds, critical)
    )
    counts = count_coats(
        patch_needs(critical, surface.lost, surface.log_spread, paint, build), build
    )
    reached = films_after(paint, chip, surface, build, MOST_COATS, setting.ground_lab)
    even = reached.even_after() if len(setting.names) > 1 else None
    ground_needs = setting.needs
    search = search_undercoats(
        paint,
        chip,
        surface,
        build,
        reckoned,
        ground_needs,
        wet_under,
        tuple(read.job.undercoat),
        setting.ground_lab,
    )
    last = min((counts.likely or MOST_COATS) + 1, MOST_COATS)
    names = setting.names
    ladder = ladder_steps(names, reached, last)
    under_ladder = None
    if search.best_ground is not None:
        sealed = Surface(search.best_ground, np.zeros_like(surface.lost), surface.log_spread)
        best = next(o for o in search.options if helps(o))
        under_ladder = ladder_of(
            names, paint, chip, sealed, build, min((best.topcoats or 1) + 1, MOST_COATS)
        )
    coats = Coats(
        likely=counts.likely,
        low=counts.low,
        high=counts.high,
        enough={n: round(p, 4) for n, p in counts.enough.items()},
        even_after=even,
        reason=words.why_no_count(counts),
        even_reason=_why_not_even(len(names), even),
        advised_least=ADVISED_LEAST_COATS,
        ground_coats=int(any(need.coat for need in ground_needs)),
    )
    hiding = HidingShown(
        scattering_per_um=round(paint.scattering_per_um, 5),
        evidence=paint.evidence,
        spread=round(paint.spread, 4),
        colour_spread=round(paint_from_colour(topcoat.reflectance).spread, 4),
        measured=paint.evidence in {"drawdown", "spectrum"},
        by_colour_alone=_by_colour_alone(setting, surface),
    )
    patches = _patches_shown(read, critical, surface, build)
    ranking = rank_finishes(chip, read.finishes)
    return Prediction(
        title=read.job.title,
        topcoat=ColourShown.of(chip),
        topcoat_name=words.topcoat_name(read, chip),
        topcoat_note=topcoat.notes[0] if read.topcoat is not None and read.topcoat.notes else None,
        recommendation=words.recommendation(coats, search.options),
        coats=coats,
        ladder=ladder,
        hiding=hiding,
        film=film_shown,
        patches=patches,
        undercoats=search.options,
        grey_curve=search.curve,
        undercoat_ladder=under_ladder,
        needs=[
            NeedShown(kind=n.kind, patches=list(n.patches), coat=n.coat, sentence=n.sentence)
            for n in ground_needs
        ],
        finishes=finishes_shown(ranking),
        finishes_summary=ranking.summary,
        reasons=words.reasons(hiding, paint, chip, coats, patches, search, build),
        cautions=cautions_for(
            tool=film_shown.tool,
            bare_wood=any(p.skin == "bare" for p in read.job.surface),
            past_paint=any(p.skin == "coated" for p in read.job.surface),
            wood_kinds=tuple(p.ground or "" for p in read.job.surface),
            wet_film_um=film_shown.wet_film_um,
        ),
        assumptions=[
            *setting.assumed,
            *topcoat.notes,
            *words.assumptions(read, paint, surface.lost, wet_under),
        ],
    )


def predict_file(path: str | Path) -> Prediction:
    """Answer a TOML job file; files that it names are read beside it.

    Raises:
        InputError: the file cannot be read, or the job is wrong.
    """
    path = Path(path)
    return predict(read_job_file(path), path.parent)


def _by_colour_alone(setting: Setting, surface: Surface) -> CountRange | None:
    """The counts that the topcoat's colour alone would give, beside better evidence."""
    topcoat = setting.topcoat
    if topcoat.paint.evidence == "colour":
        return None
    paint = paint_from_colour(topcoat.reflectance)
    critical = uc.critical_over(
        paint.absorption, paint.scattering, topcoat.chip_lab, surface.grounds
    )
    needs = patch_needs(critical, surface.lost, surface.log_spread, paint, setting.build)
    counts = count_coats(needs, setting.build)
    return CountRange(likely=counts.likely, low=counts.low, high=counts.high)


def _why_not_even(patches: int, even: int | None) -> str | None:
    """Why there is no count for evenness, or None where there is one."""
    if patches == 1:
        return "There is one patch only, so there is nothing to compare."
    if even is None:
        return f"The patches still differ after {MOST_COATS} coats."
    return None


def _patches_shown(
    read: ReadJob, critical: FloatArray, surface: Surface, build: FilmBuild
) -> list[PatchShown]:
    counts = coats_needed(critical / build.dry_film_um, surface.lost, build.evenness_cv)
    return [
        PatchShown(
            name=patch.name,
            share=round(share, 4),
            skin=patch.skin or "coated",
            lab=rounded_lab(colour.lab),
            hex=hex_of_lab(colour.lab),
            critical_um=round(float(x), 3) if math.isfinite(x) else None,
            coats=int(n) if n <= MOST_COATS else None,
        )
        for patch, share, colour, x, n in zip(
            read.job.surface, read.shares, read.patches, critical, counts, strict=True
        )
    ]
