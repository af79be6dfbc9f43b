"""Half way through library, command line and service: one answer, one list of problems."""

from __future__ import annotations

import pytest

from doors.doors import by_command, by_http, by_library, client, lines_of, run
from jobs.small_jobs import BROWN_FINISH, WHITE, YELLOW_GREEN, patch, toml_of
from jobs.whole_jobs import priced_job
from reference.random_whole_jobs import random_whole_jobs
from showthrough import half_way
from showthrough.errors import UNSAFE

VARNISH = patch(BROWN_FINISH, ground="varnish")
START = {"zone": "Europe/Berlin", "start": "2090-03-01"}  # so that no door's clock matters
JOB = priced_job(YELLOW_GREEN, VARNISH, title="Linen cupboard", days=START)
GROUPS = priced_job(WHITE, VARNISH, days=START, group=[
    {"name": "carcass", "area_m2": 2.0}, {"name": "doors", "area_m2": 1.0},
])  # fmt: skip
SEEN = {
    "it still shows": (JOB, {"after": 2, "enough": False}),
    "it is enough": (JOB, {"after": 1, "enough": True}),
    "tins weighed": (JOB, {"after": 2, "enough": False, "left_ml": 120.5}),
    "another way": (JOB, {"after": 1, "enough": False, "way": "grey"}),
    "a test piece": (JOB, {"test_piece": 1, "enough": False}),
    "one group": (GROUPS, {"after": 2, "enough": False, "group": "doors"}),
    "no such way": (JOB, {"after": 1, "enough": False, "way": "gold leaf"}),
    "too many": (JOB, {"after": 13, "enough": True}),
    "a wrong job too": ({**JOB, "area_m2": -1}, {"after": 13, "enough": True}),
}


@pytest.fixture(scope="module")
def http():
    return client()


def options(what):
    out = ["--enough" if what["enough"] else "--not-enough"]
    for key, value in what.items():
        if key != "enough":
            out += [{"left_ml": "--left"}.get(key, f"--{key.replace('_', '-')}"), value]
    return out


def timeless(result):
    """Without the dates: on the piece the work goes on now, and each door has its own now."""
    kind, found = result
    if kind == "problems" or found["test_piece"]:
        return result
    return kind, {k: v for k, v in found.items() if k != "days"}


@pytest.mark.parametrize(("job", "what"), SEEN.values(), ids=SEEN)
def test_one_outcome_has_one_answer(job, what, http, tmp_path):
    told = timeless(by_library(half_way, job, **what))
    assert timeless(by_http(http, "log", {"job": job, **what})) == told
    line = by_command("log", job, tmp_path, *options(what))
    if told[0] == "answer":
        assert timeless(line) == told
    else:
        assert line == ("problems", lines_of(told[1]))


@pytest.mark.parametrize(("job", "what"), list(SEEN.values())[:6], ids=list(SEEN)[:6])
def test_what_stands_in_the_answer_stands_in_the_text(job, what, tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(toml_of(job), encoding="utf-8")
    code, text, _ = run("log", path, *options(what))
    assert code == 0
    answer = half_way(job, **what)
    flat = " ".join(text.split())
    assert " ".join(answer.headline.split()) in flat
    assert all(len(line) <= 80 for line in text.splitlines())
    assert len(text.splitlines()) <= 45
    for product in answer.paint:
        assert product.product in flat
    code, full, _ = run("log", path, "--full", *options(what))
    assert code == 0
    assert len(full) > len(text)


def test_random_jobs_leave_no_fault_half_way(http):
    for i, job in enumerate(random_whole_jobs(25, 11)):
        body = {"job": job, "after": 1 + i % 5, "enough": i % 3 == 0}
        response = http.post("/api/log", json=body)
        assert response.status_code in {200, 422}, response.text
        assert not UNSAFE.search(response.json().get("headline", ""))


@pytest.mark.parametrize("line", [
    ("--after", "2"), ("--not-enough",), ("--after", "two", "--enough"),
    ("--after", "1", "--enough", "--not-enough"), ("--after", "1", "--test-piece", "1", "--enough"),
])  # fmt: skip
def test_a_line_that_says_too_little_or_too_much_is_refused(line, tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(toml_of(JOB), encoding="utf-8")
    code, out, err = run("log", path, *line)
    assert code == 2
    assert out == ""
    assert "Traceback" not in err
