"""The commands on records: what they say fits a terminal, and is what the library says."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from doors.doors import run
from jobs.small_jobs import small_job, toml_of
from records.pictures import picture
from showthrough import plan
from showthrough.records.store.kept import jobs
from showthrough.records.store.opening.opened import open_store

EXAMPLE = Path(__file__).parents[2] / "examples" / "linen-cupboard.toml"


def said(*argv):
    code, out, err = run(*argv)
    assert (code, err) == (0, ""), (argv, out, err)
    return out


def told(*argv):
    """The lines of a refusal."""
    code, out, err = run(*argv)
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    return err


@pytest.fixture
def job_file(tmp_path):
    def write(**more):
        path = tmp_path / "job.toml"
        path.write_text(toml_of(small_job(title="Linen cupboard", **more)), encoding="utf-8")
        return path

    return write


def test_a_painters_evening(tmp_path, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    out = said("job", "add", EXAMPLE, "--piece", "from the attic", "--customer", "Ida Invented")
    assert out == "Job 1, version 1 is kept: Linen cupboard, two doors\n"
    listing = said("job", "list", "attic", "ida")
    assert "Linen cupboard, two doors" in listing
    assert "bright yellow-green" in listing
    assert all(len(line) <= 80 for line in listing.splitlines())
    out = said("job", "log", "linen", "--after", 4, "--enough", "--used", 620, "--minutes", 180,
               "--stopped-by", "colour")  # fmt: skip
    assert "4 topcoats were enough, looked at: colour, 620 ml, 180 min\nJob 1 is done\n" in out
    said("job", "log", 1, "--step", "Wash", "--note", "degreaser")
    (tmp_path / "p.jpg").write_bytes(picture("JPEG", exif=True))
    assert "32 x 24 pixels" in said("job", "photo", 1, tmp_path / "p.jpg", "--name", "door")
    shown = said("job", "show", 1)
    flat = " ".join(shown.split())
    with open_store() as store:
        headline = jobs.opened(store, 1).answer.answer["headline"]
    for part in (
        "Job 1: Linen cupboard, two doors (from the attic, for Ida Invented)",
        "version 2 of 2, done",
        headline,
        "Today's model says the same.",
        "4 topcoats were enough",
        "Wash: degreaser",
        "door, 32 x 24 pixels",
    ):
        assert part in flat
    assert all(len(line) <= 80 for line in shown.splitlines())
    assert "Taken back: " in said("job", "log", 1, "--undo")
    assert "were enough" not in said("job", "show", 1)


def test_a_job_goes_out_as_a_file_and_comes_back_changed(tmp_path):
    said("job", "add", EXAMPLE)
    text = said("job", "show", 1, "--toml")
    job = tomllib.loads(text)
    assert job == tomllib.loads(EXAMPLE.read_text(encoding="utf-8"))
    path = tmp_path / "changed.toml"
    path.write_text(text.replace("two doors", "three doors"), encoding="utf-8")
    out = said("job", "edit", 1, path, "--made-from", 1)
    assert out == "Job 1, version 2 is kept: Linen cupboard, three doors\n"
    err = told("job", "edit", 1, path, "--made-from", 1)
    assert "job 1 was changed since version 1" in err
    assert "title" in err
    assert "two doors" in said("job", "show", 1, "--version", 1)
    assert said("job", "copy", 1, "--title", "Twin") == "Job 2, version 1 is kept: Twin\n"
    assert "is archived" in said("job", "mark", "Twin", "archived")
    assert "Twin" not in said("job", "list")
    assert "Twin" in said("job", "list", "--state", "archived")


def test_the_quick_form_is_kept_too():
    said("job", "add", "a3b84c", "6b4a2a", "--tool", "spray")
    found = json.loads(said("job", "show", 1, "--json"))
    assert found["shown"]["job"]["application"] == {"tool": "spray"}


def test_an_answer_that_differs_today_says_so_and_why(monkeypatch):
    said("job", "add", EXAMPLE)
    from showthrough.records.store.kept import answers

    def other(job, now=None):
        return plan(job, now=now).model_copy(update={"headline": "7 coats: of tar."})

    monkeypatch.setattr(answers, "plan", other)
    out = " ".join(said("job", "show", 1).split())
    assert "Today's model says: 7 coats: of tar. - not as it was: headline" in out
    monkeypatch.setattr(answers, "model_id", lambda: "0" * 64)
    assert "the model itself changed, none of its defaults did" in said("job", "show", 1)


def test_a_job_that_todays_model_refuses_is_shown_all_the_same(monkeypatch):
    from showthrough.errors import InputError
    from showthrough.records.store.kept import answers

    said("job", "add", EXAMPLE)

    def refuses(*_, **__):
        raise InputError.at("topcoat.colour", "", "is too loud")

    monkeypatch.setattr(answers, "plan", refuses)
    out = said("job", "show", 1)
    assert "Today's model refuses it:" in out
    assert "topcoat.colour: is too loud" in out


def test_export_import_and_backup(tmp_path, monkeypatch):
    assert said("job", "list") == "No job fits; showthrough job add JOB.toml keeps one\n"
    said("job", "add", EXAMPLE)
    said("paint", "add", "a3b84c", "--batch", "B7")
    path = tmp_path / "all.json"
    said("job", "export", path)
    assert "is there already" in told("job", "export", path)
    assert said("job", "export", "-") == path.read_text(encoding="utf-8")
    assert said("job", "import", path) == "Nothing new: all of it is here already\n"
    said("job", "backup", tmp_path / "copy.db")
    assert "is there already" in told("job", "backup", tmp_path / "copy.db")
    monkeypatch.setenv("SHOWTHROUGH_DATABASE", str(tmp_path / "copy.db"))
    assert "Linen cupboard" in said("job", "list")
    monkeypatch.setenv("SHOWTHROUGH_DATABASE", str(tmp_path / "other.db"))
    assert said("job", "import", path).startswith("New here: 1 paints, 1 jobs")
    assert json.loads(said("job", "import", path, "--json"))["added"] == {}


def test_paints_and_customers(job_file):
    out = said("paint", "add", "a3b84c", "--batch", "B7", "--left", 300, "--size", 750,
               "--price", "21,00 EUR", "--opened", "2026-05-31", "--name", "green")  # fmt: skip
    line = "    1  green: batch B7, 300 of 750 ml left, 21.00 EUR, opened 2026-05-31, version 1\n"
    assert out == said("paint", "list") == said("paint", "list", "b7", "GREEN") == line
    assert said("paint", "add", job_file()).startswith("    2  ")
    said("paint", "edit", "green", "--made-from", 1, "--left", 120)
    assert "120 of 750 ml left" in said("paint", "list", "green")
    assert "was changed since version 1" in told("paint", "edit", 1, "--made-from", 1)
    said("paint", "edit", 1, "--made-from", 2, "--archive")
    assert said("paint", "list", "b7").startswith("No paint fits")
    assert "off the shelf" in said("paint", "list", "b7", "--archived")
    said("customer", "add", "Ida Invented", "--contact", "ida@example.invalid")
    assert "Ida Invented  ida@example.invalid" in said("customer", "list")
    assert "Delete backups" in said("customer", "erase", "ida invented")
    assert said("customer", "list") == "No customer is kept yet\n"
    assert "no customer has the number or the name Ida" in told("customer", "erase", "Ida")


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        (["job", "show", "7"], "there is no job 7"),
        (["job", "log", "1"], "say after how many topcoats"),
        (["job", "log", "1", "--enough"], "say after how many topcoats"),
        (["job", "log", "1", "--after", "0", "--enough"], "after: must be a whole number"),
        (["job", "mark", "1", "lost"], "state: must be open, done, archived, not lost"),
        (["job", "list", "--state", "lost"], "state: must be open, done, archived"),
        (["job", "import", "nowhere.json"], "cannot be read"),
        (["paint", "add", "#12"], "topcoat.colour: "),
        (["paint", "add", "a3b84c", "--opened", "soon"], "opened: is a day, as 2026-05-31"),
        (["customer", "add", ""], "name: a customer needs a name"),
    ],
)
def test_what_is_refused_is_told_in_a_painters_words(argv, says, job_file):
    said("job", "add", job_file())
    assert says in told(*argv)


def test_a_stranger_in_the_records_cannot_move_the_cursor(job_file):
    said("job", "add", job_file())
    with open_store() as store, store.writing() as connection:
        connection.exec_driver_sql("UPDATE job SET title = 'a\x1b[2Jb'")
    assert "\x1b" not in said("job", "list")


@pytest.mark.parametrize("command", ["job", "paint", "customer"])
def test_each_command_says_what_its_parts_do(command):
    code, out, _ = run(command, "--help")
    assert code == 0
    assert "list" in out
    assert run(command)[0] == 2


def test_other_commands_do_not_touch_the_records():
    import os

    said("predict", "a3b84c", "6b4a2a", "--json")
    assert not Path(os.environ["SHOWTHROUGH_DATABASE"]).exists()
