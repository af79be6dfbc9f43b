"""Library, command line, service and page give one answer to one job, and one refusal."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings

from doors.doors import (
    by_command,
    by_http,
    by_library,
    by_page,
    client,
    lines_of,
    run,
    shown_of,
    shown_problems,
    whole_by_page,
    whole_shown_of,
)
from jobs.small_jobs import (
    BROWN_LAMINATE,
    GREYISH_GREEN,
    RED,
    WHITE,
    YELLOW_GREEN,
    jobs,
    labs,
    many_wrong,
    patch,
    small_job,
    toml_of,
)
from reference.random_jobs import random_jobs
from showthrough import palette_for, plan, predict, soften, sweep
from showthrough.colour.files.swatches import parse_swatches, read_swatches
from showthrough.jobs.schema.job import EXAMPLE_JOB

EXAMPLE = Path(__file__).parents[2] / "examples" / "linen-cupboard.toml"
NAN = math.nan

GOOD = {
    "a small example": EXAMPLE_JOB,
    "the example": tomllib.loads(EXAMPLE.read_text(encoding="utf-8")),
    "two colours": {"topcoat": {"colour": "a3b84c"}, "surface": [{"colour": "#6b4a2a"}]},
    "a spectrum": small_job({"spectrum": {"values": [0.1 + 0.01 * i for i in range(31)]}}),
    "a thirsty patch beside a knot": small_job(
        WHITE, patch("pine wood light grain", "grain"), patch("pine wood knot", "knot")
    ),
    "a label and an uncertain reading": small_job(
        {"lab": list(RED), "radius": 3.0},
        patch({"lab": list(BROWN_LAMINATE), "radius": 2.0}, ground="laminate"),
        paint={"label": {"contrast_ratio": 0.97, "spreading_rate_m2_l": 8}, "sheen": "matt"},
    ),
    "own cans, finishes and second colours": small_job(
        YELLOW_GREEN,
        undercoat=[{"name": "left-over grey", "colour": "N 7", "volume_solids": 0.35}],
        finishes=["606", "satin nickel"],
        second_colour=[{"name": "legs", "colour": "lab(30 8 12)", "kind": "wood"}],
    ),
    "paint used": small_job(
        GREYISH_GREEN,
        application={"tool": "roller", "paint_used": {"g": 240, "area_m2": 1.8, "coats": 2}},
    ),
    "never enough": small_job((82, 6, 80), patch((18, 0, 0)), application={"tool": "aerosol"}),
    "names with signs": small_job(
        {"lab": [50, 0, 0]}, patch(name='Tür – „alt“ \\ "x" €'), title="two  spaces"
    ),
}

BAD = {
    "many faults": many_wrong(),
    "nothing": {},
    "an empty surface": {"topcoat": {"colour": "#333333"}, "surface": []},
    "shares": small_job(GREYISH_GREEN, patch(name="a", share=0.5), patch(name="b", share=0.6)),
    "a gap in a spectrum": small_job({"spectrum": {"values": [0.2] * 20}}),
    "no number": small_job((50, NAN, math.inf)),
    "a number of hundreds of digits": small_job([10**300, 0, 0], patch(share=10**400)),
    "colours that no paint can be": small_job((60, 200, 10), patch((50, 0, 150))),
    "a text for a table": {"topcoat": "green", "surface": "brown"},
}


@pytest.fixture(scope="module")
def http():
    return client()


@pytest.mark.parametrize("job", GOOD.values(), ids=GOOD)
def test_one_job_has_one_answer(job, http, tmp_path):
    kind, answer = by_library(predict, job)
    assert kind == "answer"
    assert by_http(http, "predict", job) == ("answer", answer)
    assert by_command("predict", job, tmp_path) == ("answer", answer)
    assert by_page(http, job) == ("answer", shown_of(answer))
    # The clock of two answers is not the same, so the job states when work begins.
    begun = job | {"days": job.get("days", {}) | {"start": "2027-03-01T08:00"}}
    assert whole_by_page(http, begun) == whole_shown_of(plan(begun))


@pytest.mark.parametrize("job", BAD.values(), ids=BAD)
def test_one_bad_job_has_one_list_of_problems(job, http, tmp_path):
    kind, problems = by_library(predict, job)
    assert kind == "problems"
    assert by_http(http, "predict", job) == ("problems", problems)
    assert by_command("predict", job, tmp_path) == ("problems", lines_of(problems))


@given(jobs(labs(80.0)))
@settings(deadline=None, max_examples=25)
def test_any_small_job_has_one_outcome(http, job):
    outcome = by_library(predict, job)
    assert by_http(http, "predict", job) == outcome
    with tempfile.TemporaryDirectory() as folder:
        by_line = by_command("predict", job, Path(folder))
    kind, told = outcome
    assert by_line == (kind, lines_of(told) if kind == "problems" else told)
    seen = shown_problems(told) if kind == "problems" else shown_of(told)
    assert by_page(http, job) == (kind, seen)


@pytest.mark.parametrize("job", random_jobs(24, 7), ids=range(24))
def test_any_job_shows_its_answer_on_the_page(http, job):
    kind, told = by_library(predict, job)
    seen = shown_problems(told) if kind == "problems" else shown_of(told)
    assert by_page(http, job) == (kind, seen)


def test_a_job_that_only_an_undercoat_brings_within_twelve_coats_has_a_page(http):
    job = {
        "topcoat": {"colour": "#d42020"},
        "surface": [{"colour": "#3a2a20"}],
        "application": {"tool": "aerosol"},
    }
    kind, answer = by_library(predict, job)
    assert kind == "answer"
    assert answer["coats"]["likely"] is None
    assert answer["undercoat_ladder"] is not None
    assert by_page(http, job) == ("answer", shown_of(answer))


@pytest.mark.parametrize("name", ["the example", "own cans, finishes and second colours"])
def test_palette_has_one_answer(name, http, tmp_path):
    outcome = by_library(palette_for, GOOD[name])
    assert outcome[0] == "answer"
    assert by_http(http, "palette", GOOD[name]) == outcome
    assert by_command("palette", GOOD[name], tmp_path) == outcome


@pytest.mark.parametrize("name", ["the example", "a label and an uncertain reading"])
def test_softening_has_one_answer(name, http, tmp_path):
    outcome = by_library(soften, GOOD[name], budget=2)
    assert outcome[0] == "answer"
    assert by_http(http, "soften", {"job": GOOD[name], "budget": 2}) == outcome
    assert by_command("soften", GOOD[name], tmp_path, "--budget", 2) == outcome


MINE = "name,L,a,b\nmine near,66,-20,44\nmine far,60,0,0\n"


def test_ones_own_swatches_have_one_answer(http, tmp_path):
    job, mine = GOOD["two colours"], tmp_path / "mine.csv"
    mine.write_text(MINE, encoding="utf-8")
    swatches = parse_swatches(MINE)
    for command, outcome in (
        ("soften", by_library(soften, job, swatches=swatches)),
        ("sweep", by_library(sweep, job, swatches)),
    ):
        assert outcome[0] == "answer"
        assert by_http(http, command, {"job": job, "swatches_csv": MINE}) == outcome
        assert by_command(command, job, tmp_path, "--swatches", mine) == outcome


FRAME = "BEGIN_DATA_FORMAT\nSAMPLE_LOC LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n{}END_DATA\n"


@pytest.mark.parametrize(
    "text",
    [
        "name,hex\nmine near,#8fa352\nmine far,#919191\n",
        FRAME.format("A1 66 -20 44\nA2 60 0 0\n"),
        "name,L,a,b\nfine,60,0,0\nodd,x,0,0\nneon,60,200,10\n",
        FRAME.format("A1 66 -20 44\nA2 60 200 0\n"),
        "name,L,a,b\nodd,x,0,0\nneon,60,200,10\n",
    ],
    ids=["name and hex", "ISO 28178", "impossible rows", "impossible samples", "nothing left"],
)
@pytest.mark.parametrize("strict", [False, True])
def test_any_swatch_file_has_one_outcome(text, strict, http, tmp_path):
    job, mine = GOOD["two colours"], tmp_path / "mine.txt"
    mine.write_text(text, encoding="utf-8")
    kind, told = outcome = by_library(sweep, job, read_swatches(text), strict=strict)
    body = {"job": job, "swatches_csv": text, "strict": strict}
    by_service = by_http(http, "sweep", body)
    options = ("--swatches", mine, *(["--strict"] if strict else []))
    if kind == "answer":
        assert by_service == outcome
        path = tmp_path / "job.toml"
        path.write_text(toml_of(job), encoding="utf-8")
        code, out, err = run("sweep", path, "--json", *options)
        assert (code, json.loads(out)) == (0, told)
        assert len(err.splitlines()) == bool(told["left_out"])
    else:
        by_line = by_command("sweep", job, tmp_path, *options)
        messages = [problem["message"] for problem in by_service[1]]
        assert by_service[0] == "problems"
        assert by_line[0] == "problems"
        for message, line in zip(messages, by_line[1], strict=True):
            assert line.endswith(message)
    softened = by_http(http, "soften", {"job": job, "swatches_csv": text})
    assert softened[0] == ("problems" if "200" in text else "answer")


@pytest.mark.parametrize("command", ["predict", "palette", "soften", "sweep"])
def test_an_empty_list_of_finishes_has_one_answer(command, http, tmp_path):
    job = {**GOOD["two colours"], "finishes": []}
    use_case = {"predict": predict, "palette": palette_for, "soften": soften, "sweep": sweep}
    outcome = by_library(use_case[command], job)
    assert outcome[0] == "answer"
    body = job if command in {"predict", "palette"} else {"job": job}
    assert by_http(http, command, body) == outcome
    assert by_command(command, job, tmp_path) == outcome
    assert run(command, tmp_path / "job.toml")[0] == 0


@pytest.mark.parametrize("order", ["coats", "harmony"])
def test_a_sweep_has_one_answer(order, http, tmp_path):
    job = GOOD["the example"]
    outcome = by_library(sweep, job, sort=order)
    assert by_http(http, "sweep", {"job": job, "sort": order}) == outcome
    assert by_command("sweep", job, tmp_path, "--sort", order) == outcome


def test_a_sweep_as_csv_is_the_same_over_http_and_on_the_line(http, tmp_path):
    job = GOOD["the example"]
    sent = http.post("/api/sweep", json={"job": job}, headers={"accept": "text/csv"})
    assert sent.headers["content-type"].startswith("text/csv")
    path = tmp_path / "job.toml"
    path.write_text(toml_of(job), encoding="utf-8")
    assert run("sweep", path, "--csv") == (0, sent.text, "")


@pytest.mark.parametrize(
    ("command", "use_case", "option", "key", "wrong"),
    [("soften", soften, "--budget", "budget", 99), ("sweep", sweep, "--sort", "sort", "price")],
)
def test_options_and_job_are_refused_together_on_all_doors(
    command, use_case, option, key, wrong, http, tmp_path
):
    job = BAD["shares"]
    outcome = by_library(use_case, job, **{key: wrong})
    assert {p["field"] for p in outcome[1]} == {key, "surface"}
    assert by_http(http, command, {"job": job, key: wrong}) == outcome
    by_line = by_command(command, job, tmp_path, option, wrong)
    assert by_line == ("problems", lines_of(outcome[1]))


def test_a_process_of_its_own_says_the_same():
    path = EXAMPLE
    done = subprocess.run(
        [sys.executable, "-m", "showthrough.cli", "predict", str(path), "--json"],
        check=True,
        capture_output=True,
        text=True,
        env=os.environ,
    )
    assert json.loads(done.stdout) == by_library(predict, GOOD["the example"])[1]
    assert done.stderr == ""


def test_a_wrong_job_in_a_process_of_its_own_ends_with_two_and_no_traceback(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text("[topcoat]\ncolour = '#12'\n", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "showthrough.cli", "predict", str(path)],
        check=False,
        capture_output=True,
        text=True,
        env=os.environ,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("2 things to put right:")
    assert "Traceback" not in done.stderr
