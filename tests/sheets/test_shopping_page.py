"""The shopping page: cans, sizes, chances in words, prices where known, what else is used up."""

from __future__ import annotations

import copy
from decimal import Decimal

import pytest

from jobs.small_jobs import VIVID_YELLOW, patch, small_job
from sheets.sheet_jobs import GROUPS, JOBS, LINEN, NOW, US, pages_of, squeezed
from showthrough import plan
from showthrough.say.chances import chance_words


def page(job):
    return pages_of(job, pages="shopping")["shopping"]


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_every_product_has_its_cans_and_its_chance_in_words(job):
    answer = plan(job, now=NOW)
    (items,) = page(job).all("ol")
    rows = items.all("li")[: len(answer.paint)]
    for row, product in zip(rows, answer.paint, strict=True):
        assert squeezed(product.product) in row.text
        for can in product.cans:
            assert f"{can.count} × " in row.text
        if product.chance is not None:
            assert f"enough {chance_words(product.chance)}" in row.text
        if product.price is not None and answer.money is not None:
            assert f"{product.price} {answer.money.currency}" in row.text
        assert ("*" in row.text) == (bool(product.cans) and not product.sizes_stated)


def test_more_than_one_can_is_mixed_and_one_alone_is_not():
    answer = plan(LINEN, now=NOW)
    several = {p.product: sum(can.count for can in p.cans) > 1 for p in answer.paint}
    assert set(several.values()) == {True, False}
    rows = page(LINEN).all("ol")[0].all("li")
    for row, mixed in zip(rows, several.values(), strict=False):
        assert ("Mix the tins together before the last coat." in row.text) == mixed


def test_sizes_that_nobody_said_are_told_to_be_a_default():
    assert "a default" in page(US).text
    assert "a default" not in page(LINEN).text


def test_the_cans_add_to_the_cent_and_only_where_each_price_is_known():
    answer = plan(LINEN, now=NOW)
    total = sum(Decimal(p.price) for p in answer.paint)
    assert f"Tins in all {total} EUR" in page(LINEN).text
    job = copy.deepcopy(LINEN)
    del job["topcoat"]["cans"]
    assert "Tins in all" not in page(job).text


def test_wax_abrasives_and_thinner_are_there():
    answer = plan(GROUPS, now=NOW)
    text = page(GROUPS).text
    assert f"Wax: {answer.other.wax_g:.0f} g" in text
    for grade, count in answer.other.sheets.items():
        assert f"P{grade}: {count} sheet" in text
    thinned = {**LINEN, "application": {**LINEN["application"], "thinning": 0.1}}
    assert "Thinner for it:" in page(thinned).text
    assert "Thinner" not in page(LINEN).text


def test_what_is_on_the_shelf_is_used_first():
    assert "from the shelf first." in page(GROUPS).text


def test_paint_of_which_no_number_of_cans_is_sure_is_not_nothing_to_buy():
    job = small_job(VIVID_YELLOW, patch((18, 0, 0)), application={"tool": "aerosol"})
    answer = plan(job, now=NOW)
    assert answer.paint[-1].chance is None
    assert answer.paint[-1].cans == []
    pages = pages_of(job)
    for text in (pages["shopping"].text, pages["bench"].text):
        assert "no number of cans is sure enough" in text
        assert "nothing to buy" not in text


def test_a_us_job_is_told_in_us_units_alone():
    assert "Keep" in page(US).text
    assert " ml" not in page(US).text
