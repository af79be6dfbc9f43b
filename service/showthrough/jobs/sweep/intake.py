"""The swatches that a sweep reckons, and those that it leaves out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pydantic import Field

from showthrough.colour.files.swatches import Swatch, SwatchFile
from showthrough.colour.reading import Colour, possible_colours
from showthrough.errors import MOST_PROBLEMS, InputError, ProblemList
from showthrough.jobs.answers.prediction import Shown

MOST_SWATCHES = 10_000

_NOTES_SHOWN = 3


class LeftOut(Shown):
    """A swatch that could not be reckoned."""

    name: str = Field(description="its name, or its place in the file where it has none")
    reason: str


@dataclass(frozen=True, slots=True)
class Intake:
    """Swatches with their colours as paints, n of each."""

    swatches: tuple[Swatch, ...]
    colours: list[Colour]
    left_out: list[LeftOut]
    notes: list[str]
    """How readings were understood; each sentence once."""


def take_in(given: Sequence[Swatch] | SwatchFile, *, strict: bool) -> Intake:
    """Swatches whose colours a paint can have.

    Args:
        given: swatches, or a file with rows that cannot be used.
        strict: refuse where any would be left out.

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
    return Intake(
        tuple(swatch for swatch, _ in kept),
        [colour for _, colour in kept],
        left_out,
        list(notes)[:_NOTES_SHOWN],
    )
