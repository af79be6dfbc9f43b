"""Kind of paint and sheen change advice where they matter, and say where they change nothing.

Waiting between coats: common practice, no source.
"""

from __future__ import annotations

import pytest

from jobs.small_jobs import BROWN_FINISH, WHITE, YELLOW_GREEN, patch, small_job
from showthrough import predict


def answer(topcoat=YELLOW_GREEN, ground="varnish", **facts):
    return predict(small_job(topcoat, patch(BROWN_FINISH, ground=ground), paint=facts))


def between(told):
    return next(step.product for step in told.plan if step.kind == "denib")


@pytest.mark.parametrize(
    ("chemistry", "wait"),
    [
        (None, "as its label says"),
        ("water-borne", "4 hours"),
        ("alkyd", "16 to 24 hours"),
        ("shellac", "45 minutes"),
        ("lacquer", "1 hour"),
        ("mineral", "2 to 4 hours"),
        ("two-pack", "data sheet"),
    ],
)
def test_the_waiting_between_coats_is_that_of_the_paint(chemistry, wait):
    told = answer(chemistry=chemistry) if chemistry else answer()
    assert f"wait {wait}," in between(told) or wait in between(told)
    if chemistry:
        assert any(wait in sentence for sentence in told.assumptions)


def test_shellac_is_said_to_block_where_water_borne_paint_would_need_a_coat():
    assert any(step.kind == "block" for step in answer(ground="oak").plan)
    shellac = answer(ground="oak", chemistry="shellac")
    assert not any(step.kind == "block" for step in shellac.plan)
    assert any("blocks what bleeds by itself" in s for s in shellac.assumptions)
    alkyd = answer(ground="oak", chemistry="alkyd")
    assert any(step.kind == "bleed test" for step in alkyd.plan)
    assert any("a test tells" in s for s in alkyd.assumptions)
    water = answer(ground="oak", chemistry="water-borne")
    assert any("nothing about bleeding here" in s for s in water.assumptions)


def test_what_is_said_to_change_no_count_changes_none():
    plain = answer()
    for facts in (
        {"chemistry": "alkyd"},
        {"sheen": "satin"},
        {"sheen": "matt"},
        {"sheen": "gloss"},
    ):
        assert answer(**facts).coats == plain.coats


def test_sheen_says_what_it_changes():
    satin = answer(sheen="satin")
    assert any("it changes nothing here" in s for s in satin.assumptions)
    assert satin.plan == answer().plan
    gloss = answer(sheen="gloss")
    assert "flat before the last" in between(gloss)
    dark, light = (answer(lab, sheen="matt").assumptions for lab in ((24, 3, -22), WHITE))
    assert any("dries lighter and greyer" in s for s in dark)
    assert not any("dries lighter and greyer" in s for s in light)
    for told in (dark, light):
        assert any("Wax or a clear coat over it darkens it" in s for s in told)


@pytest.mark.parametrize(
    ("stated", "taken"), [(0.05, 0.05), (0.25, 0.25), (0.26, 0.13), (0.4, 0.13)]
)
def test_solids_of_an_aerosol_are_those_of_its_content_and_never_those_of_a_tin(stated, taken):
    # Common practice, no source: half or more of a can is propellant and solvent, so that what
    # is above a quarter was read off a tin; 13 % is usual.
    aerosol = {"paint": {"volume_solids": stated}, "application": {"tool": "aerosol"}}
    told = predict(small_job(YELLOW_GREEN, patch(BROWN_FINISH), **aerosol))
    assert told.film.volume_solids == taken
    default = any(text.startswith("Volume solids 13%: a default") for text in told.assumptions)
    assert default == (stated != taken)


def test_the_sentence_on_hiding_judges_the_paint():
    over = {"lab": [88, 0, 8]}
    near = predict(small_job((92, 0, 6), patch(over, ground="paint")))
    assert "covers slowly" in near.reasons[0]
    assert "there is little to cover" in near.reasons[0]
    same = predict(small_job((92, 0, 6), patch((92, 0, 6), ground="paint")))
    assert "has this colour already" in same.reasons[0]
    far = predict(small_job((92, 0, 6), patch(BROWN_FINISH, ground="paint")))
    assert "covers slowly" in far.reasons[0]
    assert "little to cover" not in far.reasons[0]
