"""What a photo answers: one set of words for all doors."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from showthrough.jobs.answers.prediction import ColourShown, Prediction, Shown
from showthrough.jobs.schema.photo import Point

Basis = Literal["chart", "card", "none"]
"""What a colour read from a photo rests on."""


class ReadColour(ColourShown):
    """A colour read from a photo."""

    radius: float = Field(description="the true colour is within this CIEDE2000 in 95 of 100 cases")
    basis: Basis
    light: str = Field(description="what is known of the light, in words")
    processing: str = Field(description="how the file was said to be made, in words")
    pixels: int
    set_aside: float = Field(description="part of the region set aside as glare, dust or burnt out")
    notes: list[str]

    def as_input(self) -> dict[str, Any]:
        """The same as a colour of a job."""
        return {"lab": list(self.lab), "radius": round(self.radius, 2)}


class ChipAnswer(Shown):
    """A chip's colour, ready to be a job's topcoat."""

    colour: ReadColour
    topcoat: dict[str, Any] = Field(description="put this under topcoat.colour of a job")


class ProposedShown(ReadColour):
    """A proposed patch."""

    name: str
    share: float
    centre: Point
    outline: list[list[Point]] = Field(description="polygons, fractions of the picture")


class SurfaceAnswer(Shown):
    """Proposed patches, ready to be a job's surface."""

    patches: list[ProposedShown]
    surface: list[dict[str, Any]] = Field(description="put this under surface of a job")
    asks: list[str] = Field(description="what no picture tells and the job should say")
    notes: list[str]


class DrawdownAnswer(Shown):
    """A measured paint."""

    name: str
    verdict: str
    opaque: ColourShown = Field(description="the paint where nothing shows through")
    opaque_radius: float
    contrast_ratio: float
    difference: float = Field(description="CIEDE2000 between the two films as read")
    scattering_per_um: float
    spread: float = Field(description="factor of one standard deviation, readings and film")
    reading_spread: float
    film_spread: float
    hiding_um: float | None = Field(description="dry film at which black and white look alike, µm")
    residual_black: float
    residual_white: float
    wavelengths_nm: list[float]
    absorption: list[float]
    absorption_spread: list[float]
    scattering: list[float]
    scattering_spread: list[float]
    paint: dict[str, Any] = Field(description="put this under topcoat.paint of a job")
    notes: list[str]
    readings: dict[str, ReadColour] | None = Field(
        default=None, description="what was read where a photo was given"
    )


class PreviewAnswer(Shown):
    """What a preview was drawn from; the pictures come beside it."""

    prediction: Prediction
    undercoat: str | None
    coats: int
    captions: list[str] = Field(
        description="of the pictures side by side, one each from left to right; as single files "
        "the bare piece comes first only where there is no undercoat"
    )
    notes: list[str]
