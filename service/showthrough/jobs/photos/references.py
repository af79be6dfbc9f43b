"""What a photo is read by: its references as the photo room wants them, and a reading in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar, cast

from pydantic import ValidationError

from showthrough.colour.reading import colour_of
from showthrough.colour.spectrum import SURFACE_BOUNDS
from showthrough.errors import InputError, ProblemList, shown
from showthrough.jobs.answers.photos import Basis, ReadColour
from showthrough.jobs.answers.prediction import ColourShown
from showthrough.jobs.case.readings import reading_of
from showthrough.jobs.schema.job import Model
from showthrough.jobs.schema.photo import CardInput, Corners, PhotoInput
from showthrough.jobs.schema.wrong import problems_of
from showthrough.photo.calibrate.balance import GREY_CARD, WHITE_CARD, Card
from showthrough.photo.calibrate.chart import EDITIONS, Chart, chart_lab
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


def region_of(corners: Corners) -> Region:
    """A place of the request as the photo room takes it."""
    return Region.polygon(corners)


def references_of(picture: Picture, wanted: PhotoInput, prefix: str = "") -> dict[str, Any]:
    """Cards, chart and sheets as the photo room wants them."""
    problems = ProblemList()
    cards = []
    for i, card in enumerate(wanted.cards):
        with problems.collecting(f"{prefix}{'.' if prefix else ''}cards[{i + 1}]"):
            cards.append(_card(card))
    with problems.collecting(prefix):
        checked_light(wanted.light)
    chart = None
    if wanted.chart is not None:
        with problems.collecting(f"{prefix}{'.' if prefix else ''}chart"):
            chart_lab(wanted.chart.edition or EDITIONS[1])
        with problems.collecting(prefix):
            chart = _chart(picture, wanted)
    problems.raise_if_any()
    return {
        "cards": cards,
        "chart": chart,
        "sheets": [region_of(s) for s in wanted.sheets],
        "light": wanted.light,
    }


def _card(card: CardInput) -> Card:
    region = region_of(card.region)
    if card.colour is None:
        return Card(region, WHITE_CARD if card.kind == "white" else GREY_CARD)
    try:
        colour = colour_of(reading_of(card.colour), SURFACE_BOUNDS)
    except InputError as error:
        raise error.within("colour") from None
    return Card.measured(region, colour.lab.tolist())


def _chart(picture: Picture, wanted: PhotoInput) -> Chart:
    assert wanted.chart is not None
    edition = wanted.chart.edition or EDITIONS[1]
    if wanted.chart.corners is None:
        from showthrough.photo.calibrate.chart_finder import find_chart

        return find_chart(picture, edition)
    one, two, three, four = wanted.chart.corners
    return Chart((one, two, three, four), edition)


def colour_shown(found: PhotoColour) -> ReadColour:
    """A reading in the words of the answer."""
    light = found.light
    known = light.stated if light.stated != "unknown" else light.used
    return ReadColour(
        **ColourShown.of(found.lab).model_dump(),
        radius=round(found.radius, 2),
        basis=cast("Basis", found.basis),
        light=LIGHT_NAMES.get(known, known),
        pixels=found.pixels,
        set_aside=round(found.rejected, 4),
        notes=list(found.notes),
    )
