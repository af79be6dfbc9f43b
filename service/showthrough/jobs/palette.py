"""What sits beside a topcoat: hardware finishes, a second colour, wood, and lamps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS, recover_spectra
from showthrough.jobs.answers.palette import LampShown, PairShown, Palette, SecondShown, TripleShown
from showthrough.jobs.answers.prediction import ColourShown, rounded_lab
from showthrough.jobs.case.finishes import finishes_shown
from showthrough.jobs.case.prepared import PreparedJob, prepare
from showthrough.palette.beside import rank_finishes
from showthrough.palette.finishes import Finish, finish_spectrum
from showthrough.palette.lamps import pair_shifts
from showthrough.palette.seconds import (
    Second,
    SecondRanking,
    on_screen,
    rank_second_colours,
    suggestible,
    wood_tones,
)
from showthrough.palette.triples import rank_triples
from showthrough.say.words import topcoat_name

_PAIRS_SHOWN = 8


def palette(job: Mapping[str, Any] | PreparedJob, folder: Path | None = None) -> Palette:
    """Rank finishes, second colours, woods and triples beside a job's topcoat.

    Args:
        job: as for ``predict``; ``finishes`` and ``second_colour`` narrow the choice.
        folder: where files that the job names are looked for; None refuses files.

    Raises:
        InputError: with every problem of the job, by field.
    """
    prepared = prepare(job, folder)
    chip = prepared.topcoat.chip_lab
    finishes = rank_finishes(chip, prepared.finishes)
    paints, woods = _candidates(prepared)
    ranked = rank_second_colours(chip, paints)
    ranked_woods = rank_second_colours(chip, woods)
    every = [*paints, *woods]
    if prepared.seconds is None:  # what the painter names is tried in any case
        every = [s for s, fits in zip(every, suggestible(chip, every), strict=True) if fits]
    triples = rank_triples(chip, every, prepared.finishes)
    return Palette(
        topcoat=ColourShown.of(chip),
        topcoat_name=topcoat_name(prepared.topcoat),
        finishes=finishes_shown(finishes),
        finishes_summary=finishes.summary,
        finishes_level=finishes.level,
        second_colours=_seconds_shown(ranked),
        second_summary=ranked.summary,
        woods=_seconds_shown(ranked_woods),
        triples=[
            TripleShown(
                rank=t.rank,
                second=t.second.name,
                second_colour=second,
                finish=t.finish.label,
                finish_colour=finish,
                harmony=round(t.harmony, 4),
                advantage=round(t.advantage, 4),
                weakest=t.weakest,
                weakest_harmony=round(t.weakest_harmony, 4),
                why=t.reason,
            )
            for t, second, finish in zip(
                triples,
                ColourShown.of_each([t.second.lab for t in triples]),
                ColourShown.of_each([t.finish.lab for t in triples]),
                strict=True,
            )
        ],
        lamps=_lamps(
            prepared,
            [r.finish for r in finishes.ranked[:_PAIRS_SHOWN]],
            [r.second for r in ranked.ranked[:_PAIRS_SHOWN]],
        ),
    )


def _candidates(job: PreparedJob) -> tuple[list[Second], list[Second]]:
    """Second colours and woods: the job's own, else the samples."""
    if job.seconds is not None:
        return (
            [s for s in job.seconds if s.kind == "paint"],
            [s for s in job.seconds if s.kind == "wood"],
        )
    return list(_sample_paints()), list(wood_tones())


@cache
def _sample_paints() -> tuple[Second, ...]:
    """The sample topcoats as second colours, and whether paint can be them as they are shown."""
    from showthrough.colour.files.swatches import shipped_swatches
    from showthrough.colour.reading import colours_of

    swatches = shipped_swatches("topcoats")
    colours = colours_of([s.reading for s in swatches])
    paints = on_screen(
        [
            Second(s.name, rounded_lab(c.lab), "paint", "invented")
            for s, c in zip(swatches, colours, strict=True)
        ]
    )
    labs = np.array([p.lab for p in paints])
    possible = recover_spectra(labs, PAINT_BOUNDS, move=False).reachable
    return tuple(replace(p, possible=bool(fits)) for p, fits in zip(paints, possible, strict=True))


def _seconds_shown(ranking: SecondRanking) -> list[SecondShown]:
    colours = ColourShown.of_each([r.second.lab for r in ranking.ranked])
    return [
        SecondShown(
            rank=entry.rank,
            name=entry.second.name,
            kind=entry.second.kind,
            basis=entry.second.known,
            lab=colour.lab,
            hex=colour.hex,
            harmony=round(entry.score.harmony, 4),
            advantage=round(entry.score.advantage, 4),
            beats=round(entry.score.beats, 1),
            lightness_contrast=round(entry.score.lightness_contrast, 2),
            difference=round(entry.delta_e, 2),
            too_near=entry.too_near,
            loud=entry.loud,
            why=entry.reason,
            caution=entry.caution or None,
        )
        for entry, colour in zip(ranking.ranked, colours, strict=True)
    ]


def _lamps(job: PreparedJob, finishes: list[Finish], seconds: list[Second]) -> list[PairShown]:
    """How the leading pairs shift from daylight to an incandescent lamp and an LED."""
    name = job.topcoat.name or "the topcoat"
    names = [*(f.label for f in finishes), *(s.name for s in seconds)]
    if not names:
        return []
    spectra = [finish_spectrum(f) for f in finishes]
    if seconds:
        spectra.extend(
            recover_spectra(np.array([s.lab for s in seconds]), SURFACE_BOUNDS).reflectance
        )
    sound = [i for i, s in enumerate(spectra) if np.isfinite(s).all()]
    if not sound:
        return []
    pairs = pair_shifts(
        name,
        job.topcoat.reflectance,
        [names[i] for i in sound],
        np.array([spectra[i] for i in sound]),
        guessed=not job.topcoat.spectrum_measured,
    )
    return [
        PairShown(
            beside=names[i],
            under=[
                LampShown(
                    light=u.light,
                    words=u.words,
                    difference=round(u.delta_e, 2),
                    harmony=round(u.harmony, 4),
                    parts=u.parts,
                )
                for u in pair.under
            ],
            warnings=list(pair.warnings),
            remark=pair.remark or None,
        )
        for i, pair in zip(sound, pairs, strict=True)
    ]
