"""Library, command and service give one sheet; it is one file that loads and runs nothing."""

from __future__ import annotations

import os
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from doors.doors import client, lines_of, refusal, run
from jobs.small_jobs import small_job, toml_of
from sheets.sheet_jobs import GROUPS, JOBS, LINEN, NOW, US
from showthrough import InputError, sheet

_START = (datetime.now(UTC) + timedelta(days=30)).date().isoformat()
"""Ahead of the clock, so that no door's own present plays a part."""


@pytest.fixture(scope="module")
def http():
    return client()


def dated(job):
    return {**job, "days": {**job.get("days", {}), "start": _START}}


def by_command(job, folder, *options):
    path, out = folder / "job.toml", folder / "sheet.html"
    path.write_text(toml_of(job), encoding="utf-8")
    code, told, err = run("sheet", path, "--out", out, *options)
    assert (code, told, err) == (0, "", "")
    return out.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("options", "query", "words"),
    [
        ({}, {}, ()),
        ({"pages": "bench"}, {"for": "bench"}, ("--for", "bench")),
        ({"pages": "customer", "money": True}, {"for": "customer", "money": "true"},
         ("--for", "customer", "--money")),
        ({"pages": "shopping", "paper": "letter"}, {"for": "shopping", "paper": "letter"},
         ("--for", "shopping", "--paper", "letter")),
    ],
)  # fmt: skip
@pytest.mark.parametrize("name", ["linen cupboard", "groups", "unsound"])
def test_one_job_has_one_sheet(name, options, query, words, http, tmp_path):
    job = dated(JOBS[name])
    html = sheet(job, **options)
    response = http.post("/api/sheet", json=job, params=query)
    assert response.status_code == 200
    assert response.headers["content-type"] == "text/html; charset=utf-8"
    assert response.text == html
    assert by_command(job, tmp_path, *words) == html


def test_the_served_sheet_may_load_and_run_nothing(http):
    response = http.post("/api/sheet", json=dated(LINEN))
    assert response.headers["content-security-policy"].startswith("default-src 'none'")


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_the_file_stands_alone(job):
    html = sheet(job, now=NOW)
    assert not re.search(r"<script|<link|<img|<iframe|\bsrc=|\bhref=|url\(|@import|\son\w+=", html)
    assert "default-src 'none'" in html
    assert "print-color-adjust: exact" in html
    assert '<meta name="viewport"' in html


def test_paper_follows_the_units_until_it_is_said():
    assert "size: A4" in sheet(LINEN, now=NOW)
    assert "size: Letter" in sheet(US, now=NOW)
    assert "size: A4" in sheet(US, now=NOW, paper="a4")


def test_wrong_options_and_a_wrong_job_are_told_together(http):
    bad = small_job("no colour at all")
    with pytest.raises(InputError) as caught:
        sheet(bad, pages="cook", paper="a3")
    fields = [problem.field for problem in caught.value.problems]
    assert fields[:2] == ["pages", "paper"]
    assert any(field.startswith("topcoat") for field in fields[2:])
    reply = http.post("/api/sheet", json=bad, params={"for": "cook", "paper": "a3"})
    assert reply.status_code == 422
    assert refusal(reply) == [problem.as_dict() for problem in caught.value.problems]


def test_a_bad_job_is_refused_as_by_every_command(tmp_path):
    bad = small_job("no colour at all")
    with pytest.raises(InputError) as caught:
        sheet(bad)
    path = tmp_path / "job.toml"
    path.write_text(toml_of(bad), encoding="utf-8")
    code, out, err = run("sheet", path, "--out", tmp_path / "s.html")
    assert (code, out) == (2, "")
    assert err.splitlines()[1:] == lines_of([p.as_dict() for p in caught.value.problems])
    assert not (tmp_path / "s.html").exists()


def test_a_file_that_is_there_is_kept_unless_replace_is_said(tmp_path):
    out = tmp_path / "sheet.html"
    out.write_text("mine", encoding="utf-8")
    code, _, err = run("sheet", "a3b84c", "6b4a2a", "--out", out)
    assert code == 2
    assert "is there already" in err
    assert out.read_text(encoding="utf-8") == "mine"
    assert run("sheet", "a3b84c", "6b4a2a", "--out", out, "--replace") == (0, "", "")
    assert out.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_told_in_a_line():
    code, out, err = run("sheet", "a3b84c", "6b4a2a", "--out", "/dev/full", "--replace")
    assert (code, out) == (2, "")
    assert "/dev/full cannot be written: No space left on device" in err


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_that_may_not_be_written_is_told(tmp_path):
    tmp_path.chmod(0o500)
    code, _, err = run("sheet", "a3b84c", "6b4a2a", "--out", tmp_path / "s.html")
    assert code == 2
    assert "cannot be written" in err


@pytest.mark.parametrize("name", ["no/such/folder/s.html", "."])
def test_a_name_that_no_file_can_have_is_told(name, tmp_path):
    code, _, err = run("sheet", "a3b84c", "6b4a2a", "--out", tmp_path / name, "--replace")
    assert code == 2
    assert "cannot be written" in err


@pytest.mark.parametrize("options", [("--for", "cook"), ("--paper", "a3"), ()])
def test_a_line_that_cannot_be_read_names_the_option(options):
    code, _, err = run("sheet", "a3b84c", "6b4a2a", *options)
    assert code == 2
    assert (options[0] if options else "--out") in err


def test_a_group_of_the_job_may_be_left_out_of_no_sheet():
    html = sheet(GROUPS, now=NOW)
    assert all(group["name"] in html for group in GROUPS["group"])
