"""What a job may say beyond colour: areas, cans, the room, working days and money.

Types stand here; what the numbers may be is said by the room that reckons with them, so that a
library call and a job file are refused in the same words.
"""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from showthrough.errors import UNSAFE, shown
from showthrough.jobs.schema.base import Line, Model, Number, Text, Whole
from showthrough.workshop.grounds import Chemistry

LEAST_WET_UM, MOST_WET_UM = 1.0, 1000.0
"""What a coat can be, µm."""

MOST_GROUPS = 24
MOST_SHAPES = 60


def _number_or_text(value: Any) -> Any:
    """Refuse in one sentence what a union of types would refuse in two."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(f"must be a number or a text, not {shown(value)}")  # noqa: TRY004 - pydantic words this kind
    if isinstance(value, str) and (len(value) > _LONGEST or UNSAFE.search(value)):
        raise ValueError(f"is one line of at most {_LONGEST} characters")
    return value


_LONGEST = 60
_Either = Annotated[float | str, BeforeValidator(_number_or_text)]
Length = _Either
"""A text with its unit ("80 cm", "2 ft 3 1/2 in") or a number in the job's ``unit``."""

Price = _Either
"""A number, or a text such as "12,50" or "12.50 EUR"."""

Openness = Literal["flat panel", "carcass", "chair or spindles"]
Gun = Literal["hvlp", "conventional"]

ShapeName = Literal[
    "panel",
    "disc",
    "edge_band",
    "drawer_front",
    "shelf",
    "carcass",
    "square_leg",
    "tapered_square_leg",
    "round_leg",
    "tapered_round_leg",
    "turned_leg",
    "moulding",
    "framed_door",
    "louvres",
    "spindles",
]


class ShapeInput(Model):
    """Some equal parts of a piece; each shape has lengths of its own."""

    shape: ShapeName
    width: Length | None = None
    height: Length | None = None
    depth: Length | None = None
    thickness: Length | None = None
    side: Length | None = None
    length: Length | None = None
    side_top: Length | None = None
    side_foot: Length | None = None
    diameter: Length | None = None
    diameter_top: Length | None = None
    diameter_foot: Length | None = None
    girth: Length | None = Field(default=None, description="with a strip of paper")
    count: Whole = 1
    faces: Whole = Field(default=1, description="2 where both faces are painted")
    profile: Number | None = Field(default=None, description="painted area over flat area")


class CanInput(Model):
    """A size that the shop sells."""

    ml: Number | None = None
    size: Text | None = Field(default=None, description="the same as 0.75 l, 1 qt or 12 fl oz")
    price: Price | None = None


def _as_list(value: Any) -> Any:
    one = isinstance(value, int | float) and not isinstance(value, bool)
    return [value] if one else value


Tins = Annotated[
    list[Number],
    Field(max_length=24),
    BeforeValidator(_as_list, json_schema_input_type=list[Number] | Number),
]
"""What each tin holds; one number is one tin."""


class Supply(Model):
    """How a product is sold, what is left of it, and what its label says of drying."""

    cans: list[CanInput] = Field(default_factory=list, max_length=12)
    shelf_ml: Tins = Field(
        default_factory=list, description="what each tin at hand still holds; one number: one tin"
    )
    recoat_h: Number | None = None
    handle_h: Number | None = Field(default=None, description="until parts may be stacked")
    cure_d: Number | None = None
    least_c: Number | None = Field(default=None, description="least temperature to lay it at")
    label_film_um: Number | None = Field(
        default=None, description="wet film that the label's times are for"
    )


class ProductInput(Supply):
    """A primer, sealer or undercoat that the plan asks for, as the shop sells it."""

    step: Literal["prime", "bind", "block", "bond", "seal", "spot seal", "undercoat"]
    chemistry: Chemistry | None = None


class FinishInput(Supply):
    """What goes over the topcoat."""

    kind: Literal["clear", "wax", "none"]
    coats: Whole | None = Field(default=None, ge=1, le=6, description="2 of clear, 1 of wax")
    chemistry: Chemistry | None = None
    tool: Literal["brush", "roller", "spray", "aerosol"] | None = Field(
        default=None, description="that of the topcoat if absent"
    )
    wet_film_um: Number | None = None


class RoomInput(Model):
    """The air where it dries."""

    temperature_c: Number | None = None
    humidity_percent: Number | None = None
    surface_c: Number | None = Field(default=None, description="of the piece, if not of the air")
    night_c: Number | None = Field(default=None, description="lowest through the night")


def _as_iso(value: Any) -> Any:
    """TOML has days and moments of its own; texts as in JSON stand for all of them."""
    return value.isoformat() if isinstance(value, date | datetime | time) else value


Moment = Annotated[Line, Field(max_length=40), BeforeValidator(_as_iso)]


class DaysInput(Model):
    """When somebody stands at the bench."""

    start: Moment | None = Field(default=None, description="2027-03-01 or 2027-03-01T08:00")
    zone: Text | None = Field(default=None, description="time zone, as Europe/Berlin")
    week: dict[str, Text] | None = Field(
        default=None, description='by day: mon = "08:00-12:00, 13:00-17:00"'
    )
    days_off: list[Moment] = Field(default_factory=list, max_length=400)


class MoneyInput(Model):
    """What money goes into the job besides paint; amounts are exact decimals."""

    currency: Text | None = Field(default=None, description="three capital letters")
    labour_per_hour: Price | None = None
    purchase: Price | None = None
    hardware: Price | None = None
    sheet: Price | None = Field(default=None, description="one sheet of abrasive")
    booth: Price | None = None
    disposal: Price | None = None
    delivery: Price | None = None
    fees: Price | None = None
    margin: Price | None = Field(default=None, description="part of the price, as 0.4")
    markup: Price | None = Field(default=None, description="part of the cost, as 0.4")
    fee_rate: Price | None = Field(default=None, description="part of the price, for selling")
    tax_rate: Price | None = None
    charge: Literal["cans", "paint used"] = Field(
        default="cans", description="whole cans that are opened, or paint by the ml"
    )


class BuyingInput(Model):
    """How sure the cans should be."""

    wished: Number | None = Field(default=None, description="chance that they suffice, 0.5 to 0.99")
    keep_ml: Number | None = Field(default=None, ge=0.0, le=5000.0, description="for repairs")


class BenchFields(Model):
    """What a job says of the whole work; all of it may be left out."""

    area_m2: Number | None = Field(default=None, description="painted area, without groups")
    area_ft2: Number | None = None
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = Field(
        default=None, description="of lengths that are bare numbers"
    )
    units: Literal["metric", "us"] = Field(default="metric", description="in texts and cans")
    pieces: Whole = Field(default=1, ge=1, le=20, description="pieces alike, done together")
    finish: FinishInput | None = None
    product: list[ProductInput] = Field(default_factory=list, max_length=24)
    room: RoomInput | None = None
    days: DaysInput | None = None
    money: MoneyInput | None = None
    buying: BuyingInput | None = None
    rank_by: Literal["coats", "money", "days"] = "coats"
