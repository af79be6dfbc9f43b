"""The pages that take a photo: what stands in them, and how they are asked.

A photo is posted and answered in the same breath; nothing of it is stored, so that a page
without script asks for it anew each time. The page's own script keeps it in the browser.
The job of the other pages is carried along as its link.
"""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from showthrough.errors import IllConditionedError, InputError, to_put_right
from showthrough.web.forms import taps
from showthrough.web.forms.paths import fields_of_job, job_of, query_of
from showthrough.web.forms.photo_form import (
    CARDS,
    CHART,
    CORNERS,
    REFERENCE_FIELDS,
    SHEETS,
    SIDES,
    Asking,
    Mend,
    Sent,
    Spot,
    read_sent,
)
from showthrough.web.pages.asked import SAMPLE_JOB, Asked, AskedBy, asked_by, surroundings
from showthrough.web.pages.photo_answers import PHOTO_PAGES, PhotoPage, Shown
from showthrough.web.samples import seen_colour, spoken_colour
from showthrough.web.shell import PHOTO_SAFE, PLACES, rendered


def _context(page: PhotoPage, sent: Sent, *, example: bool) -> Shown:
    fields = sent.job
    job = job_of(fields)
    inputs = (*page.fields, *(REFERENCE_FIELDS if page.takes_references else ()))
    colours = [each.name for each in inputs if each.kind == "colour"]
    return surroundings(Asked(fields), PLACES[1]) | {
        "page": page,
        "sent": sent,
        "job_link": query_of(fields),
        "job_topcoat": seen_colour(fields.get("topcoat.colour", "")),
        "job_words": fields.get("topcoat.name") or spoken_colour(fields.get("topcoat.colour", "")),
        "job_patches": [
            (patch.get("name", "surface"), seen_colour(fields.get(f"surface.{n}.colour", "")))
            for n, patch in enumerate(job.get("surface", ()), 1)
        ],
        "example": example,
        "each": {field.name: field for field in inputs},
        "sides": SIDES,
        "corners": CORNERS,
        "cards": CARDS,
        "sheets": SHEETS,
        "chart": CHART,
        "spots": _spots(page),
        "stage": taps.stage_of(sent, _spots(page)),
        "stage_width": taps.WIDTH,
        "seen": {n: seen_colour(sent.value(n)) for n in colours},
        "answer": None,
        "advice": [],
        "mends": [],
        "swap": "",
        "say": "",
    }


def _spots(page: PhotoPage) -> tuple[Spot, ...]:
    """Every rectangle that may be marked."""
    return (*page.spots, *((*CARDS, *SHEETS) if page.takes_references else ()))


def _marked(page: PhotoPage, sent: Sent) -> Response:
    """The page with its photo to tap on, where no script shows it."""
    if sent.photo is None and taps.stage_of(sent, _spots(page)) is None:
        mend = Mend("photo", "Photo", "choose the photo first, then show it")
        return _page(_wrong(_context(page, sent, example=False), [mend]), 200)
    try:
        sent = taps.shown_photo(sent)
    except InputError as error:
        context = _context(page, sent, example=False)
        return _page(_wrong(context, Asking(sent).mends(error)), _status(error))
    return _page(_context(page, taps.tapped(sent, _spots(page)), example=False), 200)


def _wrong(context: Shown, mends: list[Mend]) -> Shown:
    wrong: dict[str, list[str]] = {}
    for mend in mends:
        wrong.setdefault(mend.field, []).append(mend.message)
    say = to_put_right(len(mends))
    return context | {"mends": mends, "wrong": wrong, "say": say}


def _status(error: InputError, usual: int = 200) -> int:
    """A form with faults is a page like any other, so that a browser logs none."""
    return 413 if any(p.code == "too_large" for p in error.problems) else usual


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
        context |= {"swap": asking.swapped(error)}
        return _page(_wrong(context, asking.mends(error)), _status(error))
    return _page(context, 200)


def _page(context: Shown, status: int) -> Response:
    return rendered("photo/page.html", context, status, PHOTO_SAFE)


def _router_of(page: PhotoPage) -> APIRouter:
    router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)

    @router.get(page.address)
    def get_page(asked: AskedBy) -> Response:
        """The page, nothing read yet; a query is the job that is carried along."""
        fields = asked.fields
        example = not fields and page.needs_job
        sent = Sent({}, job=fields_of_job(SAMPLE_JOB) if example else fields)
        return _page(_context(page, sent, example=example), 200)

    @router.post(page.address)
    async def post_page(request: Request) -> Response:
        """The page with what was read from the photo, or with a job too long for a link."""
        if request.headers.get("content-type", "").startswith(_URLENCODED):
            return _page(
                _context(page, Sent({}, job=(await asked_by(request)).fields), example=False), 200
            )
        try:
            sent = await read_sent(request)
        except InputError as error:
            empty = Sent({})
            context = _context(page, empty, example=False)
            return _page(_wrong(context, Asking(empty).mends(error)), _status(error, 422))
        step = _marked if taps.wanted(sent) else _answered
        return await run_in_threadpool(step, page, sent)

    return router


_URLENCODED = "application/x-www-form-urlencoded"

router = APIRouter(include_in_schema=False)


@router.get("/photo")
@router.post("/photo")
def photo(asked: AskedBy) -> Response:
    """What a photo may tell."""
    return rendered("photo/start.html", surroundings(asked, PLACES[1]))


for _each in PHOTO_PAGES:
    router.include_router(_router_of(_each))
