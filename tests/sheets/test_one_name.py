"""One coat of one answer has one name: in the line, the steps, the tabs, the money and on paper."""

from __future__ import annotations

import pytest

from jobs.small_jobs import WHITE, YELLOW_GREEN, patch, small_job
from sheets.sheet_jobs import NOW
from showthrough import plan
from showthrough.say.plan import COATS, coat_noun
from showthrough.say.sentence import way_tab
from showthrough.sheets.customer import customer_of
from showthrough.workshop.grounds import kinds

GROUNDS = {
    "bonding coat": patch((40, 11, 19), ground="laminate"),
    "stain-blocking sealer": patch((70, 8, 30), ground="knots", skin="bare"),
    "sealer": patch((70, 8, 30), ground="wood", skin="bare", porous=True),
    "anti-corrosion primer": patch((60, 0, 2), ground="steel", skin="bare"),
    "binding sealer": patch((60, 0, 2), ground="paint", condition="chalking"),
}


@pytest.mark.parametrize("topcoat", [WHITE, YELLOW_GREEN])
@pytest.mark.parametrize("noun", GROUNDS)
def test_a_coat_is_called_the_same_on_every_screen_and_sheet(noun, topcoat):
    job = small_job(topcoat, GROUNDS[noun], area_m2=2.0)
    money = {"currency": "XTS", "labour_per_hour": "30.00"}
    answer = plan({**job, "money": money}, now=NOW)
    (step,) = [s for s in answer.steps if s.kind in COATS and s.kind != "undercoat"][:1]
    assert coat_noun(step.product, step.kind) == noun
    told = customer_of(answer, money=True)
    (line,) = [each for each in told.done if noun in each]
    others = (set(COATS.values()) | {"priming coat", "sealing coat"}) - {noun}
    for other in others:
        assert other not in line.replace(noun, "")
    if len([s for s in answer.steps if s.kind in COATS]) == 1:
        assert noun in answer.headline
        assert noun in way_tab(answer.ways[0])
        assert any(noun in p.product for p in answer.paint)
        assert any(noun in name for name in answer.money.without_price)
    clear = [way for way in answer.ways if way.kind == "sealer"]
    assert all(noun in way_tab(way) and noun in way.name for way in clear)


def test_every_coat_that_can_be_bought_has_a_short_name_of_its_step():
    products = [each for each in vars(kinds).values() if isinstance(each, kinds.Primer)]
    assert len(products) >= 9
    for each in products:
        assert coat_noun(each.name) in each.name
    assert coat_noun("Ida's half a tin", "bond") == "bonding coat"
