"""The sheet on paper, the calendar and the job as a file."""

from __future__ import annotations

from typing import Any, cast

import tomli_w
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from showthrough.errors import InputError
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.whole import calendar
from showthrough.sheets.sheet import Pages, Paper, sheet
from showthrough.web.forms.paths import job_of
from showthrough.web.pages.asked import Asked, asked_by, surroundings
from showthrough.web.pages.bench import begun, mend_context
from showthrough.web.shell import PAPER_SAFE, PLACES, rendered

_PLACE = PLACES[3]

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get("/sheet")
@router.post("/sheet")
async def sheet_place(request: Request) -> Response:
    """What can be printed."""
    asked = await asked_by(request)
    return await run_in_threadpool(_place, asked)


def _place(asked: Asked) -> Response:
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
async def paper(request: Request) -> Response:
    """The sheet itself, for the browser's print."""
    asked = await asked_by(request)
    return await run_in_threadpool(_paper, asked)


def _paper(asked: Asked) -> Response:
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
async def days(request: Request) -> Response:
    """The stays at the bench as a calendar file."""
    asked = await asked_by(request)
    return await run_in_threadpool(_calendar, asked)


def _calendar(asked: Asked) -> Response:
    try:
        text = calendar(asked.job)
    except InputError as error:
        return rendered("mend.html", surroundings(asked, PLACES[0]) | mend_context(asked, error))
    return _file(text, "text/calendar; charset=utf-8", "days.ics")


@router.get("/job.toml")
@router.post("/job.toml")
async def job_file(request: Request) -> Response:
    """The job as the file that the command line takes."""
    asked = await asked_by(request)
    return _file(job_toml(job_of(asked.fields)), "application/toml", "job.toml")


def job_toml(job: dict[str, Any]) -> str:
    """A job as TOML; measured paints stand in it as they are."""
    return tomli_w.dumps(job)


def _file(text: str, kind: str, name: str) -> Response:
    headers = {
        "Content-Disposition": f'attachment; filename="{name}"',
        "X-Content-Type-Options": "nosniff",
    }
    return Response(text, media_type=kind, headers=headers)
