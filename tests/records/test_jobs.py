"""Jobs are kept version by version, found by what they say, and never lost to a second hand."""

from __future__ import annotations

import copy
import json
import tomllib
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from pathlib import Path

import pytest

from jobs.small_jobs import patch, small_job
from showthrough import InputError, plan
from showthrough.errors import StaleError, UnknownError
from showthrough.records.store.kept import jobs
from showthrough.records.store.kept.customers import add_customer, listed_customers
from showthrough.records.store.opening.opened import open_store

EXAMPLE = tomllib.loads(
    (Path(__file__).parents[2] / "examples" / "linen-cupboard.toml").read_text(encoding="utf-8")
)
JOB = small_job(title="Linen cupboard")


def titles(store, *args, **kwargs):
    return [line.title for line in jobs.listed(store, *args, **kwargs)]


def test_what_was_put_in_comes_out_word_for_word(store):
    line = jobs.add(store, EXAMPLE, piece="from the attic", customer="Ida Invented")
    found = jobs.opened(store, line.number)
    assert found.shown.job == EXAMPLE
    assert list(found.shown.job) == list(EXAMPLE)
    assert found.line == line
    assert (line.number, line.version, line.state) == (1, 1, "open")
    assert (line.title, line.piece) == ("Linen cupboard, two doors", "from the attic")
    assert (line.customer, line.colour_name) == ("Ida Invented", "bright yellow-green")


def test_a_wrong_job_is_refused_whole_with_what_is_wrong_beside_it(store):
    with pytest.raises(InputError) as caught:
        jobs.add(store, small_job("#12", typo=1), piece="a\nb", customer="x" * 81)
    fields = {p.field for p in caught.value.problems}
    assert fields == {"piece", "customer", "typo", "topcoat.colour"}
    assert jobs.listed(store) == []


def test_each_save_is_a_version_and_the_earlier_ones_stay(store):
    jobs.add(store, JOB)
    later = {**JOB, "title": "Linen cupboard in green"}
    line = jobs.save(store, 1, later, made_from=1, piece="with a new base")
    assert (line.version, line.title, line.piece) == (2, later["title"], "with a new base")
    assert line.created < line.changed
    now, before = jobs.opened(store, 1), jobs.opened(store, 1, 1)
    assert now.versions == before.versions == [1, 2]
    assert (now.shown.job, before.shown.job) == (later, JOB)
    assert (now.shown.piece, before.shown.piece) == ("with a new base", "")
    with pytest.raises(UnknownError, match="has versions 1 to 2, not 3"):
        jobs.opened(store, 1, 3)


def test_a_change_made_from_an_old_version_is_refused_and_told_what_changed(store):
    jobs.add(store, JOB)
    mine = {**JOB, "title": "mine"}
    theirs = copy.deepcopy(JOB)
    theirs["application"]["wet_film_um"] = 60
    jobs.save(store, 1, theirs, made_from=1)
    with pytest.raises(StaleError, match=r"now 2, 2026-05-31 .* UTC: application.wet_film_um"):
        jobs.save(store, 1, mine, made_from=1)
    with pytest.raises(StaleError):
        jobs.set_state(store, 1, "done", made_from=1)
    assert jobs.opened(store, 1).shown.job == theirs
    assert jobs.save(store, 1, {**theirs, "title": "mine"}, made_from=2).version == 3


def test_of_many_hands_at_once_one_wins_and_all_others_are_told(store, address):
    jobs.add(store, JOB)

    def hand(i):
        with open_store(address) as own:
            try:
                return jobs.save(own, 1, {**JOB, "title": f"hand {i}"}, made_from=1).title
            except StaleError:
                return None

    with ThreadPoolExecutor(4) as pool:
        won = [title for title in pool.map(hand, range(8)) if title]
    assert len(won) == 1
    assert titles(store) == won


def test_numbers_are_given_once_however_many_add_at_once(address):
    def hand(i):
        with open_store(address) as own:
            return jobs.add(own, {**JOB, "title": f"hand {i}"}).number

    with ThreadPoolExecutor(4) as pool:
        numbers = list(pool.map(hand, range(8)))
    assert sorted(numbers) == list(range(1, 9))


def test_an_archived_job_is_kept_but_listed_only_where_asked_for(store):
    jobs.add(store, JOB)
    jobs.set_state(store, 1, "archived")
    assert titles(store) == []
    assert titles(store, state="archived") == ["Linen cupboard"]
    assert jobs.opened(store, 1).shown.state == "archived"
    assert jobs.opened(store, 1, 1).shown.state == "open"
    assert jobs.set_state(store, 1, "archived").version == 2
    jobs.set_state(store, 1, "open")
    assert titles(store) == ["Linen cupboard"]
    with pytest.raises(InputError, match="must be open, done, archived, not lost"):
        jobs.set_state(store, 1, "lost")
    with pytest.raises(InputError, match="must be open, done, archived, not lost"):
        jobs.listed(store, state="lost")


def test_a_duplicate_says_the_same_and_belongs_to_nobody(store):
    jobs.add(store, EXAMPLE, piece="from the attic", customer="Ida Invented")
    copied = jobs.duplicate(store, 1, title="Its twin")
    assert (copied.number, copied.title, copied.customer) == (2, "Its twin", "")
    assert copied.piece == "from the attic"
    assert jobs.opened(store, 2).shown.job == {**EXAMPLE, "title": "Its twin"}


def test_a_job_that_has_begun_can_still_be_changed_and_its_twin_begins_anew(store, clock):
    job = small_job(title="Begun", days={"zone": "Europe/Berlin", "start": "2026-06-01"})
    jobs.add(store, job)
    clock.moment += timedelta(days=30)
    jobs.save(store, 1, {**job, "title": "Going on"}, made_from=1)
    assert jobs.opened(store, 1).shown.job["days"]["start"] == "2026-06-01"
    jobs.duplicate(store, 1)
    assert jobs.opened(store, 2).shown.job["days"] == {"zone": "Europe/Berlin"}
    with pytest.raises(InputError, match=r"days.start: is in the past"):
        jobs.add(store, job)


def test_jobs_are_found_by_all_their_words_whatever_the_case(store):
    jobs.add(store, {**JOB, "title": "Küchenschrank 100%"}, customer="Ida Invented")
    jobs.add(store, small_job("lab(42 58 38)", patch(name="OLD_varnish"), title="Chair"))
    assert titles(store, "KÜCHEN ida") == ["Küchenschrank 100%"]
    assert titles(store, "100%") == ["Küchenschrank 100%"]
    assert titles(store, "1%0") == []
    assert titles(store, "old_V") == ["Chair"]
    assert titles(store, "oldXv") == []
    assert titles(store, "red") == ["Chair"]
    assert titles(store) == ["Chair", "Küchenschrank 100%"]
    assert titles(store, most=1) == ["Chair"]


def test_a_job_is_named_by_number_uuid_title_or_words_that_only_it_holds(store):
    first = jobs.add(store, {**JOB, "title": "Chair"})
    jobs.add(store, {**JOB, "title": "Chair with arms"}, customer="Ida Invented")
    for name in (1, "1", "#1", " chair ", first.uuid):
        assert jobs.opened(store, name).line.number == 1, name
    for name in ("arms", "ida chair", 2):
        assert jobs.opened(store, name).line.number == 2, name
    with pytest.raises(UnknownError, match="fits several jobs, give a number: 1 Chair; 2 Chair w"):
        jobs.opened(store, "yellow")
    for name in ("table", "", "3", 0, "9" * 30):
        with pytest.raises(UnknownError):
            jobs.opened(store, name)


def test_what_a_job_took_from_files_is_kept_in_it(store, clock, tmp_path):
    rows = "\n".join(f"{nm},{0.2 + 0.001 * (nm - 400):.4f}" for nm in range(400, 701, 10))
    (tmp_path / "ground.csv").write_text(f"nm,reflectance\n{rows}\n", encoding="utf-8")
    job = small_job((66, -24, 55), patch({"spectrum_file": "ground.csv", "radius": 1.5}))
    job["days"] = {"start": date(2090, 6, 1)}
    jobs.add(store, job, tmp_path)
    (tmp_path / "ground.csv").unlink()
    kept = jobs.opened(store, 1).shown.job
    assert json.loads(json.dumps(kept)) == kept
    assert kept["days"]["start"] == "2090-06-01"
    (tmp_path / "ground.csv").write_text(f"nm,reflectance\n{rows}\n", encoding="utf-8")
    now = clock()
    assert plan(kept, now=now) == plan(job, tmp_path, now=now)


def test_jobs_are_counted_as_they_are_listed(store):
    for title in ("green cupboard", "green chair", "white chest"):
        jobs.add(store, {**JOB, "title": title})
    jobs.set_state(store, 2, "archived")
    for words in ("", "green", "chest", "nothing of the kind"):
        for state in (None, "open", "archived"):
            found = jobs.listed(store, words, state=state)
            assert jobs.counted(store, words, state=state) == len(found)
            assert jobs.listed(store, words, state=state, most=1) == found[:1]


def test_of_two_customers_of_a_name_none_is_guessed_and_no_third_is_made(store):
    for _ in range(2):
        add_customer(store, "Ida Invented")
    with pytest.raises(UnknownError, match="give a number: 1, 2"):
        jobs.add(store, JOB, customer="ida invented")
    assert len(listed_customers(store)) == 2
    assert jobs.add(store, JOB, customer="Ida Other").customer == "Ida Other"
