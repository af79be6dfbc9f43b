"""Exact money: sums, shares, currencies, and no float anywhere."""

from __future__ import annotations

import ast
import random
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import showthrough.workshop.price.cost as cost_room
import showthrough.workshop.price.money as money_room
from showthrough.errors import InputError
from showthrough.workshop.price.cost import (
    Costs,
    Line,
    Pricing,
    by_ml,
    clause,
    labour,
    saving,
)
from showthrough.workshop.price.exact import exact, exact_chances
from showthrough.workshop.price.money import Money, added, same_currency

amounts = st.decimals(-10_000, 10_000, places=4)
rates = st.decimals(0, "0.9", places=3)


def eur(text):
    return Money(Decimal(text), "EUR")


CHANCES = {3: Decimal("0.2"), 4: Decimal("0.7"), 5: Decimal("0.1")}
JOB = Costs(
    (
        Line("purchase", "cupboard", eur(60)),
        labour("preparation", Decimal(90), eur(30)),
        labour("coats", Decimal(35), eur(30), each_coat=True),
        by_ml("topcoat", Decimal("131.538"), 750, eur("21.90"), each_coat=True),
        Line("hardware", "handles", eur("18.40")),
        Line("abrasives", "sheets", eur("7.77")),
        Line("booth", "booth", eur("5.005"), each_coat=True),
        Line("disposal", "disposal", eur("2.50")),
        Line("delivery", "delivery", eur("25")),
        Line("fees", "market", eur("3")),
    )
)


# --- definitions -----------------------------------------------------------------------


def test_a_margin_of_40_percent_and_a_markup_of_40_percent():
    # Source: definitions: C/(1-m) and C(1+k).
    assert Pricing(margin=Decimal("0.40")).price(eur(240)) == eur("400.00")
    assert Pricing(markup=Decimal("0.40")).price(eur(240)) == eur("336.00")
    assert Pricing().price(eur(240)) == eur("240.00")


@given(st.decimals(1, 5000, places=2), rates, st.decimals(0, "0.05", places=3))
def test_of_a_price_the_margin_stays_when_cost_and_fee_are_paid(cost, margin, fee):
    price = Pricing(margin=margin, fee_rate=fee).price(Money(cost, "EUR")).amount
    stays = price - cost - price * fee
    assert abs(stays - price * margin) <= Decimal("0.01")


@given(st.decimals(1, 5000, places=2), rates)
def test_a_markup_is_the_margin_seen_from_the_cost(cost, margin):
    by_margin = Pricing(margin=margin).price(Money(cost, "EUR"))
    by_markup = Pricing(markup=margin / (1 - margin)).price(Money(cost, "EUR"))
    assert abs((by_margin - by_markup).amount) <= Decimal("0.01")


def by_kind(bill):
    """The money of each kind's lines."""
    found = {}
    for line in bill.lines:
        found.setdefault(line.kind, []).append(line.money)
    return found


def test_a_bill_by_hand():
    bill = JOB.bill(4)
    kinds = {kind: str(added(money, "EUR")) for kind, money in by_kind(bill).items()}
    assert kinds == {
        "purchase": "60.00 EUR",
        "materials": "15.36 EUR",  # 131.538/750 x 21.90 = 3.84 to the cent, four times
        "hardware": "18.40 EUR",
        "abrasives": "7.77 EUR",
        "labour": "115.00 EUR",  # 45 + 4 x 17.50
        "booth": "20.04 EUR",  # 5.005 is 5.01 each
        "disposal": "2.50 EUR",
        "delivery": "25.00 EUR",
        "fees": "3.00 EUR",
    }
    assert bill.total == eur("267.07")
    assert JOB.one_more_coat(4) == eur("26.35")
    assert JOB.expected(CHANCES) == eur(
        "264.44"
    )  # 240.72 x .2 + 267.07 x .7 + 293.42 x .1 = 264.435


def cans(opened, price):
    return Line("materials", "topcoat", eur(price) * opened)


def test_cans_opened_and_paint_used_are_two_ways_to_count():
    opened = Costs(
        (Line("purchase", "chair", eur(10)),),
        {n: (cans(1 if n < 3 else 2, "21.90"),) for n in range(1, 5)},
    )
    assert opened.one_more_coat(1) == eur("0.00")
    assert opened.one_more_coat(2) == eur("21.90")
    with pytest.raises(InputError, match="1, 2, 3, 4 works"):
        opened.bill(9)


def test_the_clause_of_a_quote():
    text = str(clause(JOB, CHANCES, Pricing(margin=Decimal("0.40"))))
    assert text == "covers up to 4 topcoats (9 in 10); each further one 43.92 EUR"
    unsure = clause(JOB, {1: Decimal(1)}, Pricing())
    assert str(unsure) == "covers up to 1 topcoat (9 in 10); each further one 26.35 EUR"
    opened = Costs((), {n: (cans(-(-n // 2), 20),) for n in range(1, 5)})
    # The fourth coat needs no can, but the one before did: the quote never gives it away.
    assert clause(opened, {2: Decimal("0.5"), 3: Decimal("0.5")}, Pricing()).further == eur("20.00")


def test_savings():
    assert saving(eur("300"), eur("260.5")) == eur("39.50")
    assert saving(eur("260"), eur("300")).amount < 0


def test_tax_is_rounded_once_on_the_price():
    assert Pricing(tax_rate=Decimal("0.19")).tax(eur("33.33")) == eur("6.33")


# --- laws ------------------------------------------------------------------------------


@given(st.lists(amounts, max_size=30), st.randoms())
def test_a_bill_adds_up_to_the_cent_in_any_order(listed, rng):
    lines = [Line("materials", str(i), Money(a, "EUR")) for i, a in enumerate(listed)]
    mixed = lines[:]
    rng.shuffle(mixed)
    total = added((line.money for line in lines), "EUR")
    assert total == added((line.money for line in mixed), "EUR")
    assert total == total.rounded()
    if lines:
        bill = Costs(tuple(mixed)).bill(3)
        assert bill.total == total


@given(st.dictionaries(st.integers(1, 12), st.floats(0.0, 1.0), min_size=1))
def test_chances_become_decimals_that_add_up_to_one(chances):
    if sum(chances.values()) < 1e-6:
        return
    found = exact_chances(chances)
    assert sum(found.values()) == 1
    for n, chance in chances.items():
        assert float(found[n]) == pytest.approx(chance / sum(chances.values()), abs=1e-5)


def test_the_expected_cost_is_a_mean_of_bills():
    rng = random.Random(3)  # noqa: S311 - no secret
    draws = rng.choices(list(CHANCES), [float(c) for c in CHANCES.values()], k=20_000)
    costs = {n: float(JOB.bill(n).total.amount) for n in CHANCES}
    mean = sum(costs[n] for n in draws) / len(draws)
    assert float(JOB.expected(CHANCES).amount) == pytest.approx(mean, abs=0.5)


# --- no float --------------------------------------------------------------------------


def leaves(value):
    if is_dataclass(value):
        for field in fields(value):
            yield from leaves(getattr(value, field.name))
    elif isinstance(value, Mapping):
        for key, one in value.items():
            yield from leaves(key)
            yield from leaves(one)
    elif isinstance(value, tuple | list):
        for one in value:
            yield from leaves(one)
    else:
        yield value


def test_no_value_that_money_passes_through_is_a_float():
    pricing = Pricing(margin=Decimal("0.4"), tax_rate=Decimal("0.19"))
    answers = (
        JOB,
        JOB.bill(4),
        JOB.bill(4).total,
        JOB.bill(4).lines,
        JOB.expected(CHANCES),
        pricing,
        pricing.price(eur(240)),
        pricing.tax(eur(240)),
        clause(JOB, CHANCES, pricing),
        exact_chances({1: 0.3, 2: 0.7}),
    )
    kinds = {type(leaf) for leaf in leaves(answers)}
    assert Decimal in kinds
    assert kinds <= {Decimal, str, int, bool, type(None)}


@pytest.mark.parametrize("room", [cost_room, money_room])
def test_no_float_is_written_or_named_where_money_is_reckoned(room):
    tree = ast.parse(Path(room.__file__).read_text(encoding="utf-8"))
    floats = [
        n.value
        for n in ast.walk(tree)
        if isinstance(n, ast.Constant) and isinstance(n.value, float)
    ]
    names = [n.id for n in ast.walk(tree) if isinstance(n, ast.Name) and n.id in {"float", "math"}]
    assert floats == names == []


# --- what cannot be --------------------------------------------------------------------


def test_two_currencies_are_refused():
    with pytest.raises(InputError, match="EUR and USD cannot be added"):
        Costs((Line("fees", "a", eur(1)), Line("fees", "b", Money(Decimal(1), "USD"))))
    with pytest.raises(InputError):
        _ = eur(1) + Money(Decimal(1), "USD")
    with pytest.raises(InputError):
        _ = eur(1) - Money(Decimal(1), "USD")
    assert same_currency([]) == ""


@pytest.mark.parametrize(
    "amount", [1.5, "1.5", Decimal("NaN"), Decimal("Infinity"), Decimal("1e12")]
)
def test_an_amount_is_a_finite_decimal(amount):
    with pytest.raises(InputError) as caught:
        Money(amount, "euro")
    assert [p.field for p in caught.value.problems] == ["amount", "currency"]


def test_the_greatest_amount_works_and_a_cent_more_does_not():
    # Own limit: a billion.
    assert Money(Decimal("1e9"), "EUR").amount == 10**9
    with pytest.raises(InputError, match="amount"):
        Money(Decimal("1000000000.01"), "EUR")


def test_rates_out_of_range_are_told_at_once():
    with pytest.raises(InputError) as caught:
        Pricing(margin=Decimal(1), markup=0.4, fee_rate=Decimal(-1), tax_rate=Decimal("NaN"))
    fields_told = [p.field for p in caught.value.problems]
    assert fields_told == ["margin", "margin", "markup", "fee_rate", "tax_rate"]
    with pytest.raises(InputError, match="leave too little"):
        Pricing(margin=Decimal("0.9"), fee_rate=Decimal("0.1"))


def test_chances_that_are_not_exact_or_do_not_add_up_are_refused():
    for chances in ({3: 1.0}, {3: Decimal("0.5")}, {3: Decimal(-1), 4: Decimal(2)}, {}):
        with pytest.raises(InputError):
            JOB.expected(chances)
        with pytest.raises(InputError):
            clause(JOB, chances, Pricing())
    for chances in ({}, {1: 0.0}, {1: -0.5, 2: 1.5}, {1: float("nan")}):
        with pytest.raises(InputError):
            exact_chances(chances)


def test_lines_and_numbers_that_cannot_be_are_refused():
    with pytest.raises(InputError, match="not known"):
        Line("bribes", "x", eur(1))
    with pytest.raises(InputError, match="at least one line"):
        Costs(())
    for can_ml in (0, -750):
        with pytest.raises(InputError, match="more than 0 ml"):
            by_ml("x", Decimal(1), can_ml, eur(1))
    for value in (float("inf"), True, None, "one", 10**30):
        with pytest.raises(InputError, match="finite number"):
            exact(value)
    assert exact("1.23456", 2) == Decimal("1.23")
    assert exact(0.1 + 0.2, 6) == Decimal("0.300000")
