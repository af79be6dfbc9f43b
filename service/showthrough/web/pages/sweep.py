"""The page of every swatch: a whole file of colours over one surface, sorted."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool

from showthrough.colour.space import hex_of_lab
from showthrough.errors import InputError
from showthrough.jobs.requests import SweepRequest, checked_request
from showthrough.jobs.sweep.sweep import Sweep, sweep, sweep_csv
from showthrough.say.chances import count_words
from showthrough.web.forms.fields import BY_NAME, FEW_ROWS
from showthrough.web.forms.form import Form, acted, link_of, pairs_of
from showthrough.web.forms.job_form import request_of
from showthrough.web.pages.job_page import JobPage, posted, router_of, shown_page
from showthrough.web.shell import LONGEST_LINK


def _swept(form: Form) -> Sweep:
    job, options = checked_request(SweepRequest, request_of(form))
    return sweep(job, options["swatches"], sort=options.get("sort", "coats"))


def _shown(form: Form) -> dict[str, Any]:
    answer = _swept(form)
    shown = answer.rows if form.value("rows") == "all" else answer.rows[:FEW_ROWS]
    link = link_of(form)
    return {
        "answer": answer,
        "say": say(answer),
        "shown": shown,
        "wished_hex": hex_of_lab(answer.wished),
        "sorts": BY_NAME["sort"].choices,
        "save_link": link if len(link) <= LONGEST_LINK else "",
    }


def say(answer: Sweep) -> str:
    """The answer in one line."""
    count = len(answer.rows)
    known = [row.coats for row in answer.rows if row.coats is not None]
    many = "1 swatch" if count == 1 else f"{count:,} swatches"
    if not known:
        return f"{many}: each needs {count_words(None)}"
    if count == 1:
        return f"{many}: {count_words(known[0])}"
    most = None if len(known) < count else max(known)
    if most == min(known):
        return f"{many}: {count_words(most)} each"
    top = count_words(most)
    return f"{many}: from {min(known)} to {top}"


SWEEP = JobPage(
    "/sweep",
    "/sweep/answer",
    heading="Which of all your swatches cover this surface soonest?",
    verb="Try every swatch",
    wanting="Give the colour that you wish for and at least one patch of the surface.",
    parts="answer/sweep.html",
    shown=_shown,
    ask_part="form/ask_sweep.html",
    takes_files=True,
)

router = APIRouter(include_in_schema=False)
router.include_router(router_of(SWEEP))

_KINDS = {"csv": "text/csv; charset=utf-8", "json": "application/json"}


def _saved(kind: str, form: Form) -> Response:
    """The rows as a file; the page with what is to mend where there are none."""
    try:
        answer = _swept(form)
    except InputError:
        return shown_page(SWEEP, form)
    text = sweep_csv(answer) if kind == "csv" else answer.model_dump_json(indent=1)
    headers = {
        "Content-Disposition": f'attachment; filename="swatches.{kind}"',
        "X-Content-Type-Options": "nosniff",
    }
    return Response(text, media_type=_KINDS[kind], headers=headers)


@router.get("/sweep.csv")
@router.get("/sweep.json")
def get_saved(request: Request) -> Response:
    """All rows as a file to keep, by the job's link."""
    form, actions = SWEEP.read(pairs_of(request.url.query))
    return _saved(request.url.path.rpartition(".")[2], acted(form, actions)[0])


@router.post("/sweep.csv")
@router.post("/sweep.json")
async def post_saved(request: Request) -> Response:
    """The same for a form with more swatches than a link holds."""
    form, actions = SWEEP.read(await posted(request, SWEEP.most_bytes))
    kind = request.url.path.rpartition(".")[2]
    return await run_in_threadpool(_saved, kind, acted(form, actions)[0])
