"""The job: one set of words for the file, the command line, the service and the page.

A job holds one piece: its topcoat, its surface as patches, how the paint is put on,
and optionally the undercoats and hardware finishes at hand. ``describe`` texts are
what the service's documentation shows.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    GetJsonSchemaHandler,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from showthrough.film.coats import (
    ADVISED_LEAST_COATS,
    EVENNESS_CV,
    SANDING_LOSS,
    Coat,
    Tool,
)
from showthrough.jobs.schema.base import Model, Name, Number, Text, Whole, YesNo
from showthrough.jobs.schema.bench import (
    LEAST_WET_UM,
    MOST_GROUPS,
    MOST_SHAPES,
    MOST_WET_UM,
    BenchFields,
    FinishInput,
    Gun,
    Openness,
    ShapeInput,
    Supply,
)
from showthrough.jobs.schema.finished import MOST_FINISHED, Finished
from showthrough.workshop.grounds import Chemistry, Condition, GroundKind, Stain

MOST_PATCHES = 24
MOST_UNDERCOATS = 24

Solids = Annotated[Number, Field(ge=0.05, le=1.0)]
WetFilm = Annotated[Number, Field(ge=LEAST_WET_UM, le=MOST_WET_UM)]
Three = tuple[Number, Number, Number]

MOST_DEPTH = 6


def _shallow(value: Any) -> Any:
    """Refuse a table that is nested far deeper than a paint is."""
    level = [value]
    for _ in range(MOST_DEPTH):
        tables = [v for v in level if isinstance(v, dict | list)]
        level = [v for t in tables for v in (t.values() if isinstance(t, dict) else t)]
    if level:
        raise ValueError(f"is nested more than {MOST_DEPTH} deep, which no paint is")
    return value


PaintTable = Annotated[dict[str, Any], AfterValidator(_shallow)]


class InlineSpectrum(Model):
    """A reflectance spectrum on a regular grid that covers 400-700 nm."""

    start_nm: Number = Field(default=400.0, description="wavelength of the first value")
    step_nm: Number = Field(default=10.0, gt=0.0, le=50.0, description="distance of the values")
    values: list[Number] = Field(
        min_length=2, max_length=2000, description="reflectances, 0 to 1 (not percent)"
    )


class ColourInput(Model):
    """One colour in exactly one notation, with the light it was read under.

    A plain text stands for any notation or for the name of a sample swatch.
    """

    text: Text | None = Field(default=None, description="any notation, or a swatch's name")
    hex: Text | None = None
    lab: Three | None = None
    lch: Three | None = None
    xyz: Three | None = Field(default=None, description="white Y = 100")
    munsell: Text | None = None
    lrv: Number | None = Field(default=None, description="light reflectance value, a neutral")
    swatch: Text | None = Field(default=None, description="name of a sample swatch")
    spectrum: InlineSpectrum | None = None
    spectrum_file: Text | None = Field(
        default=None, description="CSV or CGATS file beside the job file (job files only)"
    )
    sample: Text | None = Field(default=None, description="sample in a file that holds several")
    illuminant: Literal["D50", "D65", "A", "C"] | None = None
    observer: Literal[2, 10] | None = None
    specular: Literal["excluded", "included"] = Field(
        default="excluded", description="whether the reading holds the surface's mirror reflection"
    )
    radius: Number = Field(
        default=0.0, ge=0.0, le=30.0, description="95% uncertainty of the reading, CIEDE2000"
    )

    @model_validator(mode="before")
    @classmethod
    def _text_alone(cls, value: Any) -> Any:
        """Let a plain text, or three numbers as CIELAB, stand for a colour."""
        if isinstance(value, str):
            return {"text": value}
        if isinstance(value, list | tuple):
            return {"lab": value}
        return value

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Tell of the two short forms as well; they are the first keys of the long one."""
        reference = handler(core)
        schema = handler.resolve_ref_schema(reference)
        keys = schema["properties"]
        short = [keys[key]["anyOf"][0] for key in ("text", "lab")]
        whole = {k: v for k, v in schema.items() if k not in {"title", "description"}}
        about = {k: schema[k] for k in ("title", "description") if k in schema}
        schema.clear()
        schema.update(about | {"anyOf": [whole, *short]})
        return reference


NOTATION_KEYS = (
    "text",
    "hex",
    "lab",
    "lch",
    "xyz",
    "munsell",
    "lrv",
    "swatch",
    "spectrum",
    "spectrum_file",
)
"""Exactly one of these says what a colour is."""


class Label(Model):
    """What a can's label or data sheet says about hiding."""

    contrast_ratio: Number = Field(description="Y over black / Y over white, as 0.98")
    spreading_rate_m2_l: Number = Field(description="m2 per litre at which it was measured")
    tested: Literal["base", "this colour"] = Field(
        default="base",
        description="labels usually tested the white paint, not the colour tinted from it",
    )


class Topcoat(Supply):
    """The paint that is to be seen."""

    name: Name | None = None
    colour: ColourInput | None = None
    volume_solids: Solids | None = Field(default=None, description="part of the wet paint left")
    label: Label | None = None
    pigment: Literal["opaque", "transparent"] | None = Field(
        default=None,
        description="opaque: iron or chrome oxide, carbon, earth colours; transparent: bright "
        "organic pigments, ultramarine",
    )
    body: Literal["pastel", "deep"] | None = Field(
        default=None,
        description="pastel: tinted from a white or pale paint; deep: mixed to a strong colour "
        "from a paint with little white",
    )
    tio2_share: Number | None = Field(
        default=None,
        ge=0.01,
        le=0.35,
        description="titanium dioxide by volume in the dry film of the paint that was tinted",
    )
    paint: PaintTable | None = Field(
        default=None, description="a paint measured by drawdown, as the drawdown command saves it"
    )
    paint_file: Text | None = Field(
        default=None, description="the same in a TOML file beside the job file (job files only)"
    )
    chemistry: Chemistry | None = Field(
        default=None, description="what it dries by: its label or data sheet says so"
    )
    sheen: Literal["matt", "eggshell", "satin", "gloss"] | None = None
    bonds: YesNo = Field(
        default=False, description="its label says that it holds on slick grounds by itself"
    )


def _day(value: Any) -> Any:
    """A number is no day, though it could be seconds since some day."""
    if not isinstance(value, str | date):
        raise ValueError("is a day, as 2026-05-31")  # noqa: TRY004 - pydantic words this kind
    return value


Day = Annotated[date, BeforeValidator(_day)]


class LeadTestInput(Model):
    """A test of the old finish for lead, through all its layers."""

    by: Literal["kit", "laboratory"]
    result: Literal["clear", "lead"]
    date: Day | None = Field(default=None, description="as 2026-05-31")


class Patch(Model):
    """One part of the surface that the eye will compare with the others."""

    name: Name = "surface"
    colour: ColourInput
    share: Number | None = Field(default=None, gt=0.0, le=1.0, description="part of the area")
    skin: Literal["coated", "bare"] | None = Field(
        default=None,
        description=(
            "bare: raw wood or filler, in optical contact with the paint; what the ground or the "
            "named swatch says if absent, else coated"
        ),
    )
    ground: GroundKind | None = Field(
        default=None,
        description="what it is made of; an old finish of unknown kind if absent",
    )
    condition: Condition | None = Field(default=None, description="of the old finish")
    stain: Stain | None = Field(default=None, description="what marks it")
    porous: YesNo | None = None
    bleeds: YesNo | Literal["may"] | None = Field(
        default=None, description="whether its colour or resin comes through paint"
    )
    sanded_through: YesNo = False
    edge: YesNo = Field(default=False, description="a cut edge of MDF, plywood or chipboard")
    lead_test: LeadTestInput | None = None


class PaintUsed(Model):
    """Paint used over an area: what a painter knows without a film gauge."""

    ml: Number | None = Field(default=None, gt=0.0, le=1e6)
    g: Number | None = Field(default=None, gt=0.0, le=5e5)
    area_m2: Number = Field(gt=0.0, le=1e4)
    coats: Whole = Field(default=1, ge=1, le=100)
    density_g_ml: Number | None = Field(default=None, ge=0.7, le=3.0)


class Application(Model):
    """How the paint is put on."""

    tool: Tool = "brush"
    coat: Coat | None = Field(default=None, description="light or full; the tool's usual if absent")
    wet_film_um: WetFilm | None = None
    paint_used: PaintUsed | None = None
    transfer_efficiency: Number | None = Field(
        default=None, gt=0.0, le=1.0, description="part of the paint that stays on the piece"
    )
    gun: Gun | None = Field(
        default=None, description="hvlp: much air at low pressure; the usual if absent"
    )
    openness: Openness | None = Field(default=None, description="how much of a spray meets it")
    thinning: Number = Field(
        default=0.0, ge=0.0, le=1.0, description="parts of thinner to one of paint"
    )
    session_loss_ml: Number | None = Field(
        default=None, ge=0.0, le=2000.0, description="left in tool and cup each session"
    )
    flips: YesNo = Field(
        default=False, description="two faces that cannot hang: each coat waits twice"
    )
    least_topcoats: Whole = Field(
        default=ADVISED_LEAST_COATS, ge=1, le=4, description="for a sound, washable film"
    )
    sanding_loss: Number = Field(default=SANDING_LOSS, ge=0.0, le=0.5)
    evenness_cv: Number = Field(default=EVENNESS_CV, ge=0.0, le=1.0)


class OwnedUndercoat(Model):
    """An undercoat or leftover can that the painter has."""

    name: Name
    colour: ColourInput
    volume_solids: Solids | None = None
    wet_film_um: WetFilm | None = None
    label: Label | None = None
    bonds: YesNo = Field(default=False, description="its label says that it holds on slick grounds")
    blocks: YesNo = Field(default=False, description="its label says that it blocks stains")
    shelf_ml: Number | None = Field(
        default=None, ge=0.0, le=200_000.0, description="what it still holds"
    )


class SecondColour(Model):
    """A colour for drawer interiors, legs or the inside of a cupboard, or a wood left in sight."""

    name: Name
    colour: ColourInput
    kind: Literal["paint", "wood"] = "paint"


class TestPiece(Model):
    """Coats that were tried on a test piece, and whether they were enough."""

    coats: Whole = Field(ge=1, le=12)
    enough: YesNo


class GroupInput(Model):
    """Parts of the piece that are painted alike; what it leaves out comes from the job."""

    name: Name
    area_m2: Number | None = None
    area_ft2: Number | None = None
    shape: list[ShapeInput] = Field(default_factory=list, max_length=MOST_SHAPES)
    topcoat: Topcoat | None = None
    surface: list[Patch] | None = Field(default=None, min_length=1, max_length=MOST_PATCHES)
    application: Application | None = None
    finish: FinishInput | None = None


class Job(BenchFields):
    """One piece to be painted."""

    title: Text = ""
    child: YesNo = Field(default=False, description="a child's furniture or a toy")
    antique: YesNo = False
    test_piece: TestPiece | None = None
    topcoat: Topcoat
    surface: list[Patch] = Field(min_length=1, max_length=MOST_PATCHES)
    application: Application = Field(default_factory=Application)
    undercoat: list[OwnedUndercoat] = Field(default_factory=list, max_length=MOST_UNDERCOATS)
    finishes: list[Name] | None = Field(
        default=None,
        max_length=60,
        description="codes or names of the hardware finishes to choose from; all if absent",
    )
    second_colour: list[SecondColour] = Field(
        default_factory=list,
        max_length=200,
        description="colours beside the topcoat to choose from; the sample swatches if absent",
    )
    group: list[GroupInput] = Field(
        default_factory=list,
        max_length=MOST_GROUPS,
        description="carcass, doors, legs ...; the whole piece is one group if absent",
    )
    finished: list[Finished] = Field(
        default_factory=list,
        max_length=MOST_FINISHED,
        description="the painter's finished jobs, the latest last",
    )


EXAMPLE_JOB: dict[str, Any] = {
    "title": "Linen cupboard, two doors",
    "topcoat": {"colour": {"lab": [66, -24, 55]}, "volume_solids": 0.38},
    "surface": [
        {
            "name": "brown finish",
            "colour": {"lab": [38, 12, 20]},
            "share": 0.9,
            "ground": "varnish",
        },
        {
            "name": "filled ring mark",
            "colour": {"hex": "#d8c39a"},
            "share": 0.1,
            "skin": "bare",
            "porous": True,
            "ground": "filler",
        },
    ],
    "application": {"tool": "spray", "wet_film_um": 45},
}
