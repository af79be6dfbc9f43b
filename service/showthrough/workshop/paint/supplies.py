"""What is used up beside paint: wax, abrasives, thinner to clean with."""

from __future__ import annotations

import math
from dataclasses import dataclass

from showthrough.defaults import defaults_of
from showthrough.errors import ProblemList
from showthrough.workshop.limits import number, whole
from showthrough.workshop.size.area import MOST_AREA_M2

DEFAULTS = defaults_of("supplies")
"""What is taken where the painter does not say."""


@dataclass(frozen=True, slots=True)
class WaxNeed:
    """Wax for a surface, g."""

    likely_g: float
    most_g: float


def wax_g(area_m2: float, coats: int = 1) -> WaxNeed:
    """Wax for an area: the usual amount and the most that is usual.

    Raises:
        InputError: an area or a count out of range.
    """
    with ProblemList() as wrong:
        number(wrong, "area_m2", area_m2, 0.0, MOST_AREA_M2, "m2", above=True)
        whole(wrong, "coats", coats, 1, 12)
    usual = DEFAULTS["wax"]
    most = usual.value if usual.high is None else usual.high
    return WaxNeed(area_m2 * coats * usual.value, area_m2 * coats * most)


def abrasive_sheets(area_m2: float, grits: tuple[int, ...], times: int = 1) -> dict[int, int]:
    """Sheets of each grit for an area.

    Args:
        area_m2: what is sanded each time.
        grits: P grades, each used over the whole area.
        times: how often, for example between all coats.

    Raises:
        InputError: an area, a count or a grade out of range (P12 to P5000, ISO 6344-2, -3).
    """
    with ProblemList() as wrong:
        number(wrong, "area_m2", area_m2, 0.0, MOST_AREA_M2, "m2", above=True)
        whole(wrong, "times", times, 0, 50)
        for place, grit in enumerate(grits, 1):
            whole(wrong, f"grits[{place}]", grit, 12, 5000)
    sheets = math.ceil(area_m2 * times / DEFAULTS["sheet"].value - 1e-9)
    return dict.fromkeys(grits, sheets)
