"""Money of the whole job: exact, adding up, rising, and the order that it gives."""

from __future__ import annotations

import dataclasses
import itertools
import re
from decimal import Decimal

import pytest

from jobs.small_jobs import BROWN_FINISH, BROWN_LAMINATE, GREYISH_GREEN, WHITE, YELLOW_GREEN, patch
from jobs.whole_jobs import CANS, MONEY, priced_job, reckoned, whole
from reference.random_whole_jobs import random_whole_jobs
from showthrough import InputError

EXACT = re.compile(r"-?\d+\.\d\d")
AMOUNTS = (
    "expected_cost", "price", "tax", "price_with_tax", "one_more_coat", "undercoat_saves",
)  # fmt: skip
VARNISH = patch(BROWN_FINISH, ground="varnish")
GROUPS = [
    {"name": "carcass", "area_m2": 2.1},
    {"name": "drawers", "area_m2": 0.9, "surface": [patch((88, 0, 4), ground="paint")]},
    {"name": "legs", "area_m2": 0.3, "topcoat": {"colour": "lab(20 0 0)", "cans": CANS}},
]
JOBS = {
    "one group": priced_job(YELLOW_GREEN),
    "groups": priced_job(WHITE, group=GROUPS),
    "by the millilitre": priced_job(
        YELLOW_GREEN, group=GROUPS, money={**MONEY, "charge": "paint used"}
    ),
    "a wide range of counts": priced_job((42, 58, 38), area_m2=0.8),
}


@pytest.fixture(scope="module", params=JOBS.values(), ids=JOBS)
def money(request):
    found = whole(request.param).money
    assert found is not None
    return found


def test_every_amount_is_the_text_of_an_exact_decimal(money):
    dumped = money.model_dump(mode="json")
    texts = [dumped[key] for key in AMOUNTS if dumped[key] is not None]
    texts += [line["amount"] for line in dumped["lines"]] + list(dumped["by_count"].values())
    assert len(texts) >= 8
    assert all(isinstance(text, str) and EXACT.fullmatch(text) for text in texts)


def test_the_bill_adds_up_to_the_cent_in_any_order(money):
    amounts = [Decimal(line.amount) for line in money.lines]
    for order in itertools.islice(itertools.permutations(amounts), 24):
        assert str(sum(order, Decimal(0))) in money.by_count.values()
    assert Decimal(money.price) + Decimal(money.tax) == Decimal(money.price_with_tax)


def test_cost_rises_with_the_count_and_the_expected_lies_between(money):
    costs = [Decimal(text) for text in money.by_count.values()]
    assert list(money.by_count) == sorted(money.by_count)
    assert costs == sorted(costs)
    assert costs[0] <= Decimal(money.expected_cost) <= costs[-1]
    assert Decimal(money.one_more_coat) >= 0


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_no_float_comes_near_the_money(job):
    found = reckoned(job).money
    seen, todo = set(), [found]
    while todo:
        value = todo.pop()
        if id(value) in seen:
            continue
        seen.add(id(value))
        assert not isinstance(value, float), value
        if dataclasses.is_dataclass(value):
            todo += [getattr(value, field.name) for field in dataclasses.fields(value)]
        elif isinstance(value, dict):
            todo += [*value, *value.values()]
        elif isinstance(value, list | tuple):
            todo += value
    assert len(seen) > 30


def test_the_expected_cost_is_the_mean_over_the_counts():
    # E[cost] = sum of P(n) cost(n), here from the answer's own chances of topcoats.
    answer = whole(JOBS["one group"])
    lead = answer.ways[0]
    found = reckoned(JOBS["one group"])
    chances = found.cases[0].counts
    assert sum(p for n, p in chances.items() if n <= lead.topcoats) == pytest.approx(
        lead.chance, abs=1e-3
    )
    mean = sum(p * float(answer.money.by_count[n]) for n, p in chances.items())
    assert float(answer.money.expected_cost) == pytest.approx(mean, abs=0.02)


@pytest.mark.parametrize(
    ("rate", "price"), [({"margin": "40 %"}, "400.00"), ({"markup": "0,4"}, "336.00")]
)
def test_margin_and_markup_through_the_job(rate, price):
    # Definition: cost 240 at a margin of 40 % is 240 / .6, at a markup of 40 % 240 x 1.4.
    job = priced_job(
        area_m2=1.0, paint={"cans": []}, money={"currency": "EUR", "purchase": "240", **rate}
    )
    money = whole(job).money
    assert (money.expected_cost, money.price) == ("240.00", price)


def test_tax_and_fee_through_the_job():
    # By hand: 240 / (1 - .4 - .1) = 480, and 19 % of it is 91.20.
    rates = {"margin": "0.4", "fee_rate": "10 %", "tax_rate": "0.19"}
    job = priced_job(paint={"cans": []}, money={"currency": "EUR", "purchase": 240, **rates})
    money = whole(job).money
    assert (money.price, money.tax, money.price_with_tax) == ("480.00", "91.20", "571.20")


def test_what_has_no_price_is_told():
    job = priced_job(WHITE, patch(BROWN_LAMINATE, ground="laminate"))
    answer = whole(job)
    bond = next(p.product for p in answer.paint if "bond" in p.used_for)
    assert answer.money.without_price == [bond]
    job["product"] = [{"step": "bond", "cans": CANS}]
    assert whole(job).money.without_price == []
    job["money"] = {k: v for k, v in MONEY.items() if k not in {"sheet", "labour_per_hour"}}
    assert whole(job).money.without_price == ["abrasives", "bench time"]


def test_a_saving_is_told_only_where_both_sides_are_priced():
    job = priced_job(YELLOW_GREEN, area_m2=6.0)
    assert whole(job).ways[0].kind not in {"plain", "spots", "sealer"}
    assert whole(job).money.undercoat_saves is None  # the undercoat has no price
    job["product"] = [{"step": "undercoat", "cans": CANS}]
    saved = Decimal(whole(job).money.undercoat_saves)
    dear = [{"ml": 750, "price": "300"}]
    job["product"] = [{"step": "undercoat", "cans": dear}]
    assert Decimal(whole(job).money.undercoat_saves) < saved


def test_a_lot_in_its_own_paint_is_paid_by_its_own_count():
    """The paint of the legs hangs on the coats that the legs take."""
    job = priced_job(
        WHITE,
        group=[
            {"name": "carcass", "area_m2": 2.1},
            {
                "name": "legs",
                "area_m2": 2.0,
                "topcoat": {"colour": "lab(55 0 0)", "cans": [{"ml": 1000, "price": "1000"}]},
            },
        ],
        money={"currency": "EUR", "charge": "paint used"},
    )
    answer = whole(job)
    grey = next(p for p in answer.paint if p.price and Decimal(p.price) >= 1000)
    (line,) = [row for row in answer.money.lines if row.name == grey.product]
    # Mid grey takes its two coats whatever the white over it takes: its mean, a euro each ml.
    assert float(line.amount) == pytest.approx(grey.ml_50, rel=0.1)
    dearest = Decimal(answer.money.by_count[max(answer.money.by_count)])
    assert dearest < Decimal(line.amount) * 2


@pytest.mark.parametrize("rank_by", ["money", "days"])
def test_ranking_leads_with_the_cheapest_or_the_quickest(rank_by):
    job = priced_job(
        YELLOW_GREEN,
        VARNISH,
        area_m2=3.0,
        product=[{"step": "undercoat", "cans": CANS}],
        rank_by=rank_by,
    )
    answer = whole(job)
    costs = answer.way_costs
    assert [row.key for row in costs] == [way.key for way in answer.ways]
    known = [
        (Decimal(row.expected_cost) if rank_by == "money" else row.days)
        for row in costs
        if row.days is not None
    ]
    assert len(known) >= 3
    assert known == sorted(known)
    if rank_by == "money":
        # A job of one group in its leading way costs what the ranking said.
        assert answer.money.expected_cost == costs[0].expected_cost
    lead, topcoat = answer.ways[0], next(s for s in answer.plan if s.kind == "topcoat")
    assert topcoat.coats == lead.topcoats
    total = lead.total
    assert answer.headline.startswith(f"{total} coat")
    others = whole({**job, "rank_by": "coats"})
    assert {way.key for way in others.ways} == {way.key for way in answer.ways}


def test_random_jobs_cost_more_with_every_coat():
    tried = 0
    for job in random_whole_jobs(40, 11):
        try:
            money = whole(job).money
        except InputError:
            continue
        if money is None:
            continue
        tried += 1
        costs = [Decimal(text) for text in money.by_count.values()]
        assert costs == sorted(costs)
        assert costs[0] <= Decimal(money.expected_cost) <= costs[-1]
    assert tried >= 20


def test_a_greyish_job_has_no_undercoat_to_save():
    assert whole(priced_job(GREYISH_GREEN)).money.undercoat_saves is None
