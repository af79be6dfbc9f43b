"""Sheet, calendar, job file: what goes out of the page, and comes in again."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import icalendar
import pytest

from showthrough import plan, predict
from showthrough.jobs.schema.job import Job
from showthrough.sheets.sheet import sheet
from showthrough.web.forms.paths import fields_of_job, query_of
from showthrough.web.pages.asked import SAMPLE_JOB
from web.tree import read_html

_BEGUN = SAMPLE_JOB | {"days": {"start": "2027-03-01T08:00"}}
_QUERY = query_of(fields_of_job(_BEGUN))
EXAMPLE = Path(__file__).parents[2] / "examples" / "linen-cupboard.toml"


def test_the_sheet_is_the_one_of_every_door(client: Any) -> None:
    for pages in ("bench", "customer", "shopping", "all"):
        for money in ("", "yes"):
            query = f"{_QUERY}&pages={pages}&money_shown={money}&paper=letter"
            reply = client.get(f"/sheet/paper?{query}")
            own = sheet(_BEGUN, pages=pages, money=bool(money), paper="letter")  # type: ignore[arg-type] # a word
            assert reply.text == own
            assert "script-src" not in reply.headers["content-security-policy"]


def test_the_place_of_the_sheet_leads_to_each_page_of_it(client: Any) -> None:
    tree = read_html(client.get(f"/sheet?{_QUERY}").text)
    buttons = tree.all("button", lambda b: b.attrs.get("name") == "pages")
    assert [b.attrs["value"] for b in buttons] == ["bench", "customer", "shopping", "all"]


def test_an_option_that_is_none_is_told_at_its_field(client: Any) -> None:
    tree = read_html(client.get(f"/sheet/paper?{_QUERY}&paper=foolscap").text)
    assert "foolscap" in tree.one("f-paper").attrs["value"]
    assert "a4" in tree.one("e-paper").text


def test_the_days_come_as_a_calendar(client: Any) -> None:
    # A reader of RFC 5545 that is not ours.
    reply = client.get(f"/calendar?{_QUERY}")
    assert reply.headers["content-type"].startswith("text/calendar")
    found = icalendar.Calendar.from_ical(reply.text).walk("VEVENT")
    days = plan(_BEGUN).days
    assert days is not None
    assert len(found) >= len(days.stays)


@pytest.mark.parametrize(
    "job", [_BEGUN, tomllib.loads(EXAMPLE.read_text(encoding="utf-8"))], ids=["sample", "example"]
)
def test_a_job_goes_out_as_a_file_and_comes_back(client: Any, job: dict[str, Any]) -> None:
    saved = client.post("/job.toml", data=fields_of_job(job))
    back = Job.model_validate(tomllib.loads(saved.text))
    assert predict(tomllib.loads(saved.text)) == predict(job)
    assert back.title == job["title"]
    files = {"job_file": ("job.toml", saved.text.encode())}
    opened = client.post("/jobs/open", data={"job": ""}, files=files)
    assert opened.status_code == 303
    there = read_html(client.get(opened.headers["location"]).text)
    assert there.one("headline").text == predict(job).headline


@pytest.mark.parametrize("text", ["nonsense", "topcoat = 3", "", "a = [", 'x = "<script>"'])
def test_a_file_that_is_no_job_is_told_at_its_field(client: Any, text: str) -> None:
    files = {"job_file": ("job.toml", text.encode())}
    reply = client.post("/jobs/open", data={"job": ""}, files=files, follow_redirects=True)
    assert reply.status_code == 200
    tree = read_html(reply.text)
    if not text:
        return  # an empty job starts at the first question
    assert "aria-invalid" in tree.one("job_file").attrs
    assert tree.one("e-job").text
    assert "<script>" not in reply.text.replace("<script src", "")
