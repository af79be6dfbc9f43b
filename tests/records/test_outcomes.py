"""Outcomes are kept, taken back and taught; a quote is reckoned again and says why it differs."""

from __future__ import annotations

import json
import zlib

import pytest
import sqlalchemy as sa

from jobs.small_jobs import small_job
from records.painters_jobs import finished
from showthrough import InputError, __version__, plan
from showthrough.errors import UnknownError
from showthrough.records.store.kept import jobs, lessons, model, outcomes
from showthrough.records.store.shape.tables import ANSWER, MODEL, OUTCOME

JOB = small_job(
    title="Linen cupboard",
    group=[{"name": "doors", "area_m2": 2.0}, {"name": "carcass", "area_m2": 3.5}],
)
MEASURED = {
    "used_ml": 620.0,
    "area_m2": 5.5,
    "wet_film_um": 44.0,
    "minutes": 180.0,
    "recoat_h": 5.0,
}


@pytest.fixture
def kept(store):
    jobs.add(store, JOB)
    return store


def test_all_that_was_measured_comes_out_as_it_went_in(kept):
    said = {"after": 4, "result": "enough", "stopped_by": "colour", "group": "doors", **MEASURED}
    logged = outcomes.log(kept, 1, note="cold morning", **said)
    (found,) = jobs.opened(kept, 1).outcomes
    assert found == logged
    assert {key: getattr(found, key) for key in said} == said
    assert (found.note, found.job, found.job_version) == ("cold morning", 1, 1)
    step = outcomes.step_done(kept, 1, "Wash", note="degreaser")
    assert jobs.opened(kept, 1).steps == [step]


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"after": 0}, "after: must be a whole number from 1 to 40, not 0"),
        ({"after": True}, "not true"),
        ({"after": 2.5}, "not 2.5"),
        ({"result": "fine"}, "result: must be enough, not enough, gave up, did not look, not fine"),
        ({"result": None}, "result: must be"),
        ({"stopped_by": "dark"}, "stopped_by: must be even, colour, not dark"),
        ({"failed_by": "rain"}, "failed_by: must be bleeding, adhesion, runs, other, not rain"),
        ({"used_ml": -1}, "used_ml: must be a number from 0.1 to 1e+06, not -1"),
        ({"minutes": float("nan")}, "minutes: must be a number from"),
        ({"area_m2": "2"}, "area_m2: must be a number from 0.001 to 10000, not 2"),
        ({"note": "a\nb"}, "note: holds the control character"),
        ({"group": "legs"}, "group: job 1 has no group legs; its groups are doors, carcass"),
    ],
)
def test_what_cannot_be_is_refused_by_field(kept, wrong, says):
    with pytest.raises(InputError) as caught:
        outcomes.log(kept, 1, **{"after": 3, "result": "enough", **wrong})
    assert says in str(caught.value)
    assert jobs.opened(kept, 1).outcomes == []


def test_everything_wrong_is_told_at_once(kept):
    with pytest.raises(InputError) as caught:
        outcomes.log(kept, 1, after=0, result="fine", used_ml=-1, note="a\nb")
    assert [p.field for p in caught.value.problems] == ["after", "result", "used_ml", "note"]


def test_an_outcome_that_was_taken_back_is_kept_but_neither_shown_nor_taught(kept):
    outcomes.log(kept, 1, after=3, result="not enough")
    last = outcomes.log(kept, 1, after=4, result="enough")
    back = outcomes.undo(kept, 1)
    assert (back.uuid, back.withdrawn is None) == (last.uuid, False)
    assert [one.after for one in jobs.opened(kept, 1).outcomes] == [3]
    assert [row.outcome.after for row in finished(kept)] == [3]
    with kept.reading() as connection:
        assert connection.execute(sa.select(sa.func.count()).select_from(OUTCOME)).scalar() == 2
    outcomes.undo(kept, 1)
    with pytest.raises(UnknownError, match="job 1 has no outcome to take back"):
        outcomes.undo(kept, 1)


def test_a_finished_job_is_handed_over_as_it_was_when_it_was_done(kept, clock):
    outcomes.log(kept, 1, after=4, result="enough")
    jobs.save(kept, 1, {**JOB, "title": "Painted again"}, made_from=2)
    outcomes.log(kept, 1, after=2, result="enough")
    first, second = finished(kept)
    assert (first.job, second.job["title"]) == (JOB, "Painted again")
    assert first.answer["title"] == "Linen cupboard"
    assert second.answer["title"] == "Painted again"
    clock.moment = clock.moment  # the answers are those of their day
    assert first.answer["headline"] == plan(JOB, now=clock()).headline


def test_a_lesson_is_drawn_once_for_a_model_and_anew_for_another(kept, monkeypatch):
    outcomes.log(kept, 1, after=4, result="enough")
    outcomes.log(kept, 1, after=1, result="not enough", failed_by="bleeding")
    asked = []

    def teach(done):
        asked.append(done.outcome.after)
        return None if done.outcome.failed_by else {"after": done.outcome.after}

    assert lessons.finished_for(kept, teach) == [{"after": 4}]
    assert lessons.finished_for(kept, teach) == [{"after": 4}]
    assert asked == [4, 1]
    monkeypatch.setattr(lessons, "model_id", lambda: "0" * 64)
    assert lessons.finished_for(kept, teach) == [{"after": 4}]
    assert asked == [4, 1, 4, 1]


def test_an_answer_is_that_of_the_plan_and_names_its_model(kept):
    found = jobs.opened(kept, 1)
    assert found.answer.release == __version__
    assert found.answer.model_id == model.model_id()
    made = json.loads(plan(JOB, now=_moment(found)).model_dump_json())
    assert found.answer.answer == made
    again = jobs.reckoned_again(kept, 1)
    assert (again.differs, again.why, again.today) == ([], [], made)


def _moment(found):
    from datetime import datetime

    return datetime.fromisoformat(found.answer.made)


def changed_answer(store, headline):
    """The stored answer as if another model had given it."""
    with store.writing() as connection:
        row = connection.execute(sa.select(ANSWER)).one()
        answer = json.loads(zlib.decompress(row.answer))
        text = json.dumps({**answer, "headline": headline})
        change = {"answer": zlib.compress(text.encode())}
        connection.execute(ANSWER.update().values(change))


def test_an_answer_that_today_would_differ_says_which_default_changed(kept):
    changed_answer(kept, "2 coats")
    with kept.writing() as connection:
        text = connection.execute(sa.select(MODEL.c.defaults)).scalar_one()
        old = {**json.loads(text), "film.evenness": 0.3, "film.gone": 1.0}
        values = {"id": "0" * 64, "release": "0.0.9", "defaults": json.dumps(old)}
        connection.execute(MODEL.insert().values(**values, first_used="x"))
        connection.execute(ANSWER.update().values(model_id="0" * 64))
    again = jobs.reckoned_again(kept, 1)
    assert [one.field for one in again.differs] == ["headline"]
    assert again.differs[0].before == "2 coats"
    assert again.why == [
        "default film.evenness: 0.3 became 0.25",
        "default film.gone: 1 became nothing",
    ]


def test_an_answer_that_differs_though_no_default_did_says_that_the_model_changed(kept):
    changed_answer(kept, "2 coats")
    assert jobs.reckoned_again(kept, 1).why == [
        "the same model: a library or the zone of this computer's clock changed"
    ]
    with kept.writing() as connection:
        row = connection.execute(sa.select(MODEL)).one()
        values = {"id": "0" * 64, "release": "0.0.9", "defaults": row.defaults}
        connection.execute(MODEL.insert().values(**values, first_used="x"))
        connection.execute(ANSWER.update().values(model_id="0" * 64))
    assert jobs.reckoned_again(kept, 1).why == [
        "the model itself changed, none of its defaults did"
    ]


def test_the_model_is_another_one_when_a_constant_changes(tmp_path, monkeypatch):
    import shutil
    from pathlib import Path

    import showthrough

    package = tmp_path / "showthrough"
    shutil.copytree(Path(showthrough.__file__).parent, package)
    monkeypatch.setattr(showthrough, "__file__", str(package / "__init__.py"))
    model.model_id.cache_clear()
    before = model.model_id()
    table = package / "data" / "defaults.csv"
    table.write_text(table.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    model.model_id.cache_clear()
    after = model.model_id()
    monkeypatch.undo()
    model.model_id.cache_clear()
    assert len({before, after}) == 2
    assert model.model_id() == before


# --- what they teach -------------------------------------------------------------------


def test_what_finished_jobs_teach_is_taken_by_the_next_job_and_moves_its_count(kept):
    outcomes.log(kept, 1, after=6, result="enough", stopped_by="colour")
    outcomes.log(kept, 1, after=5, result="not enough", group="doors")
    outcomes.log(kept, 1, after=3, result="enough", failed_by="bleeding")
    rows = lessons.finished_for(kept)
    assert [row["outcome"] for row in rows] == ["enough", "gave up", "enough"]
    assert [row["coats"] for row in rows] == [6, 5, 3]
    assert rows[2]["failed_by"] == "bleeding"
    before, after = plan(JOB), plan({**JOB, "finished": rows})
    assert after.ways[0].total > before.ways[0].total
    assert plan({**JOB, "finished": rows[2:]}).coats == before.coats


def test_measurements_are_handed_on_in_the_words_of_a_job(kept):
    outcomes.log(kept, 1, after=4, result="enough", group="doors", **MEASURED)
    (row,) = lessons.finished_for(kept)
    assert (row["paint_ml"], row["area_m2"], row["gauge_um"]) == (620.0, 5.5, 44.0)
    assert row["dried_h"] == 5.0
    assert [(w["work"], w["minutes"]) for w in row["work"]] == [("topcoat", 45.0)]


def test_a_slip_of_the_pen_teaches_nothing_and_hinders_nothing(kept):
    outcomes.log(kept, 1, after=4, result="enough", used_ml=1e6, area_m2=0.01)
    outcomes.log(kept, 1, after=4, result="enough")
    assert [row["coats"] for row in lessons.finished_for(kept)] == [4]
    outcomes.log(kept, 1, after=30, result="enough")
    assert [row.get("coats") for row in lessons.finished_for(kept)] == [4, None]
