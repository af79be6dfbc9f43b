"""Which one fact a painter could find out that would tell most about the hiding film."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from showthrough.colour.lights import FloatArray
from showthrough.film.hiding import carbon_of, paint_from_colour
from showthrough.film.knowledge import Fact, PaintFacts

_ANSWERS: dict[Fact, tuple[PaintFacts, ...]] = {
    "pigment": (PaintFacts(pigment="opaque"), PaintFacts(pigment="transparent")),
    "body": (PaintFacts(body="pastel"), PaintFacts(body="deep")),
    # A lean and a rich white (from memory: furniture whites lie between about 10 and 22 %).
    "tio2_share": (PaintFacts(tio2_share=0.10), PaintFacts(tio2_share=0.22)),
}


@dataclass(frozen=True, slots=True)
class Answer:
    """What a fact would make of the guess."""

    facts: PaintFacts
    """All facts, this one among them."""
    film_factor: float
    """Hiding film by these facts over the film by what is known now (by mean scattering)."""
    log_spread: float
    """Standard deviation of ln hiding film that would be left."""


@dataclass(frozen=True, slots=True)
class Question:
    """A fact that is not known, and its possible answers."""

    fact: Fact
    answers: tuple[Answer, ...]

    @property
    def tells(self) -> float:
        """Ln film between the outermost answers: what the fact would settle."""
        films = [math.log(answer.film_factor) for answer in self.answers]
        return max(films) - min(films)


def open_questions(reflectance: FloatArray, facts: PaintFacts) -> tuple[Question, ...]:
    """Facts not known, the one that tells most first.

    Args:
        reflectance: of the opaque paint, outside, specular excluded, shape (31,).
        facts: what is known.

    Returns:
        Questions whose answers would change the film; empty where a label of this very
        colour is known. A label and a drawdown are not listed: they replace a guess.
    """
    if facts.label == "this colour":
        return ()
    now = paint_from_colour(reflectance, facts=facts)
    carbon = float(carbon_of(reflectance)) == 1.0  # nobody need say that black is opaque
    found = []
    for fact, answers in _ANSWERS.items():
        if getattr(facts, fact) is not None or (fact == "tio2_share" and facts.label):
            continue
        if fact == "pigment" and carbon:
            continue
        told = []
        for answer in answers:
            value = getattr(answer, fact)
            paint = paint_from_colour(reflectance, facts=replace(facts, **{fact: value}))
            factor = now.scattering_per_um / paint.scattering_per_um
            told.append(Answer(paint.facts, factor, paint.log_spread))
        found.append(Question(fact, tuple(told)))
    return tuple(sorted(found, key=lambda question: -question.tells))
