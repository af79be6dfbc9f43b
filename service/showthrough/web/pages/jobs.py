"""The jobs that were done and those that run; a job comes in from a file here."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from showthrough.errors import InputError
from showthrough.files import toml_table
from showthrough.web.forms.paths import fields_of_job
from showthrough.web.pages.asked import Asked, asked_by, posted, surroundings
from showthrough.web.pages.bench import page_of
from showthrough.web.shell import PLACES, rendered

_PLACE = PLACES[4]

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get("/jobs")
@router.post("/jobs")
async def jobs(request: Request) -> Response:
    """The place of the jobs."""
    return rendered("jobs.html", surroundings(await asked_by(request), _PLACE))


@router.post("/jobs/open")
async def opened(request: Request) -> Response:
    """The plan of a job file that was chosen, or pasted."""
    text = dict(await posted(request)).get("job", "")
    try:
        fields = fields_of_job(toml_table(text))
    except (ValueError, InputError) as error:
        told = [str(p) for p in error.problems] if isinstance(error, InputError) else [str(error)]
        context = surroundings(Asked({}), _PLACE) | {"wrong": {"job": told}, "text": text[:20000]}
        return rendered("jobs.html", context)
    asked = Asked(fields)
    return page_of(asked) if asked.long else RedirectResponse(asked.href("/"), status_code=303)
