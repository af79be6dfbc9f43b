"""What leaves the store comes back whole; twice changes nothing; what differs is told."""

from __future__ import annotations

import copy
import json
import sqlite3

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from jobs.small_jobs import small_job
from records.pictures import picture
from showthrough import InputError
from showthrough.errors import StoreError
from showthrough.records.store.kept import customers, jobs, outcomes, paints, photos
from showthrough.records.store.leaving import exchange
from showthrough.records.store.leaving.backup import backup
from showthrough.records.store.opening.opened import open_store
from showthrough.records.store.shape.rows import Imported

JOB = small_job(title="Linen cupboard")


def filled(store):
    """A bit of everything."""
    customers.add_customer(store, "Ida Invented", "ida@example.invalid")
    jobs.add(store, JOB, piece="from the attic", customer="Ida Invented")
    jobs.save(store, 1, {**JOB, "title": "In green"}, made_from=1)
    jobs.duplicate(store, 1)
    jobs.set_state(store, 2, "archived")
    paints.add_paint(store, JOB["topcoat"], name="green", price="21.00 EUR", left_ml=400)
    photos.add_photo(store, 1, picture("PNG"), "chip")
    photos.add_photo(store, 1, picture("JPEG"), "door")
    outcomes.step_done(store, 1, "Wash")
    outcomes.log(store, 1, after=3, result="not enough")
    outcomes.undo(store, 1)
    outcomes.log(store, 1, after=4, result="enough", used_ml=620, note="µ and “quotes”")
    return exchange.exported(store)


@pytest.fixture
def other(tmp_path):
    with open_store(tmp_path / "other.db") as opened:
        yield opened


def test_an_export_taken_in_elsewhere_is_exported_the_same(store, other):
    text = filled(store)
    done = exchange.import_all(other, text)
    assert done.conflicts == done.renumbered == []
    assert done.added == {
        "photos": 2, "customers": 1, "paints": 1, "jobs": 2, "versions": 5, "answers": 3,
        "outcomes": 2, "steps": 1, "photos of jobs": 2,
    }  # fmt: skip
    assert exchange.exported(other) == text
    assert jobs.listed(other) == jobs.listed(store)
    assert jobs.opened(other, "ida attic") == jobs.opened(store, 1)


def test_taking_it_in_twice_changes_nothing(store, other):
    text = filled(store)
    exchange.import_all(other, text)
    assert exchange.import_all(other, text) == Imported()
    assert exchange.import_all(store, text) == Imported()
    assert exchange.exported(other) == exchange.exported(store) == text


def test_numbers_that_are_taken_are_given_anew_and_told(store, other):
    jobs.add(other, {**JOB, "title": "Mine"})
    done = exchange.import_all(other, filled(store))
    assert done.renumbered == ["job 1 is job 2 here", "job 2 is job 3 here"]
    assert [line.title for line in jobs.listed(other)] == ["Mine", "In green"]
    assert jobs.opened(other, 2).outcomes[0].after == 4


def test_a_job_that_went_on_elsewhere_goes_on_here(store, other):
    exchange.import_all(other, filled(store))
    jobs.save(store, 1, {**JOB, "title": "In blue"}, made_from=3)
    outcomes.undo(store, 1)
    older = exchange.exported(other)
    done = exchange.import_all(other, exchange.exported(store))
    assert (done.added, done.conflicts) == ({"versions": 2, "answers": 1}, [])
    assert exchange.exported(other) == exchange.exported(store)
    assert [line.number for line in jobs.listed(other, "blue")] == [1]
    assert exchange.import_all(store, older) == Imported()


def test_what_differs_stays_as_it_is_here_and_is_told(store, other):
    exchange.import_all(other, filled(store))
    jobs.save(store, 1, {**JOB, "title": "Here"}, made_from=3)
    jobs.save(other, 1, {**JOB, "title": "There"}, made_from=3)
    paints.edit_paint(other, 1, made_from=1, left_ml=10)
    customers.edit_customer(other, 1, {"contact": "moved"}, made_from=1)
    mine = exchange.exported(store)
    done = exchange.import_all(store, exchange.exported(other))
    assert done.conflicts == [
        "customer 1 differs (version 1 here, 2 there); it stays as it is here",
        "paint 1 differs (version 1 here, 2 there); it stays as it is here",
        "job 1 Here differs (version 4 here, 4 there); it stays as it is here",
    ]
    assert exchange.exported(store) == mine


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """An export of a filled store."""
    with open_store(tmp_path_factory.mktemp("whole") / "full.db") as store:
        return filled(store)


def broken(text, change):
    data = json.loads(text)
    change(data)
    return json.dumps(data)


def in_first(part, **change):
    """A change of the first such part of the first job."""
    return lambda data: data["jobs"][0][part][0].update(change)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (lambda d: d["jobs"][0].pop("uuid"), "export.jobs[1].uuid"),
        (lambda d: d["jobs"][0].update(uuid="x"), "export.jobs[1].uuid"),
        (lambda d: d["jobs"][1].update(uuid=d["jobs"][0]["uuid"]), "jobs[2].uuid"),
        (lambda d: d["jobs"][1].update(number=1), "jobs[2].number"),
        (lambda d: d["jobs"][0].update(state="lost"), "export.jobs[1].state"),
        (lambda d: d["jobs"][0].update(title="a\nb"), "export.jobs[1].title"),
        (lambda d: d["jobs"][0].update(customer=d["jobs"][0]["uuid"]), "jobs[1].customer"),
        (lambda d: d["jobs"][0]["versions"].pop(0), "jobs[1].versions"),
        (
            lambda d: d["jobs"][0]["versions"][0]["job"].update(typo=1),
            "jobs[1].versions[1].job.typo",
        ),
        (in_first("answers", job_version=9), "jobs[1].answers[1].job_version"),
        (in_first("answers", model_id="0" * 64), "jobs[1].answers[1].model_id"),
        (in_first("outcomes", after=True), "export.jobs[1].outcomes[1].after"),
        (in_first("outcomes", logged="now"), "export.jobs[1].outcomes[1].logged"),
        (lambda d: d["jobs"][0]["photos"][0].update(sha256="0" * 64), "jobs[1].photos[1].sha256"),
        (lambda d: d["photos"][0].update(content="AAAA"), "export.photos[1].content"),
        (lambda d: d["photos"][0].update(content="ö"), "export.photos[1].content"),
        (
            lambda d: d["photos"][0].update(content=d["photos"][1]["content"]),
            "export.photos[1].content",
        ),
        (lambda d: d.update(paints=None), "export.paints"),
        (lambda d: d.update(extra=1), "export.extra"),
    ],
)  # fmt: skip
def test_a_broken_export_is_refused_by_place_and_nothing_is_taken_in(other, whole, change, field):
    with pytest.raises(InputError) as caught:
        exchange.import_all(other, broken(whole, change))
    assert field in [p.field for p in caught.value.problems]
    assert json.loads(exchange.exported(other))["jobs"] == []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is not JSON"),
        ("[" * 100_000, "is not JSON"),
        ("[]", "is no export of records"),
        ('{"format": "other"}', "is no export of records"),
        (
            '{"format": "showthrough records", "version": 2}',
            "was written by a newer Showthrough (version 2, this one reads 1)",
        ),
    ],
)
def test_what_is_no_export_is_told_so(other, text, says):
    with pytest.raises(InputError) as caught:
        exchange.import_all(other, text)
    assert says in str(caught.value)


def test_a_photo_that_says_where_it_was_taken_is_not_taken_in(other, tmp_path):
    import base64
    import hashlib

    content = picture("JPEG", exif=True)
    with open_store(tmp_path / "full.db") as store:
        data = json.loads(filled(store))
    photo, link = data["photos"][0], data["jobs"][0]["photos"]
    hashed = hashlib.sha256(content).hexdigest()
    for one in link:
        one["sha256"] = hashed if one["sha256"] == photo["sha256"] else one["sha256"]
    photo.update(content=base64.b64encode(content).decode(), sha256=hashed)
    with pytest.raises(InputError, match="holds more than a picture"):
        exchange.import_all(other, json.dumps(data))


# --- any store at all ------------------------------------------------------------------

LINES = st.text(st.characters(blacklist_categories=("Cs", "Cc", "Zl", "Zp", "Cf")), max_size=20)
MOVES = st.lists(
    st.one_of(
        st.tuples(st.just("add"), LINES, LINES),
        st.tuples(st.just("save"), LINES),
        st.tuples(st.just("state"), st.sampled_from(jobs.STATES)),
        st.tuples(st.just("log"), st.integers(1, 40), LINES),
        st.tuples(st.just("undo")),
        st.tuples(st.just("step"), LINES),
        st.tuples(st.just("paint"), LINES, st.none() | st.floats(0.0, 2e5)),
        st.tuples(st.just("photo"), st.integers(0, 2)),
        st.tuples(st.just("owner"), LINES, LINES),
    ),
    max_size=8,
)


def moved(store, move):
    """One thing that somebody does; what is refused changes nothing."""
    kind, *said = move
    if kind == "add":
        jobs.add(store, {**JOB, "title": said[0].strip()}, piece=said[1])
    elif kind == "paint":
        paints.add_paint(store, JOB["topcoat"], batch=said[0], left_ml=said[1])
    elif kind == "owner":
        customers.add_customer(store, said[0], said[1])
    elif kind == "save":
        jobs.save(store, 1, {**JOB, "title": said[0]}, made_from=1)
    elif kind == "state":
        jobs.set_state(store, 1, said[0])
    elif kind == "log":
        outcomes.log(store, 1, after=said[0], result="enough", note=said[1])
    elif kind == "undo":
        outcomes.undo(store, 1)
    elif kind == "step":
        outcomes.step_done(store, 1, said[0])
    else:
        photos.add_photo(store, 1, picture("PNG", said[0]), "any")


@settings(max_examples=12, suppress_health_check=[HealthCheck.too_slow])
@given(moves=MOVES)
def test_whatever_was_done_an_export_comes_back_identical(moves, tmp_path_factory):
    folder = tmp_path_factory.mktemp("law")
    with open_store(folder / "one.db") as one, open_store(folder / "two.db") as two:
        for move in [("add", "first", ""), *moves]:
            try:
                moved(one, move)
            except InputError:
                continue
        text = exchange.exported(one)
        exchange.import_all(two, text)
        assert exchange.exported(two) == text
        exchange.import_all(two, text)
        assert exchange.exported(two) == text


# --- backup ----------------------------------------------------------------------------


def test_a_backup_holds_everything_and_can_take_the_stores_place(store, tmp_path):
    text = filled(store)
    with store.writing():  # somebody is in the middle of something
        path = backup(store, tmp_path / "copy")
    if store.path is None:
        assert path.read_text(encoding="utf-8") == text
        return
    with open_store(path) as copied:
        assert exchange.exported(copied) == text
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    connection.close()


def test_a_backup_never_takes_another_files_place(store, tmp_path):
    target = tmp_path / "copy"
    target.write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="is there already; choose another name"):
        backup(store, target)
    assert target.read_text(encoding="utf-8") == "mine"
    with pytest.raises(InputError, match="cannot be written: No such file or directory"):
        backup(store, tmp_path / "nowhere" / "copy")
    assert not [p for p in tmp_path.iterdir() if p.name.startswith(".copy")]


def test_of_a_damaged_store_no_backup_is_made(tmp_path):
    path = tmp_path / "records.db"
    with open_store(path) as store:
        filled(store)
    content = bytearray(path.read_bytes())
    content[8192:12288] = b"\xff" * 4096
    path.write_bytes(content)
    with open_store(path) as store, pytest.raises(StoreError, match="is damaged"):
        backup(store, tmp_path / "copy")
    assert not (tmp_path / "copy").exists()


def test_documents_are_not_shared_between_what_is_handed_out(store):
    jobs.add(store, JOB)
    first = jobs.opened(store, 1)
    before = copy.deepcopy(first)
    first.shown.job["title"] = "changed by a caller"
    assert jobs.opened(store, 1) == before
