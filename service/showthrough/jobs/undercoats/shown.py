"""Ways and undercoats in the words of the answer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np

from showthrough.colour.lights import white_point
from showthrough.colour.munsell.scale import luminance_of_value, value_of_luminance
from showthrough.colour.space import hexes_of_labs, xyz_to_lab
from showthrough.film import undercoat as uc
from showthrough.film.coats import MOST_COATS, coats_needed
from showthrough.jobs.answers.prediction import (
    ColourShown,
    GreyCurve,
    GreyPoint,
    OptionKind,
    UndercoatOption,
    WayShown,
)
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.ladder import Onto, Reached, ladder_steps
from showthrough.jobs.undercoats.ways import Way, Ways
from showthrough.say.chances import count_words, plural
from showthrough.say.undercoats import undercoat_why, unfit_why

_KINDS: dict[str, OptionKind] = {
    "plain": "none",
    "spots": "spot sealing",
    "sealer": "clear",
    "owned": "owned",
    "white": "white",
    "grey": "grey",
    "shop-tinted": "shop-tinted",
    "own mix": "tint",
}


class WaysShown(NamedTuple):
    """All that an answer says of what goes under."""

    ways: list[WayShown]
    colours: dict[int, ColourShown]
    """Of the coats under the topcoat, by their place among the candidates."""
    reached: list[Reached]
    """Films over the surface of each way, and of each own can that is none."""


def onto(way: Way) -> Onto | None:
    """The surface of a way, for the coats of its ladder; None where it is that of the plain one."""
    if way.under.place is None:
        return None
    last = one_more(way.topcoats)
    return Onto(way.under.substrates, last, last)


def one_more(topcoats: int | None) -> int:
    """Coats that a ladder shows: one more than are counted on, all of them where none are."""
    return min((topcoats or MOST_COATS) + 1, MOST_COATS)


def ways_shown(job: PreparedJob, ways: Ways, plain: Reached, films: Sequence[Reached]) -> WaysShown:
    """The ways, each with its ladder.

    ``plain`` holds the films over the plain surface, ``films`` those over the others (``onto``),
    in the order of the ways and then of those that are none.
    """
    every = [*ways.ways, *ways.unfit]
    all_ = ways.reckoned.candidates
    indices = [way.under.place for way in every if way.under.place is not None]
    colours = dict(zip(indices, ColourShown.of_each(list(all_.lab[indices])), strict=True))
    simplest = ways.simplest
    other = iter(films)
    reached = [plain if way.under.place is None else next(other) for way in every]
    shown = [
        _way(job, way, simplest, colours, over)
        for way, over in zip(ways.ways, reached, strict=False)
    ]
    return WaysShown(shown, colours, reached)


def options_shown(job: PreparedJob, ways: Ways, shown: WaysShown) -> list[UndercoatOption]:
    """Every undercoat of the ways, and own cans that are none."""
    return [
        _option(job, ways, place, ways.simplest, shown.colours, over.beneath)
        for place, over in enumerate(shown.reached)
    ]


@cache
def _grey_hexes() -> list[str]:
    luminance = luminance_of_value(uc.GREY_VALUES)
    return hexes_of_labs(xyz_to_lab(luminance[:, None] / 100.0 * white_point()))


def curve_shown(job: PreparedJob, ways: Ways | None) -> GreyCurve:
    """How the topcoat's film depends on the grey under it; empty where nothing is counted."""
    if ways is None:
        return GreyCurve(
            points=[], best_value=None, good_from=None, good_to=None, closed_rule_value=0.0
        )
    paint, build = job.topcoat.paint, job.build
    worst = ways.reckoned.under_um[ways.reckoned.rows("grey")].max(axis=1)
    counts = coats_needed(worst / build.dry_film_thickness_um, 0.0, build.evenness_cv)
    films = [round(film, 3) if math.isfinite(film) else None for film in worst.tolist()]
    coats = [int(count) if count <= MOST_COATS else None for count in counts.tolist()]
    best = int(np.argmin(worst))
    good = np.flatnonzero((counts == counts[best]) & (counts <= MOST_COATS))
    closed = value_of_luminance(uc.closed_grey(paint.absorption, paint.scattering))
    return GreyCurve(
        points=list(map(GreyPoint, uc.GREY_VALUES.tolist(), _grey_hexes(), films, coats)),
        best_value=float(uc.GREY_VALUES[best]) if np.isfinite(worst[best]) else None,
        good_from=float(uc.GREY_VALUES[good[0]]) if good.size else None,
        good_to=float(uc.GREY_VALUES[good[-1]]) if good.size else None,
        closed_rule_value=round(float(closed), 2),
    )


def _way(
    job: PreparedJob,
    way: Way,
    simplest: Way,
    colours: dict[int, ColourShown],
    reached: Reached,
) -> WayShown:
    under, topcoats = way.under, way.topcoats
    colour = None if under.place is None else colours[under.place]
    steps = [_spot_step(way)] if under.spots else []
    if under.undercoats:
        steps.append(f"{under.undercoats} {under.product or under.name}")
    steps.append(count_words(topcoats, "topcoat"))
    return WayShown(
        key=under.key,
        kind=under.kind,
        name=under.name,
        steps=steps,
        spot_coats=way.spot_coats,
        undercoats=under.undercoats,
        topcoats=topcoats,
        total=way.total,
        low=way.low,
        high=way.high,
        expected_coats=round(way.expected_coats, 3),
        chance=round(way.chance, 4),
        chance_one_more=round(way.outlook.chance((topcoats or MOST_COATS) + 1), 4),
        saves=round(simplest.expected_coats - way.expected_coats, 3) + 0.0,
        hex=None if colour is None else colour.hex,
        ladder=ladder_steps(job.names, reached, one_more(topcoats)),
    )


def _spot_step(way: Way) -> str:
    names = dict.fromkeys(name for need in way.under.spots for name in need.patches)
    shown = ", ".join(f"“{name}”" for name in names)
    return f"{plural(way.spot_coats, 'spot coat')} on {shown}"


def _option(
    job: PreparedJob,
    ways: Ways,
    place: int,
    first: Way,
    colours: dict[int, ColourShown],
    beneath: list[str],
) -> UndercoatOption:
    """One undercoat; its saving never contradicts what the ways say of it."""
    fits = place < len(ways.ways)
    way = ways.ways[place] if fits else ways.unfit[place - len(ways.ways)]
    under, total = way.under, way.total
    colour = None if under.place is None else colours[under.place]
    saved = None if total is None or first.total is None else first.total - total
    if saved is not None and fits:
        gain = round(first.expected_coats - way.expected_coats, 3)
        saved = min(saved, 0) if gain <= 0.0 else max(saved, 0)
    worst = float(under.hiding_um.max())
    every, at = ways.reckoned.candidates, under.place
    value, lab = (None, None) if at is None else (every.value[at], every.lab[at])
    parts = ways.parts_of(under)
    wet = (under.can.wet_film_um if under.can else None) or uc.UNDERCOAT_WET_UM
    return UndercoatOption(
        rank=place + 1,
        kind=_KINDS[under.kind],
        name=under.name,
        lab=None if colour is None else colour.lab,
        hex=None if colour is None else colour.hex,
        munsell=None if value is None else f"N {value:g}/",
        parts=None if parts is None else {word: round(part, 3) for word, part in parts.items()},
        undercoats=under.undercoats,
        topcoats=way.topcoats,
        total=total,
        saved=saved,
        chance=0.0 if way.topcoats is None else round(way.chance, 4),
        critical_um=round(worst, 3) if math.isfinite(worst) else None,
        paint_um=None
        if way.topcoats is None
        else way.topcoats * job.build.wet_film_thickness_um + under.undercoats * wet,
        tie=0 < place < len(ways.ways) and total == ways.ways[place - 1].total,
        meets_needs=fits,
        beneath=beneath,
        why=undercoat_why(under.kind, lab, job.topcoat.chip_lab) if fits else unfit_why(job.needs),
    )
