"""Which one fact a painter could find out that would tell most about the hiding film."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import islice
from typing import NamedTuple

from showthrough.film.hiding import Paint
from showthrough.film.knowledge import Fact, PaintFacts

_ANSWERS: dict[Fact, tuple[PaintFacts, ...]] = {
    "pigment": (PaintFacts(pigment="opaque"), PaintFacts(pigment="transparent")),
    "body": (PaintFacts(body="pastel"), PaintFacts(body="deep")),
    # A lean and a rich white (from memory: furniture whites lie between about 10 and 22 %).
    "tio2_share": (PaintFacts(tio2_share=0.10), PaintFacts(tio2_share=0.22)),
}


class Answer(NamedTuple):
    """What a fact would make of the guess."""

    paint: Paint
    """The guess with all facts, this one among them."""
    film_factor: float
    """Hiding film by these facts over the film by what is known now (by mean scattering)."""


class Question(NamedTuple):
    """A fact that is not known, and its possible answers."""

    fact: Fact
    answers: tuple[Answer, ...]

    @property
    def tells(self) -> float:
        """Ln film between the outermost answers: what the fact would settle."""
        films = [math.log(answer.film_factor) for answer in self.answers]
        return max(films) - min(films)


def open_questions(
    guesses: Callable[[Sequence[PaintFacts]], Sequence[Paint]], now: Paint
) -> tuple[Question, ...]:
    """Facts not known, the one that tells most first.

    Args:
        guesses: the paints that follow from each of some facts, as ``paint_from_colour`` makes
            them one by one.
        now: the paint by the facts that are known.

    Returns:
        Questions whose answers would change the film; empty where a label of this very
        colour is known. A label and a drawdown are not listed: they replace a guess.
    """
    facts, scattering = now.facts, now.scattering_per_um
    if facts.label == "this colour":
        return ()
    asked = {
        fact: [replace(facts, **{fact: getattr(answer, fact)}) for answer in answers]
        for fact, answers in _ANSWERS.items()
        if getattr(facts, fact) is None and not (fact == "tio2_share" and facts.label)
    }
    paints = iter(guesses([each for told in asked.values() for each in told]) if asked else ())
    found = []
    for fact, known in asked.items():
        told = [
            Answer(paint, scattering / paint.scattering_per_um)
            for paint in islice(paints, len(known))
        ]
        if fact == "pigment" and math.isclose(told[0].film_factor, 1.0, rel_tol=1e-9):
            continue  # nobody need say that black is opaque
        found.append(Question(fact, tuple(told)))
    return tuple(sorted(found, key=lambda question: -question.tells))
