"""What is asked of a photo: one set of words for all doors."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from showthrough.jobs.schema.base import Line, Model, Name, Number, Text, Whole, YesNo
from showthrough.jobs.schema.job import ColourInput, Job, Solids, WetFilm

Point = tuple[Number, Number]


def _as_points(value: Any) -> Any:
    """Four numbers are a rectangle: left, top, right, bottom."""
    four = isinstance(value, list | tuple) and len(value) == 4
    if four and all(isinstance(v, int | float) and not isinstance(v, bool) for v in value):
        left, top, right, bottom = value
        return [(left, top), (right, top), (right, bottom), (left, bottom)]
    return value


def _in_picture(points: list[Point]) -> list[Point]:
    """Refuse a place outside the picture here already, beside the request's other problems."""
    from showthrough.photo.place import Region

    problem = Region.polygon(points).problem("region")
    if problem is not None:
        raise ValueError(problem.message)
    return points


Rectangle = tuple[Number, Number, Number, Number]

Corners = Annotated[
    list[Point],
    BeforeValidator(_as_points, json_schema_input_type=Rectangle | list[Point]),
    AfterValidator(_in_picture),
    Field(min_length=3, max_length=200),
]
"""A polygon, or a rectangle as left, top, right, bottom; fractions of the picture, 0 to 1."""


class CardInput(Model):
    """A card of known colour in the picture."""

    region: Corners
    kind: Literal["white", "grey", "black"] = Field(
        default="white", description="what it is taken for where its colour is not known"
    )
    colour: ColourInput | None = Field(default=None, description="its own colour, if known")


class ChartInput(Model):
    """A 24-patch chart in the picture."""

    corners: list[Point] | None = Field(
        default=None,
        min_length=4,
        max_length=4,
        description="outer corners of the corner patches (brown, bluish green, black, white); "
        "found by itself if absent and the optional library is installed",
    )
    values: list[tuple[float, float, float]] | None = Field(
        default=None,
        min_length=24,
        max_length=24,
        description="CIELAB of the chart in hand, 24 rows in reading order; the average of "
        "measured charts if absent",
    )
    values_file: Text | None = Field(
        default=None,
        description="the same as a table (name,L,a,b) or the text of ISO 28178; not over HTTP",
    )
    illuminant: Text | None = Field(
        default=None,
        description="light of the values: D50, D65, A or C; if absent D65, or what the file says",
    )


class PhotoInput(Model):
    """What the picture holds beside what is to be read."""

    cards: list[CardInput] = Field(default_factory=list, max_length=8)
    chart: ChartInput | None = None
    sheets: list[Corners] = Field(
        default_factory=list,
        max_length=8,
        description="plain areas of one unknown colour that show how the light lies",
    )
    light: Text | None = Field(default=None, description="kind of light, if known")
    processing: Literal["unknown", "plain"] = Field(
        default="unknown",
        description="plain: the file comes from a raw converter with all processing off; a phone's "
        "own picture is not",
    )


class ChipRequest(PhotoInput):
    """A chip or a lid smear in a photo."""

    region: Corners | None = Field(
        default=None, description="where the chip lies; the whole picture if absent"
    )


class SurfaceRequest(PhotoInput):
    """A bare piece in a photo."""

    area: Corners | None = Field(default=None, description="the surface; all of it if absent")
    most: Whole = Field(default=6, ge=2, le=6, description="most patches to propose")


class DrawdownRequest(Model):
    """One film over a black and white card: four readings, from an instrument or a photo."""

    name: Annotated[Line, Field(max_length=80)] = ""
    wet_film_um: WetFilm
    volume_solids: Solids
    wet_film_spread: Number | None = Field(default=None, ge=1.0, le=3.0)
    bare_black: ColourInput | None = None
    bare_white: ColourInput | None = None
    over_black: ColourInput | None = None
    over_white: ColourInput | None = None
    regions: dict[str, Corners] | None = Field(
        default=None,
        description="with a photo: where bare_black, bare_white, over_black, over_white lie",
    )
    photo: PhotoInput = PhotoInput()


class PreviewArea(Model):
    """A marked part of a photo that is painted."""

    region: Corners
    patch: Name | None = Field(
        default=None, description="the patch of the job's surface that it is; the first if absent"
    )
    face: Annotated[Line, Field(max_length=40)] = Field(
        default="", description="areas in one plane share its light"
    )


class PreviewRequest(Model):
    """A job and where its patches lie in a photo."""

    job: Job
    areas: list[PreviewArea] = Field(min_length=1, max_length=40)
    coats: Whole | None = Field(default=None, ge=1, le=12, description="the likely count if absent")
    undercoat: YesNo = Field(default=False, description="over the best undercoat")
