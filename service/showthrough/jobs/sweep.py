"""All swatches of a file over one surface, with and without the best undercoat."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Literal

import numpy as np
from pydantic import Field

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour
from showthrough.colour.space import hexes_of_labs
from showthrough.colour.swatches import Swatch, shipped_swatches
from showthrough.errors import InputError, ProblemList, shown
from showthrough.film import undercoat as uc
from showthrough.film.build import MOST_COATS
from showthrough.film.hiding import budget_of
from showthrough.jobs.finishes import shortlist_of
from showthrough.jobs.grounds import Surface
from showthrough.jobs.many import (
    chances,
    critical_over_grounds,
    likely_counts,
    swatch_colours,
    topcoats_of_colours,
)
from showthrough.jobs.resolve import ReadJob
from showthrough.jobs.result import Shown, rounded_lab
from showthrough.jobs.setting import Setting, setting_of
from showthrough.palette.finishes import labs_of
from showthrough.palette.relative import advantage_table

MOST_SWATCHES = 10_000

_SHELF_ONLY = (
    "The undercoats tried are white and greys, as they stand on a shelf; a tint mixed for one "
    "colour may do with fewer coats, as that colour's own prediction tells."
)

SortKey = Literal["coats", "total", "difference", "harmony", "name"]
SORT_KEYS: tuple[SortKey, ...] = ("coats", "total", "difference", "harmony", "name")


class SweepRow(Shown):
    """One swatch over the surface."""

    name: str
    lab: tuple[float, float, float]
    hex: str
    coats: int | None = Field(description="likely topcoats over the surface; null: over 12")
    chance: float
    undercoat: str | None = Field(description="the undercoat that asks for fewest topcoats")
    topcoats_over_it: int | None
    total: int | None = Field(description="undercoat and topcoats together")
    saved: int | None
    difference: float = Field(description="CIEDE2000 to the wished colour")
    harmony: float = Field(description="with the finish that gains most from it")
    advantage: float
    finish: str | None


class Sweep(Shown):
    """All rows, sorted."""

    wished: tuple[float, float, float]
    rows: list[SweepRow]
    undercoats_tried: list[str]
    notes: list[str]


def sweep(
    job: Mapping[str, Any] | ReadJob,
    swatches: tuple[Swatch, ...] | None = None,
    folder: Path | None = None,
    *,
    sort: str = "coats",
    progress: Callable[[int, int], None] | None = None,
) -> Sweep:
    """Reckon every swatch as the topcoat of a job.

    Args:
        job: as for ``predict``; its topcoat is the wished colour that rows are compared
            with, its label or measurement sets the optical budget of all swatches.
        swatches: what to try; the shipped topcoats where not given.
        folder: where files that the job names are looked for; None refuses files.
        sort: coats, total, difference, harmony or name.
        progress: called with swatches done and their number.

    Raises:
        InputError: with every problem of the job or of the swatches.
    """
    chosen = shipped_swatches("topcoats") if swatches is None else swatches
    problems = ProblemList()
    check_sort(sort, problems)
    with problems.collecting():
        setting = setting_of(job, folder)
    with problems.collecting():
        colours = _colours(chosen)
    problems.raise_if_any()
    topcoats = topcoats_of_colours(colours, budget_of(setting.topcoat.paint))
    labels, grounds = _undercoats(setting)
    patches = len(setting.names)
    critical = critical_over_grounds(topcoats, grounds, progress).reshape(
        len(chosen), len(labels), patches
    )
    lost = np.where(np.arange(len(labels))[:, None] == 0, setting.surface.lost, 0.0)
    counts = likely_counts(critical, lost, setting.build)
    plain = np.where(counts[:, 0] > MOST_COATS, np.inf, counts[:, 0])
    # Of the undercoats the one that needs fewest topcoats; less film breaks ties.
    film = critical[:, 1:].max(axis=-1)
    order = np.lexsort((film, counts[:, 1:]), axis=-1)[:, 0]
    best = counts[np.arange(len(chosen)), order + 1]
    chance = chances(
        critical[:, 0],
        plain,
        Surface(setting.surface.grounds, setting.surface.lost, setting.surface.log_spread),
        setting.build,
        setting.topcoat.paint.log_spread,
    )
    rows = _rows(setting, chosen, topcoats.lab, plain, chance, [labels[i + 1] for i in order], best)
    notes = [
        "Every swatch is taken to be mixed in the same paint: hiding follows from its colour.",
        _SHELF_ONLY,
    ]
    if setting.coat_needed:
        notes.append(
            "The ground needs a coat before the topcoat whatever the colour: savings are counted "
            "against a clear one."
        )
    return Sweep(
        wished=rounded_lab(setting.topcoat.chip_lab),
        rows=sorted(rows, key=_order(sort)),
        undercoats_tried=labels[1:],
        notes=[*notes, *setting.assumed],
    )


def check_sort(sort: object, problems: ProblemList) -> None:
    """Note an order that is none."""
    if sort not in SORT_KEYS:
        text = f"sort by one of {', '.join(SORT_KEYS)}, not {shown(sort)!r}"
        problems.add("sort", sort, text)


def _colours(swatches: tuple[Swatch, ...]) -> list[Colour]:
    """Colours of the swatches, of which there must be some and not too many."""
    if not 1 <= len(swatches) <= MOST_SWATCHES:
        raise InputError.at(
            "swatches",
            len(swatches),
            f"a sweep takes 1 to {MOST_SWATCHES} swatches, not {len(swatches)}",
        )
    return swatch_colours(swatches)


def _undercoats(setting: Setting) -> tuple[list[str], FloatArray]:
    """The plain ground and twelve undercoats over it: labels, and grounds (13 x patches, 31)."""
    candidates = uc.shelf_candidates()
    laid = setting.undercoat_wet_um * uc.UNDERCOAT_SOLIDS * (1.0 - setting.surface.lost[None])
    over = uc.grounds_under(candidates, setting.surface.grounds, laid)
    grounds = np.concatenate([setting.surface.grounds[None], over])
    labels = ["white" if value is None else f"grey N {value:g}" for value in candidates.value]
    return ["none", *labels], grounds.reshape(-1, 31)


def _rows(
    setting: Setting,
    swatches: tuple[Swatch, ...],
    lab: FloatArray,
    plain: FloatArray,
    chance: FloatArray,
    undercoats: list[str],
    best: FloatArray,
) -> list[SweepRow]:
    finishes = setting.read.finishes or shortlist_of(None)  # harmony is with one of some
    raw, advantage = advantage_table(lab, labs_of(finishes))
    leader = advantage.argmax(axis=1)
    before = int(setting.coat_needed)
    apart = ciede2000(lab, setting.topcoat.chip_lab)
    rows = []
    for i, (swatch, hex_) in enumerate(zip(swatches, hexes_of_labs(lab), strict=True)):
        coats = _count(plain[i])
        over = _count(best[i])
        total = None if over is None else over + 1
        lead = int(leader[i])
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
                saved=None if total is None or coats is None else before + coats - total,
                difference=round(float(apart[i]), 3),
                harmony=round(float(raw[i, lead]), 4),
                advantage=round(float(advantage[i, lead]), 4),
                finish=finishes[lead].label,
            )
        )
    return rows


def _count(value: float) -> int | None:
    return int(value) if value <= MOST_COATS else None


def _order(sort: str) -> Callable[[SweepRow], tuple[Any, ...]]:
    many = MOST_COATS + 1
    keys: dict[str, Callable[[SweepRow], Any]] = {
        "coats": lambda r: r.coats or many,
        "total": lambda r: r.total or many + 1,
        "difference": lambda r: r.difference,
        "harmony": lambda r: -r.advantage,
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
