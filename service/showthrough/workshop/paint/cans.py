"""Which cans to buy: what suffices with a chance, at the least price, shelf first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from showthrough.defaults import defaults_of
from showthrough.errors import ProblemList
from showthrough.workshop.limits import number, whole
from showthrough.workshop.paint.quantity import Amounts
from showthrough.workshop.price.money import Money, added, same_currency

DEFAULTS = defaults_of("cans")
"""What is taken where the painter does not say."""

Counts = NDArray[np.int64]

MOST_ML = 200_000.0
MOST_SIZES = 12
MOST_PRICE = 100_000
MOST_TOLD = 12
"""Numbers of equal cans whose chance is told."""

_PRICE_STEPS = 10_000
"""Prices are compared in ten-thousandths, so that they stay whole numbers."""


@dataclass(frozen=True, slots=True)
class Can:
    """A size that a shop sells.

    Raises:
        InputError: the size is not from 10 ml to 100 l in whole ml, or the price is absurd.
    """

    size_ml: int
    price: Money | None = None

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        with ProblemList() as wrong:
            whole(wrong, "size_ml", self.size_ml, 10, 100_000)
            if self.price is not None and not 0 <= self.price.amount <= MOST_PRICE:
                told = f"{self.price} cannot be the price of a can: 0 to {MOST_PRICE} works"
                wrong.add("price", self.price.amount, told, "out_of_range")


class CanSet(NamedTuple):
    """Cans bought together."""

    counts: tuple[tuple[int, int], ...]
    """Size in ml and number, largest first; sizes of which none is bought are left out."""
    ml: int
    """What they hold together."""
    price: Money | None
    """What they cost together; None where prices are not known."""


class Shopping(NamedTuple):
    """What to take from the shelf and what to buy for one product."""

    ml_50: float
    """Paint that is enough with chance 0.5, ml."""
    ml_90: float | None
    """The same for 0.9; None where no amount is."""
    wanted_ml: float
    """The same for the wished chance, which decides the cans."""
    from_shelf_ml: float
    """What of it the shelf gives."""
    cans: CanSet
    chance: float
    """Chance that shelf and cans together suffice."""
    leftover_ml: float
    """Left over where the median amount is used, shelf included."""
    mix_together: bool
    """Several tins: mix them together before the last coat, batches differ."""


def check_cans(cans: Sequence[Can]) -> str:
    """The currency of some sizes ("" without prices), after all checks.

    Raises:
        InputError: no or too many sizes, a size twice, some with and some without a price,
            or two currencies.
    """
    with ProblemList() as wrong:
        if not 1 <= len(cans) <= MOST_SIZES:
            wrong.add("cans", len(cans), f"from 1 to {MOST_SIZES} sizes work")
        sizes = [can.size_ml for can in cans]
        for size in sorted({size for size in sizes if sizes.count(size) > 1}):
            wrong.add("cans", size, f"the size {size} ml stands {sizes.count(size)} times")
        priced = [can.price for can in cans if can.price is not None]
        if priced and len(priced) < len(cans):
            bare = ", ".join(f"{can.size_ml} ml" for can in cans if can.price is None)
            wrong.add("cans", bare, f"give all sizes a price or none; {bare} has none")
        currency = ""
        with wrong.collecting("cans"):
            currency = same_currency(priced)
    return currency


def cheapest_cans(need_ml: float, cans: Sequence[Can]) -> CanSet:
    """The cheapest set that holds an amount: exact, any number of each size.

    Of equally cheap sets the one with fewest cans is taken, then the one with least left
    over. Without prices the least paint decides, then the fewest cans.

    Args:
        need_ml: what they must hold at least; 0 or less buys nothing.
        cans: sizes, with prices or without.

    Raises:
        InputError: see ``check_cans``; or more than 200 l are needed.

    Source:
        Dynamic programming over the exact contents (unbounded knapsack), in steps of the
        greatest common divisor of the sizes.
    """
    currency = check_cans(cans)
    with ProblemList() as wrong:
        number(wrong, "need_ml", need_ml, -MOST_ML, MOST_ML, "ml")
    if need_ml <= 0.0:
        return CanSet((), 0, added((), currency) if currency else None)
    step = math.gcd(*(can.size_ml for can in cans))
    return _cheapest(math.ceil(need_ml / step - 1e-9), step, tuple(cans), currency)


@lru_cache(maxsize=1024)
def _cheapest(need: int, step: int, cans: tuple[Can, ...], currency: str) -> CanSet:
    """The cheapest set that holds some whole steps; one job asks for few different ones."""
    sizes = [can.size_ml // step for can in cans]
    top = need + max(sizes)
    most_cans = top // min(sizes) + 1
    # Price first, then the number of cans, in one whole number.
    costs = [_price_steps(can) * most_cans + 1 for can in cans]
    few = top * len(sizes) < _FEW_TRIALS
    key, last = (_one_by_one if few else _in_chunks)(top, sizes, costs)
    held = need + int(np.argmin(np.asarray(key[need:])))  # the first of equals holds least
    bought: dict[int, int] = {}
    at = held
    while at > 0:
        can = int(last[at])
        bought[cans[can].size_ml] = bought.get(cans[can].size_ml, 0) + 1
        at -= sizes[can]
    price_of = {can.size_ml: can.price for can in cans}
    paid = [one * n for size, n in bought.items() if (one := price_of[size]) is not None]
    return CanSet(
        tuple(sorted(bought.items(), reverse=True)),
        held * step,
        added(paid, currency) if currency else None,
    )


_FEW_TRIALS = 4_000
"""Up to here plain numbers are quicker than arrays."""

_NEVER = int(np.iinfo(np.int64).max // 4)


def _one_by_one(top: int, sizes: list[int], costs: list[int]) -> tuple[list[int], list[int]]:
    """Least cost of each exact content up to ``top``, and the can that was put in last."""
    key, last = [0] + [_NEVER] * top, [-1] * (top + 1)
    for content in range(1, top + 1):
        for i, (size, cost) in enumerate(zip(sizes, costs, strict=True)):
            if size <= content and (tried := key[content - size] + cost) < key[content]:
                key[content], last[content] = tried, i
    return key, last


def _in_chunks(top: int, sizes: list[int], costs: list[int]) -> tuple[Counts, Counts]:
    """The same, as many contents at once as the smallest can holds: they hang on earlier ones."""
    key = np.full(top + 1, _NEVER, dtype=np.int64)
    last = np.full(top + 1, -1, dtype=np.int64)
    key[0] = 0
    chunk = min(sizes)
    for start in range(1, top + 1, chunk):
        stop = min(start + chunk, top + 1)
        for i, (size, cost) in enumerate(zip(sizes, costs, strict=True)):
            begin = max(start, size)
            if begin >= stop:
                continue
            tried = key[begin - size : stop - size] + cost
            better = (tried < key[begin:stop]) & (key[begin - size : stop - size] < _NEVER)
            key[begin:stop][better] = tried[better]
            last[begin:stop][better] = i
    return key, last


def _price_steps(can: Can) -> int:
    """What a can costs in whole steps; its content where no price is known."""
    if can.price is None:
        return can.size_ml
    return int((can.price.amount * _PRICE_STEPS).to_integral_value())


def can_chances(amounts: Amounts, size_ml: int, shelf_ml: float = 0.0) -> dict[int, float]:
    """Chance that 1, 2, 3, ... cans of one size suffice, until 0.99 or 12 cans.

    Args:
        amounts: joint draws of the paint needed.
        size_ml: content of one can.
        shelf_ml: paint that is there already.
    """
    found: dict[int, float] = {}
    for n in range(1, MOST_TOLD + 1):
        found[n] = amounts.chance(shelf_ml + n * size_ml)
        if found[n] >= 0.99:
            break
    return found


def shop(
    amounts: Amounts,
    cans: Sequence[Can],
    *,
    wished: float = DEFAULTS["wished chance"].value,
    shelf_ml: Sequence[float] = (),
) -> Shopping | None:
    """What to buy of one product so that it suffices with a wished chance, shelf first.

    Args:
        amounts: joint draws of the paint needed.
        cans: sizes that the shop sells.
        wished: chance that is wanted, 0.5 to 0.99.
        shelf_ml: what each opened or full tin on the shelf still holds.

    Returns:
        The purchase; None where no amount of paint suffices with that chance.

    Raises:
        InputError: everything that is wrong with cans, chance and shelf, by field.
    """
    with ProblemList() as wrong:
        number(wrong, "wished", wished, 0.5, 0.99)
        for place, ml in enumerate(shelf_ml, 1):
            number(wrong, f"shelf[{place}]", ml, 0.0, MOST_ML, "ml")
        with wrong.collecting():
            check_cans(cans)
    half, wanted = amounts.ml_at(0.5), amounts.ml_at(wished)
    if half is None or wanted is None:
        return None
    there = math.fsum(shelf_ml)
    bought = cheapest_cans(wanted - there, cans)
    have = there + bought.ml
    tins = sum(1 for ml in shelf_ml if ml > 0.0) + sum(n for _, n in bought.counts)
    return Shopping(
        ml_50=half,
        ml_90=amounts.ml_at(0.9),
        wanted_ml=wanted,
        from_shelf_ml=min(there, wanted),
        cans=bought,
        chance=amounts.chance(have),
        leftover_ml=max(have - half, 0.0),
        mix_together=tins > 1,
    )
