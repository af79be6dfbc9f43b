"""The page: server-rendered HTML over the same jobs.

The form is sent with GET, so that a job is a link to keep or pass on; a form too long
for a link is posted to the same address. A link is brought to its shortest form by a
redirect. The answer stands in the page, and by itself at ``/answer`` for the page's own
script; both render one template.
"""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib import resources
from typing import Any

from fastapi import APIRouter, FastAPI, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.concurrency import run_in_threadpool

from showthrough.errors import InputError
from showthrough.jobs.predict import predict
from showthrough.jobs.resolve import MOST_JOB_BYTES
from showthrough.jobs.schema import EXAMPLE_JOB, MOST_PATCHES, MOST_UNDERCOATS
from showthrough.jobs.words import headline
from showthrough.web import answer as words
from showthrough.web import fields, samples
from showthrough.web.api import read_limited
from showthrough.web.curve import grey_curve
from showthrough.web.form import Form, acted, link_of, link_pairs, pairs_of, read_form
from showthrough.web.job_form import Mend, form_of, job_of, mends_of

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)

LONGEST_LINK = 6000
"""Longer queries are posted: some proxies refuse a request line of 8 kB."""

PAGES = (("/", "Coats"),)
"""Address and name of each page, for the navigation."""

_START_EMPTY = "start=empty"
_SAFE = {
    # Colours are SVG attributes, which are no style; nothing inline and nobody else's.
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
}
_ASSETS = {
    "page.css": "text/css; charset=utf-8",
    "print.css": "text/css; charset=utf-8",
    "page.js": "text/javascript; charset=utf-8",
    "mark.svg": "image/svg+xml",
}
_A_YEAR = "public, max-age=31536000, immutable"


@cache
def _asset(name: str) -> tuple[bytes, str]:
    """Content of an asset and a version that changes with it."""
    content = (resources.files("showthrough.web") / "assets" / name).read_bytes()
    return content, sha256(content).hexdigest()[:12]


def asset_link(name: str) -> str:
    """Where a page finds an asset, for as long as it stays what it is."""
    return f"/assets/{name}?v={_asset(name)[1]}"


def mount_assets(app: FastAPI) -> None:
    """Serve the page's own style and script."""

    @app.get("/assets/{name}", include_in_schema=False)
    def get_asset(name: str, v: str = "") -> Response:
        if name not in _ASSETS:
            return Response("There is no such file.", 404, media_type="text/plain")
        content, version = _asset(name)
        cache_for = _A_YEAR if v == version else "no-cache"
        headers = {"Cache-Control": cache_for, "X-Content-Type-Options": "nosniff"}
        return Response(content, media_type=_ASSETS[name], headers=headers)


@cache
def _environment() -> Environment:
    env = Environment(
        loader=PackageLoader("showthrough.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters["chance"] = words.chance_words
    env.filters["coats"] = words.coats_words
    env.filters["capital"] = words.capital
    env.globals.update(
        pages=PAGES,
        asset=asset_link,
        spec=fields.BY_NAME,
        topcoat_groups=samples.topcoat_groups,
        surface_groups=samples.surface_groups,
        finish_samples=samples.finish_samples,
        seen_colour=samples.seen_colour,
        most_patches=MOST_PATCHES,
        most_undercoats=MOST_UNDERCOATS,
    )
    return env


def _answered(form: Form, *, ask: bool) -> tuple[dict[str, Any], int]:
    """What the templates show for a form, and the status that goes with it."""
    link = link_of(form)
    context: dict[str, Any] = {
        "form": form,
        "link": f"/?{link}",
        "long": len(link) > LONGEST_LINK,
        "answer": None,
        "mends": [],
        "wrong": {},
        "say": "",
        "seen": _seen(form),
    }
    if not ask:
        return context, 200
    try:
        answer = predict(job_of(form))
    except InputError as error:
        mends = mends_of(error, form)
        context |= {"mends": mends, "wrong": _by_field(mends)}
        count = len(mends)
        context["say"] = "One thing to mend" if count == 1 else f"{count} things to mend"
        return context, 422
    plain = [patch.critical_um for patch in answer.patches]
    hardest = None if None in plain else max(um for um in plain if um is not None)
    context |= {
        "answer": answer,
        "say": headline(answer.coats),
        "sureness": words.sureness(answer),
        "evenness": words.evenness(answer),
        "job_line": words.job_line(answer),
        "evidence": words.evidence(answer.hiding),
        "film_line": words.film_line(answer.film),
        "ladders": words.ladders(answer),
        "curve": grey_curve(answer.grey_curve, hardest),
    }
    return context, 200


def _by_field(mends: list[Mend]) -> dict[str, list[str]]:
    out: dict[str, list[str]] = {}
    for mend in mends:
        out.setdefault(mend.field, []).append(mend.message)
    return out


def _seen(form: Form) -> dict[str, str]:
    """The colour of each field that holds one."""
    out = {}
    for name, text in link_pairs(form):
        if name.rstrip("0123456789") in {"topcoat", "colour", "under_colour"}:
            colour = samples.seen_colour(text)
            if colour:
                out[name] = colour
    return out


def _page(form: Form, *, ask: bool = True, example: bool = False, focus: str = "") -> Response:
    context, status = _answered(form, ask=ask)
    context |= {"example": example, "focus": focus}
    html = _environment().get_template("coats.html").render(context)
    return HTMLResponse(html, status, headers=_SAFE)


def _fragment(form: Form) -> Response:
    context, status = _answered(form, ask=True)
    html = _environment().get_template("answer/answer.html").render(context)
    return HTMLResponse(html, status, headers=_SAFE)


@router.get("/")
def get_page(request: Request) -> Response:
    """The page; without a query, with an example job."""
    query = request.url.query
    if not query:
        return _page(form_of(EXAMPLE_JOB), example=True)
    if query == _START_EMPTY:
        return _page(Form(), ask=False)
    pairs = pairs_of(query)
    form, actions = read_form(pairs)
    focus = ""
    if actions and len(query) > LONGEST_LINK:
        form, focus = acted(form, actions)
    elif actions or pairs != link_pairs(form):
        form, focus = acted(form, actions)
        return RedirectResponse(f"/?{link_of(form)}{f'#{focus}' if focus else ''}", 303)
    return _page(form, focus=focus)


@router.post("/")
async def post_page(request: Request) -> Response:
    """The page for a form that is too long for a link."""
    form, actions = read_form(await _posted(request))
    form, focus = acted(form, actions)
    return await run_in_threadpool(_page, form, focus=focus)


@router.get("/answer")
def get_answer(request: Request) -> Response:
    """The answer alone, as it stands in the page."""
    form, actions = read_form(pairs_of(request.url.query))
    return _fragment(acted(form, actions)[0])


@router.post("/answer")
async def post_answer(request: Request) -> Response:
    """The same for a long form."""
    form, actions = read_form(await _posted(request))
    return await run_in_threadpool(_fragment, acted(form, actions)[0])


async def _posted(request: Request) -> list[tuple[str, str]]:
    body = await read_limited(request, MOST_JOB_BYTES)
    return pairs_of(body.decode("utf-8", "replace"))
