"""The sheet on paper, the calendar and the job as a file."""

from __future__ import annotations

from typing import cast

import tomli_w
from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response

from showthrough.errors import InputError
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.whole import calendar
from showthrough.sheets.sheet import Pages, Paper, sheet
from showthrough.web.forms.paths import job_of
from showthrough.web.pages.asked import AskedBy, surroundings
from showthrough.web.pages.bench import begun, mend_context
from showthrough.web.shell import PAPER_SAFE, PLACES, as_file, rendered

_PLACE = PLACES[3]

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get("/sheet")
@router.post("/sheet")
def sheet_place(asked: AskedBy) -> Response:
    """What can be printed."""
    context = surroundings(asked, _PLACE)
    if not begun(asked.fields):
        return rendered("nothing_yet.html", context | {"heading": "Sheet"})
    try:
        prepare(asked.job)
    except InputError as error:
        return rendered("mend.html", context | mend_context(asked, error))
    return rendered("sheet.html", context)


@router.get("/sheet/paper")
@router.post("/sheet/paper")
def paper(asked: AskedBy) -> Response:
    """The sheet itself, for the browser's print."""
    page = asked.page
    try:
        html = sheet(
            asked.job,
            pages=cast("Pages", page.get("pages", "all")),
            paper=cast("Paper | None", page.get("paper") or None),
            money=page.get("money_shown") == "yes",
        )
    except InputError as error:
        return rendered(
            "mend.html", surroundings(asked, _PLACE) | mend_context(asked, error, "/sheet/paper")
        )
    return HTMLResponse(html, headers=PAPER_SAFE)


@router.get("/calendar")
@router.post("/calendar")
def days(asked: AskedBy) -> Response:
    """The stays at the bench as a calendar file."""
    try:
        text = calendar(asked.job)
    except InputError as error:
        return rendered("mend.html", surroundings(asked, PLACES[0]) | mend_context(asked, error))
    return as_file(text, "text/calendar; charset=utf-8", "days.ics")


@router.get("/job.toml")
@router.post("/job.toml")
def job_file(asked: AskedBy) -> Response:
    """The job as the file that the command line takes; measured paints stand in it as they are."""
    return as_file(tomli_w.dumps(job_of(asked.fields)), "application/toml", "job.toml")
