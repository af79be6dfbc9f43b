"""What the job costs at each count of topcoats, what to ask for it, and what a coat more costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from showthrough.film.coats import MOST_COATS
from showthrough.jobs.bench.days import Lot, minutes_at
from showthrough.jobs.bench.products import Materials, Product
from showthrough.jobs.case.bench import Bench, Prices
from showthrough.workshop.paint.cans import Shopping, cheapest_cans
from showthrough.workshop.price.cost import Bill, Clause, Costs, Line, by_ml, clause, labour
from showthrough.workshop.price.exact import exact, exact_chances
from showthrough.workshop.price.money import Money

_NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class Reckoning:
    """A job in money, by the count of topcoats of its largest lot."""

    costs: Costs
    chances: Mapping[int, Decimal]
    prices: Prices
    likely: int

    @property
    def expected(self) -> Money:
        """E[cost], the mean over all counts."""
        return self.costs.expected(self.chances)

    @property
    def bill(self) -> Bill:
        """The lines at the likely count."""
        return self.costs.bill(self.likely)

    @property
    def price(self) -> Money:
        """What to ask, before tax."""
        return self.prices.pricing.price(self.expected)

    @property
    def tax(self) -> Money:
        """Tax on it."""
        return self.prices.pricing.tax(self.price)

    @property
    def one_more_coat(self) -> Money:
        """What the coat after the likely count costs."""
        return self.costs.one_more_coat(self.likely)

    @property
    def clause(self) -> Clause:
        """What a quote promises."""
        return clause(self.costs, self.chances, self.prices.pricing)


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
    least = min(counts)
    most = min(max(counts), MOST_COATS) + 1
    lines = {
        n: tuple(
            _lines(
                n,
                {
                    i: n if i == main else lot.count_at(rising.get(n, 1.0))
                    for i, lot in enumerate(lots)
                },
                lots,
                materials,
                shopping,
                bench,
                prices,
            )
        )
        for n in range(least, most + 1)
    }
    if not any(lines.values()):
        return None
    likely = lots[main].count_at(0.5)
    return Reckoning(Costs((), lines), exact_chances(dict(counts)), prices, likely)


def _lines(
    n: int,
    each: Mapping[int, int],
    lots: Sequence[Lot],
    materials: Materials,
    shopping: Mapping[str, Shopping | None],
    bench: Bench,
    prices: Prices,
) -> list[Line]:
    out = [Line(kind, kind, money) for kind, money in prices.once.items()]
    for product in materials.products:
        line = _material(n, product, shopping.get(product.name), prices)
        if line is not None:
            out.append(line)
    if prices.sheet is not None and materials.sheets:
        out.append(Line("abrasives", "abrasives", prices.sheet * sum(materials.sheets.values())))
    if prices.labour_per_hour is not None:
        minutes = Decimal(minutes_at(lots, bench, each))
        out.append(labour("bench time", minutes, prices.labour_per_hour))
    return out


def _material(n: int, product: Product, bought: Shopping | None, prices: Prices) -> Line | None:
    """One product at a count of topcoats: cans opened, or paint by the millilitre."""
    cans = product.stock.cans
    if not product.to_buy or not cans or cans[0].price is None:
        return None
    used = _ml_at(n, product)
    if used is None:
        return None
    nothing = Money(_NOTHING, prices.currency)
    if not prices.whole_cans:
        dear = max(cans, key=lambda can: can.size_ml)
        assert dear.price is not None
        return by_ml(product.name, exact(used), dear.size_ml, dear.price)
    money, have = nothing, sum(product.stock.shelf_ml)
    if bought is not None:
        money, have = bought.cans.price or nothing, have + bought.cans.ml
    if used > have:
        # More coats than the cans were bought for: the cheapest that is still missing.
        money += cheapest_cans(used - have, cans).price or nothing
    return Line("materials", product.name, money)


def _ml_at(n: int, product: Product) -> float | None:
    """Mean paint where the job takes n topcoats."""
    if "topcoat" not in product.kinds:
        return product.amounts.ml_at(0.5)
    found = product.amounts.mean_ml(n)
    if found is None:
        coat = product.amounts.coat_ml_at(0.5)
        found = None if coat is None else n * coat
    return found
