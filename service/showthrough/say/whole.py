"""Sentences of the whole job: area, paint, days and money."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, get_args

from showthrough.say.chances import capital, chance_words, plural
from showthrough.workshop.grounds.kinds import WorkKind

if TYPE_CHECKING:
    from showthrough.jobs.answers.halfway import HalfWay
    from showthrough.jobs.answers.whole import (
        AreaShown,
        DaysShown,
        MoneyShown,
        ProductShown,
        StepShown,
        WholeJob,
    )
    from showthrough.jobs.bench.case import Case
    from showthrough.jobs.case.bench import Bench
    from showthrough.workshop.paint.cans import Shopping

NO_PRICE = (
    "No price is known, so there is no money here: say what a can costs, or what "
    "an hour of your work does."
)

PREPARATION = frozenset(get_args(WorkKind)) | {"hardware off", "mask"}
"""Steps before the first coat; their names alone tell enough where room is short."""

NO_AREA = "no area was said: amounts, minutes and money are for 1 m²"
NO_AREA_SAID = f"{capital(NO_AREA)}."
"""The same as a sentence."""

FT2_PER_M2 = 1.0 / 0.09290304
"""By the foot of 304.8 mm."""

_OZ_ML = 29.5735295625
_QUART_ML = 946.352946
_GALLON_ML = 3785.411784
"""US measures."""


def headline(groups: Sequence[tuple[str, str]], main: int) -> str:
    """The plans in one line each, the largest group first.

    Args:
        groups: name and headline of each group.
        main: place of the largest.
    """
    if len(groups) == 1 or len({line for _, line in groups}) == 1:
        return groups[main][1]
    order = [groups[main], *(g for i, g in enumerate(groups) if i != main)]
    alike: dict[str, list[str]] = {}
    for name, line in order:
        alike.setdefault(line, []).append(name)
    return " ".join(f"{capital(listed_plainly(names))}: {line}" for line, names in alike.items())


def listed_plainly(names: Sequence[str]) -> str:
    """Names of groups with commas and "and"."""
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def no_count(name: str, line: str, *, single: bool) -> str:
    """Why there is neither paint nor days nor money."""
    where = "" if single else f"“{name}”: "
    return f"{where}{line} Until then there is no amount of paint, no date and no price."


def product_advice(
    bought: Shopping | None,
    *,
    to_buy: bool,
    own_chance: float | None,
    wished: float,
    keep_ml: float,
    units: str,
) -> list[str]:
    """What to do with the cans of one product.

    Args:
        bought: what is bought of it, if anything is.
        to_buy: whether a shop sells it; an own can is only what is left of it.
        own_chance: that what is left of an own can suffices; None where nobody said how much.
        wished: chance that is wanted.
        keep_ml: what to keep for repairs.
        units: in which it is told.
    """
    if not to_buy:
        if own_chance is None:
            return ["See how much of it is left before you count on it."]
        if own_chance < wished:
            return ["What is left of it does not suffice with that chance: have more at hand."]
        return []
    if bought is None:
        return [f"{_NONE_SUFFICES}: another tool or colour first."]
    out = []
    if bought.wanted_ml > _WIDE * bought.ml_50:
        out.append(f"The amount is far from sure: {_FIRST_A_TEST}.")
    if bought.mix_together:
        out.append("Mix the tins together before the last coat: batches differ.")
    if keep_ml and bought.leftover_ml >= keep_ml:
        out.append(f"Keep {volume_words(keep_ml, units)} for repairs.")
    return out


def half_told(advice: Sequence[str], *, tried: bool) -> list[str]:
    """What to do with the cans once coats were seen, on the piece or as it was ``tried``."""
    first = _TRY_AGAIN if tried else _LOOK_FIRST
    doubts = (_FIRST_A_TEST, _NONE_SUFFICES)
    return [
        f"The amount is far from sure: {first}." if any(d in told for d in doubts) else told
        for told in advice
    ]


_FIRST_A_TEST = "lay a test piece before you buy all of it"
_TRY_AGAIN = "lay one coat more on the test piece before you buy all of it"
_LOOK_FIRST = "buy for one coat and look again"
_NONE_SUFFICES = "No amount suffices with that chance"
_WIDE = 1.7
"""Wished amount over the median from which on a test piece comes before the shop."""


def area_words(m2: float, units: str) -> str:
    """An area as the painter measures it."""
    amount, unit, places = (m2 * FT2_PER_M2, "ft²", 0) if units == "us" else (m2, "m²", 2)
    small = amount < 10.0 ** (1 - places)  # it keeps two digits that tell something
    return f"{amount:.2g} {unit}" if small else f"{amount:.{places}f} {unit}"


def area_doubt(area: AreaShown, units: str) -> str:
    """What to look at where a piece is far larger than furniture; "" elsewhere."""
    m2 = area.total_m2 / area.pieces
    if m2 <= _LARGE_M2:
        return ""
    return (
        f"{area_words(m2, units)} is far more than furniture has (a wardrobe 2 m high, 1 m wide "
        f"and 0.6 m deep: {area_words(_WARDROBE_M2, units)} outside): see to the decimal point "
        "and the unit."
    )


def area_hint(units: str) -> str:
    """How to reckon the area of a piece, in plain words."""
    if units == "us":
        return (
            "Every face that gets paint: width times height in feet, all added up. A cupboard 3 ft "
            "wide, 6 ft high and 2 ft deep: front 18, two sides 24, top 6: 48. Doors painted on "
            "both faces count twice. Empty: amounts for 1 m² (10.8 ft²)."
        )
    return (
        "Every face that gets paint: width times height in metres, all added up. A wardrobe 1 m "
        "wide, 2 m high and 0.6 m deep: front 2, two sides 2.4, top 0.6: 5. Doors painted on both "
        "faces count twice. Empty: amounts for 1 m²."
    )


_LARGE_M2 = 50.0
"""A fitted kitchen's doors and carcasses come near it (common practice, no source)."""
_WARDROBE_M2 = 2.0 * 1.0 + 2 * 2.0 * 0.6 + 1.0 * 0.6
"""Front, two sides and top."""


def volume_words(ml: float, units: str) -> str:
    """A volume as the painter buys it."""
    if units != "us":
        return f"{ml / 1000:.2f} l" if ml >= 1000 else f"{round_ml(ml):g} ml"
    if ml >= _GALLON_ML:
        return f"{ml / _GALLON_ML:.1f} gal"
    return f"{ml / _QUART_ML:.1f} qt" if ml >= _QUART_ML else f"{ml / _OZ_ML:.0f} fl oz"


def can_words(ml: int, units: str) -> str:
    """The size of a can as its label has it."""
    if units == "us":
        return volume_words(ml + 0.5, units).replace(".0 ", " ")
    return f"{ml / 1000:g} l" if ml >= 1000 else f"{ml} ml"


def round_ml(ml: float) -> float:
    """Millilitres as far as they mean anything: to 10, or to 1 below 100."""
    return round(ml, -1) if ml >= 100 else round(ml)


def hours_words(minutes: float) -> str:
    """A stretch of work."""
    hours, rest = divmod(round(minutes), 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def bench_assumptions(bench: Bench, cases: Sequence[Case]) -> list[str]:
    """What is taken for granted of room, hours, cans and area."""
    sprayed = any(c.part.tool in {"hvlp", "conventional", "aerosol"} for c in cases)
    told = (
        (
            not all(case.part.area_stated for case in cases),
            f"{NO_AREA_SAID} Measure the piece.",
        ),
        (
            sprayed and not all(case.part.openness_stated for case in cases),
            (
                "How open the piece is was not said: a flat panel is taken; a carcass takes up "
                "less of the spray, a chair far less."
            ),
        ),
        (
            not bench.climate_stated,
            "The room is taken to be at 23 °C and 50% relative humidity, as on labels.",
        ),
        (
            not bench.hours_stated,
            (
                "Working hours are taken to be Monday to Friday, 8 to 12 and 13 to 17 "
                f"({bench.hours.zone}): a default."
            ),
        ),
        (bench.start is None, "No start was said: work begins now."),
        (
            not bench.wished_stated,
            f"Cans are chosen to suffice in {bench.wished:.0%} of jobs: a default.",
        ),
        (
            any(not case.part.stock.cans for case in cases),
            "Can sizes not said are usual ones; ask what the shop has.",
        ),
    )
    return [sentence for taken, sentence in told if taken]


def day_words(moment: str) -> str:
    """A day of an answer as a diary has it: "Mon 1 Mar"."""
    found = datetime.fromisoformat(moment)
    return f"{found:%a} {found.day} {found:%b}"


def long_day(moment: str) -> str:
    """A day with its year, from ISO 8601: "4 December 2026"."""
    day = datetime.fromisoformat(moment)
    return f"{day.day} {day:%B %Y}"


def week_day(moment: str) -> str:
    """The same with the day of the week: "Friday 4 December 2026"."""
    return f"{datetime.fromisoformat(moment):%A} {long_day(moment)}"


def nothing_words(product: ProductShown) -> str:
    """Why there is no can to buy."""
    if product.chance is None and product.chances:
        return "no number of cans is sure enough"
    told = product.advice[0].removesuffix(".") if product.advice else "nothing to buy"
    return told[:1].lower() + told[1:]


def shelf_alone(product: ProductShown) -> str:
    """How likely nothing need be bought, where what is there might do; "" elsewhere."""
    if not product.cans or product.shelf_chance is None or product.shelf_chance < _WORTH:
        return ""
    return f"what is there may do, {chance_words(product.shelf_chance)}"


_WORTH = 0.05
"""Chance below which nobody leaves the shop empty-handed."""


def buy_line(product: ProductShown, units: str, currency: str) -> str:
    """What to get of one product, and how sure it is to suffice."""
    amount = ""
    if product.ml_50 is not None:
        half = volume_words(product.ml_50, units)
        nine = None if product.ml_90 is None else volume_words(product.ml_90, units)
        amount = half if half == nine else f"{half}, perhaps {nine or 'far more'}"
    parts = [f"{can.count} x {can_words(can.ml, units)}" for can in product.cans]
    if product.from_shelf_ml:
        parts.insert(0, f"{volume_words(product.from_shelf_ml, units)} from the shelf")
    got = " and ".join(parts) or nothing_words(product)
    sure = "" if product.chance is None else f", enough {chance_words(product.chance)}"
    alone = f" ({told})" if (told := shelf_alone(product)) else ""
    price = f", {product.price} {currency}" if product.price and currency else ""
    thin = (
        f", with {volume_words(product.thinner_ml, units)} of thinner" if product.thinner_ml else ""
    )
    doubts = (_FIRST_A_TEST, _TRY_AGAIN, _LOOK_FIRST)
    first = next((d for d in doubts if any(d in told for told in product.advice)), "")
    wide = f"; {first}" if first else ""
    told = f"{amount}{thin}: " if amount else ""
    return f"{product.product}: {told}{got}{sure}{price}{alone}{wide}"


def bought_short(products: Sequence[ProductShown], units: str) -> str:
    """What to buy where room is short: two paints with their cans, the rest counted."""
    cans: dict[str, Counter[int]] = {}
    for product in products:
        if product.cans:
            own = cans.setdefault(product.product, Counter())
            own.update({can.ml: can.count for can in product.cans})
    told = []
    for name, own in cans.items():
        sizes = {ml: can_words(ml, units) for ml in own}
        each = [f"{n} x {sizes[ml]}" if n > 1 else sizes[ml] for ml, n in own.items()]
        told.append(f"{name} {' + '.join(each)}")
    left = len(told) - _NAMED
    return ", ".join(told[:_NAMED]) + (f" and {left} more" if left > 0 else "") or "nothing"


_NAMED = 2
"""Paints that a closed row names."""


def is_waxed(answer: WholeJob | HalfWay) -> bool:
    """Whether wax is a step of the plan."""
    return any(step.kind == "wax" for step in answer.steps)


def stop_lines(days: DaysShown) -> list[str]:
    """Why no coat may be laid in this room as it is."""
    return [f"Do not lay a coat yet: {stop}" for stop in days.stops]


def days_lines(days: DaysShown, *, waxed: bool) -> list[str]:
    """When it is done, in a few lines; ``waxed`` where wax is a step of the plan itself."""
    dates = days.hand_over
    first = next((stay.start for stay in days.stays), days.start)
    span = [day_words(d) for d in (dates.early, dates.likely, dates.late)]
    late = "" if span[2] == span[1] else f", in 9 jobs of 10 by {span[2]}"
    early = "" if span[0] == span[1] else f", at best {span[0]}"
    begun = day_words(first)
    within = "Work and hand-over on" if begun == span[1] else f"From {begun} to the hand-over on"
    out = [
        f"{within} {span[1]}{early}{late}",
        f"{hours_words(days.bench_minutes)} at the bench; the rest is waiting",
    ]
    if days.refit and days.cure:
        out.append(
            f"Refit and stack from {day_words(days.refit)}; "
            f"{'wash' if waxed else 'wash, wax'} and load from {day_words(days.cure)}"
        )
    return out


def money_lines(money: MoneyShown) -> list[str]:
    """What it costs and what to ask for it."""
    unit = money.currency
    tax = f", with tax {money.price_with_tax}" if money.price_with_tax != money.price else ""
    ask = f"; price {money.price}{tax}" if money.price_with_tax != money.expected_cost else ""
    out = [
        f"Expected cost {money.expected_cost} {unit}{ask}; one coat more {money.one_more_coat}",
        f"Quote: {money.clause}",
    ]
    if money.without_price:
        out.append(f"Not in it, as no price is known: {listed_plainly(money.without_price)}")
    if money.undercoat_saves is not None:
        saves = money.undercoat_saves
        told = (
            f"costs {saves.removeprefix('-')} more" if saves.startswith("-") else f"saves {saves}"
        )
        out.append(f"What lies under the topcoat {told} {unit} against the simplest way")
    return out


def bill_words(answer: WholeJob) -> tuple[str, str]:
    """What the lines of the bill are of, and what they come to; ("", "") without money.

    The expected cost is the mean over all counts, so that the lines are no parts of it.
    """
    if answer.money is None or not answer.ways:
        return "", ""
    total = sum((Decimal(line.amount) for line in answer.money.lines), Decimal(0))
    count = plural(answer.ways[0].topcoats or 0, "topcoat")
    return f"At {count}, the likely count", f"{total}"


def amount_words(step: StepShown, units: str) -> str:
    """Paint of a step: "710 ml, perhaps 990 ml"; "" where it takes none of its own."""
    if step.ml_50 is None or step.ml_90 is None:
        return ""
    half, nine = volume_words(step.ml_50, units), volume_words(step.ml_90, units)
    return half if half == nine else f"{half}, perhaps {nine}"
