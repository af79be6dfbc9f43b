"""Jobs and half way: a job is kept, opened, changed, copied, told how it went, and taken along."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any
from urllib.parse import parse_qsl

import pytest

from showthrough import plan, predict
from showthrough.jobs.halfway import half_way
from showthrough.records.store.kept.customers import listed_customers
from showthrough.records.store.kept.jobs import add, listed, opened
from showthrough.records.store.kept.lessons import taught
from showthrough.records.store.kept.outcomes import log
from showthrough.records.store.kept.paints import add_paint, listed_paints
from showthrough.records.store.opening.opened import Store, open_store
from showthrough.say.halfway import foretold_line
from showthrough.say.whole import buy_line
from showthrough.web.forms.paths import fields_of_job, query_of
from showthrough.web.pages.asked import SAMPLE_JOB
from showthrough.web.shell import LONGEST_LINK
from web.tree import Element, read_html

_FIELDS = fields_of_job(SAMPLE_JOB)
_SEEN = [("no", "not enough", "open"), ("yes", "enough", "done")]
_HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"


@pytest.fixture
def store() -> Iterator[Store]:
    with open_store() as found:
        yield found


def _at(client: Any, reply: Any) -> Element:
    """The page that a form leads to."""
    assert reply.status_code == 303, reply.text[:300]
    shown = client.get(reply.headers["location"])
    assert shown.status_code == 200
    return read_html(shown.text)


def _saved(client: Any, **more: str) -> Element:
    """Where a painter lands who keeps the job."""
    return _at(client, client.post("/jobs/keep", data={**_FIELDS, **more}))


def _told(page: Element) -> Element:
    """What the top of a page says was done."""
    (told,) = page.one("main").all("p", lambda p: p.has_class("told"))
    return told


def _keep(client: Any, **more: str) -> Element:
    """The page of the job that was kept, by the link that says so."""
    (link,) = _told(_saved(client, **more)).all("a")
    return _tree(client.get(link.attrs["href"]))


def _tree(reply: Any) -> Element:
    assert reply.status_code == 200, reply.text[:300]
    return read_html(reply.text)


def test_a_job_is_kept_listed_and_opened_as_it_was(client: Any, store: Store) -> None:
    page = _keep(client)
    assert page.one("headline").text == predict(SAMPLE_JOB).headline
    (line,) = listed(store)
    assert opened(store, line.number).shown.job["topcoat"]["colour"] == "lab(66 -24 55)"
    there = _tree(client.get("/jobs"))
    (link,) = there.all("a", lambda a: a.attrs["href"] == f"/jobs/one?job={line.number}")
    assert "Linen cupboard" in link.text
    own = _tree(client.get(link.attrs["href"]))
    (plan_link,) = own.all("a", lambda a: a.text == "Open its plan")
    assert dict(parse_qsl(plan_link.attrs["href"][2:]))["kept"] == f"{line.number}.1"
    bench = _tree(client.get(plan_link.attrs["href"]))
    assert bench.one("headline").text == predict(SAMPLE_JOB).headline
    words = bench.one("sentence").all("a")
    assert all("kept=" in a.attrs["href"] for a in words), "a change is a change of the kept job"


def test_who_saves_is_told_so_and_saves_the_same_job_again(client: Any, store: Store) -> None:
    page = _saved(client)
    assert _told(page).text == "Kept as Linen cupboard, job 1"
    form = page.one("keep")
    assert "Keep the changes to job 1" in form.text
    held = {i.attrs["name"]: i.attrs["value"] for i in form.all("input")}
    assert "customer" not in held, "whose it is was asked when it was new"
    again = _at(client, client.post("/jobs/keep", data={**held, "area_m2": "3"}))
    assert _told(again).text == "Kept as Linen cupboard, job 1"
    (line,) = listed(store)
    assert (line.number, line.version) == (1, 2)
    # Told once, and only of a job that is there.
    held = dict(parse_qsl(again.one("main").all("a", _named("Save it as a file"))[0].attrs["href"]))
    assert "saved" not in held
    gone = _tree(client.get("/jobs", params={**_FIELDS, "kept": "99.1", "saved": "kept"}))
    assert "Kept as" not in gone.text


def _named(text: str) -> Any:
    return lambda a: a.text == text


def _long() -> dict[str, str]:
    """A job that no address holds."""
    days = [f"2027-01-{day:02}" for day in range(1, 29)] * 14
    cans = {f"undercoat.{n}.name": f"can {n} " + "x" * 70 for n in range(1, 24)}
    cans |= {f"undercoat.{n}.colour": "N 7" for n in range(1, 24)}
    more = {"topcoat.colour": "white 96", "days.days_off": ",".join(days)}
    long = {**_FIELDS, **cans, **more}
    assert len(query_of(long)) > LONGEST_LINK
    return long


def test_who_saves_a_job_too_long_for_an_address_is_told_so_too(client: Any, store: Store) -> None:
    page = _at(client, client.post("/jobs/keep", data=_long()))
    assert _told(page).text == "Kept as job 1, version 1."
    held = {i.attrs["name"]: i.attrs["value"] for i in page.one("job").all("input")}
    assert held["kept"] == "1.1"
    jobs = _tree(client.post("/jobs", data=held))
    assert "Keep the changes to job 1" in jobs.one("keep").text
    assert len(listed(store)) == 1


def test_who_tells_how_it_went_is_told_that_it_is_kept(client: Any) -> None:
    _saved(client)
    page = _at(client, client.post("/jobs/log", data={"job": "1", "after": "4", "came": "even"}))
    assert _told(page).text == "Kept: 4 topcoats, enough. The job is finished."
    (undo,) = page.all("button", lambda b: b.attrs.get("name") == "undo")
    back = client.post("/jobs/log", data={"job": "1", "undo": undo.attrs["value"]})
    assert _told(_at(client, back)).text == "Taken back. The job is running."


def test_a_changed_job_is_its_next_version_and_two_changes_do_not_fight(
    client: Any, store: Store
) -> None:
    _keep(client)
    (line,) = listed(store)
    kept = f"{line.number}.1"
    _keep(client, kept=kept, area_m2="3")
    assert listed(store)[0].version == 2
    stale = client.post("/jobs/keep", data={**_FIELDS, "kept": kept, "area_m2": "4"})
    tree = _tree(stale)
    assert "changed since version 1" in tree.one("main").text
    form = tree.one("keep")
    held = {i.attrs["name"]: i.attrs["value"] for i in form.all("input")}
    assert held["area_m2"] == "4", "what was typed is not lost"
    (own,) = form.all("button", lambda b: b.attrs.get("name") == "kept")
    assert own.attrs["value"] == ""
    _at(client, client.post("/jobs/keep", data={**held, "kept": ""}))
    assert len(listed(store)) == 2


@pytest.mark.parametrize(
    ("sent", "result", "stopped_by"),
    [
        ({"came": "even"}, "enough", "even"),
        ({"came": "colour"}, "enough", "colour"),
        ({"came": ""}, "did not look", None),
        ({"came": "even", "result": "gave up"}, "gave up", "even"),
    ],
)
def test_how_did_it_go_is_one_question(
    client: Any, store: Store, sent: dict[str, str], result: str, stopped_by: str | None
) -> None:
    page = _keep(client)
    said = plan(SAMPLE_JOB).ways[0].topcoats
    form = page.one("log")
    counts = [i for i in form.all("input") if i.attrs.get("name") == "after"]
    (chosen,) = [i.attrs["value"] for i in counts if "checked" in i.attrs]
    assert chosen == str(said)
    (line,) = listed(store)
    back = _at(client, client.post("/jobs/log", data={"job": line.number, "after": "4", **sent}))
    (outcome,) = opened(store, line.number).outcomes
    assert (outcome.after, outcome.result, outcome.stopped_by) == (4, result, stopped_by)
    assert listed(store)[0].state == "done"
    (undo,) = back.all("button", lambda b: b.attrs.get("name") == "undo")
    data = {"job": line.number, "undo": undo.attrs["value"]}
    _at(client, client.post("/jobs/log", data=data))
    assert opened(store, line.number).outcomes == []


def test_an_outcome_that_cannot_be_is_told_and_not_kept(client: Any, store: Store) -> None:
    _keep(client)
    (line,) = listed(store)
    for after in ("", "many", "99"):
        tree = _tree(client.post("/jobs/log", data={"job": line.number, "after": after}))
        assert "whole number from 1 to 40" in tree.one("log").text
    assert opened(store, line.number).outcomes == []


def test_a_job_is_copied_marked_and_put_away(client: Any, store: Store) -> None:
    _keep(client)
    (line,) = listed(store)
    _at(client, client.post("/jobs/copy", data={"job": line.number}))
    assert len(listed(store)) == 2
    _at(client, client.post("/jobs/mark", data={"job": line.number, "state": "archived"}))
    assert line.number not in [each.number for each in listed(store)]
    # What was put away is still found, and comes back.
    away = _tree(client.get("/jobs")).one("away")
    assert [a.attrs["href"] for a in away.all("a")] == [f"/jobs/one?job={line.number}"]
    assert "Put away" not in _tree(client.get("/jobs?q=nowhere")).one("main").text
    shown = _tree(client.get(f"/jobs/one?job={line.number}"))
    (back,) = shown.all("button", lambda b: b.text == "Bring it back")
    _at(client, client.post("/jobs/mark", data={"job": line.number, "state": back.attrs["value"]}))
    assert line.number in [each.number for each in listed(store)]


def test_everything_goes_out_and_comes_in(
    client: Any, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    _keep(client)
    text = client.get("/jobs/export.json").text
    assert json.loads(text)["jobs"]
    monkeypatch.setenv("SHOWTHROUGH_DATABASE", str(tmp_path / "other.db"))
    assert "No job is kept yet" in client.get("/jobs").text
    files = {"records_file": ("showthrough.json", text.encode())}
    tree = _tree(client.post("/jobs/import", files=files))
    assert "New here" in tree.one("main").text
    assert "Linen cupboard" in tree.one("main").text
    again = _tree(client.post("/jobs/import", files=files))
    assert "Nothing in it was new" in again.one("main").text
    bad = _tree(client.post("/jobs/import", files={"records_file": ("x.json", b"[]")}))
    assert bad.one("e-records").text


@pytest.mark.parametrize(
    ("path", "sent", "words"),
    [
        ("/jobs/import", {"records": "no export"}, "The file is not JSON, so"),
        ("/jobs/open", {"job": "nonsense = ["}, "This is no job file: "),
    ],
)
def test_a_file_that_is_another_is_told_in_words(
    client: Any, path: str, sent: dict[str, str], words: str
) -> None:
    told = [e.text for e in _tree(client.post(path, data=sent)).all("p") if e.has_class("em")]
    assert len(told) == 1
    assert told[0].startswith(words)


def test_what_is_told_of_a_kept_job_names_no_key(client: Any, store: Store) -> None:
    line = add(store, SAMPLE_JOB)
    stale = {**_FIELDS, "kept": f"{line.number}.{line.version + 7}"}
    for reply in (client.post("/jobs/keep", data=stale), client.get("/jobs/one?job=99")):
        (told,) = _tree(reply).all("div", lambda e: e.has_class("esum"))
        assert not told.text.lower().removeprefix("! ").startswith(("made_from", "job:"))


def test_a_job_that_is_not_there_is_told(client: Any) -> None:
    for number in ("99", "", "x" * 40, "-1"):
        tree = _tree(client.get("/jobs/one", params={"job": number}))
        assert tree.all("div", lambda d: d.attrs.get("role") == "alert")


def test_records_that_cannot_be_reached_stop_nothing_else(
    client: Any, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "no.db"
    place.write_bytes(b"this is no database, and long enough to be looked at as one" * 20)
    monkeypatch.setenv("SHOWTHROUGH_DATABASE", str(place))
    tree = _tree(client.get("/jobs", params=_FIELDS))
    assert tree.all("div", lambda d: d.attrs.get("role") == "alert")
    assert _tree(client.get("/", params=_FIELDS)).one("headline").text


def test_a_hostile_job_is_only_text(client: Any, store: Store) -> None:
    data = {
        "title": _HOSTILE,
        "topcoat.colour": "a3b84c",
        "topcoat.name": _HOSTILE[:80],
        "surface.1.colour": "76523a",
        "surface.1.name": _HOSTILE[:80],
    }
    _at(client, client.post("/jobs/keep", data=data))
    (line,) = listed(store)
    for address in ("/jobs", f"/jobs/one?job={line.number}", f"/jobs?q={_HOSTILE}"):
        text = client.get(address).text
        assert "<script>alert" not in text
        assert not read_html(text).all("img")


def test_what_was_learned_is_a_sentence_and_may_be_planned_with(client: Any, store: Store) -> None:
    assert "learned" not in client.get("/jobs", params=_FIELDS).text.lower()
    for _ in range(3):
        line = add(store, SAMPLE_JOB)
        log(store, line.number, after=5, result="enough", stopped_by="colour")
    own = plan(taught(store, SAMPLE_JOB))
    assert own.learned is not None
    tree = _tree(client.get("/jobs", params=_FIELDS))
    assert tree.one("learned").text == own.learned.sentence
    (link,) = tree.all("a", lambda a: a.text == "Plan with what they taught")
    there = _tree(client.get(link.attrs["href"]))
    assert there.one("headline").text == own.headline
    assert own.learned.sentence in there.one("sure").text
    # A plan without them is one tap away, stays so through the sheets, and leads back.
    (link,) = there.all("a", lambda a: a.text == "Plan without your finished jobs")
    alone = _tree(client.get(link.attrs["href"]))
    assert alone.one("headline").text == plan(SAMPLE_JOB).headline != own.headline
    assert "of your jobs" not in alone.one("main").text
    words = alone.one("sentence").all("a")
    assert all("learned=no" in a.attrs["href"] for a in words)
    sheet = _tree(client.get(words[0].attrs["href"])).one("sheet")
    held = {i.attrs["name"]: i.attrs.get("value") for i in sheet.all("input")}
    assert held["learned"] == "no"
    half = _tree(client.get("/half", params={**_FIELDS, "learned": "no", "after": 2, "seen": "no"}))
    assert half.one("headline").text == half_way(SAMPLE_JOB, after=2, enough=False).headline
    (link,) = alone.all("a", lambda a: a.text == "Plan with what your finished jobs taught")
    assert _tree(client.get(link.attrs["href"])).one("headline").text == own.headline


# --- half way ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"after": "2", "seen": "no"}, {"after": 2, "enough": False}),
        ({"after": "1", "seen": "yes"}, {"after": 1, "enough": True}),
        ({"after": "1", "seen": "no", "tried": "yes"}, {"test_piece": 1, "enough": False}),
        ({"after": "2", "seen": "no", "way": "spots"},
         {"after": 2, "enough": False, "way": "spots"}),
        ({"after": "2", "seen": "no", "left_ml": "300"},
         {"after": 2, "enough": False, "left_ml": 300}),
    ],
)  # fmt: skip
def test_half_way_is_that_of_every_door(
    client: Any, asked: dict[str, str], said: dict[str, Any]
) -> None:
    answer = half_way(SAMPLE_JOB, **said)
    tree = _tree(client.get("/half", params={**_FIELDS, **asked}))
    assert tree.one("headline").text == answer.headline
    assert foretold_line(answer) in tree.one("main").text
    lines = [e.text for e in tree.one("paint").all("li")]
    assert lines == [" ".join(buy_line(p, answer.units, "").split()) for p in answer.paint]
    for caution in answer.cautions_short:
        assert caution in tree.one("short").text


def test_the_chances_half_way_hold_the_likely_count(client: Any) -> None:
    # Once the first four were shown, whatever was likely.
    red = {"topcoat.colour": "lab(42 58 38)", "surface.1.colour": "lab(38 12 20)"}
    asked = {"after": "3", "seen": "no", "way": "plain"}
    tree = _tree(client.get("/half", params={**red, **asked}))
    job = {"topcoat": {"colour": "lab(42 58 38)"}, "surface": [{"colour": "lab(38 12 20)"}]}
    likely = half_way(job, after=3, enough=False, way="plain").likely
    assert likely is not None
    assert likely > 4
    (this,) = tree.one("main").all("li", lambda li: li.has_class("this"))
    assert f"{likely} more" in this.text


def test_it_still_shows_is_one_tap_from_the_bench(client: Any) -> None:
    tree = _tree(client.get("/", params=_FIELDS))
    links = [a for a in tree.one("half").all("a") if a.text == "It still shows after 2"]
    there = _tree(client.get(links[0].attrs["href"]))
    assert there.one("headline").text == half_way(SAMPLE_JOB, after=2, enough=False).headline


@pytest.mark.parametrize(
    "asked", [{"after": "many", "seen": "no"}, {"after": "99", "seen": "no"},
              {"after": "2", "seen": "no", "left_ml": "much"},
              {"after": "2", "seen": "no", "way": "gold"}],
)  # fmt: skip
def test_what_cannot_be_half_way_is_told_at_its_field(client: Any, asked: dict[str, str]) -> None:
    tree = _tree(client.get("/half", params={**_FIELDS, **asked}))
    assert tree.all("input", lambda i: i.attrs.get("aria-invalid") == "true")


@pytest.mark.parametrize(("seen", "result", "state"), _SEEN)
def test_what_was_seen_half_way_is_kept_with_its_job(
    client: Any, store: Store, seen: str, result: str, state: str
) -> None:
    line = add(store, SAMPLE_JOB)
    asked = {**_FIELDS, "kept": f"{line.number}.1", "after": "2", "seen": seen}
    page = _tree(client.get("/half", params=asked))
    form = page.one("keep-seen")
    assert form.all("button")[0].text == "Keep this with the job"
    sent = {i.attrs["name"]: i.attrs["value"] for i in form.all("input")}
    job = _at(client, client.post(form.attrs["action"], data=sent))
    assert f"2 topcoats, {result}" in _told(job).text
    found = opened(store, line.number)
    assert [(each.after, each.result) for each in found.outcomes] == [(2, result)]
    assert found.line.state == state


def test_what_is_seen_of_one_part_is_kept_of_that_part(client: Any, store: Store) -> None:
    parts = [{"name": "carcass", "area_m2": 2.0}, {"name": "doors", "area_m2": 1.0}]
    job = {key: value for key, value in SAMPLE_JOB.items() if key != "area_m2"} | {"group": parts}
    line = add(store, job)
    asked = {"kept": f"{line.number}.1", "after": "2", "seen": "no", "group": "doors"}
    page = _tree(client.get("/half", params={**fields_of_job(job), **asked, "left_ml": "250"}))
    form = page.one("keep-seen")
    sent = {i.attrs["name"]: i.attrs["value"] for i in form.all("input")}
    _at(client, client.post(form.attrs["action"], data=sent))
    (outcome,) = opened(store, line.number).outcomes
    assert (outcome.group, outcome.result) == ("doors", "not enough")
    assert "250 ml" in outcome.note


def test_only_a_job_that_is_kept_and_runs_takes_what_is_seen_half_way(
    client: Any, store: Store
) -> None:
    def offered(**more: str) -> bool:
        page = _tree(client.get("/half", params={**_FIELDS, "after": "2", "seen": "no", **more}))
        return any(each.attrs.get("id") == "keep-seen" for each in page.walk())

    line = add(store, SAMPLE_JOB)
    kept = f"{line.number}.1"
    assert offered(kept=kept)
    assert not offered()
    assert not offered(kept="77.1")
    assert not offered(kept=kept, tried="yes")  # a test piece is not the piece
    own = _tree(client.get(f"/jobs/one?job={line.number}"))
    assert "It still shows?" in own.text
    log(store, line.number, after=3, result="enough")
    assert not offered(kept=kept)
    own = _tree(client.get(f"/jobs/one?job={line.number}"))
    assert "It still shows?" not in own.text


def test_half_way_without_a_job_says_how_to_begin(client: Any) -> None:
    assert "This starts from a job" in client.get("/half").text


def test_the_query_of_a_kept_job_stays_its_own(client: Any) -> None:
    tree = _tree(client.get(f"/?{query_of(_FIELDS)}&kept=1.1&word=area"))
    held = {i.attrs["name"]: i.attrs.get("value") for i in tree.one("sheet").all("input")}
    assert held["kept"] == "1.1"


def test_what_kept_jobs_teach_stands_in_every_place(client: Any, store: Store) -> None:
    # The page is the painter's own: plan, half way and paper are learned alike.
    query = query_of(_FIELDS)
    assert "of your jobs" not in client.get(f"/?{query}").text
    for _ in range(3):
        log(store, add(store, SAMPLE_JOB).number, after=5, result="enough")
    job = taught(store, SAMPLE_JOB)
    told = plan(job)
    assert told.learned is not None
    bench = _tree(client.get(f"/?{query}"))
    assert bench.one("headline").text == told.headline != plan(SAMPLE_JOB).headline
    assert told.learned.sentence in bench.text
    half = _tree(client.get(f"/half?{query}&after=3&seen=no"))
    assert half_way(job, after=3, enough=False).headline in half.text
    assert told.headline in read_html(client.get(f"/sheet/paper?{query}").text).text


# --- the painter's own paints --------------------------------------------------------------


def test_a_topcoat_is_kept_as_a_paint_and_used_in_another_job(client: Any, store: Store) -> None:
    query = query_of(_FIELDS)
    sheet = _tree(client.get(f"/?{query}&word=topcoat"))
    (link,) = sheet.all("a", lambda a: a.text == "From my paints")
    assert "No paint is kept yet" in _tree(client.get(link.attrs["href"])).one("main").text
    typed = {"batch": "B 7", "left_ml": "400", "size_ml": "750", "price": "21.00 EUR"}
    page = _at(client, client.post("/jobs/shelf/add", data={**_FIELDS, **typed}))
    (kept,) = listed_paints(store)
    assert (kept.batch, kept.left_ml, kept.size_ml) == ("B 7", 400.0, 750.0)
    assert (kept.price_minor, kept.currency) == (2100, "EUR")
    for said in (kept.name, "batch B 7", "400 ml left", "can of 750 ml", "21.00 EUR"):
        assert said in page.one("main").text
    (field,) = page.all("rect")
    assert field.attrs["fill"] == plan(SAMPLE_JOB).topcoat.hex

    other = {**_FIELDS, "topcoat.colour": "white 96", "topcoat.body": "pastel"}
    other.pop("topcoat.name", None)
    bench = _at(client, client.post("/jobs/shelf/use", data={**other, "shelf": kept.number}))
    assert bench.one("headline").text == plan(SAMPLE_JOB).headline
    (undo,) = bench.all("a", lambda a: a.text == "Undo")
    assert dict(parse_qsl(undo.attrs["href"][2:])) == other, "the topcoat of before, whole"


def test_what_is_left_of_a_paint_is_said_and_it_is_put_away(client: Any, store: Store) -> None:
    paint = add_paint(store, {"colour": "a3b84c"}, left_ml=500)
    sent = {"shelf": paint.number, "version": "1", "left": "120,5"}
    assert "120.5 ml left" in _at(client, client.post("/jobs/shelf/change", data=sent)).text
    assert listed_paints(store)[0].left_ml == 120.5
    stale = _tree(client.post("/jobs/shelf/change", data={**sent, "left": "90"}))
    (alert,) = stale.all("div", lambda d: d.attrs.get("role") == "alert")
    assert "changed since version 1" in alert.text
    assert stale.one(f"r-left_ml.{paint.number}").attrs["value"] == "90", "nothing typed is lost"
    bad = _tree(client.post("/jobs/shelf/change", data={**sent, "version": "2", "left": "much"}))
    assert "number from 0" in bad.one(f"e-left_ml.{paint.number}").text
    _at(client, client.post("/jobs/shelf/change", data={**sent, "version": "2", "away": "yes"}))
    assert listed_paints(store) == []


def test_faults_of_a_paint_are_told_each_at_its_field(client: Any, store: Store) -> None:
    typed = {"left_ml": "much", "size_ml": "-1", "price": "dear", "name": _HOSTILE * 3}
    reply = client.post("/jobs/shelf/add", data={**_FIELDS, **typed})
    tree = _tree(reply)
    for name, text in typed.items():
        field = tree.one(f"r-{name}")
        assert (field.attrs["aria-invalid"], field.attrs["value"]) == ("true", text)
        assert tree.one(field.attrs["aria-describedby"]).text
    assert "<script>alert" not in reply.text
    assert listed_paints(store) == []
    for sent in ({}, {"shelf": "99"}, {"shelf": _HOSTILE}):
        for what in ("use", "change"):
            reply = client.post(f"/jobs/shelf/{what}", data={**_FIELDS, "left": "5", **sent})
            assert _tree(reply).all("div", lambda d: d.attrs.get("role") == "alert")
            assert "<script>alert" not in reply.text
    add_paint(store, {"colour": "a3b84c"}, name=_HOSTILE[:80], batch=_HOSTILE)
    assert not _tree(client.get("/jobs/shelf")).all("img")


def test_a_paint_is_used_in_a_job_too_long_for_an_address(client: Any, store: Store) -> None:
    paint = add_paint(store, {"colour": "a3b84c"})
    tree = _tree(client.post("/jobs/shelf/use", data={**_long(), "shelf": paint.number}))
    (undo,) = tree.all("button", lambda b: b.text == "Undo")
    held = {i.attrs["name"]: i.attrs["value"] for i in tree.one("job").all("input")}
    assert held["topcoat.colour"] == "a3b84c"
    assert "topcoat.colour=white" in undo.attrs["formaction"]
    kept = _tree(client.post("/jobs/shelf/add", data=held))
    assert kept.one("add")
    assert len(listed_paints(store)) == 2


# --- more of how it went, and the steps that were done -------------------------------------


def test_more_may_be_told_of_how_it_went(client: Any, store: Store) -> None:
    page = _keep(client)
    assert "open" not in page.one("more-about").attrs, "one question, the rest behind a row"
    (line,) = listed(store)
    figures = {"used_ml": "310", "minutes": "95", "area_m2": "2,4"}
    figures |= {"wet_film_um": "110", "recoat_h": "4"}
    sent = {"job": line.number, "after": "3", "came": "even", "failed_by": "bleeding"}
    more = {**figures, "note": _HOSTILE}
    back = _at(client, client.post("/jobs/log", data={**sent, **more}))
    (told,) = opened(store, line.number).outcomes
    assert (told.used_ml, told.minutes, told.area_m2) == (310, 95, 2.4)
    assert (told.wet_film_um, told.recoat_h, told.note) == (110, 4, _HOSTILE)
    assert (told.failed_by, told.result, told.stopped_by) == ("bleeding", "not enough", None)
    assert listed(store)[0].state == "open", "what bled is not done"
    assert "stains bled through" in back.one("main").text
    assert not back.all("img")
    typed = {**more, "used_ml": "much", "minutes": "-1", "failed_by": "fire", "group": "roof"}
    tree = _tree(client.post("/jobs/log", data={**sent, **typed}))
    assert tree.one("e-used_ml").text
    assert tree.one("e-minutes").text
    assert tree.one("e-failed_by").text
    assert tree.one("r-used_ml").attrs["value"] == "much"
    assert "open" in tree.one("more-about").attrs
    tree = _tree(client.post("/jobs/log", data={**sent, "group": "roof"}))
    assert tree.one("e-group").text
    assert len(opened(store, line.number).outcomes) == 1


def test_a_step_of_the_plan_is_ticked_with_its_time(client: Any, store: Store) -> None:
    page = _keep(client)
    (line,) = listed(store)
    ticks = page.one("steps").all("button")
    assert len(ticks) == len(plan(SAMPLE_JOB).steps)
    words = ticks[0].attrs["value"]
    back = _at(client, client.post("/jobs/step", data={"job": line.number, "step": words}))
    (done,) = opened(store, line.number).steps
    assert done.step == words
    (undo,) = back.one("steps").all("button", lambda b: b.attrs["name"] == "undo")
    assert undo.attrs["value"] == done.uuid
    assert done.done[:10] in back.one("steps").text
    gone = _at(client, client.post("/jobs/step", data={"job": line.number, "undo": done.uuid}))
    assert done.done[:10] not in gone.one("steps").text
    assert not gone.one("steps").all("button", lambda b: b.attrs["name"] == "undo")
    bad = _tree(client.post("/jobs/step", data={"job": line.number, "step": ""}))
    assert "Say which step" in bad.one("main").text
    own = client.post("/jobs/step", data={"job": line.number, "step": _HOSTILE})
    assert not _at(client, own).all("img")


# --- customers -----------------------------------------------------------------------------


def test_a_customer_is_named_listed_and_forgotten_once_asked_twice(
    client: Any, store: Store
) -> None:
    _keep(client, customer="Ida Invented")
    assert listed(store)[0].customer == "Ida Invented"
    page = _tree(client.get("/jobs/customers"))
    assert "Ida Invented" in page.one("main").text
    (link,) = page.all("a", lambda a: a.text.startswith("Forget"))
    asked = _tree(client.get(link.attrs["href"]))
    assert "Backups, exports" in asked.one("erase").text
    assert listed_customers(store), "a look forgets nobody"
    (held,) = asked.one("erase").all("input", lambda i: i.attrs["name"] == "customer")
    done = client.post("/jobs/customers/erase", data={"customer": held.attrs["value"]})
    assert "No customer is kept" in _at(client, done).one("main").text
    assert listed_customers(store) == []
    (line,) = listed(store)
    assert (line.customer, line.title) == ("", "")
    assert "Linen cupboard" not in client.get("/jobs").text


def test_a_customer_that_cannot_be_is_told(client: Any, store: Store) -> None:
    tree = _tree(client.post("/jobs/keep", data={**_FIELDS, "customer": _HOSTILE * 3}))
    assert tree.one("e-customer").text
    assert tree.one("r-customer").attrs["value"] == _HOSTILE * 3, "what was typed is not lost"
    assert listed(store) == []
    for which in ("", "99", _HOSTILE):
        for reply in (
            client.get("/jobs/customers/erase", params={"customer": which}),
            client.post("/jobs/customers/erase", data={"customer": which}),
        ):
            assert _tree(reply).all("div", lambda d: d.attrs.get("role") == "alert")
            assert not read_html(reply.text).all("img")
    _keep(client, customer=_HOSTILE[:80])
    for address in ("/jobs", "/jobs/customers", "/jobs/customers/erase?customer=1"):
        assert not _tree(client.get(address)).all("img")
