"""What a job costs at each count of coats, what to ask for it, and what one more coat costs.

Every number is an exact decimal; measured quantities come in through ``exact``. Each line
is rounded to the cent by itself and totals add rounded lines, so that a bill adds up in
whatever order it is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import accumulate
from typing import NamedTuple

from showthrough.errors import InputError, ProblemList
from showthrough.workshop.limits import choice
from showthrough.workshop.price.money import Money, added, same_currency

KINDS = (
    "purchase",
    "materials",
    "hardware",
    "abrasives",
    "labour",
    "booth",
    "disposal",
    "delivery",
    "fees",
)
"""What money goes into; tax is reckoned on the price."""

MOST_MARGIN = Decimal("0.95")
MOST_MARKUP = Decimal(20)
MOST_TAX = Decimal(1)
_MINUTES = Decimal(60)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a bill, rounded to the cent.

    Raises:
        InputError: an unknown kind.
    """

    kind: str
    name: str
    money: Money
    each_coat: bool = False
    """Comes once for each coat."""

    def __post_init__(self) -> None:
        """Round once, here, and nowhere later."""
        with ProblemList() as wrong:
            choice(wrong, "kind", self.kind, KINDS)
        object.__setattr__(self, "money", self.money.rounded())


def labour(name: str, minutes: Decimal, rate_per_hour: Money, *, each_coat: bool = False) -> Line:
    """Bench minutes at a rate for the hour."""
    return Line("labour", name, rate_per_hour * (minutes / _MINUTES), each_coat)


def by_ml(
    name: str, ml: Decimal, can_ml: int, can_price: Money, *, each_coat: bool = False
) -> Line:
    """Materials at what was used of a can.

    Raises:
        InputError: the can holds nothing.
    """
    if can_ml <= 0:
        raise InputError.at("can_ml", can_ml, "a can must hold more than 0 ml", "out_of_range")
    return Line("materials", name, can_price * (ml / can_ml), each_coat)


class Bill(NamedTuple):
    """All lines of a job at one count of coats."""

    lines: tuple[Line, ...]
    currency: str

    @property
    def total(self) -> Money:
        """The sum of its rounded lines."""
        return added((line.money for line in self.lines), self.currency)


@dataclass(frozen=True, slots=True)
class Costs:
    """The lines of a job: once, for each coat, and for one count alone.

    Raises:
        InputError: two currencies, or no line at all.
    """

    lines: tuple[Line, ...]
    at_count: Mapping[int, tuple[Line, ...]] = field(default_factory=dict)
    """Lines that hang on the count otherwise than in proportion, such as cans opened; each
    count that is asked for must be there unless the mapping is empty."""

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        every = [*self.lines, *(line for lines in self.at_count.values() for line in lines)]
        with ProblemList() as wrong:
            if not every:
                wrong.add("lines", "none", "a bill needs at least one line", "missing")
            with wrong.collecting():
                same_currency(line.money for line in every)

    @property
    def currency(self) -> str:
        """The one currency of all lines."""
        first = self.lines or next(lines for lines in self.at_count.values() if lines)
        return first[0].money.currency

    def bill(self, coats: int) -> Bill:
        """The bill at a count of coats.

        Raises:
            InputError: a negative count, or one without lines of its own where others have.
        """
        if coats < 0 or (self.at_count and coats not in self.at_count):
            known = ", ".join(str(n) for n in sorted(self.at_count)) or "0 and up"
            message = f"nothing is known for {coats} coats; {known} works"
            raise InputError.at("coats", coats, message, "out_of_range")
        counted = (
            Line(line.kind, line.name, line.money * coats) if line.each_coat else line
            for line in self.lines
        )
        return Bill((*counted, *self.at_count.get(coats, ())), self.currency)

    def expected(self, chances: Mapping[int, Decimal]) -> Money:
        """E[cost] = sum of P(n) cost(n), rounded to the cent.

        Args:
            chances: exact chance of each count, adding up to exactly 1.

        Raises:
            InputError: the chances are not exact, negative, or do not add up.
        """
        _check_chances(chances)
        parts = (self.bill(n).total * chance for n, chance in chances.items())
        return added(parts, self.currency).rounded()

    def one_more_coat(self, coats: int) -> Money:
        """What the coat after so many costs."""
        return self.bill(coats + 1).total - self.bill(coats).total


def _check_chances(chances: Mapping[int, Decimal]) -> None:
    with ProblemList() as wrong:
        for n, chance in chances.items():
            if not isinstance(chance, Decimal):
                wrong.add(f"coats[{n}]", chance, "must be an exact decimal number", "not_a_number")
            elif not 0 <= chance <= 1:
                wrong.add(f"coats[{n}]", chance, "a chance is from 0 to 1", "out_of_range")
        if not wrong.problems and sum(chances.values(), Decimal(0)) != 1:
            total = sum(chances.values(), Decimal(0))
            wrong.add("coats", total, f"the chances add up to {total}; they must add up to 1")


@dataclass(frozen=True, slots=True)
class Pricing:
    """How a price follows from a cost: by a margin on the price or a markup on the cost.

    Raises:
        InputError: both, or a rate that is not an exact decimal within bounds.
    """

    margin: Decimal | None = None
    """Part of the price that stays: 0.4 is 40 %."""
    markup: Decimal | None = None
    """Part of the cost that is added: 0.4 is 40 %."""
    fee_rate: Decimal = Decimal(0)
    """Part of the price that somebody else takes for selling."""
    tax_rate: Decimal = Decimal(0)
    """Put on the price."""

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        with ProblemList() as wrong:
            if self.margin is not None and self.markup is not None:
                wrong.add("margin", self.margin, "give a margin or a markup, not both", "either")
            rates = (
                ("margin", self.margin, MOST_MARGIN),
                ("markup", self.markup, MOST_MARKUP),
                ("fee_rate", self.fee_rate, MOST_MARGIN),
                ("tax_rate", self.tax_rate, MOST_TAX),
            )
            for name, rate, most in rates:
                if rate is None:
                    continue
                if not isinstance(rate, Decimal) or not rate.is_finite():
                    wrong.add(name, rate, "must be an exact decimal number", "not_a_number")
                elif not 0 <= rate <= most:
                    wrong.add(
                        name, rate, f"{rate} cannot be: from 0 to {most} works", "out_of_range"
                    )
            if not wrong.problems and (self.margin or Decimal(0)) + self.fee_rate > MOST_MARGIN:
                told = f"margin and fee together leave too little: at most {MOST_MARGIN} works"
                wrong.add("fee_rate", self.fee_rate, told, "out_of_range")

    def price(self, cost: Money) -> Money:
        """The price before tax: C/(1-m-f) at a margin m, C(1+k)/(1-f) at a markup k.

        Args:
            cost: what the job costs.

        Returns:
            The price to the cent; without margin and markup the cost and the fee.
        """
        base = cost * (1 + (self.markup or Decimal(0)))
        left = 1 - self.fee_rate - (self.margin or Decimal(0))
        return Money(base.amount / left, base.currency).rounded()

    def tax(self, price: Money) -> Money:
        """Tax on a price, to the cent."""
        return (price * self.tax_rate).rounded()


class Clause(NamedTuple):
    """What a quote promises: so many coats, and the price of each further one."""

    covers: int
    further: Money

    def __str__(self) -> str:
        """The sentence of the quote."""
        coats = "1 topcoat" if self.covers == 1 else f"{self.covers} topcoats"
        return f"covers up to {coats} (9 in 10); each further one {self.further}"


def clause(costs: Costs, chances: Mapping[int, Decimal], pricing: Pricing) -> Clause:
    """The quote's clause: coats that nine jobs of ten need, and what each further one costs.

    The further coat is priced as the job is, and at no less than any coat before it: where
    cans are paid whole, the next coat may happen to need none.

    Args:
        costs: the job's lines, for one coat more than is covered too.
        chances: exact chance of each count, adding up to 1.
        pricing: margin or markup.

    Raises:
        InputError: the chances do not add up, or a count has no lines.
    """
    _check_chances(chances)
    order = sorted(chances)
    totals = accumulate(chances[n] for n in order)
    covers = next(n for n, total in zip(order, totals, strict=True) if total >= Decimal("0.9"))
    counts = [
        n for n in range(min(chances), covers + 1) if not costs.at_count or n in costs.at_count
    ]
    dearest = max((costs.one_more_coat(n) for n in counts), key=lambda money: money.amount)
    return Clause(covers, pricing.price(dearest))


def saving(without: Money, with_it: Money) -> Money:
    """What an undercoat or a softer colour saves: below 0 where it costs more."""
    return (without - with_it).rounded()
