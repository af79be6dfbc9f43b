"""The customer's page: no money unless asked for, nothing private ever; names are only text."""

from __future__ import annotations

import copy
import re
from decimal import Decimal
from typing import Any, get_args

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from jobs.small_jobs import WHITE, laws, patch, small_job
from sheets.sheet_jobs import GROUPS, JOBS, LINEN, MANY, NOW, US, pages_of, squeezed
from showthrough import plan
from showthrough.errors import UNSAFE
from showthrough.say.plan import COATS
from showthrough.sheets.customer import DONE
from showthrough.sheets.sheet import sheet
from showthrough.workshop.grounds.kinds import WorkKind
from web.tree import Element, read_html

_AMOUNT = re.compile(r"\d+\.\d\d\b")

PRIVATE: dict[str, Any] = {
    **copy.deepcopy(LINEN),
    "money": {
        "currency": "XTS",  # the code that ISO 4217 keeps for tests
        "labour_per_hour": "31.17",
        "purchase": "61.13",
        "hardware": "38.53",
        "sheet": "0.83",
        "booth": "12.19",
        "margin": 0.31,
    },
    "undercoat": [{"name": "QZ half a tin", "colour": "N 7", "shelf_ml": 437.0}],
}
for _patch in PRIVATE["surface"]:
    _patch["name"] = f"QZ {_patch['name']}"


def customer(job, **options):
    return pages_of(job, pages="customer", **options)["customer"].text


# --- money and private words -------------------------------------------------------------


def test_without_the_switch_no_money_is_on_the_customers_page():
    text = customer(PRIVATE)
    assert "XTS" not in text
    assert not _AMOUNT.search(text)
    assert "Price" not in text


def test_with_the_switch_price_and_clause_are_all_the_money_there_is():
    found = plan(PRIVATE, now=NOW).money
    text = customer(PRIVATE, money=True)
    further = re.search(r"each further one (\d+\.\d\d) XTS", found.clause)[1]
    assert {Decimal(a) for a in _AMOUNT.findall(text)} == {
        Decimal(found.price_with_tax),
        Decimal(further),
    }
    assert f"{found.price_with_tax} XTS" in text
    assert found.clause in text


def test_tax_is_in_the_price_that_a_customer_pays():
    job = {**LINEN, "money": {**LINEN["money"], "tax_rate": "0.2"}}
    found = plan(job, now=NOW).money
    assert found.price_with_tax != found.price
    text = customer(job, money=True)
    assert found.price_with_tax in text
    assert found.price not in text


@pytest.mark.parametrize("money", [False, True])
def test_nothing_private_is_on_the_customers_page(money):
    text = customer(PRIVATE, money=money)
    assert "QZ" not in text  # patches and own cans
    for private in ("437", "31.17", "61.13", "38.53", "shelf", "margin", "labour", " min"):
        assert private not in text
    answer = plan(PRIVATE, now=NOW)
    for amount in (answer.money.expected_cost, answer.money.one_more_coat):
        assert amount not in text


def test_a_price_that_is_not_known_is_a_blank_and_no_bare_heading():
    page = pages_of(small_job(area_m2=1.0), pages="customer", money=True)["customer"]
    assert "Price" not in [each.text for each in page.all("h2")]
    blanks = [each.text for each in page.all("span", lambda each: each.has_class("blank"))]
    assert "price" in blanks
    without = pages_of(small_job(area_m2=1.0), pages="customer")["customer"].text
    assert "price" not in without


def test_paint_and_fittings_without_a_price_are_told_as_left_out_of_it():
    job = {**LINEN, "money": {"currency": "XTS", "labour_per_hour": "30.00"}}
    job["topcoat"] = {k: v for k, v in LINEN["topcoat"].items() if k != "cans"}
    found = plan(job, now=NOW)
    paints = [p.product for p in found.paint if p.product in found.money.without_price]
    assert paints
    text = customer(job, money=True)
    (told,) = re.findall(r"Not in this price: ([^.]*)\.", text)
    for name in paints:
        assert name.partition(" (")[0] in told
    assert "new handles or fittings" in told
    # What is the painter's own is no customer's matter.
    assert "abrasives" in found.money.without_price
    assert not re.search("abrasive|bench time|labour", text)


def test_what_has_a_price_is_not_told_as_left_out():
    money = {"currency": "XTS", "labour_per_hour": "30.00", "hardware": "9.00"}
    paint = {"cans": [{"ml": 750, "price": "20.00"}]}
    job = small_job((55, 0, 0), patch((40, 11, 19)), area_m2=1.0, paint=paint)
    text = customer({**job, "money": money}, money=True)
    assert "Not in this price" not in text
    text = customer({**job, "money": {**money, "hardware": None}}, money=True)
    assert "Not in this price: new handles or fittings." in text


# --- hostile words -----------------------------------------------------------------------

NASTY = st.text(
    st.one_of(st.sampled_from("<>&\"'{}%/=;:#!-"), st.characters(exclude_categories=["Cs", "Cc"])),
    max_size=30,
).filter(lambda text: not UNSAFE.search(text))


def marked(mark: str, text: str) -> str:
    """A name that no word of ours can hold."""
    return f"{mark}{text}"[:80]


def marks(words: tuple[str, ...]) -> tuple[str, ...]:
    """Title, topcoat and group, which a customer may see, and patch and can, which not."""
    return tuple(map(marked, ("QZ", "QZ", "QZ", "PV", "PV"), words))


def with_words(words: tuple[str, ...]) -> dict[str, Any]:
    title, topcoat, group, private, can = marks(words)
    job = small_job(
        WHITE,
        patch((28, 9, 12), f"0{private}", share=0.8, ground="varnish"),
        patch((70, 8, 30), f"1{private}", share=0.2, ground="knots", skin="bare"),
        title=title,
        paint={"name": topcoat},
        undercoat=[{"name": can, "colour": "N 7", "shelf_ml": 500}],
        group=[
            {"name": f"0{group}", "area_m2": 1.0},
            {"name": f"1{group}", "area_m2": 0.5, "application": {"tool": "brush"}},
        ],
    )
    return {**job, "money": {"currency": "XTS", "labour_per_hour": "31.17"}}


def shape(page: Element) -> set[str]:
    """Every tag of a page with its attributes' names."""
    return {f"{each.tag} {sorted(each.attrs)}" for each in page.walk()}


PLAIN = shape(read_html(sheet(with_words(("a", "b", "c", "d", "e")), now=NOW, money=True)))


@example(("</title><script>x</script>", "<em>", "<img src=x>", "<u>", "<u>"))
@example(("{{ 7 * 7 }}", "{% raw %}", "&lt;", "--><s>", "<u>"))
@given(st.tuples(NASTY, NASTY, NASTY, NASTY, NASTY))
@settings(laws, max_examples=15)
def test_any_words_stay_words_and_private_ones_stay_private(words):
    job = with_words(words)
    title, topcoat, _, private, can = marks(words)
    page = read_html(sheet(job, now=NOW))
    # Rows come and go with the counts, but never a tag or an attribute that none of ours has.
    assert shape(page) <= PLAIN
    assert squeezed(title) == page.all("title")[0].text
    text = next(each.text for each in page.all("section") if each.has_class("customer"))
    assert squeezed(title) in text
    assert squeezed(topcoat) in text
    assert "XTS" not in text
    assert not _AMOUNT.search(text.replace(squeezed(title), "").replace(squeezed(topcoat), ""))
    for secret in (f"0{private}", f"1{private}", can):
        assert squeezed(secret) not in text


# --- plain words -------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
@pytest.mark.parametrize("page", ["customer", "shopping"])
def test_no_code_and_no_figure_of_the_laboratory_is_on_paper_for_others(job, page):
    text = pages_of(job, money=True)[page].text
    assert not re.search(r"[µμ]m\b|CIEDE|Munsell|CFR|#[0-9a-f]{6}|\bNone\b|\bnan\b|°", text)


UNTOLD = frozenset(
    {"test wipe", "chalk test", "test spot", "bleed test", "dust off", "mask", "mix", "denib"}
)
"""Steps that mean nothing to somebody who does not paint."""


def test_every_kind_of_preparation_is_told_or_left_out_on_purpose():
    assert set(get_args(WorkKind)) <= DONE.keys() | UNTOLD
    assert not DONE.keys() & UNTOLD


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_every_step_of_a_plan_is_told_or_left_out_on_purpose(job):
    own = {*COATS, "topcoat", "clear", "wax", "cure"}
    kinds = {step.kind for step in plan(job, now=NOW).steps}
    assert kinds <= DONE.keys() | UNTOLD | own


def test_colours_are_named_by_the_parts_that_get_them():
    text = customer(GROUPS)
    assert "red carcass, legs" in text
    assert "ivory doors" in text
    assert "coats of ivory on the doors." in text


def test_dates_are_early_likely_and_nine_in_ten():
    answer = plan(MANY, now=NOW)
    dates = answer.days.hand_over
    assert len({dates.early[:10], dates.likely[:10], dates.late[:10]}) == 3
    text = customer(MANY)
    for moment in (dates.early, dates.likely, dates.late):
        assert f" {int(moment[8:10])} " in text
    assert "Perhaps already" in text
    assert "In 9 jobs of 10 by" in text


def test_care_lasts_until_full_cure_and_follows_the_paint():
    answer = plan(US, now=NOW)
    cure = answer.days.cure
    text = customer(US)
    assert re.search(rf"Until \w+day {int(cure[8:10])} \w+ {cure[:4]} the paint is dry", text)
    assert "do not wash it" in text
