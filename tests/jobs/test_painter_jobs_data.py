"""The painter's forty jobs are whole: a judgement that cannot be read judges nothing.

Only the form is looked at here. What the jobs say is common practice, no source.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

FILE = Path(__file__).parents[1] / "reference" / "painter_jobs.toml"
JOBS = tomllib.loads(FILE.read_text(encoding="utf-8"))["job"]

UNDERCOATS = {"none", "spots", "clear sealer", "bonding", "white", "grey"}
NEEDS = {"adhesion", "blocking", "sealing", "binding", "corrosion"}
SAID = {"undercoat", "also", "topcoats", "needs", "first", "why"}

each_job = pytest.mark.parametrize("job", JOBS, ids=[j["title"] for j in JOBS])


def test_there_are_forty_jobs_and_no_two_share_a_name():
    assert len(JOBS) == len({j["title"] for j in JOBS}) == 40


def test_most_jobs_gain_nothing_by_a_coat_that_only_saves_coats():
    saving = [j for j in JOBS if j["experienced"]["undercoat"] in {"white", "grey"}]
    assert 0 < len(saving) < len(JOBS) / 2


def test_every_tool_and_every_answer_occurs():
    tools = {j["application"]["tool"] for j in JOBS}
    assert tools == {"brush", "roller", "spray", "aerosol"}
    assert {j["experienced"]["undercoat"] for j in JOBS} == UNDERCOATS
    assert {n for j in JOBS for n in j["experienced"]["needs"]} == NEEDS


@each_job
def test_a_job_says_what_is_painted_with_what(job):
    assert len(job["topcoat"]["colour"]["lab"]) == 3
    assert ("volume_solids" in job["topcoat"]) == (job["application"]["tool"] != "aerosol")
    assert {"wet_film_um", "coat"} & set(job["application"])
    for patch in job["surface"]:
        assert {"name", "colour", "share", "skin"} <= set(patch)
        assert len(patch["colour"]["lab"]) == 3
    assert sum(p["share"] for p in job["surface"]) == pytest.approx(1.0)
    assert all({"name", "colour"} <= set(can) for can in job.get("undercoat", []))


@each_job
def test_a_painter_answers_every_question(job):
    said = job["experienced"]
    assert set(said) - {"when"} == SAID
    assert said["undercoat"] in UNDERCOATS
    assert set(said["also"]) <= UNDERCOATS - {said["undercoat"]}
    assert set(said["needs"]) <= NEEDS
    fewest, most = said["topcoats"]
    assert 2 <= fewest <= most  # two are the least for a sound film
    assert 2 <= len(said["first"].split()) <= 3 or said["first"] == "degrease"
    assert said["why"].endswith(".")
