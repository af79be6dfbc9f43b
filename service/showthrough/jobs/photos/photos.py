"""Photos of chips, surfaces and drawdowns, from request to answer."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import tomli_w

from showthrough.colour.lights import WAVELENGTHS
from showthrough.errors import InputError, ProblemList
from showthrough.film.coats import STATED_FILM_GEOMETRIC_SD
from showthrough.film.drawdown.measure import Drawdown, measure_drawdown
from showthrough.film.drawdown.readings import FIELDS, CardReading, DrawdownReadings
from showthrough.film.drawdown.table import paint_to_table
from showthrough.jobs.answers.photos import (
    ChipAnswer,
    DrawdownAnswer,
    ProposedShown,
    ReadColour,
    SurfaceAnswer,
)
from showthrough.jobs.answers.prediction import ColourShown
from showthrough.jobs.case.readings import reading_of
from showthrough.jobs.photos.drawdown_photo import cards_in_photo
from showthrough.jobs.photos.references import (
    checked,
    colour_shown,
    named_as_requested,
    references_of,
)
from showthrough.jobs.schema.photo import ChipRequest, DrawdownRequest, SurfaceRequest
from showthrough.photo.measure import read_colour, read_swatch_image
from showthrough.photo.picture.load import load_picture
from showthrough.photo.place import Region

_NO_READING = "is missing: a drawdown needs four readings, or a photo"


def read_chip(
    photo: bytes, request: Any = None, folder: Path | None = None, *, name: str = "photo"
) -> ChipAnswer:
    """The colour of a chip or a lid smear in a photo.

    Args:
        photo: the file's bytes: JPEG, PNG, WebP or HEIC.
        request: a ``ChipRequest`` or its mapping; without a region and a reference the
            picture is taken to show nothing but the chip, uncalibrated.
        folder: where files that the request names are looked for; None refuses files.
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
        colour = colour_shown(read_swatch_image(photo, name=name))
    else:
        picture = load_picture(photo, name=name)
        references = references_of(picture, wanted, folder=folder)
        with named_as_requested():
            found = read_colour(picture, Region.polygon(wanted.region), **references)
        colour = colour_shown(found)
    return ChipAnswer(colour=colour, topcoat=colour.as_input())


def read_surface(
    photo: bytes, request: Any = None, folder: Path | None = None, *, name: str = "photo"
) -> SurfaceAnswer:
    """Propose the patches of a bare piece in a photo.

    Args:
        photo: the file's bytes.
        request: a ``SurfaceRequest`` or its mapping.
        folder: where files that the request names are looked for; None refuses files.
        name: what to call the file in messages.

    Raises:
        InputError: the picture or the request cannot be used; all problems.
    """
    from showthrough.photo.patches.regions import propose_patches

    wanted = checked(SurfaceRequest, request or {})
    picture = load_picture(photo, name=name)
    references = references_of(picture, wanted, folder=folder)
    with named_as_requested():
        found = propose_patches(
            picture,
            None if wanted.area is None else Region.polygon(wanted.area),
            most=wanted.most,
            **references,
        )
    patches = [
        ProposedShown(
            **colour_shown(patch.colour).model_dump(),
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
        asks=list(_ASKS),
        notes=list(found.notes),
    )


_ASKS = (
    "Bare or coated? Both look the same in a picture: skin “bare” or “coated”.",
    "Glossy? Old gloss paint and laminate let paint slip: ground “gloss”, “laminate”, “varnish”.",
    "Waxed, oiled or polished? Paint does not hold on it: ground “waxed”, “oiled”, “polished”.",
)
"""What a picture of a piece cannot tell (common practice, no source)."""


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
    wanted = _drawdown_checked(request, photo)
    read: dict[str, ReadColour] | None = None
    if wanted.regions is not None or photo is not None:
        cards, read, shared = cards_in_photo(wanted, photo, folder, name)
    else:
        cards, shared = _cards_stated(wanted, folder), 0.0
    readings = DrawdownReadings(
        cards["bare_black"],
        cards["bare_white"],
        cards["over_black"],
        cards["over_white"],
        wanted.wet_film_um,
        wanted.volume_solids,
        wet_film_spread=wanted.wet_film_spread or STATED_FILM_GEOMETRIC_SD,
        shared_radius=shared,
    )
    return drawdown_shown(measure_drawdown(readings), wanted.name, read)


def _drawdown_checked(request: Any, photo: bytes | None) -> DrawdownRequest:
    """The request; where it is wrong, readings that are missing are told as well."""
    try:
        return checked(DrawdownRequest, request)
    except InputError as error:
        if photo is not None or not isinstance(request, Mapping) or "regions" in request:
            raise
        problems = ProblemList()
        problems.problems.extend(error.problems)
        for field in FIELDS:
            if request.get(field) is None:
                problems.add(field, "", _NO_READING)
        problems.raise_if_any()
        raise


def drawdown_shown(
    drawdown: Drawdown, name: str, read: dict[str, ReadColour] | None = None
) -> DrawdownAnswer:
    """A drawdown in the words of the answer; what holds of a reading holds of the paint."""
    hiding = float(drawdown.hiding_um)
    of_readings = [note for colour in (read or {}).values() for note in colour.notes]
    return DrawdownAnswer(
        name=name,
        verdict=drawdown.verdict,
        opaque=ColourShown.of(drawdown.r_infinity_lab),
        opaque_radius=round(drawdown.r_infinity_radius, 2),
        contrast_ratio=round(drawdown.contrast_ratio, 4),
        difference=round(drawdown.delta_e, 3),
        scattering_per_um=round(drawdown.scattering_per_um, 5),
        spread=round(drawdown.geometric_sd, 4),
        reading_spread=round(drawdown.reading_geometric_sd, 4),
        film_spread=round(drawdown.film_geometric_sd, 4),
        hiding_um=round(hiding, 1) if np.isfinite(hiding) else None,
        residual_black=round(drawdown.residual_black, 3),
        residual_white=round(drawdown.residual_white, 3),
        wavelengths_nm=WAVELENGTHS.tolist(),
        absorption=_digits(drawdown.absorption),
        absorption_spread=_digits(drawdown.absorption_geometric_sd),
        scattering=_digits(drawdown.scattering),
        scattering_spread=_digits(drawdown.scattering_geometric_sd),
        paint=paint_to_table(drawdown, name),
        notes=list(dict.fromkeys([*drawdown.notes, *of_readings])),
        readings=read,
    )


def _digits(values: np.ndarray) -> list[float]:
    return [float(f"{v:.5g}") for v in values]


def _cards_stated(wanted: DrawdownRequest, folder: Path | None) -> dict[str, CardReading]:
    cards: dict[str, CardReading] = {}
    with ProblemList() as problems:
        for field in FIELDS:
            value = getattr(wanted, field)
            if value is None:
                problems.add(field, "", _NO_READING)
                continue
            with problems.collecting(field):
                cards[field] = CardReading(reading_of(value, folder), value.radius or None)
    return cards


def paint_toml(table: Mapping[str, Any]) -> str:
    """The text of a paint file, from the table that a drawdown answer holds."""
    head = "# A paint measured by drawdown: name this file as paint_file under [topcoat].\n"
    return head + tomli_w.dumps(dict(table))
