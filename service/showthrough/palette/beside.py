"""Which hardware finish goes with a paint, and why."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from showthrough.palette.finishes import Finish, labs_of, usual_finishes
from showthrough.palette.reasons import Lab, Seen, as_lab, metal_words, paint_summary, pair_sentence
from showthrough.palette.relative import RelativeScores, checked_lab, relative_scores

CLEAR_GAP = 0.1
"""Least lead of one pair over another, in harmony units, that the model can tell.

The model was fitted to mean answers of 17 observers on a scale of ten steps, and its values
span about 2.6 units, so a step is 0.26. Where observers differ by one step, the least that can
be supposed, a mean is known to 0.26 / sqrt(17) = 0.06, the difference of two to 0.09. That is a
lower bound: how far the formula misses the means comes on top, and is not known to us.

Source: Ou, Luo 2006, Color Res. Appl. 31(3) 191-204, and the authors' earlier account of the same
1431 pairs (number of observers and steps); the observers' spread is supposed.
"""


class Score(NamedTuple):
    """The figures of one pair."""

    harmony: float
    """Raw two-colour harmony, about -1.3 to +1.5; hardly depends on the paint."""
    advantage: float
    """Raw harmony less the partner's median with most paint colours: the ranking figure."""
    beats: float
    """Of 100 paint colours, how many the partner does worse with."""
    lightness_contrast: float
    """Difference of L*, without sign."""


class RankedFinish(NamedTuple):
    """One finish beside the paint."""

    rank: int
    finish: Finish
    score: Score
    reason: str
    caution: str
    """What to know about the finish's colour; may be empty."""


class FinishRanking(NamedTuple):
    """All finishes of a shortlist beside one paint, best first."""

    ranked: tuple[RankedFinish, ...]
    summary: str
    """What the whole list says about this paint."""
    level: int = 0
    """How many lead together: the first is a clear winner where it is 1."""


_NAMED = 3


def score_list(scores: RelativeScores) -> list[Score]:
    """The figures of each partner as plain numbers."""
    contrast = np.abs(scores.lightness_step)
    columns = np.array([scores.harmony, scores.advantage, scores.beats, contrast])
    return list(map(Score._make, columns.T.tolist()))


def rank_finishes(
    topcoat_lab: ArrayLike, finishes: Sequence[Finish] | None = None
) -> FinishRanking:
    """Finishes for a paint, by how much this paint suits them more than most do.

    Args:
        topcoat_lab: CIELAB of the paint, D65 and 2 degrees, shape (3,).
        finishes: the painter's shortlist; the usual furniture finishes where not given.

    Returns:
        The ranking on in-service colours, with raw and relative figures and a reason each.

    Raises:
        OutOfRangeError: the colour is not finite, or its L* not within 0 to 100.
    """
    colour = checked_lab("topcoat", topcoat_lab)
    shortlist = usual_finishes() if finishes is None else tuple(finishes)
    paint = Seen.from_lab(as_lab(colour))
    if not shortlist:
        return FinishRanking((), "No finish was given to choose from.")
    scores = relative_scores(colour, labs_of(shortlist))
    figures = score_list(scores)
    ranked = []
    # Equal ones keep the order they were given in.
    for rank, index in enumerate(np.argsort(-scores.advantage, kind="stable").tolist(), start=1):
        finish, score = shortlist[index], figures[index]
        metal, opening = _metal(finish.lab)
        reason = pair_sentence(opening, paint, metal, "handles", score.beats)
        ranked.append(RankedFinish(rank, finish, score, reason, _caution(finish)))
    most = ranked[0].score.advantage
    level = sum(most - each.score.advantage < CLEAR_GAP for each in ranked)
    summary = paint_summary(paint, [s.advantage for s in figures])
    if level > 1:
        summary = f"{_no_winner([r.finish.name for r in ranked[:level]])} {summary}"
    return FinishRanking(tuple(ranked), summary, level)


def _no_winner(names: Sequence[str]) -> str:
    """That the first few are level, by name where they are few."""
    shown = [*names[:_NAMED], *([f"{len(names) - _NAMED} more"] if len(names) > _NAMED else [])]
    listed = f"{', '.join(shown[:-1])} and {shown[-1]}"
    return f"No clear winner: {listed} lead by less than can be told; take the one you like."


@lru_cache(maxsize=512)
def _metal(lab: Lab) -> tuple[Seen, str]:
    """A finish as seen, and in words; the same few metals come again with every paint."""
    metal = Seen.from_lab(lab)
    return metal, metal_words(metal)


def _caution(finish: Finish) -> str:
    """What the finish's colour rests on, where that is not published constants alone."""
    if finish.known == "typical":
        start = "The colour is a typical one, not a measured one"
        return f"{start}: {finish.note}." if finish.note else f"{start}."
    return f"{finish.note[0].upper()}{finish.note[1:]}." if finish.note else ""
