"""Paint, second colour and finish together.

A triple is three pairs: paint with second colour, paint with finish, second
colour with finish. Its figure is the mean advantage of the three; the weakest
pair is named, since it is the one the eye will catch on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.names import with_article
from showthrough.errors import InputError
from showthrough.palette.finishes import Finish, labs_of, usual_finishes
from showthrough.palette.reasons import Seen, as_lab, colour_relation, metal_words
from showthrough.palette.relative import advantage_table, checked_lab, relative_scores
from showthrough.palette.seconds import TOO_NEAR, WOOD, Second, labs_of_seconds

PAIRS = (
    "paint and second colour",
    "paint and finish",
    "second colour and finish",
)


@dataclass(frozen=True, slots=True)
class Triple:
    """One second colour and one finish with the paint."""

    rank: int
    second: Second
    finish: Finish
    advantage: float
    """Mean advantage of the three pairs: the ranking figure."""
    harmony: float
    """Mean raw harmony of the three pairs."""
    weakest: str
    """The pair of least raw harmony, one of ``PAIRS``."""
    weakest_harmony: float
    reason: str


def _pair_tables(
    colour: FloatArray, seconds: FloatArray, finishes: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Raw harmony and advantage of the three pairs of every triple, each (s, f, 3)."""
    shape = (len(seconds), len(finishes))
    with_second = relative_scores(colour, seconds)
    with_finish = relative_scores(colour, finishes)
    raw, advantage = advantage_table(seconds, finishes)

    def joined(first: FloatArray, second: FloatArray, third: FloatArray) -> FloatArray:
        return np.stack(
            [np.broadcast_to(first[:, None], shape), np.broadcast_to(second, shape), third], axis=-1
        )

    return (
        joined(with_second.harmony, with_finish.harmony, raw),
        joined(with_second.advantage, with_finish.advantage, advantage),
    )


def rank_triples(
    topcoat_lab: ArrayLike,
    candidates: Sequence[Second],
    finishes: Sequence[Finish] | None = None,
    *,
    limit: int = 12,
    per_second: int = 2,
) -> tuple[Triple, ...]:
    """The best triples of one paint, by the mean advantage of their three pairs.

    Args:
        topcoat_lab: CIELAB of the paint, D65 and 2 degrees, shape (3,).
        candidates: second colours; those within ``TOO_NEAR`` of the paint are left out.
        finishes: the painter's shortlist; the usual furniture finishes where not given.
        limit: how many triples at most, at least 1.
        per_second: how many of them may share a second colour, at least 1.

    Raises:
        OutOfRangeError: a colour is not finite, or its L* not within 0 to 100.
        InputError: a count is less than 1.
    """
    for name, count in (("limit", limit), ("per_second", per_second)):
        if count < 1:
            raise InputError.at(name, count, f"{name} is {count}; it must be 1 or more")
    colour = checked_lab("topcoat", topcoat_lab)
    shortlist = usual_finishes() if finishes is None else tuple(finishes)
    labs = labs_of_seconds(candidates)
    kept = np.flatnonzero(ciede2000(colour, labs) >= TOO_NEAR)
    if not kept.size or not shortlist:
        return ()
    raw, advantage = _pair_tables(colour, labs[kept], labs_of(shortlist))
    mean = advantage.mean(axis=-1)
    # The best few finishes of each second colour, then the best of those.
    few = np.argsort(-mean, axis=1, kind="stable")[:, :per_second]
    rows = np.repeat(np.arange(kept.size), few.shape[1])
    columns = few.ravel()
    order = np.argsort(-mean[rows, columns], kind="stable")[:limit]
    paint = Seen.from_lab(as_lab(colour))
    found = []
    for rank, (row, column) in enumerate(zip(rows[order], columns[order], strict=True), start=1):
        second, finish = candidates[kept[row]], shortlist[column]
        pairs = raw[row, column]
        weakest = int(pairs.argmin())
        found.append(
            Triple(
                rank,
                second,
                finish,
                float(mean[row, column]),
                float(pairs.mean()),
                PAIRS[weakest],
                float(pairs[weakest]),
                _reason(paint, second, finish, weakest),
            )
        )
    return tuple(found)


def _reason(paint: Seen, second: Second, finish: Finish, weakest: int) -> str:
    """Which three stand together, and where the eye may catch."""
    other, metal = Seen.from_lab(second.lab), Seen.from_lab(finish.lab)
    steps = sorted((paint.lab[0], other.lab[0], metal.lab[0]))
    middle = with_article(other.words.text)
    if second.kind == WOOD:
        middle = f"{second.name}, {middle},"
    one, two, names = (
        (paint, other, ("the paint", "the second colour")),
        (paint, metal, ("the paint", "the metal")),
        (other, metal, ("the second colour", "the metal")),
    )[weakest]
    relation = colour_relation(one, two, names)
    if steps[2] - steps[0] < 15.0:
        light = "all three are about equally light, so the piece looks quiet, even flat"
    elif min(steps[1] - steps[0], steps[2] - steps[1]) >= 12.0:
        light = "a light, a middle and a dark one, so each has its own place"
    else:
        light = "two are about equally light and the third stands out"
    text = (
        f"{with_article(paint.words.text)} with {middle} and {metal_words(metal)}: {light}. "
        f"The weakest pair is {PAIRS[weakest]}: {relation}."
    )
    return f"{text[0].upper()}{text[1:]}"
