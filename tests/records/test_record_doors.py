"""What is done to kept records comes to the same through library, command, service and page."""

from __future__ import annotations

import pytest

from doors.doors import client, run
from jobs.small_jobs import small_job, toml_of
from showthrough import plan
from showthrough.records.store.kept import customers, jobs, lessons, outcomes, paints
from showthrough.records.store.leaving.erase import erase_customer
from showthrough.records.store.opening.opened import open_store
from showthrough.say.learned import planned_today

DOORS = ("library", "command", "service", "page")
RESULTS = {"enough": "done", "gave up": "done", "did not look": "done", "not enough": "open"}
"""What a job is after each: only where it did not look right yet does the work go on."""
JOB = small_job(title="Linen cupboard")
PARTS = small_job(
    group=[{"name": "doors", "area_m2": 2.0}, {"name": "carcass", "area_m2": 3.5}]
)  # fmt: skip


@pytest.fixture(scope="module")
def http():
    return client()


def done(*argv):
    code, out, err = run(*argv)
    assert (code, err) == (0, ""), err
    return out


def sent(response):
    """An answer of the service, or a form of the page, that was not refused."""
    assert response.status_code == 200, response.text[:300]
    assert 'role="alert"' not in response.text
    return response


def kept(job=JOB):
    with open_store() as store:
        return jobs.add(store, job).number


def state():
    with open_store() as store:
        return jobs.opened(store, 1).line.state


def log(door, http, result, group=None):
    if door == "library":
        with open_store() as store:
            outcomes.log(store, 1, after=3, result=result, group=group)
    elif door == "command":
        part = [] if group is None else ["--group", group]
        done("job", "log", 1, "--after", 3, f"--{result.replace(' ', '-')}", *part)
    elif door == "service":
        said = {"after": 3, "result": result, "group": group}
        sent(http.post("/api/records/jobs/1/outcomes", json=said))
    else:
        said = {"job": 1, "after": 3, "result": result, "group": group or ""}
        sent(http.post("/jobs/log", data=said))


def undo(door, http):
    """The last outcome is taken back."""
    with open_store() as store:
        uuid = jobs.opened(store, 1).outcomes[-1].uuid
        if door == "library":
            outcomes.undo(store, 1)
    if door == "command":
        done("job", "log", 1, "--undo")
    elif door == "service":
        sent(http.delete(f"/api/records/jobs/1/outcomes/{uuid}"))
    elif door == "page":
        sent(http.post("/jobs/log", data={"job": 1, "undo": uuid}))


@pytest.mark.parametrize("result", RESULTS)
@pytest.mark.parametrize("door", DOORS)
def test_a_job_that_came_out_is_done_and_runs_again_once_that_is_taken_back(door, result, http):
    kept()
    log(door, http, result)
    assert state() == RESULTS[result]
    undo(door, http)
    assert state() == "open"


@pytest.mark.parametrize("door", DOORS)
def test_a_job_of_several_groups_is_done_with_the_last_of_them(door, http):
    kept(PARTS)
    log(door, http, "enough", "doors")
    assert state() == "open"
    log(door, http, "not enough", "carcass")
    assert state() == "open"
    log(door, http, "enough", "carcass")
    assert state() == "done"


def test_a_job_that_was_put_away_stays_away():
    kept()
    with open_store() as store:
        jobs.set_state(store, 1, "archived")
        outcomes.log(store, 1, after=3, result="enough")
        assert jobs.opened(store, 1).line.state == "archived"
        outcomes.undo(store, 1)
        assert jobs.opened(store, 1).line.state == "archived"


def test_how_it_came_out_told_anew_teaches_once():
    # To be done is no other job: what is told of it later stands for what was told before.
    kept()
    with open_store() as store:
        for after in (3, 4):
            outcomes.log(store, 1, after=after, result="enough")
        assert [row["coats"] for row in lessons.finished_for(store)] == [4]


# --- steps ---------------------------------------------------------------------------------


def steps():
    with open_store() as store:
        return [(one.step, one.uuid) for one in jobs.opened(store, 1).steps]


@pytest.mark.parametrize("door", DOORS)
def test_a_step_that_was_ticked_by_mistake_is_taken_back(door, http):
    kept()
    with open_store() as store:
        for step in ("Wash", "Sand", "Wash"):
            outcomes.step_done(store, 1, step)
    uuid = steps()[2][1]
    if door == "library":
        with open_store() as store:
            assert outcomes.step_undone(store, 1, uuid).withdrawn
    elif door == "command":
        assert "Taken back" in done("job", "log", 1, "--undo-step", "wash")
    elif door == "service":
        assert sent(http.delete(f"/api/records/jobs/1/steps/{uuid}")).json()["withdrawn"]
    else:
        sent(http.post("/jobs/step", data={"job": 1, "undo": uuid}))
    assert [step for step, _ in steps()] == ["Wash", "Sand"]


def test_a_step_that_was_not_done_cannot_be_taken_back(http):
    kept()
    code, _, err = run("job", "log", 1, "--undo-step", "Wash")
    assert code == 2
    assert "job 1 has no step Wash to take back" in err
    assert http.delete("/api/records/jobs/1/steps/none").status_code == 404
    assert (
        "no step none to take back" in http.post("/jobs/step", data={"job": 1, "undo": "none"}).text
    )


# --- paints and customers ------------------------------------------------------------------


@pytest.mark.parametrize("door", DOORS)
def test_a_paint_that_was_put_away_comes_back_on_the_shelf(door, http):
    with open_store() as store:
        paints.add_paint(store, {"colour": "a3b84c"}, name="green", left_ml=120)
        paints.edit_paint(store, 1, made_from=1, archived=True)
        if door == "library":
            paints.edit_paint(store, "green", made_from=2, archived=False)
    if door == "command":
        done("paint", "edit", "green", "--made-from", 2, "--restore")
    elif door == "service":
        change = {"made_from": 2, "archived": False}
        sent(http.patch("/api/records/paints/green", json=change))
    elif door == "page":
        assert "Bring it back" in sent(http.get("/jobs/shelf")).text
        sent(http.post("/jobs/shelf/change", data={"shelf": 1, "version": 2, "back": "yes"}))
        assert "Bring it back" not in http.get("/jobs/shelf").text
    with open_store() as store:
        assert [(p.name, p.left_ml) for p in paints.listed_paints(store)] == [("green", 120)]


@pytest.mark.parametrize("door", DOORS)
def test_a_customer_is_renamed_and_their_jobs_follow(door, http):
    change = {"name": "Ida Renamed", "contact": "ida@example.invalid"}
    with open_store() as store:
        customers.add_customer(store, "Ida Invented")
        jobs.add(store, JOB, customer="Ida Invented")
        if door == "library":
            customers.edit_customer(store, 1, change, made_from=1)
    words = [word for key, text in change.items() for word in (f"--{key}", text)]
    if door == "command":
        assert "Ida Renamed" in done("customer", "edit", "Ida Invented", "--made-from", 1, *words)
    elif door == "service":
        sent(http.patch("/api/records/customers/1", json={"made_from": 1, **change}))
    elif door == "page":
        sent(http.post("/jobs/customers/edit", data={"customer": 1, "version": 1, **change}))
    with open_store() as store:
        (found,) = customers.listed_customers(store)
        assert (found.name, found.contact) == tuple(change.values())
        assert [line.number for line in jobs.listed(store, "renamed")] == [1]


def test_a_change_of_a_customer_that_cannot_be_is_told_by_every_door(http):
    with open_store() as store:
        customers.add_customer(store, "Ida Invented", "by letter")
        customers.edit_customer(store, 1, {"name": "Ida Again"}, made_from=1)
    stale = "customer 1 was changed since version 1"
    assert stale in run("customer", "edit", 1, "--made-from", 1, "--name", "Ida")[2]
    answer = http.patch("/api/records/customers/1", json={"made_from": 1, "name": "Ida"})
    assert (answer.status_code, stale in answer.text) == (409, True)
    typed = {"customer": 1, "version": 1, "name": "Ida Typed", "contact": ""}
    page = http.post("/jobs/customers/edit", data=typed).text
    assert stale in page
    assert "Ida Typed" in page, "what was typed is not lost"
    nameless = {"customer": 1, "version": 2, "name": " ", "contact": "by letter"}
    assert "A customer needs a name" in http.post("/jobs/customers/edit", data=nameless).text
    with open_store() as store:
        (found,) = customers.listed_customers(store)
        assert (found.name, found.contact, found.version) == ("Ida Again", "by letter", 2)


def test_who_was_forgotten_is_not_named_again(http):
    with open_store() as store:
        customers.add_customer(store, "Ida Invented")
        version = erase_customer(store, 1).version
    answer = http.patch("/api/records/customers/1", json={"made_from": version, "name": "Ida"})
    assert (answer.status_code, "customer 1 was forgotten" in answer.text) == (404, True)
    with open_store() as store, store.reading() as connection:
        assert customers.one_customer(connection, 1).name == ""


# --- what a kept job was learned from ------------------------------------------------------


def test_a_job_kept_from_the_records_holds_no_lessons_of_its_own(tmp_path):
    kept()
    with open_store() as store:
        outcomes.log(store, 1, after=5, result="enough")
    path = tmp_path / "job.toml"
    path.write_text(toml_of(JOB), encoding="utf-8")
    done("job", "add", path, "--from-records")
    with open_store() as store:
        found = jobs.opened(store, 2)
    assert "finished" not in found.shown.job
    assert len(found.answer.finished) == 1, "pinned beside the answer"


@pytest.mark.parametrize("finished", [[], [5]])
def test_where_the_plan_of_today_is_not_the_kept_one_both_are_said_and_why(http, finished):
    # Kept before any job came out: the answer stands, today's plan has learned since.
    kept()
    with open_store() as store:
        for after in finished:
            number = jobs.add(store, JOB).number
            outcomes.log(store, number, after=after, result="enough")
        then = jobs.opened(store, 1).answer.answer["headline"]
        now = plan(lessons.taught(store, JOB)).headline
    command = " ".join(done("job", "show", 1).split())
    page = sent(http.get("/jobs/one", params={"job": 1})).text
    again = sent(http.get("/api/records/jobs/1/again")).json()
    why = "because 1 more of your finished jobs is learned from."
    told = f"Planned today it is: {now} That differs {why}"
    assert (then != now) == bool(finished)
    assert again["planned"] == now
    for text in (command, page):
        assert then in text
        assert (told in text) == bool(finished)
    assert ("Today's model says the same." in command) is True


@pytest.mark.parametrize(
    ("headlines", "jobs_", "says"),
    [
        (("a.", "a.", "a."), (2, 3), ""),
        (("a.", "b.", "b."), (0, 0), "because the model or its defaults changed."),
        (("a.", "a.", "b."), (2, 1), "because 1 fewer of your finished jobs is learned from."),
        (("a.", "a.", "b."), (2, 5), "because 3 more of your finished jobs are learned from."),
        (("a.", "a.", "b."), (2, 2), "because others of your finished jobs are learned from."),
        (("a.", "b.", "c."), (0, 1), "changed and 1 more of your finished jobs is learned from."),
    ],
)
def test_why_a_kept_count_is_another_today(headlines, jobs_, says):
    told = planned_today(*headlines, *jobs_)
    assert told.endswith(says)
    assert bool(told) == bool(says)
    assert headlines[2] in told or not says
