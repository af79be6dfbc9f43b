"""Money: an exact decimal amount in one currency, kept as text beside it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from showthrough.errors import InputError, ProblemList
from showthrough.workshop.limits import is_number

PLACES = 2
"""Places of the smallest coin: hundredths. A currency without cents shows .00."""

MOST = Decimal(10) ** 9
"""Greatest amount; above it a figure is wrong."""

_CENT = Decimal(1).scaleb(-PLACES)
_CURRENCY = re.compile(r"[A-Z]{3}")


def _known(currency: object) -> bool:
    """Whether it may be a currency."""
    return isinstance(currency, str) and _CURRENCY.fullmatch(currency) is not None


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in a currency.

    Raises:
        InputError: the amount is no finite Decimal or absurd, or the currency is not three
            capital letters.
    """

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        sound = isinstance(self.amount, Decimal) and self.amount.is_finite()
        if sound and abs(self.amount) <= MOST and _known(self.currency):
            return
        with ProblemList() as wrong:
            if not isinstance(self.amount, Decimal) or not self.amount.is_finite():
                wrong.add("amount", self.amount, "must be an exact decimal number", "not_a_number")
            elif abs(self.amount) > MOST:
                wrong.add(
                    "amount", self.amount, f"must be at most {MOST:f} either way", "out_of_range"
                )
            if not _known(self.currency):
                wrong.add("currency", self.currency, "must be three capital letters, as EUR")

    def __add__(self, other: Money) -> Money:
        """The sum; both must have the same currency."""
        same_currency((self, other))
        return Money(self.amount + other.amount, self.currency)

    def __sub__(self, other: Money) -> Money:
        """The difference; both must have the same currency."""
        same_currency((self, other))
        return Money(self.amount - other.amount, self.currency)

    def __mul__(self, times: Decimal | int) -> Money:
        """A multiple, not yet rounded."""
        return Money(self.amount * times, self.currency)

    def rounded(self) -> Money:
        """To the cent, halves away from zero as bills have it (common practice, no source)."""
        return Money(self.amount.quantize(_CENT, ROUND_HALF_UP), self.currency)

    def __str__(self) -> str:
        """Amount to the cent, then the currency."""
        return f"{self.rounded().amount:f} {self.currency}"


_PRICE = re.compile(r"(\d{1,9}(?:[.,]\d{1,2})?)\s*([A-Za-z]{3})?")
_RATE = re.compile(r"(\d{1,4}(?:[.,]\d{1,6})?)\s*(%)?")


def read_price(value: Any, currency: str, field: str = "price") -> Money:
    """An amount of money as a painter writes it.

    Args:
        value: a number, or a text such as "12.50", "12,50" or "12.50 EUR".
        currency: that of a number without one; "" refuses such a number.
        field: its place, for messages.

    Raises:
        InputError: not an amount, negative, or of no known currency.
    """
    text = str(value) if is_number(value) else value
    match = _PRICE.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None:
        message = "is not an amount of money; 12.50, 12,50 or 12.50 EUR works"
        raise InputError.at(field, value, message, "not_a_number")
    own = match[2].upper() if match[2] else currency
    if not own:
        message = "the price has no currency; give one, as EUR, or write 12.50 EUR"
        raise InputError.at(field, value, message, "no_currency")
    return Money(Decimal(match[1].replace(",", ".")), own)


def read_rate(value: Any, field: str = "rate") -> Decimal:
    """A rate as a part of 1: 0.4, "0,4" and "40 %" are the same.

    Raises:
        InputError: not a rate.
    """
    text = str(value) if is_number(value) else value
    match = _RATE.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None:
        raise InputError.at(field, value, "is not a rate; 0.4 or 40% works", "not_a_number")
    found = Decimal(match[1].replace(",", "."))
    return found / 100 if match[2] else found


def same_currency(amounts: Iterable[Money], field: str = "currency") -> str:
    """The currency that all amounts share; "" for none.

    Raises:
        InputError: there are two or more.
    """
    found = dict.fromkeys(money.currency for money in amounts)
    if len(found) > 1:
        told = " and ".join(found)
        message = f"{told} cannot be added: state all prices in one currency"
        raise InputError.at(field, told, message, "two_currencies")
    return next(iter(found), "")


def added(amounts: Iterable[Money], currency: str) -> Money:
    """The exact sum, in any order; nothing is 0 of the currency.

    Raises:
        InputError: an amount has another currency.
    """
    listed = tuple(amounts)
    if any(money.currency != currency for money in listed):
        same_currency((Money(Decimal(0), currency), *listed))
    return Money(sum((money.amount for money in listed), Decimal(0)), currency)
