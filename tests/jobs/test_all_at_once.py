"""Faults of all kinds are told in one round, each once."""

from __future__ import annotations

import pytest

from jobs.small_jobs import BROWN_FINISH, YELLOW_GREEN, patch, small_job
from showthrough import InputError, plan, predict


def fields(job):
    with pytest.raises(InputError) as caught:
        predict(job)
    return {problem.field for problem in caught.value.problems}


def test_a_measured_paint_beside_other_faults():
    job = small_job(YELLOW_GREEN, patch(BROWN_FINISH, share=0.4))
    job["topcoat"] = {"paint": {"format": 1}}
    job["application"] = {"tool": "broom"}
    told = fields(job)
    assert "application.tool" in told
    assert any(field.startswith("topcoat.paint.") for field in told)
    assert "surface" in told  # one share of 0.4 does not make 1


@pytest.mark.parametrize("where", ["area_m2", "area_ft2"])
def test_what_is_no_number_is_told_once(where: str) -> None:
    with pytest.raises(InputError) as caught:
        plan(small_job(**{where: "some"}))
    assert [problem.field for problem in caught.value.problems] == [where]


def test_a_currency_that_is_none_is_told_once() -> None:
    money = {"currency": "E", "labour_per_hour": "24.00"}
    with pytest.raises(InputError) as caught:
        plan(small_job(money=money))
    assert [problem.field for problem in caught.value.problems] == ["money.currency"]
