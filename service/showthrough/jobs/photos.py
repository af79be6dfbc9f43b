"""Photos of chips, surfaces and drawdowns, from request to answer."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np
from pydantic import ValidationError

from showthrough.colour.lights import WAVELENGTHS
from showthrough.colour.reading import Reading, colour_of
from showthrough.colour.spectrum import SURFACE_BOUNDS
from showthrough.errors import InputError, ProblemList, shown
from showthrough.film.build import STATED_FILM_SPREAD
from showthrough.film.drawdown import Drawdown, measure_drawdown
from showthrough.film.drawdown_readings import FIELDS, CardReading, DrawdownReadings
from showthrough.film.paint_table import paint_to_table
from showthrough.jobs.photo_schema import (
    Basis,
    CardInput,
    ChipAnswer,
    ChipRequest,
    Corners,
    DrawdownAnswer,
    DrawdownRequest,
    PhotoInput,
    ProposedShown,
    ReadColour,
    SurfaceAnswer,
    SurfaceRequest,
)
from showthrough.jobs.readings import reading_of
from showthrough.jobs.result import ColourShown
from showthrough.jobs.schema import Model
from showthrough.jobs.wrong import problems_of
from showthrough.photo.balance import GREY_CARD, WHITE_CARD, Card
from showthrough.photo.chart import EDITIONS, Chart
from showthrough.photo.load import Picture, load_picture
from showthrough.photo.place import Region
from showthrough.photo.read import PhotoColour, read_colour, read_colours, read_swatch_image
from showthrough.photo.sensor import LIGHT_NAMES

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


def read_chip(photo: bytes, request: Any = None, *, name: str = "photo") -> ChipAnswer:
    """The colour of a chip or a lid smear in a photo.

    Args:
        photo: the file's bytes: JPEG, PNG, WebP or HEIC.
        request: a ``ChipRequest`` or its mapping; without a region and a reference the
            picture is taken to show nothing but the chip, uncalibrated.
        name: what to call the file in messages.

    Raises:
        InputError: the picture or the request cannot be used; all problems.
    """
    wanted = checked(ChipRequest, request or {})
    if wanted.region is None:
        if wanted.cards or wanted.chart or wanted.sheets:
            raise InputError.at(
                "region", "", "beside a reference the chip's own region is needed: where it lies"
            )
        colour = _colour_shown(read_swatch_image(photo, name=name))
    else:
        picture = load_picture(photo, name=name)
        found = read_colour(picture, _region(wanted.region), **_references(picture, wanted))
        colour = _colour_shown(found)
    return ChipAnswer(colour=colour, topcoat=colour.as_input())


def read_surface(photo: bytes, request: Any = None, *, name: str = "photo") -> SurfaceAnswer:
    """Propose the patches of a bare piece in a photo.

    Args:
        photo: the file's bytes.
        request: a ``SurfaceRequest`` or its mapping.
        name: what to call the file in messages.

    Raises:
        InputError: the picture or the request cannot be used; all problems.
    """
    from showthrough.photo.regions import propose_patches

    wanted = checked(SurfaceRequest, request or {})
    picture = load_picture(photo, name=name)
    found = propose_patches(
        picture,
        None if wanted.area is None else _region(wanted.area),
        most=wanted.most,
        **_references(picture, wanted),
    )
    patches = [
        ProposedShown(
            **_colour_shown(patch.colour).model_dump(),
            name=patch.name,
            share=round(patch.share, 4),
            centre=patch.centre,
            outline=[list(polygon) for polygon in patch.outline],
        )
        for patch in found.patches
    ]
    return SurfaceAnswer(
        patches=patches,
        surface=[{"name": p.name, "colour": p.as_input(), "share": p.share} for p in patches],
        notes=list(found.notes),
    )


def read_drawdown(
    request: Any,
    photo: bytes | None = None,
    *,
    folder: Path | None = None,
    name: str = "photo",
) -> DrawdownAnswer:
    """Measure a paint from one film over a black and white card.

    Args:
        request: a ``DrawdownRequest`` or its mapping: four readings, or regions of a photo.
        photo: the file's bytes, where regions are given.
        folder: where spectrum files that the request names lie; None refuses files.
        name: what to call the file in messages.

    Raises:
        InputError: the request or the picture cannot be used; all problems.
        IllConditionedError: the film cannot carry a measurement; says what to do.
    """
    wanted = checked(DrawdownRequest, request)
    read: dict[str, ReadColour] | None = None
    if wanted.regions is not None or photo is not None:
        cards, read, shared = _cards_in_photo(wanted, photo, name)
    else:
        cards, shared = _cards_stated(wanted, folder), 0.0
    readings = DrawdownReadings(
        cards["bare_black"],
        cards["bare_white"],
        cards["over_black"],
        cards["over_white"],
        wanted.wet_film_um,
        wanted.volume_solids,
        wet_film_spread=wanted.wet_film_spread or STATED_FILM_SPREAD,
        shared_radius=shared,
    )
    return drawdown_shown(measure_drawdown(readings), wanted.name, read)


def drawdown_shown(
    drawdown: Drawdown, name: str, read: dict[str, ReadColour] | None = None
) -> DrawdownAnswer:
    """A drawdown in the words of the answer."""
    hiding = float(drawdown.hiding_um)
    return DrawdownAnswer(
        name=name,
        verdict=drawdown.verdict,
        opaque=ColourShown.of(drawdown.infinite_lab),
        opaque_radius=round(drawdown.infinite_radius, 2),
        contrast_ratio=round(drawdown.contrast_ratio, 4),
        difference=round(drawdown.difference, 3),
        scattering_per_um=round(drawdown.scattering_per_um, 5),
        spread=round(drawdown.spread, 4),
        reading_spread=round(drawdown.reading_spread, 4),
        film_spread=round(drawdown.film_spread, 4),
        hiding_um=round(hiding, 1) if np.isfinite(hiding) else None,
        residual_black=round(drawdown.residual_black, 3),
        residual_white=round(drawdown.residual_white, 3),
        wavelengths_nm=WAVELENGTHS.tolist(),
        absorption=_digits(drawdown.absorption),
        absorption_spread=_digits(drawdown.absorption_spread),
        scattering=_digits(drawdown.scattering),
        scattering_spread=_digits(drawdown.scattering_spread),
        paint=paint_to_table(drawdown, name),
        notes=list(drawdown.notes),
        readings=read,
    )


def _digits(values: np.ndarray) -> list[float]:
    return [float(f"{v:.5g}") for v in values]


def _cards_stated(wanted: DrawdownRequest, folder: Path | None) -> dict[str, CardReading]:
    problems = ProblemList()
    cards: dict[str, CardReading] = {}
    for field in FIELDS:
        value = getattr(wanted, field)
        if value is None:
            problems.add(field, "", "is missing: a drawdown needs four readings, or a photo")
            continue
        with problems.collecting(field):
            reading = reading_of(value, folder)
            cards[field] = CardReading(reading, value.radius or None)
    problems.raise_if_any()
    return cards


def _cards_in_photo(
    wanted: DrawdownRequest, photo: bytes | None, name: str
) -> tuple[dict[str, CardReading], dict[str, ReadColour], float]:
    """Four readings of one photo; the light's doubt is shared by all four."""
    problems = ProblemList()
    regions = wanted.regions or {}
    if photo is None:
        problems.add("photo", "", "regions need the photo that they lie in")
    problems_for = {f: f"regions.{f}" for f in FIELDS}
    for field in FIELDS:
        if field not in regions:
            problems.add(problems_for[field], "", "is missing: mark where it lies in the photo")
        if getattr(wanted, field) is not None:
            problems.add(field, "", "give readings or regions of a photo, not both")
    for key in regions:
        if key not in FIELDS:
            problems.add(f"regions.{key}", key, f"is not known; known: {', '.join(FIELDS)}")
    problems.raise_if_any()
    assert photo is not None
    picture = load_picture(photo, name=name)
    found = read_colours(
        picture,
        {field: _region(regions[field]) for field in FIELDS},
        **_references(picture, wanted.photo, "photo"),
    )
    shared = min(c.radius for c in found.values())
    cards = {
        field: CardReading(
            Reading(lab=colour.lab, text=field),
            max(float(np.sqrt(max(colour.radius**2 - shared**2, 0.0))), 0.3),
        )
        for field, colour in found.items()
    }
    return cards, {f: _colour_shown(c) for f, c in found.items()}, shared


def _region(corners: Corners) -> Region:
    return Region.polygon(corners)


def _references(picture: Picture, wanted: PhotoInput, prefix: str = "") -> dict[str, Any]:
    """Cards, chart and sheets as the photo room wants them."""
    problems = ProblemList()
    cards = []
    for i, card in enumerate(wanted.cards):
        with problems.collecting(f"{prefix}{'.' if prefix else ''}cards[{i + 1}]"):
            cards.append(_card(card))
    chart = None
    if wanted.chart is not None:
        with problems.collecting(prefix):
            chart = _chart(picture, wanted)
    problems.raise_if_any()
    return {
        "cards": cards,
        "chart": chart,
        "sheets": [_region(s) for s in wanted.sheets],
        "light": wanted.light,
    }


def _card(card: CardInput) -> Card:
    region = _region(card.region)
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
        from showthrough.photo.detect import find_chart

        return find_chart(picture, edition)
    one, two, three, four = wanted.chart.corners
    return Chart((one, two, three, four), edition)


def _colour_shown(found: PhotoColour) -> ReadColour:
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
