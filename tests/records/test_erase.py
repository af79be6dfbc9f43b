"""An erased customer is gone from every version, answer and export, and from the very bytes."""

from __future__ import annotations

import json
import sqlite3
import zlib

import pytest
import sqlalchemy as sa

from jobs.small_jobs import patch, small_job
from records.pictures import picture
from showthrough.errors import UnknownError
from showthrough.records.store.kept import customers, jobs, lessons, outcomes, paints, photos
from showthrough.records.store.leaving import erase, exchange
from showthrough.records.store.opening.opened import open_store
from showthrough.records.store.shape.tables import ANSWER

NAME, CONTACT = "Idamaria Inventedson", "Larkspur lane 47110815471, idamaria@example.invalid"
TRACES = ("idamaria", "inventedson", "larkspur", "47110815471")
# The number is so long that no random UUID or hash holds it by chance.
JOB = small_job(
    (66, -24, 55),
    patch(name="Idamaria's door", share=0.5),
    patch((40, 11, 19), name="door of Inventedson", share=0.5),
    title="Cupboard of Idamaria",
    group=[{"name": "Larkspur side", "area_m2": 2.0}, {"name": "back", "area_m2": 1.0}],
    undercoat=[{"name": "wood grey of 47110815471", "colour": "#777"}],
    paint={"name": "Inventedson green"},
)
OTHER = small_job((66, -24, 55), patch(name="wood"), title=f"As for {NAME}")


@pytest.fixture
def filled(store):
    jobs.add(store, JOB, piece="hers, Idamaria's", customer=NAME)
    customers.edit_customer(store, NAME, {"contact": CONTACT}, made_from=1)
    jobs.save(store, 1, {**JOB, "title": "Larkspur cupboard"}, made_from=1)
    jobs.add(store, OTHER)
    outcomes.log(store, 1, after=3, result="enough", group="Larkspur side", note="Idamaria saw it")
    lessons.finished_for(store, lambda _: {"title": "Larkspur cupboard"})
    outcomes.step_done(store, 1, "Wash Idamaria's door", note="with Inventedson")
    paints.add_paint(store, {"colour": "#777"}, name=f"grey for {NAME}")
    photos.add_photo(store, 1, picture("PNG"), "Idamaria")
    photos.add_photo(store, 2, picture("PNG"), "shared")
    photos.add_photo(store, 1, picture("JPEG"), "hers alone")
    return store


def everything(store):
    """All that is kept, also what an export leaves out, in small letters."""
    with store.reading() as connection:
        texts = [exchange.exported(store)]
        for table in ("job", "outcome"):
            rows = connection.execute(sa.text(f'SELECT * FROM "{table}"'))  # noqa: S608 - ours
            texts += [str(tuple(row)) for row in rows]
    return "\n".join(texts).lower()


def test_every_trace_is_gone_and_every_figure_is_left(filled):
    assert all(trace in everything(filled) for trace in TRACES)
    before = jobs.opened(filled, 1)
    done = erase.erase_customer(filled, NAME)
    assert (done.name, done.contact, done.erased is None) == ("", "", False)
    found = everything(filled)
    assert [trace for trace in TRACES if trace in found] == []
    after = jobs.opened(filled, 1)
    assert after.versions == [1, 2]
    assert after.answer.answer["coats"] == before.answer.answer["coats"]
    assert after.outcomes[0].after == 3
    assert after.outcomes[0].group == "(erased) side"
    assert [p["name"] for p in after.shown.job["surface"]] == [
        "(erased)'s door",
        "door of (erased)",
    ]
    assert after.shown.job["undercoat"][0] == {"name": "wood grey of (erased)", "colour": "#777"}
    assert customers.listed_customers(filled) == []
    assert jobs.listed(filled, "larkspur") == []
    assert [p.name for p in after.photos] == ["", ""]


def test_what_is_left_is_still_a_job_and_an_export(filled, tmp_path):
    erase.erase_customer(filled, 1)
    again = jobs.reckoned_again(filled, 1)
    assert [d.field for d in again.differs] == []
    jobs.save(filled, 1, jobs.opened(filled, 1).shown.job, made_from=2)
    text = exchange.exported(filled)
    with open_store(tmp_path / "other.db") as other:
        exchange.import_all(other, text)
        assert exchange.exported(other) == text


def test_jobs_of_others_keep_all_but_the_whole_name(filled):
    erase.erase_customer(filled, 1)
    other = jobs.opened(filled, 2)
    assert other.shown.job == {**OTHER, "title": "As for (erased)"}
    assert paints.listed_paints(filled)[0].name == "grey for (erased)"


def test_a_name_that_is_a_word_of_the_trade_spoils_nothing(store):
    job = small_job((66, -24, 55), patch(name="wood", ground="wood"), title="Chair")
    jobs.add(store, job, customer="May Wood")
    erase.erase_customer(store, "may wood")
    kept = jobs.opened(store, 1).shown.job
    assert kept["surface"][0]["ground"] == "wood"
    assert kept["surface"][0]["name"] == "(erased)"
    assert jobs.reckoned_again(store, 1) is not None


def test_labels_that_would_become_the_same_stay_apart(store):
    job = small_job(
        (66, -24, 55), patch(name="May", share=0.5), patch((9, 0, 0), name="Wood", share=0.5)
    )
    jobs.add(store, job, customer="May Wood")
    erase.erase_customer(store, 1)
    names = [p["name"] for p in jobs.opened(store, 1).shown.job["surface"]]
    assert names == ["(erased)", "(erased) 2"]
    assert jobs.reckoned_again(store, 1).differs == []


def test_photos_that_only_their_jobs_hold_go_where_that_is_asked(filled):
    shared, hers = sorted(jobs.opened(filled, 1).photos, key=lambda p: p.name == "hers alone")
    erase.erase_customer(filled, 1, photos=True)
    assert [p.sha256 for p in jobs.opened(filled, 2).photos] == [shared.sha256]
    assert photos.photo_content(filled, shared.sha256)
    with pytest.raises(UnknownError):
        photos.photo_content(filled, hers.sha256)


def test_an_earlier_export_does_not_bring_them_back(filled):
    text = exchange.exported(filled)
    erase.erase_customer(filled, 1)
    done = exchange.import_all(filled, text)
    assert len(done.conflicts) == 4  # customer, paint, both jobs
    assert [trace for trace in TRACES if trace in everything(filled)] == []


def traces_in(path):
    """Traces in every byte of the files, and in what the deflated answers say."""
    found = set()
    for file in path.parent.iterdir():
        content = file.read_bytes().lower()
        found |= {trace for trace in TRACES if trace.encode() in content}
        at = -1
        while (at := content.find(b"\x78\x9c", at + 1)) >= 0:  # how zlib begins (RFC 1950)
            raw = file.read_bytes()[at:]
            try:
                text = zlib.decompressobj().decompress(raw).lower()
            except zlib.error:
                continue
            found |= {trace for trace in TRACES if trace.encode() in text}
    return found


def test_the_bytes_are_gone_from_the_file_and_its_log(tmp_path, clock):
    path = tmp_path / "store" / "records.db"
    with open_store(path, now=clock) as store:
        _fill(store)
        assert traces_in(path) == set(TRACES)
        other = sqlite3.connect(path)  # another bench: the log stays as long as it is there
        assert other.execute("SELECT count(*) FROM job").fetchone() == (1,)
        erase.erase_customer(store, NAME)
        assert (path.parent / "records.db-wal").exists()
        assert traces_in(path) == set()
        other.close()
    assert traces_in(path) == set()


def _fill(store):
    jobs.add(store, JOB, piece="hers, Idamaria's", customer=NAME)
    customers.edit_customer(store, NAME, {"contact": CONTACT}, made_from=1)
    for i in range(2, 12):
        jobs.save(store, 1, {**JOB, "title": f"Larkspur {'cupboard ' * i}"}, made_from=i - 1)
    outcomes.log(store, 1, after=3, result="enough", note="Idamaria saw it " * 40)
    with store.writing() as connection:  # a page that is free again still holds what it held
        connection.execute(ANSWER.delete().where(ANSWER.c.job_version < 6))


def test_a_customer_who_is_not_there_is_told(store):
    with pytest.raises(UnknownError, match="no customer has the number or the name Nobody"):
        erase.erase_customer(store, "Nobody")
    customers.add_customer(store, "Ida")
    customers.add_customer(store, "ida")
    with pytest.raises(UnknownError, match="several; give a number: 1, 2"):
        erase.erase_customer(store, "Ida")
    assert json.loads(exchange.exported(store))["customers"][0]["name"] == "Ida"
