"""Sentences of the whole job: area, paint, days and money."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from showthrough.say.chances import listed

if TYPE_CHECKING:
    from showthrough.jobs.bench.case import Case
    from showthrough.jobs.case.bench import Bench
    from showthrough.workshop.paint.cans import Shopping

NO_PRICE = (
    "No price is known, so there is no money here: say what a can costs, or money.labour_per_hour."
)

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
    return " ".join(
        f"{listed(names).replace('“', '').replace('”', '').capitalize()}: {line}"
        for line, names in alike.items()
    )


def no_count(name: str, line: str, *, single: bool) -> str:
    """Why there is neither paint nor days nor money."""
    where = "" if single else f"“{name}”: "
    return f"{where}{line} Until then there is no amount of paint, no date and no price."


def product_advice(
    bought: Shopping | None, *, to_buy: bool, shelf_known: bool, keep_ml: float
) -> list[str]:
    """What to do with the cans of one product."""
    if not to_buy:
        return [] if shelf_known else ["See how much of it is left before you count on it."]
    if bought is None:
        return ["No amount suffices with that chance: another tool or colour first."]
    out = []
    if bought.mix_together:
        out.append("Mix the tins together before the last coat: batches differ.")
    if keep_ml and bought.leftover_ml >= keep_ml:
        out.append(f"Keep {keep_ml:g} ml for repairs.")
    return out


def area_words(m2: float, units: str) -> str:
    """An area as the painter measures it."""
    return f"{m2 * FT2_PER_M2:.0f} ft2" if units == "us" else f"{m2:.2f} m2"


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
    out = []
    if not all(case.part.area_stated for case in cases):
        out.append("No area was said: amounts, minutes and money are for 1 m2. Measure the piece.")
    sprayed = any(c.part.tool in {"hvlp", "conventional", "aerosol"} for c in cases)
    if sprayed and not all(case.part.openness_stated for case in cases):
        out.append(
            "How open the piece is was not said: a flat panel is taken; a carcass takes up less "
            "of the spray, a chair far less."
        )
    if not bench.climate_stated:
        out.append("The room is taken to be at 23 degC and 50 % relative humidity, as on labels.")
    if not bench.hours_stated:
        out.append(
            "Working hours are taken to be Monday to Friday, 8 to 12 and 13 to 17 "
            f"({bench.hours.zone}): a default."
        )
    if bench.start is None:
        out.append("No start was said: work begins now.")
    if not bench.wished_stated:
        out.append(f"Cans are chosen to suffice in {bench.wished:.0%} of jobs: a default.")
    if any(not case.part.stock.cans for case in cases):
        out.append("Can sizes not said are usual ones; ask what the shop has.")
    return out
