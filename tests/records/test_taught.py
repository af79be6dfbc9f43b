"""What the records teach the next job; a quote stands by what was known when it was made."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from doors.doors import client, run
from jobs.small_jobs import YELLOW_GREEN, patch, small_job, toml_of
from records.painters_jobs import finished
from showthrough import plan
from showthrough.records.store.kept import jobs, lessons, outcomes
from showthrough.records.store.leaving import exchange
from showthrough.records.store.leaving.erase import erase_customer
from showthrough.records.store.opening.opened import open_store
from showthrough.records.store.opening.there import VARIABLE, is_there

JOB = small_job(
    YELLOW_GREEN, patch(ground="varnish"), area_m2=2.0,
    days={"zone": "Europe/Berlin", "start": "2090-03-01"},
)  # fmt: skip


def finish(store, times, after=6, **more):
    for _ in range(times):
        line = jobs.add(store, JOB)
        outcomes.log(store, line.number, after=after, result="enough", **more)


def test_five_finished_jobs_teach_the_sixth(store):
    before = plan(JOB)
    finish(store, 5, after=3)
    answer = jobs.opened(store, jobs.add(store, JOB).number).answer
    assert answer.answer["learned"]["jobs"] == 5
    assert "From 5 of your jobs" in answer.answer["learned"]["sentence"]
    assert answer.answer["coats"]["likely"] > before.coats.likely
    assert len(answer.finished) == 5


def test_a_quote_is_reckoned_again_from_what_was_known_then(store):
    first = jobs.add(store, JOB).number
    finish(store, 5)
    late = jobs.add(store, JOB).number
    finish(store, 3, after=2)
    for number in (first, late):
        assert jobs.reckoned_again(store, number).differs == []
    assert jobs.opened(store, first).answer.finished == []


def test_an_outcome_that_is_taken_back_is_unlearned_bit_for_bit(store):
    finish(store, 2)
    before = lessons.taught(store, JOB)
    finish(store, 1, after=3)
    assert lessons.taught(store, JOB) != before
    outcomes.undo(store, 3)
    assert json.dumps(lessons.taught(store, JOB)) == json.dumps(before)


def test_what_was_seen_half_way_is_not_learned_beside_how_it_came_out(store):
    line = jobs.add(store, JOB)
    outcomes.log(store, line.number, after=3, result="not enough")
    half = lessons.finished_for(store)
    assert [(e["coats"], e["outcome"]) for e in half] == [(3, "gave up")]
    outcomes.log(store, line.number, after=5, result="enough")
    assert [(e["coats"], e["outcome"]) for e in lessons.finished_for(store)] == [(5, "enough")]


def test_a_job_that_says_what_it_was_learned_from_is_left_with_that(store):
    finish(store, 4)
    own = {**JOB, "finished": lessons.finished_for(store)[:1]}
    assert lessons.taught(store, own) is own
    assert jobs.opened(store, jobs.add(store, own).number).answer.finished == []


def test_what_an_answer_was_learned_from_leaves_and_returns_with_it(store, tmp_path, clock):
    finish(store, 2)
    jobs.add(store, JOB)
    text = exchange.exported(store)
    with open_store(tmp_path / "other.db", now=clock) as other:
        exchange.import_all(other, text)
        assert len(jobs.opened(other, 3).answer.finished) == 2
        assert exchange.exported(other) == text


def test_command_and_service_take_the_same_from_the_records(tmp_path, monkeypatch):
    monkeypatch.setenv("SHOWTHROUGH_DATABASE", str(tmp_path / "records.db"))
    with open_store() as store:
        finish(store, 3)
        told = json.loads(plan(lessons.taught(store, JOB)).model_dump_json())
    assert told["learned"]["jobs"] == 3
    path = tmp_path / "job.toml"
    path.write_text(toml_of(JOB), encoding="utf-8")
    code, out, _ = run("plan", path, "--from-records", "--json")
    assert code == 0
    assert json.loads(out) == told
    answer = client().post("/api/records/plan", json=JOB)
    assert answer.json() == told
    # Without being asked nothing is taken from them: a job file alone says what is answered.
    code, out, _ = run("plan", path, "--json")
    assert json.loads(out)["learned"] is None
    code, out, _ = run("predict", path, "--from-records")
    assert "From 3 of your jobs" in " ".join(out.split())


@pytest.mark.parametrize("more", [{"failed_by": "bleeding"}, {"failed_by": "runs"}])
def test_what_failed_otherwise_teaches_no_count(store, more):
    finish(store, 3, **more)
    assert plan(lessons.taught(store, JOB)).coats == plan(JOB).coats


def test_of_more_lessons_than_are_taken_those_of_the_same_paint_come_first(store, monkeypatch):
    finish(store, 1)
    other = {**JOB, "topcoat": {"colour": "lab(96 -0.5 2)", "volume_solids": 0.38}}
    for tool in ("spray", "brush"):
        line = jobs.add(store, {**other, "application": {"tool": tool, "wet_film_um": 60}})
        outcomes.log(store, line.number, after=3, result="enough")
    for most, known in ((1, [(6, "spray")]), (2, [(6, "spray"), (3, "spray")])):
        monkeypatch.setattr(lessons, "MOST_LESSONS", most)
        taken = lessons.taught(store, JOB)["finished"]
        assert [(entry["coats"], entry["tool"]) for entry in taken] == known


def test_a_lesson_is_drawn_over_what_lay_under_the_topcoat_then(store):
    finish(store, 1)
    (done,) = finished(store)
    films = {}
    for key in [way.key for way in plan(JOB).ways]:
        told = replace(done, answer={**done.answer, "ways": [{"key": key}]})
        films[key] = lessons.lesson_of(told)["film_coats"]
    assert len(set(films.values())) == len(films) > 2
    # A way that today's model does not know is today's leading one.
    gone = replace(done, answer={**done.answer, "ways": [{"key": "gold leaf"}]})
    assert lessons.lesson_of(gone)["film_coats"] == films[plan(JOB).ways[0].key]


def test_a_paint_that_names_a_customer_is_blanked_in_what_others_learned(store):
    named = {**JOB, "topcoat": {**JOB["topcoat"], "name": "Larkspur porch green"}}
    line = jobs.add(store, named, customer="Ida Larkspur")
    outcomes.log(store, line.number, after=6, result="enough")
    number = jobs.add(store, JOB).number
    (entry,) = jobs.opened(store, number).answer.finished
    assert entry["paint"] == "larkspur porch green"
    erase_customer(store, "Ida Larkspur")
    (entry,) = jobs.opened(store, number).answer.finished
    assert "larkspur" not in entry["paint"]
    assert entry["paint"].endswith("porch green")


def test_whether_anything_is_kept_is_told_without_a_database(tmp_path):
    path = tmp_path / "records.db"
    for said in (str(path), f"sqlite:///{path}"):
        assert not is_there({VARIABLE: said})
    path.touch()
    for said in (str(path), f"sqlite:///{path}"):
        assert is_there({VARIABLE: said})
    assert is_there({VARIABLE: "postgresql://bench@127.0.0.1/records"})
