"""A plan by another of its ways: the same counts, its own steps, paint and days."""

from __future__ import annotations

import pytest

from jobs.small_jobs import small_job
from showthrough import plan
from showthrough.jobs.schema.job import EXAMPLE_JOB

JOB = EXAMPLE_JOB | {"area_m2": 2.4, "days": {"start": "2027-03-01T08:00"}}
LEAD = plan(JOB)


@pytest.mark.parametrize("way", LEAD.ways, ids=lambda way: way.key)
def test_each_way_can_lead_and_stays_what_it_was(way):
    answer = plan(JOB, way=way.key)
    assert answer.ways[0] == way
    assert {w.key: w for w in answer.ways} == {w.key: w for w in LEAD.ways}
    topcoat = next(step for step in answer.steps if step.kind == "topcoat")
    assert topcoat.coats == way.topcoats
    under = [step for step in answer.steps if step.kind == "undercoat" and step.on == ["all"]]
    assert sum(step.coats or 0 for step in under) == (way.undercoats if way.hex else 0)
    assert answer.enough[way.topcoats] == pytest.approx(way.chance, abs=1e-3)
    if way.total is not None:
        assert answer.headline.startswith(f"{way.total} coat")


def test_the_leading_way_by_its_key_is_the_plan_itself():
    assert plan(JOB, way=LEAD.ways[0].key) == LEAD


def test_a_way_that_is_none_leaves_the_plan_as_it_is():
    assert plan(JOB, way="gold") == LEAD


def test_every_group_that_has_the_way_takes_it():
    job = small_job(
        group=[
            {"name": "carcass", "area_m2": 2.0},
            {"name": "doors", "area_m2": 1.0, "topcoat": {"colour": "white 96"}},
        ],
        days={"start": "2027-03-01T08:00"},
    )
    for group in plan(job, way="grey").groups:
        keys = [way.key for way in group.ways]
        assert "grey" not in keys or keys[0] == "grey"
