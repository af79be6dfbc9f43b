"""Finished jobs through library, command line and service: one answer, and the same undo."""

from __future__ import annotations

import numpy as np
import pytest

from doors.doors import by_command, by_http, by_library, client, lines_of, run
from jobs.small_jobs import toml_of
from records.painters_jobs import OLIVE, entry
from showthrough import palette_for, plan, predict, soften
from showthrough.jobs.case.learned import paint_key
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.schema.job import EXAMPLE_JOB

JOB = {**OLIVE, "days": {"zone": "Europe/Berlin", "start": "2090-03-01"}, "area_m2": 2.0}
USE_CASES = {"predict": predict, "plan": plan, "soften": soften, "palette": palette_for}
OUTCOMES = ("enough", "gave up", "did not look")


@pytest.fixture(scope="module")
def http():
    with client() as found:
        yield found


def some_entries(seed):
    """A few entries drawn at random, of this paint and tool and of others; one of it last."""
    rng = np.random.default_rng(seed)
    return [
        entry(
            int(rng.integers(1, 13)),
            paint=str(rng.choice(["invented olive", "another"])),
            tool=str(rng.choice(["spray", "brush"])),
            outcome=str(rng.choice(OUTCOMES)),
            film_coats=float(rng.uniform(0.5, 6.0)),
            gauge_um=float(rng.uniform(30.0, 60.0)),
            work=[{"work": "topcoat", "minutes": 40.0, "expected": 33.0}],
            dried_h=5.0,
            expected_h=4.0,
        )
        for _ in range(rng.integers(1, 6))
    ] + [entry(7)]


def through(http, folder, name, job):
    """The answer of each door, which must be one."""
    body = job if name != "soften" else {"job": job}
    answers = [
        by_library(USE_CASES[name], job),
        by_http(http, name, body),
        by_command(name, job, folder),
    ]
    assert answers[0] == answers[1] == answers[2]
    assert answers[0][0] == "answer"
    return answers[0][1]


@pytest.mark.parametrize("name", USE_CASES)
def test_every_door_learns_alike_and_forgets_alike(name, http, tmp_path):
    rows = some_entries(len(name))
    without, with_all = (
        through(http, tmp_path, name, {**JOB, "finished": r}) for r in (rows[:-1], rows)
    )
    # Handles and colours beside a topcoat do not hang on its coats.
    assert (without == with_all) is (name == "palette")
    assert through(http, tmp_path, name, {**JOB, "finished": rows[:-1]}) == without
    assert through(http, tmp_path, name, {**JOB, "finished": []}) == through(
        http, tmp_path, name, JOB
    )


def test_a_wrong_entry_is_told_alike(http, tmp_path):
    job = {**JOB, "finished": [entry(4), entry(13), entry(4, outcome="fine")]}
    told = by_library(predict, job)
    assert told[0] == "problems"
    assert [p["field"] for p in told[1]] == ["finished[2].coats", "finished[3].outcome"]
    assert by_http(http, "predict", job) == told
    assert by_command("predict", job, tmp_path) == ("problems", lines_of(told[1]))


@pytest.mark.parametrize(("command", "most"), [("predict", 30), ("plan", 45)])
def test_the_first_screen_says_how_the_range_moved(command, most, tmp_path, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    row = entry(paint=paint_key(prepare(EXAMPLE_JOB).topcoat))
    path = tmp_path / "job.toml"
    path.write_text(toml_of({**EXAMPLE_JOB, "finished": [row] * 5}), encoding="utf-8")
    code, out, _ = run(command, path)
    assert code == 0
    sentence = predict({**EXAMPLE_JOB, "finished": [row] * 5}).learned.sentence
    assert sentence.startswith("From 5 of your jobs: ")
    assert sentence in " ".join(out.split())
    assert len(out.splitlines()) <= most
    path.write_text(toml_of(EXAMPLE_JOB), encoding="utf-8")
    assert "of your jobs" not in run(command, path)[1]
