"""Cans: the cheapest set against trying all, chances, and the shelf."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reference.brute_cans import cheapest
from showthrough.errors import InputError
from showthrough.workshop.paint.cans import (
    Can,
    _in_chunks,
    _one_by_one,
    can_chances,
    cheapest_cans,
    shop,
)
from showthrough.workshop.paint.quantity import (
    Coating,
    PatchHiding,
    amounts_for_counts,
    amounts_to_hide,
)
from showthrough.workshop.price.money import Money


def eur(text):
    return Money(Decimal(text), "EUR")


SHOP = (Can(250, eur("9.50")), Can(750, eur("21.90")), Can(2500, eur("58.00")))
DRAWN = amounts_to_hide(Coating(1.9, "hvlp", wet_film_um=45.0), (PatchHiding(43.0),))


@given(
    st.floats(1.0, 3000.0),
    st.lists(
        st.tuples(st.integers(200, 1500), st.integers(1, 3000)),
        min_size=1,
        max_size=4,
        unique_by=lambda row: row[0],
    ),
)
def test_the_set_is_the_cheapest_of_all_sets(need, rows):
    cans = [Can(ml, Money(Decimal(cents) / 100, "EUR")) for ml, cents in rows]
    found = cheapest_cans(need, cans)
    price, number, ml = cheapest(need, [(ml, Decimal(cents) / 100) for ml, cents in rows])
    assert (found.price.amount, sum(n for _, n in found.counts), found.ml) == (price, number, ml)
    assert sum(size * n for size, n in found.counts) == found.ml


@given(
    st.floats(1.0, 3000.0), st.lists(st.integers(200, 1500), min_size=1, max_size=4, unique=True)
)
def test_without_prices_the_least_paint_then_the_fewest_cans_decide(need, sizes):
    found = cheapest_cans(need, [Can(ml) for ml in sizes])
    price, number, ml = cheapest(need, [(ml, ml) for ml in sizes])
    assert (found.ml, sum(n for _, n in found.counts), found.price) == (price, number, None)
    assert found.ml == ml


def test_a_large_need_in_awkward_sizes_is_solved_exactly():
    # By hand: 26 x 3785 = 98410 holds all but 1590, for which two quarts cost less than a gallon.
    cans = [Can(946, eur("20")), Can(3785, eur("60"))]
    found = cheapest_cans(100_000.0, cans)
    assert found.counts == ((3785, 26), (946, 2))
    assert found.price == eur("1600")


def test_equal_prices_take_the_fewest_cans():
    found = cheapest_cans(1000.0, [Can(250, eur("5")), Can(500, eur("10")), Can(1000, eur("20"))])
    assert found.counts == ((1000, 1),)


def test_chances_of_one_two_three_cans_rise_to_the_end():
    found = can_chances(DRAWN, 250)
    assert list(found) == list(range(1, len(found) + 1))
    assert list(found.values()) == sorted(found.values())
    assert found[3] == DRAWN.chance(750.0)
    assert list(found.values())[-1] >= 0.99 or len(found) == 12
    assert can_chances(DRAWN, 250, shelf_ml=250.0)[2] == found[3]


def test_what_is_bought_suffices_with_the_wished_chance_and_no_cheaper_set_does():
    for wished in (0.5, 0.75, 0.9, 0.95):
        found = shop(DRAWN, SHOP, wished=wished)
        assert found.chance >= wished
        assert found.chance == DRAWN.chance(found.cans.ml)
        best = cheapest(found.wanted_ml, [(can.size_ml, can.price.amount) for can in SHOP])
        assert found.cans.price.amount == best[0]
        assert found.leftover_ml == pytest.approx(found.cans.ml - found.ml_50)


def test_the_shelf_is_used_first():
    without = shop(DRAWN, SHOP)
    some = shop(DRAWN, SHOP, shelf_ml=(300.0, 200.0))
    assert some.from_shelf_ml == 500.0
    assert some.cans.ml < without.cans.ml
    assert some.chance == DRAWN.chance(500.0 + some.cans.ml) >= 0.9
    assert some.mix_together
    full = shop(DRAWN, SHOP, shelf_ml=(5000.0,))
    assert full.cans.counts == ()
    assert str(full.cans.price) == "0.00 EUR"
    assert full.from_shelf_ml == full.wanted_ml == without.wanted_ml
    assert not full.mix_together


def test_where_nothing_hides_nothing_is_bought():
    never = amounts_to_hide(Coating(1.0), (PatchHiding(float("inf")),))
    assert shop(never, SHOP) is None


def test_a_sealer_is_bought_as_paint_is():
    sealer = amounts_for_counts(Coating(0.2, "brush", wet_film_um=60.0), {2: 1.0})
    assert shop(sealer, [Can(250)]).cans.counts == ((250, 1),)


# --- what cannot be --------------------------------------------------------------------


@pytest.mark.parametrize("size", [0, -250, 5, 10**6, 2.5, True])
def test_a_can_of_no_or_absurd_size_is_refused(size):
    with pytest.raises(InputError) as caught:
        Can(size)
    assert caught.value.problems[0].field == "size_ml"


def test_everything_wrong_with_a_shop_is_told_at_once():
    cans = [Can(250, eur("9")), Can(250, Money(Decimal(9), "USD")), Can(500)]
    with pytest.raises(InputError) as caught:
        shop(DRAWN, cans, wished=1.0, shelf_ml=(-5.0,))
    fields = [p.field for p in caught.value.problems]
    assert fields == ["wished", "shelf[1]", "cans", "cans", "cans.currency"]
    with pytest.raises(InputError, match="from 1 to"):
        shop(DRAWN, [])
    with pytest.raises(InputError, match="price of a can"):
        Can(250, eur("-1"))
    with pytest.raises(InputError, match="need_ml"):
        cheapest_cans(1e9, SHOP)


@given(
    st.lists(st.tuples(st.integers(1, 40), st.integers(1, 10_000)), min_size=1, max_size=5),
    st.integers(1, 300),
)
def test_small_and_large_needs_are_searched_alike(cans, top):
    sizes, costs = (list(column) for column in zip(*cans, strict=True))
    one, many = _one_by_one(top, sizes, costs), _in_chunks(top, sizes, costs)
    assert list(many[0]) == one[0]  # the same least cost of each content
