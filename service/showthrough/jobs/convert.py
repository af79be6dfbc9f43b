"""One colour in every notation."""

from __future__ import annotations

from pydantic import ValidationError

from showthrough.colour.names import describe_colour
from showthrough.colour.notation import NOTATIONS, format_colour
from showthrough.colour.reading import colour_of
from showthrough.colour.spectrum import SURFACE_BOUNDS
from showthrough.errors import InputError
from showthrough.jobs.case.readings import reading_of
from showthrough.jobs.schema.job import ColourInput
from showthrough.jobs.schema.wrong import problems_of


def notations(
    text: str, illuminant: str | None = None, observer: int | None = None
) -> list[tuple[str, str]]:
    """The colour in words and in each notation, D65 and 2 degrees unless it has its own light.

    Raises:
        InputError: the text is no colour, or no surface can have it.
    """
    try:
        value = ColourInput(text=text)
    except ValidationError as error:
        raise InputError(problems_of(error, ColourInput)) from error
    light = {"illuminant": illuminant, "observer": observer}
    reading = reading_of(value.model_copy(update={k: v for k, v in light.items() if v is not None}))
    colour = colour_of(reading, SURFACE_BOUNDS)
    rows = [("words", describe_colour(colour.lab))]
    rows += [(name, format_colour(colour.lab, name, colour.reflectance)) for name in NOTATIONS]
    rows += [("note", note) for note in colour.notes]
    return rows
