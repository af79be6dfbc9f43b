"""What the job costs at each count of topcoats, what to ask for it, and what a coat more costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from showthrough.jobs.bench.days import Lot, minutes_of
from showthrough.jobs.bench.products import Materials, Product
from showthrough.jobs.case.bench import Bench, Prices
from showthrough.workshop.days.steps import count_at
from showthrough.workshop.paint.cans import Shopping, cheapest_cans
from showthrough.workshop.paint.quantity import Amounts
from showthrough.workshop.price.cost import Costs, Line, by_ml, labour
from showthrough.workshop.price.exact import exact, exact_chances
from showthrough.workshop.price.money import Money

_NOTHING = Decimal(0)


@dataclass(frozen=True)
class Reckoning:
    """A job in money, by the count of topcoats of its largest lot."""

    costs: Costs
    chances: Mapping[int, Decimal]
    prices: Prices
    likely: int
    without_price: tuple[str, ...]
    """What is used up that no price is known of: the cost lacks it."""

    @cached_property
    def expected(self) -> Money:
        """E[cost], the mean over all counts."""
        return self.costs.expected(self.chances)

    @cached_property
    def price(self) -> Money:
        """What to ask, before tax."""
        return self.prices.pricing.price(self.expected)

    def total_at(self, topcoats: int) -> Money | None:
        """What it costs at a count of topcoats; None for one that is never laid."""
        if topcoats not in self.costs.at_count:
            return None
        return self.costs.bill(topcoats).total.rounded()


def costs_of(
    lots: Sequence[Lot],
    main: int,
    materials: Materials,
    shopping: Mapping[str, Shopping | None],
    bench: Bench,
) -> Reckoning | None:
    """The job in money; None where the job knows no price at all.

    All counts move together: where the largest lot takes more coats than is likely, so do the
    others, each by its own chances.

    Args:
        lots: groups that go through the same steps together.
        main: place of the largest lot, whose count of topcoats the bill goes by.
        materials: what is used up.
        shopping: what is bought, by product.
        bench: prices and the room.
    """
    prices = bench.prices
    if prices is None or not prices.currency:
        return None
    counts = lots[main].counts
    rising, before = {}, 0.0
    for n in sorted(counts):
        rising[n] = before + 0.5 * counts[n]  # the middle of the jobs that take n
        before += counts[n]
    every = range(min(counts), max(counts) + 2)
    once = _once(materials, shopping, prices)
    varying = [product for product in materials.products if "topcoat" in product.kinds]
    minutes = [minutes_of(lot, bench) for lot in lots]
    lines = {}
    used: dict[str, float] = {}
    for n in every:
        each = [
            n if i == main else count_at(lot.counts, rising.get(n, 1.0))
            for i, lot in enumerate(lots)
        ]
        of_group = {g: count for lot, count in zip(lots, each, strict=True) for g in lot.groups}
        for product in varying:
            now = sum(_ml_at(of_group[g], own) for g, own in product.by_group.items())
            # One more coat never takes less: a thin hand may need more coats of less paint.
            used[product.name] = max(now, used.get(product.name, 0.0))
        lines[n] = (
            *once,
            *_materials(varying, used, shopping, prices),
            *_labour(sum(m(count) for m, count in zip(minutes, each, strict=True)), prices),
        )
    if not any(lines.values()):
        return None
    likely = count_at(counts, 0.5)
    return Reckoning(
        Costs((), lines),
        exact_chances(dict(counts)),
        prices,
        likely,
        _without_price(materials, prices),
    )


def _once(
    materials: Materials, shopping: Mapping[str, Shopping | None], prices: Prices
) -> list[Line]:
    """Lines that do not hang on the count of topcoats."""
    out = [Line(kind, kind, money) for kind, money in prices.once.items()]
    fixed = [product for product in materials.products if "topcoat" not in product.kinds]
    used = {product.name: product.amounts.ml_at(0.5) or 0.0 for product in fixed}
    out += _materials(fixed, used, shopping, prices)
    if prices.sheet is not None and materials.sheets:
        out.append(Line("abrasives", "abrasives", prices.sheet * sum(materials.sheets.values())))
    return out


def _labour(minutes: int, prices: Prices) -> list[Line]:
    if prices.labour_per_hour is None:
        return []
    return [labour("bench time", Decimal(minutes), prices.labour_per_hour)]


def _materials(
    products: Sequence[Product],
    used: Mapping[str, float],
    shopping: Mapping[str, Shopping | None],
    prices: Prices,
) -> list[Line]:
    found = (_material(p, used[p.name], shopping.get(p.name), prices) for p in products)
    return [line for line in found if line is not None]


def _material(
    product: Product, used: float, bought: Shopping | None, prices: Prices
) -> Line | None:
    """One product by what is used of it: cans opened, or paint by the millilitre."""
    cans = product.stock.cans
    if not product.to_buy or not cans or cans[0].price is None:
        return None
    if not prices.whole_cans:
        large = max(cans, key=lambda can: can.size_ml)
        assert large.price is not None
        return by_ml(product.name, exact(used), large.size_ml, large.price)
    money, have = Money(_NOTHING, prices.currency), sum(product.stock.shelf_ml)
    if bought is not None:
        money, have = bought.cans.price or money, have + bought.cans.ml
    if used > have:
        # More coats than the cans were bought for: the cheapest that is still missing.
        more = cheapest_cans(used - have, cans).price
        money = money if more is None else money + more
    return Line("materials", product.name, money)


def _ml_at(n: int, amounts: Amounts) -> float:
    """Mean paint of a group where it takes n topcoats."""
    found = amounts.mean_ml(n)
    if found is None:
        found = n * (amounts.coat_ml_at((0.5,)) or (0.0,))[0]
    return found


def _without_price(materials: Materials, prices: Prices) -> tuple[str, ...]:
    """What the job uses up that no price is known of, and that its cost therefore lacks."""
    paints = (
        (product.name, product.to_buy and not (product.stock.cans and product.stock.cans[0].price))
        for product in materials.products
    )
    others = (
        ("wax", materials.wax is not None),
        ("abrasives", prices.sheet is None and bool(materials.sheets)),
        ("bench time", prices.labour_per_hour is None),
    )
    return tuple(name for name, lacks in (*paints, *others) if lacks)
