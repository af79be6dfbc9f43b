"""What a job says of the whole work, made ready: areas, cans, the room, working days, money.

Everything here is optional. What a painter leaves out is a default that the answer names; a job
that says nothing of it has no ``Bench`` at all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from typing import Any, NamedTuple

from showthrough.defaults import defaults_of
from showthrough.errors import InputError, ProblemList
from showthrough.film.coats import WET_FILM_THICKNESS_UM
from showthrough.jobs.case.parts import rows_of, sound
from showthrough.jobs.schema.bench import (
    BuyingInput,
    CanInput,
    DaysInput,
    FinishInput,
    MoneyInput,
    ProductInput,
    RoomInput,
    ShapeInput,
    Supply,
)
from showthrough.jobs.schema.job import Application
from showthrough.workshop.days.drying import CHEMISTRY, Climate
from showthrough.workshop.days.hours import WorkingHours, read_hours, read_start
from showthrough.workshop.limits import number, numbers
from showthrough.workshop.paint.cans import DEFAULTS as CAN_DEFAULTS
from showthrough.workshop.paint.cans import MOST_ML, Can, check_cans
from showthrough.workshop.paint.transfer import USUAL_OPENNESS, tool_class, usual_wet_film
from showthrough.workshop.price.cost import Pricing
from showthrough.workshop.price.money import Money, read_price, read_rate, same_currency
from showthrough.workshop.size.area import MOST_AREA_M2, Group, read_shape
from showthrough.workshop.size.lengths import FT2_M2, METRES, volume_ml

UNIT_AREA_M2 = 1.0
"""Taken where no area is said, so that amounts are those for one square metre."""

USUAL_CANS: Mapping[str, tuple[int, ...]] = {
    "metric": (250, 750, 2500),
    "us": (473, 946, 3785),
    "aerosol": (400,),
}
"""Sizes that are taken where none are said, ml (common practice, no source)."""

USUAL_FINISH_COATS = defaults_of("finish coats")


class Stock(NamedTuple):
    """How a product is sold, what is left of it, and its label's drying times."""

    cans: tuple[Can, ...] = ()
    """Sizes that the painter says; none takes the usual ones."""
    shelf_ml: tuple[float, ...] = ()
    recoat_h: float | None = None
    handle_h: float | None = None
    cure_d: float | None = None
    least_c: float | None = None
    label_film_um: float | None = None
    chemistry: str | None = None


class Finish(NamedTuple):
    """The clear coat or wax over the topcoat."""

    kind: str
    coats: int
    chemistry: str
    tool: str
    wet_film_um: float | None
    stock: Stock


class Part(NamedTuple):
    """A group as the bench sees it: how much of it there is, and how the paint meets it."""

    name: str
    size: Group
    area_stated: bool
    tool: str
    """By what it loses: brush, roller, hvlp, conventional or aerosol."""
    openness: str
    openness_stated: bool
    thinning: float
    transfer: float | None
    session_loss_ml: float | None
    flips: bool
    stock: Stock
    """Of the topcoat."""
    finish: Finish | None


class Prices(NamedTuple):
    """What money goes into the job besides paint."""

    currency: str
    labour_per_hour: Money | None
    sheet: Money | None
    once: Mapping[str, Money]
    """Amounts that come once, by kind of line."""
    pricing: Pricing
    whole_cans: bool


@dataclass(frozen=True, slots=True)
class Bench:
    """What holds for the whole job."""

    units: str = "metric"
    pieces: int = 1
    rank_by: str = "coats"
    climate: Climate = field(default_factory=Climate)
    climate_stated: bool = False
    hours: WorkingHours = field(default_factory=WorkingHours)
    hours_stated: bool = False
    start: str | None = None
    products: Mapping[str, Stock] = field(default_factory=dict)
    """By kind of the plan's step."""
    prices: Prices | None = None
    wished: float = CAN_DEFAULTS["wished chance"].value
    wished_stated: bool = False
    keep_ml: float = CAN_DEFAULTS["kept for repairs"].value


def read_bench(data: Mapping[str, Any], problems: ProblemList) -> Bench | None:
    """What holds for the whole job; everything wrong is noted by field.

    Parts that the schema refuses are left out here: it has told them.
    """
    before = len(problems.problems)
    money = sound(MoneyInput, data.get("money"))
    currency = _currency(data, problems)
    prices = None if money is None else _prices(money, currency, problems)
    products: dict[str, Stock] = {}
    for i, row in enumerate(rows_of(data, "product"), 1):
        product = sound(ProductInput, row)
        if product is None:
            continue
        if product.step in products:
            told = "is said twice; one product for each step works"
            problems.add(f"product[{i}].step", product.step, told, "duplicate_name")
        products[product.step] = _stock(product, currency, f"product[{i}]", problems)
    room = sound(RoomInput, data.get("room"))
    climate = Climate()
    if room is not None:
        with problems.collecting("room"):
            climate = Climate(**{k: v for k, v in room.model_dump().items() if v is not None})
    days = sound(DaysInput, data.get("days"))
    hours = WorkingHours()
    if days is not None:
        with problems.collecting("days"):
            hours = read_hours(days.model_dump(exclude={"start"}, exclude_none=True))
    buying = sound(BuyingInput, data.get("buying")) or BuyingInput()
    if buying.wished is not None:
        number(problems, "buying.wished", buying.wished, 0.5, 0.99)
    pieces = data.get("pieces", 1)
    if len(problems.problems) > before:
        return None
    keep = CAN_DEFAULTS["kept for repairs"].value if buying.keep_ml is None else buying.keep_ml
    return Bench(
        units="us" if data.get("units") == "us" else "metric",
        pieces=pieces if isinstance(pieces, int) and 1 <= pieces <= 20 else 1,
        rank_by=str(data.get("rank_by", "coats")),
        climate=climate,
        climate_stated=room is not None,
        hours=hours,
        hours_stated=days is not None and (days.week is not None or bool(days.days_off)),
        start=None if days is None else days.start,
        products=products,
        prices=prices,
        wished=buying.wished or CAN_DEFAULTS["wished chance"].value,
        wished_stated=buying.wished is not None,
        keep_ml=keep,
    )


def read_part(
    name: str,
    data: Mapping[str, Any],
    job: Mapping[str, Any],
    application: Application,
    chemistry: str | None,
    problems: ProblemList,
    prefix: str = "",
) -> Part | None:
    """One group as the bench sees it; everything wrong is noted by field.

    Args:
        name: of the group.
        data: the table that holds its area or shapes: a group's, or the job itself.
        job: the whole job, as far as it was said.
        application: how the group is painted.
        chemistry: of its topcoat.
        problems: where what is wrong is noted.
        prefix: place of ``data`` in the job, with its dot.
    """
    before = len(problems.problems)
    size = _size(name, data, job, problems, prefix)
    topcoat, at = job.get("topcoat"), "topcoat"
    if prefix and isinstance(data.get("topcoat"), Mapping):
        topcoat, at = data["topcoat"], f"{prefix}topcoat"
    currency = _currency(job, ProblemList())
    known = topcoat if isinstance(topcoat, Mapping) else {}
    supply = sound(Supply, {key: known[key] for key in Supply.model_fields if key in known})
    stock = Stock() if supply is None else _stock(supply, currency, at, problems)
    finish, place = job.get("finish"), "finish"
    if prefix and data.get("finish") is not None:
        finish, place = data["finish"], f"{prefix}finish"
    over = _finish(sound(FinishInput, finish), application, chemistry, currency, place, problems)
    if len(problems.problems) > before or size is None:
        return None
    group, stated = size
    return Part(
        name=name,
        size=group,
        area_stated=stated,
        tool=tool_class(application.tool, application.gun),
        openness=application.openness or USUAL_OPENNESS,
        openness_stated=application.openness is not None,
        thinning=application.thinning,
        transfer=application.transfer_efficiency,
        session_loss_ml=application.session_loss_ml,
        flips=application.flips,
        stock=stock,
        finish=over,
    )


def _size(
    name: str, data: Mapping[str, Any], job: Mapping[str, Any], problems: ProblemList, prefix: str
) -> tuple[Group, bool] | None:
    """The area of a group and whether it was said."""
    before = len(problems.problems)
    unit = job.get("unit", "")
    if not isinstance(unit, str) or unit not in {"", *METRES}:
        unit = "mm"  # the schema has told it; what else is wrong is told beside it
    shapes, rows = [], rows_of(data, "shape")
    for i, row in enumerate(rows, 1):
        shape = sound(ShapeInput, row)
        if shape is None:
            continue
        with problems.collecting(f"{prefix}shape[{i}]"):
            shapes.append(read_shape(shape.model_dump(exclude_none=True), unit))
    if len(problems.problems) > before or len(shapes) < len(rows):
        return None  # what the schema refuses it has told
    said = [k for k in ("area_m2", "area_ft2") if data.get(k) is not None]
    if len(said) > 1:
        told = "give area_m2 or area_ft2, not both"
        problems.add(f"{prefix}area_ft2", data["area_ft2"], told, "either")
        return None
    if not said and not shapes and not prefix:
        return Group(name, (), UNIT_AREA_M2, 1.0), False
    with problems.collecting(prefix.removesuffix(".")):
        return Group(name, tuple(shapes), _stated_m2(said[0], data) if said else None), True
    return None


def _stated_m2(key: str, data: Mapping[str, Any]) -> float:
    """A stated area in m2."""
    factor = 1.0 if key == "area_m2" else FT2_M2
    unit = key.removeprefix("area_")
    with ProblemList() as wrong:
        number(wrong, key, data[key], 0.0, MOST_AREA_M2 / factor, unit, above=True)
    return factor * float(data[key])


def _currency(data: Mapping[str, Any], problems: ProblemList) -> str:
    """The job's currency, "" where it says none; two of them are noted."""
    money = sound(MoneyInput, data.get("money"))
    if money is None or money.currency is None:
        return ""
    with problems.collecting("money"):
        return Money(Decimal(0), money.currency).currency
    return ""


_LABEL_BOUNDS = (
    ("recoat_h", 0.0, 1440.0, "h", True),
    ("handle_h", 0.0, 1440.0, "h", True),
    ("cure_d", 0.0, 180.0, "d", True),
    ("label_film_um", 0.0, 1000.0, "µm", True),
    ("least_c", -20.0, 40.0, "°C", False),
)
"""Of what a label says: name, least, greatest, unit, and whether the least does not work."""


def _stock(supply: Supply, currency: str, prefix: str, problems: ProblemList) -> Stock:
    cans: list[Can] = []
    for i, can in enumerate(supply.cans, 1):
        with problems.collecting(f"{prefix}.cans[{i}]"):
            cans.append(_can(can, currency))
    if cans and len(cans) == len(supply.cans):
        with problems.collecting(prefix):
            check_cans(cans)
    for i, ml in enumerate(supply.shelf_ml, 1):
        number(problems, f"{prefix}.shelf_ml[{i}]", ml, 0.0, MOST_ML, "ml")
    numbers(problems, supply, _LABEL_BOUNDS, f"{prefix}.")
    return Stock(
        cans=tuple(cans),
        shelf_ml=tuple(supply.shelf_ml),
        recoat_h=supply.recoat_h,
        handle_h=supply.handle_h,
        cure_d=supply.cure_d,
        least_c=supply.least_c,
        label_film_um=supply.label_film_um,
        chemistry=getattr(supply, "chemistry", None),
    )


def _can(can: CanInput, currency: str) -> Can:
    if (can.ml is None) == (can.size is None):
        told = "both" if can.ml is not None else "neither"
        raise InputError.at("ml", told, "give the content as either ml or size", "either")
    size: Any = can.ml
    if size is not None and float(size).is_integer():
        size = int(size)
    price = None
    with ProblemList() as wrong:
        with wrong.collecting():
            if can.size is not None:
                size = volume_ml(can.size)
        if can.price is not None:
            with wrong.collecting():
                price = read_price(can.price, currency)
    try:
        return Can(size, price)
    except InputError as error:
        name = "ml" if can.ml is not None else "size"
        raise InputError(
            [p if p.field != "size_ml" else type(p)(name, p.value, p.message, p.code)
             for p in error.problems]
        ) from None  # fmt: skip


def _finish(
    said: FinishInput | None,
    application: Application,
    chemistry: str | None,
    currency: str,
    prefix: str,
    problems: ProblemList,
) -> Finish | None:
    if said is None or said.kind == "none":
        return None
    if said.wet_film_um is not None:
        number(problems, f"{prefix}.wet_film_um", said.wet_film_um, 0.0, 1000.0, "µm", above=True)
    if said.kind == "wax" and (said.cans or said.shelf_ml):
        told = "wax is reckoned in grams; leave out its cans"
        problems.add(f"{prefix}.cans", len(said.cans), told, "unknown")
    kind = said.chemistry or chemistry or "water-borne"
    return Finish(
        kind=said.kind,
        coats=said.coats or int(USUAL_FINISH_COATS[said.kind].value),
        chemistry=kind if kind in CHEMISTRY else "water-borne",
        tool=tool_class(said.tool or application.tool, application.gun),
        wet_film_um=said.wet_film_um,
        stock=_stock(said, currency, prefix, problems),
    )


def one_currency(bench: Bench, parts: Sequence[Part], problems: ProblemList) -> Bench:
    """The bench with the one currency of all prices; two of them are noted."""
    stocks = [*bench.products.values(), *(part.stock for part in parts)]
    stocks += [part.finish.stock for part in parts if part.finish is not None]
    cans = [can.price for stock in stocks for can in stock.cans if can.price is not None]
    own = [] if bench.prices is None else _as_zero(bench.prices.currency)
    with problems.collecting("money"):
        used = same_currency([*own, *cans])
        if bench.prices is None and used:
            return replace(bench, prices=Prices(used, None, None, {}, Pricing(), whole_cans=True))
        if bench.prices is not None and not bench.prices.currency:
            return replace(bench, prices=bench.prices._replace(currency=used))
    return bench


_ONCE = ("purchase", "hardware", "booth", "disposal", "delivery", "fees")
_AMOUNTS = ("labour_per_hour", "sheet", *_ONCE)
_RATES = ("margin", "markup", "fee_rate", "tax_rate")


def _prices(money: MoneyInput, currency: str, problems: ProblemList) -> Prices | None:
    before = len(problems.problems)
    amounts: dict[str, Money] = {}
    rates: dict[str, Decimal] = {}
    said = {key: value for key, value in money if key in _AMOUNTS + _RATES and value is not None}
    for name, value in said.items():
        with problems.collecting(f"money.{name}"):
            if name in _RATES:
                rates[name] = read_rate(value, "")
            else:
                amounts[name] = read_price(value, currency, "")
    pricing = Pricing()
    with problems.collecting("money"):
        pricing = Pricing(**rates)
        used = same_currency([*amounts.values(), *_as_zero(currency)])
    if len(problems.problems) > before:
        return None
    return Prices(
        currency=used,
        labour_per_hour=amounts.get("labour_per_hour"),
        sheet=amounts.get("sheet"),
        once={name: amounts[name] for name in _ONCE if name in amounts},
        pricing=pricing,
        whole_cans=money.charge == "cans",
    )


def _as_zero(currency: str) -> list[Money]:
    return [Money(Decimal(0), currency)] if currency else []


def film_ratio(stock: Stock, tool: str, wet_film_thickness_um: float) -> float:
    """Film that is laid over the film that a label's drying times are for.

    Where nobody said what that is, it is taken to be a full brush coat, and a thinner one is
    not taken to dry before the label's time.
    """
    if stock.label_film_um is not None:
        ratio = wet_film_thickness_um / stock.label_film_um
    else:
        usual = max(usual_wet_film(tool).value, WET_FILM_THICKNESS_UM["brush", "full"])
        ratio = max(wet_film_thickness_um / usual, 1.0)
    return min(max(ratio, 0.05), 20.0)


def start_of(bench: Bench, now: datetime) -> datetime:
    """The moment from which work may begin, UTC.

    Raises:
        InputError: the start that was said is no moment, or lies in the past.
    """
    if bench.start is None:
        return now
    try:
        return read_start(bench.start, bench.hours.zone, now)
    except InputError as error:
        raise error.within("days") from None
