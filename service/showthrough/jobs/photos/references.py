"""What a photo is read by: its references as the photo room wants them, and a reading in words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np
from pydantic import ValidationError

from showthrough.colour.lights import DEFAULT_ILLUMINANT, FloatArray
from showthrough.colour.reading import Reading, colour_of, colours_of
from showthrough.colour.spectrum import SURFACE_BOUNDS
from showthrough.errors import InputError, Problem, ProblemList, shown
from showthrough.jobs.answers.photos import Basis, ReadColour
from showthrough.jobs.answers.prediction import ColourShown
from showthrough.jobs.case.readings import read_swatch_file, reading_of
from showthrough.jobs.schema.base import Model
from showthrough.jobs.schema.photo import CardInput, ChartInput, PhotoInput
from showthrough.jobs.schema.wrong import problems_of
from showthrough.photo.calibrate.balance import (
    BLACK_CARD,
    GREY_CARD,
    PROCESSING,
    WHITE_CARD,
    Card,
)
from showthrough.photo.calibrate.chart import Chart, checked_values
from showthrough.photo.measure import PhotoColour
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import Region
from showthrough.photo.sensor import LIGHT_NAMES, checked_light

M = TypeVar("M", bound=Model)


def checked(model: type[M], data: Any) -> M:
    """A request checked by its schema, with every problem in our words.

    Raises:
        InputError: something in the request is wrong.
    """
    if isinstance(data, model):
        return data
    if not isinstance(data, Mapping):
        raise InputError.at("", shown(data), "a request must be a table of keys and values")
    try:
        return model.model_validate(data)
    except ValidationError as error:
        raise InputError(problems_of(error, model)) from error


def references_of(
    picture: Picture, wanted: PhotoInput, prefix: str = "", folder: Path | None = None
) -> dict[str, Any]:
    """Cards, chart and sheets as the photo room wants them; files lie in ``folder``."""
    cards = []
    with ProblemList() as problems:
        for i, card in enumerate(wanted.cards):
            with problems.collecting(f"{prefix}{'.' if prefix else ''}cards[{i + 1}]"):
                cards.append(_card(card))
        with problems.collecting(prefix):
            checked_light(wanted.light)
        chart = values = None
        if wanted.chart is not None:
            with problems.collecting(f"{prefix}{'.' if prefix else ''}chart"):
                values = _chart_values(wanted.chart, folder)
            with problems.collecting(prefix):
                chart = _chart(picture, wanted.chart, values)
    return {
        "cards": cards,
        "chart": chart,
        "sheets": [Region.polygon(s) for s in wanted.sheets],
        "light": wanted.light,
        "processing": wanted.processing,
    }


_TYPICAL = {"white": WHITE_CARD, "grey": GREY_CARD, "black": BLACK_CARD}


def _card(card: CardInput) -> Card:
    region = Region.polygon(card.region)
    if card.colour is None:
        return Card(region, _TYPICAL[card.kind])
    try:
        colour = colour_of(reading_of(card.colour), SURFACE_BOUNDS)
    except InputError as error:
        raise error.within("colour") from None
    return Card.measured(region, colour.lab.tolist())


def _chart_values(chart: ChartInput, folder: Path | None) -> FloatArray | None:
    """Colours of the chart in hand, shape (24, 3), or None for the average."""
    if chart.values is not None and chart.values_file is not None:
        raise InputError.at("values", "and values_file", "give values or values_file, not both")
    light = chart.illuminant or DEFAULT_ILLUMINANT
    if chart.values_file is not None:
        if folder is None:
            raise InputError.at(
                "values_file",
                chart.values_file,
                "files are read only for a job file or at the command line; send the colours "
                "inline as values",
                "file_refused",
            )
        try:
            file = read_swatch_file(folder / chart.values_file)
        except InputError as error:
            raise error.within("values_file") from None
        readings = [swatch.reading for swatch in file.swatches]
        if chart.illuminant is not None:
            readings = [replace(reading, illuminant=light) for reading in readings]
    elif chart.values is not None:
        problems, readings = ProblemList(), []
        for i, row in enumerate(chart.values):
            with problems.collecting(f"values[{i + 1}]"):
                readings.append(Reading(lab=row, illuminant=light))
        problems.raise_if_any()
    else:
        return None
    names = [f"values[{i + 1}]" for i in range(len(readings))]
    return checked_values(
        np.array([colour.lab for colour in colours_of(readings, SURFACE_BOUNDS, names)])
    )


def _chart(picture: Picture, wanted: ChartInput, values: FloatArray | None) -> Chart:
    if wanted.corners is None:
        from showthrough.photo.calibrate.chart_finder import find_chart

        return find_chart(picture, values)
    one, two, three, four = wanted.corners
    return Chart((one, two, three, four), values)


def colour_shown(found: PhotoColour) -> ReadColour:
    """A reading in the words of the answer."""
    light = found.light
    known = light.stated if light.stated != "unknown" else light.used
    return ReadColour(
        **ColourShown.of(found.lab).model_dump(),
        radius=round(found.radius, 2),
        basis=cast("Basis", found.basis),
        light=LIGHT_NAMES.get(known, known),
        processing=PROCESSING[found.processing],
        pixels=found.pixels,
        set_aside=round(found.rejected, 4),
        notes=list(found.notes),
    )


_COUNTED = re.compile(r"(cards|sheets)\[(\d+)\](.*)", re.DOTALL)
_REFERENCES = ("cards", "sheets", "chart")


def _named(problem: Problem, within: str, own: Mapping[str, str]) -> Problem:
    """The photo room counts its arguments from 0; a request's lists are told from 1."""
    if problem.field in own:
        return replace(problem, field=own[problem.field])
    counted = _COUNTED.fullmatch(problem.field)
    if counted is not None:
        rest = counted[3] or (".region" if counted[1] == "cards" else "")
        problem = replace(problem, field=f"{counted[1]}[{int(counted[2]) + 1}]{rest}")
    if problem.field.startswith("areas["):
        problem = replace(problem, field=problem.field.replace(".where", ".region", 1))
    return problem.within(within) if problem.field.startswith(_REFERENCES) else problem


@contextmanager
def named_as_requested(within: str = "", own: Mapping[str, str] | None = None) -> Iterator[None]:
    """Rename the problems of the photo room; references are told ``within`` that key.

    Cards that the request does not name as such are called by their fields in ``own``.
    """
    try:
        yield
    except InputError as error:
        raise type(error)([_named(p, within, own or {}) for p in error.problems]) from None
