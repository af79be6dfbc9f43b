"""All swatches of a file over one surface, with and without the best undercoat."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

import numpy as np
from pydantic import Field

from showthrough.colour.difference import ciede2000
from showthrough.colour.files.swatches import Swatch, SwatchFile, shipped_swatches
from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour, possible_colours
from showthrough.colour.space import hexes_of_labs
from showthrough.errors import MOST_PROBLEMS, InputError, ProblemList, shown
from showthrough.film import undercoat as uc
from showthrough.film.coats import MOST_COATS
from showthrough.jobs.answers.prediction import Shown, rounded_lab
from showthrough.jobs.case.prepared import PreparedJob, prepare
from showthrough.jobs.case.topcoats import (
    Covered,
    covered,
    hiding_film_over_substrates,
    likely_counts,
    topcoats_of_colours,
)
from showthrough.palette.finishes import Finish, labs_of
from showthrough.palette.relative import advantage_table

_SHELF_ONLY = (
    "The undercoats tried are white and greys, as they stand on a shelf; a tint mixed for one "
    "colour may do with fewer coats, as that colour's own prediction tells."
)

MOST_SWATCHES = 10_000

_NOTES_SHOWN = 3

SortKey = Literal["coats", "total", "difference", "harmony", "name"]
SORT_KEYS: tuple[SortKey, ...] = ("coats", "total", "difference", "harmony", "name")


class LeftOut(Shown):
    """A swatch that could not be reckoned."""

    name: str = Field(description="its name, or its place in the file where it has none")
    reason: str


class SweepRow(Shown):
    """One swatch over the surface."""

    name: str
    lab: tuple[float, float, float]
    hex: str
    coats: int | None = Field(description="likely topcoats over the surface; null: over 12")
    chance: float
    undercoat: str | None = Field(description="the undercoat that asks for fewest topcoats")
    topcoats_over_it: int | None
    total: int | None = Field(description="undercoat and topcoats, at least the least of them")
    saved: int | None
    difference: float = Field(description="CIEDE2000 to the wanted colour")
    harmony: float | None = Field(
        description="with the finish that gains most from it; null: the job has no finishes"
    )
    advantage: float | None
    finish: str | None


class Sweep(Shown):
    """All rows, sorted."""

    wished: tuple[float, float, float]
    rows: list[SweepRow]
    left_out: list[LeftOut] = Field(description="swatches that could not be reckoned, and why")
    undercoats_tried: list[str]
    notes: list[str]


def sweep(
    job: Mapping[str, Any] | PreparedJob,
    swatches: Sequence[Swatch] | SwatchFile | None = None,
    folder: Path | None = None,
    *,
    sort: str = "coats",
    strict: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Sweep:
    """Reckon every swatch as the topcoat of a job.

    Args:
        job: as for ``predict``; its topcoat is the wanted colour that rows are compared
            with, its label or measurement sets the optical budget of all swatches.
        swatches: what to try; the shipped topcoats where not given.
        folder: where files that the job names are looked for; None refuses files.
        sort: coats, total, difference, harmony or name.
        strict: refuse swatches that cannot be, where they would else be left out and told.
        progress: called with swatches done and their number.

    Raises:
        InputError: with every problem of the job; no swatch can be reckoned, or one cannot and
            ``strict`` is set.
    """
    with ProblemList() as problems:
        check_sort(sort, problems)
        with problems.collecting():
            prepared = prepare(job, folder)
        with problems.collecting():
            given = shipped_swatches("topcoats") if swatches is None else swatches
            chosen, colours, left_out, understood = take_in(given, strict=strict)
    topcoats = topcoats_of_colours(colours, prepared.topcoat.paint)
    labels, substrates = _undercoats(prepared)
    plain = covered(prepared, topcoats)
    hiding_film_um = hiding_film_over_substrates(topcoats, substrates, progress).reshape(
        len(chosen), len(labels), len(prepared.names)
    )
    counts = likely_counts(hiding_film_um, prepared.build)
    # Of the undercoats the one that needs fewest topcoats; less film breaks ties.
    order = np.lexsort((hiding_film_um.max(axis=-1), counts), axis=-1)[:, 0]
    best = counts[np.arange(len(chosen)), order]
    rows = _rows(prepared, chosen, topcoats.lab, plain, [labels[i] for i in order], best)
    remarks = (
        (
            prepared.topcoat.radius > 0.0,
            (
                "Every swatch is taken to be as uncertain as the wanted colour "
                f"(radius {prepared.topcoat.radius:g})."
            ),
        ),
        (
            not prepared.finishes,
            "The job's list of finishes is empty, so none is ranked beside the swatches.",
        ),
        (
            prepared.coat_needed,
            (
                "The ground needs a coat before the topcoat whatever the colour: savings are "
                "counted against a clear one."
            ),
        ),
    )
    return Sweep(
        wished=rounded_lab(prepared.topcoat.chip_lab),
        rows=sorted(rows, key=_order(sort)),
        left_out=left_out,
        undercoats_tried=labels,
        notes=[
            "Every swatch is taken to be mixed in the same paint: hiding follows from its colour.",
            _SHELF_ONLY,
            *(remark for holds, remark in remarks if holds),
            *understood,
            *prepared.film_assumptions,
        ],
    )


def take_in(
    given: Sequence[Swatch] | SwatchFile, *, strict: bool
) -> tuple[tuple[Swatch, ...], list[Colour], list[LeftOut], list[str]]:
    """Swatches whose colours a paint can have.

    Args:
        given: swatches, or a file with rows that cannot be used.
        strict: refuse where any would be left out.

    Returns:
        Swatches and their colours as paints, n of each; those left out; and how readings were
        understood, each sentence once.

    Raises:
        InputError: there are none or too many; none is left, or one would be left out though
            that is not wanted: the first faults are listed, the rest counted.
    """
    file = given if isinstance(given, SwatchFile) else SwatchFile(tuple(given))
    count = len(file.swatches) + len(file.faulty)
    if not 1 <= count <= MOST_SWATCHES:
        message = f"a sweep takes 1 to {MOST_SWATCHES} swatches, not {count}"
        raise InputError.at("swatches", count, message)
    names = [f"swatches[{i + 1}]" for i in range(len(file.swatches))]
    colours, wrong = possible_colours([s.reading for s in file.swatches], names=names)
    kept = [(s, c) for s, c in zip(file.swatches, colours, strict=True) if c is not None]
    if strict or not kept:
        with ProblemList(MOST_PROBLEMS) as problems:
            for row in file.faulty:
                problems.extend(problem.within("swatches") for problem in row.problems)
            problems.extend(wrong.values())
    left_out = [LeftOut(name=row.name, reason=row.reason) for row in file.faulty]
    left_out += [LeftOut(name=file.swatches[i].name, reason=p.message) for i, p in wrong.items()]
    notes = dict.fromkeys(note for swatch, _ in kept for note in swatch.reading.notes)
    return (
        tuple(swatch for swatch, _ in kept),
        [colour for _, colour in kept],
        left_out,
        list(notes)[:_NOTES_SHOWN],
    )


def check_sort(sort: object, problems: ProblemList) -> None:
    """Note an order that is none."""
    if sort not in SORT_KEYS:
        text = f"sort by one of {', '.join(SORT_KEYS)}, not {shown(sort)!r}"
        problems.add("sort", sort, text)


def _undercoats(job: PreparedJob) -> tuple[list[str], FloatArray]:
    """Twelve undercoats over the patches: labels, and substrates (12 x patches, 31)."""
    candidates = uc.shelf_candidates()
    laid = uc.UNDERCOAT_WET_UM * uc.UNDERCOAT_SOLIDS * (1.0 - job.drinks[None])
    over = uc.substrates_under(candidates, job.beneath, laid)
    labels = ["white" if value is None else f"grey N {value:g}" for value in candidates.value]
    return labels, over.reshape(-1, 31)


def _rows(
    job: PreparedJob,
    swatches: tuple[Swatch, ...],
    lab: FloatArray,
    plain: Covered,
    undercoats: list[str],
    best: FloatArray,
) -> list[SweepRow]:
    suits = _best_finishes(lab, job.finishes)
    before, least = int(job.coat_needed), job.least_topcoats
    delta_e = ciede2000(lab, job.topcoat.chip_lab)
    chance = plain.chances(plain.counts)
    rows = []
    for i, (swatch, hex_) in enumerate(zip(swatches, hexes_of_labs(lab), strict=True)):
        coats = _count(plain.counts[i])
        over = _count(best[i])
        total = None if over is None else 1 + max(over, least)
        finish, harmony, advantage = suits[i]
        rows.append(
            SweepRow(
                name=swatch.name,
                lab=rounded_lab(lab[i]),
                hex=hex_,
                coats=coats,
                chance=round(float(chance[i]), 4),
                undercoat=undercoats[i],
                topcoats_over_it=over,
                total=total,
                saved=None
                if total is None or coats is None
                else before + max(coats, least) - total,
                difference=round(float(delta_e[i]), 3),
                harmony=harmony,
                advantage=advantage,
                finish=finish,
            )
        )
    return rows


def _best_finishes(
    lab: FloatArray, finishes: Sequence[Finish]
) -> list[tuple[str | None, float | None, float | None]]:
    """The finish that gains most from each colour, its harmony and its advantage."""
    if not finishes:
        return [(None, None, None)] * len(lab)
    raw, advantage = advantage_table(lab, labs_of(finishes))
    return [
        (finishes[lead].label, round(float(raw[i, lead]), 4), round(float(advantage[i, lead]), 4))
        for i, lead in enumerate(advantage.argmax(axis=1))
    ]


def _count(value: float) -> int | None:
    return int(value) if value <= MOST_COATS else None


def _order(sort: str) -> Callable[[SweepRow], tuple[Any, ...]]:
    many = MOST_COATS + 1
    keys: dict[str, Callable[[SweepRow], Any]] = {
        "coats": lambda r: r.coats or many,
        "total": lambda r: r.total or many + 1,
        "difference": lambda r: r.difference,
        "harmony": lambda r: -(r.advantage or 0.0),
        "name": lambda r: r.name,
    }
    first = keys[sort]
    return lambda r: (first(r), r.difference, r.name)


def sweep_csv(answer: Sweep) -> str:
    """The rows as CSV; CIELAB in three columns."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    plain = [name for name in SweepRow.model_fields if name not in {"name", "lab"}]
    writer.writerow(["name", "L", "a", "b", *plain])
    for row in answer.rows:
        # A text that a spreadsheet would take for a formula is kept a text.
        name = f"'{row.name}" if row.name[:1] in "=+-@" else row.name
        writer.writerow([name, *row.lab, *(getattr(row, key) for key in plain)])
    return out.getvalue()
