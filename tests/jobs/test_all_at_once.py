"""A faulty measured paint is told in the same round as everything else."""

from __future__ import annotations

import pytest

from jobs.small_jobs import BROWN_FINISH, YELLOW_GREEN, patch, small_job
from showthrough import InputError, predict


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
