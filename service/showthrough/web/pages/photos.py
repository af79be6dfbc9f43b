"""The pages that take a photo: what stands in them, and how they are asked.

A photo is posted and answered in the same breath; nothing of it is stored, so that a page
without script asks for it anew each time. The page's own script keeps it in the browser.
The job of the other pages is carried along as its link.
"""

from __future__ import annotations

from dataclasses import replace

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from showthrough.errors import IllConditionedError, InputError
from showthrough.jobs.case.resolve import MOST_JOB_BYTES
from showthrough.jobs.schema.job import EXAMPLE_JOB
from showthrough.web.forms.fields import BY_NAME
from showthrough.web.forms.form import Form, link_of, link_pairs, read_form
from showthrough.web.forms.job_form import Mend, form_of, job_of
from showthrough.web.forms.photo_form import (
    CARDS,
    CHART,
    CORNERS,
    REFERENCE_FIELDS,
    SHEETS,
    SIDES,
    Asking,
    Sent,
    carried,
    read_sent,
)
from showthrough.web.pages.job_page import navigation, posted
from showthrough.web.pages.photo_answers import PHOTO_PAGES, PhotoPage, Shown
from showthrough.web.samples import seen_colour
from showthrough.web.shell import PHOTO_SAFE, rendered

_START_EMPTY = "start=empty"


def _context(page: PhotoPage, sent: Sent, *, example: bool) -> Shown:
    form = sent.job
    job = job_of(form)
    fields = (*page.fields, *(REFERENCE_FIELDS if page.takes_references else ()))
    colours = [each.name for each in fields if each.kind == "colour"]
    return {
        "page": page,
        "sent": sent,
        "form": form,
        # There is no form here that could post a job that is too long for a link.
        "nav": [(a, n, link or a) for a, n, link in navigation(form, asked=form != Form())],
        "job_link": link_of(form),
        "job_pairs": link_pairs(form),
        "job_topcoat": seen_colour(str(form.value("topcoat"))),
        "job_patches": [
            (patch.get("name", "surface"), seen_colour(str(patch["colour"])))
            for patch in job.get("surface", ())
            if "colour" in patch
        ],
        "example": example,
        "each": {field.name: field for field in fields},
        "sides": SIDES,
        "corners": CORNERS,
        "cards": CARDS,
        "sheets": SHEETS,
        "chart": CHART,
        "spec": BY_NAME,
        "seen": {n: seen_colour(sent.value(n)) for n in colours},
        "answer": None,
        "advice": [],
        "mends": [],
        "wrong": {},
        "say": "",
    }


def _wrong(context: Shown, mends: list[Mend]) -> Shown:
    wrong: dict[str, list[str]] = {}
    for mend in mends:
        wrong.setdefault(mend.field, []).append(mend.message)
    say = "One thing to put right" if len(mends) == 1 else f"{len(mends)} things to put right"
    return context | {"mends": mends, "wrong": wrong, "say": say}


def _status(error: InputError) -> int:
    return 413 if any(p.code == "too_large" for p in error.problems) else 422


def _answered(page: PhotoPage, sent: Sent) -> Response:
    """The page with its answer."""
    context = _context(page, sent, example=False)
    asking = Asking(sent)
    try:
        context |= page.answer(asking)
    except IllConditionedError as error:
        # The readings are sound; the film cannot say what was asked of it.
        advice = [problem.message for problem in error.problems]
        context |= {"advice": advice, "say": "This film cannot be measured"}
        return _page(context, 200)
    except InputError as error:
        return _page(_wrong(context, asking.mends(error)), _status(error))
    return _page(context, 200)


def _page(context: Shown, status: int) -> Response:
    return rendered("photo/page.html", context, status, PHOTO_SAFE)


def _router_of(page: PhotoPage) -> APIRouter:
    router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)

    @router.get(page.address)
    def get_page(request: Request) -> Response:
        """The page, nothing read yet; a query is the job that is carried along."""
        query = request.url.query
        example = not query and page.needs_job
        form = form_of(EXAMPLE_JOB) if example else Form()
        if query and query != _START_EMPTY:
            form = carried(query)
        return _page(_context(page, Sent({}, job=replace(form, unknown=())), example=example), 200)

    @router.post(page.address)
    async def post_page(request: Request) -> Response:
        """The page with what was read from the photo, or with a job too long for a link."""
        if request.headers.get("content-type", "").startswith("application/x-www-form-urlencoded"):
            form, _ = read_form(await posted(request, MOST_JOB_BYTES))
            return _page(_context(page, Sent({}, job=form), example=False), 200)
        try:
            sent = await read_sent(request)
        except InputError as error:
            empty = Sent({})
            context = _context(page, empty, example=False)
            return _page(_wrong(context, Asking(empty).mends(error)), _status(error))
        return await run_in_threadpool(_answered, page, sent)

    return router


router = APIRouter(include_in_schema=False)
for _each in PHOTO_PAGES:
    router.include_router(_router_of(_each))
