"""A second colour beside the paint: another paint, or a wood tone left bare."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.names import with_article
from showthrough.colour.space import lab_to_srgb, srgb_to_lab
from showthrough.palette.beside import Score, score_list
from showthrough.palette.reasons import Lab, Seen, as_lab, paint_summary, pair_sentence
from showthrough.palette.relative import checked_lab, relative_scores
from showthrough.tables import data_text, records_of

TOO_NEAR = 5.0
"""Below this CIEDE2000 a second colour looks like a bad match (common practice, no source)."""

LOUD_SHARE, LOUD_CHROMA = 0.75, 20.0
"""A second paint is loud above this share of the topcoat's C*ab, and above this C*ab beside any.

One colour leads a piece and the other keeps below it (common practice, no source). The floor
leaves a grey topcoat its tinted seconds: up to about 20 a colour is called pale or greyish.
"""

PAINT, WOOD = "paint", "wood"

GIVEN = "given"

SCREEN_MISS = 1.0
"""CIEDE2000 by which the colour on a screen may differ from the colour that is meant."""


@dataclass(frozen=True, slots=True)
class Second:
    """Something that may stand beside the paint."""

    name: str
    lab: Lab
    """CIELAB, D65, 2 degrees."""
    kind: str = PAINT
    """``paint`` or ``wood``."""
    known: str = GIVEN
    """``given`` by the painter, ``published`` or ``typical``."""
    note: str = ""
    possible: bool = True
    """Whether paint can be this very colour, without being moved to one that it can be."""


def _shown_lab(lab: FloatArray) -> FloatArray:
    """CIELAB of the hex codes of colours, shape (n, 3)."""
    return srgb_to_lab(np.rint(255.0 * lab_to_srgb(lab)) / 255.0)


def on_screen(seconds: Sequence[Second]) -> list[Second]:
    """Second colours that a screen can show: those it cannot become what it shows for them.

    A colour that the painter has stays as it is, since that is the can; the ranking's
    caution then says that the screen shows it wrongly.

    Args:
        seconds: any second colours.

    Returns:
        The same ones in order, within CIEDE2000 1 of their hex unless they are given.
    """
    labs = labs_of_seconds(seconds)
    shown = _shown_lab(labs)
    return [
        s if s.known == GIVEN or miss <= SCREEN_MISS else replace(s, lab=as_lab(lab))
        for s, lab, miss in zip(seconds, shown, ciede2000(labs, shown), strict=True)
    ]


class RankedSecond(NamedTuple):
    """One second colour beside the paint."""

    rank: int
    second: Second
    score: Score
    delta_e: float
    """CIEDE2000 to the paint."""
    too_near: bool
    """So near to the paint that it reads as a bad match; ranked behind the others."""
    loud: bool
    """So strong that it would take the lead; ranked behind the quieter ones."""
    reason: str
    caution: str


class SecondRanking(NamedTuple):
    """All second colours beside one paint, best first."""

    ranked: tuple[RankedSecond, ...]
    summary: str


@cache
def wood_tones() -> tuple[Second, ...]:
    """Bare woods with published or typical colours."""
    return tuple(
        Second(
            row["name"],
            (float(row["L"]), float(row["a"]), float(row["b"])),
            WOOD,
            row["known"],
            row["note"],
        )
        for row in records_of(data_text(__file__, "woods.csv"))
    )


def labs_of_seconds(candidates: Sequence[Second]) -> FloatArray:
    """Colours of the candidates, shape (n, 3)."""
    return np.array([c.lab for c in candidates], dtype=float).reshape(-1, 3)


def suggestible(topcoat_lab: ArrayLike, candidates: Sequence[Second]) -> NDArray[np.bool_]:
    """Which candidates may be suggested first: what paint can be, not too near and not loud.

    Args:
        topcoat_lab: CIELAB of the paint, D65 and 2 degrees, shape (3,).
        candidates: paints and woods, n of them.

    Returns:
        Shape (n,).
    """
    colour, labs = np.asarray(topcoat_lab, dtype=float), labs_of_seconds(candidates)
    possible = np.array([c.possible for c in candidates], dtype=bool)
    return possible & ~(ciede2000(colour, labs) < TOO_NEAR) & ~_loud(colour, labs, candidates)


def _loud(colour: FloatArray, labs: FloatArray, candidates: Sequence[Second]) -> NDArray[np.bool_]:
    cap = max(LOUD_CHROMA, LOUD_SHARE * float(np.hypot(colour[1], colour[2])))
    paint = np.array([c.kind == PAINT for c in candidates], dtype=bool)
    return np.asarray(paint & (np.hypot(labs[:, 1], labs[:, 2]) > cap))


def rank_second_colours(topcoat_lab: ArrayLike, candidates: Sequence[Second]) -> SecondRanking:
    """Second colours for a paint, by how much this paint suits them more than most do.

    Candidates within ``TOO_NEAR`` of the paint come last: harmony is highest for
    equal colours, but a near miss reads as a mistake. Before them come those that are
    loud, and those that no paint can be.

    Args:
        topcoat_lab: CIELAB of the paint, D65 and 2 degrees, shape (3,).
        candidates: paints and woods to choose from.

    Raises:
        OutOfRangeError: a colour is not finite, or its L* not within 0 to 100.
    """
    colour = checked_lab("topcoat", topcoat_lab)
    paint = Seen.from_lab(as_lab(colour))
    if not candidates:
        return SecondRanking((), "No second colour was given to choose from.")
    labs = labs_of_seconds(candidates)
    scores = relative_scores(colour, labs)
    delta_e = ciede2000(colour, labs)
    near = delta_e < TOO_NEAR
    misses = ciede2000(labs, _shown_lab(labs))
    figures = score_list(scores)
    ranked = []
    loud = _loud(colour, labs, candidates)
    behind = loud | ~np.array([c.possible for c in candidates], dtype=bool)
    for rank, index in enumerate(np.lexsort((-scores.advantage, behind, near)).tolist(), start=1):
        second, score = candidates[index], figures[index]
        ranked.append(
            RankedSecond(
                rank,
                second,
                score,
                float(delta_e[index]),
                bool(near[index]),
                bool(loud[index]),
                _reason(paint, second, score, too_near=bool(near[index]), loud=bool(loud[index])),
                _caution(second, float(misses[index])),
            )
        )
    return SecondRanking(tuple(ranked), paint_summary(paint, [s.advantage for s in figures]))


def _reason(paint: Seen, second: Second, score: Score, *, too_near: bool, loud: bool) -> str:
    other = Seen.from_lab(second.lab)
    if too_near:
        return (
            f"So near to the paint ({other.words.text} beside {paint.words.text}) that it looks "
            "like a bad match rather than a second colour."
        )
    same = other.words.text == paint.words.text
    words = f"another {other.words.text}" if same else with_article(other.words.text)
    opening = f"{second.name}, {with_article(other.words.text)}," if second.kind == WOOD else words
    thing = "wooden parts" if second.kind == WOOD else "parts in this colour"
    reason = pair_sentence(opening, paint, other, thing, score.beats)
    return f"{reason} It is so strong that it takes the lead from the paint." if loud else reason


def _caution(second: Second, miss: float) -> str:
    """What to know about a second colour: its kind, and by how much a screen misses it."""
    about = second.note
    if second.kind == WOOD:
        note = f"{about[:1].upper()}{about[1:]}. " if about else ""
        about = f"{note}A clear coat darkens wood and makes its colour stronger."
    if miss <= SCREEN_MISS:
        return about
    wrong = f"A screen cannot show this colour; what it shows differs by CIEDE2000 {miss:.1f}."
    return f"{wrong} {about}".strip()
