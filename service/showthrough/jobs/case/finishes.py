"""Hardware finishes beside a topcoat."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from showthrough.colour.space import hex_of_lab
from showthrough.errors import InputError, ProblemList
from showthrough.jobs.answers.prediction import FinishShown, rounded_lab
from showthrough.palette.beside import FinishRanking
from showthrough.palette.finishes import Finish, find_finish, usual_finishes


def shortlist_of(names: list[str] | None) -> tuple[Finish, ...]:
    """The finishes that a job names, or the usual ones.

    Raises:
        InputError: a code or name is not known; each such entry, with near ones.
    """
    if names is None:
        return usual_finishes()
    found: dict[str, Finish] = {}
    with ProblemList() as problems:
        for i, name in enumerate(names):
            try:
                finish = find_finish(name)
            except InputError as error:
                # The entry itself is the field; it has no parts.
                problems.problems += [
                    replace(p, field=f"finishes[{i + 1}]") for p in error.problems
                ]
            else:
                found.setdefault(finish.label, finish)
    return tuple(found.values())


@lru_cache(maxsize=512)
def _seen(lab: tuple[float, float, float]) -> tuple[tuple[float, float, float], str]:
    """A metal's colour as it is shown; the same few come again with every paint."""
    return rounded_lab(lab), hex_of_lab(lab)


def finishes_shown(ranking: FinishRanking) -> list[FinishShown]:
    """A ranking in the words of the answer."""
    return [
        FinishShown(
            *_seen(finish.lab),
            rank=rank,
            code=finish.code or None,
            us_code=finish.us or None,
            name=finish.name,
            basis=finish.known,
            harmony=round(score.harmony, 4),
            advantage=round(score.advantage, 4),
            beats=round(score.beats, 1),
            lightness_contrast=round(score.lightness_contrast, 2),
            why=reason,
            caution=caution or None,
        )
        for rank, finish, score, reason, caution in ranking.ranked
    ]
