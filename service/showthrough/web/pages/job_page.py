"""A page that takes a job: its form, its answer, and the ways in which it is asked.

The form is sent with GET, so that a job is a link to keep or pass on; a form too long
for a link is posted to the same address. A page that takes files is always posted to,
and answers with a redirect wherever a link can hold the form. A link is brought to its
shortest form by a redirect. The answer stands in the page, and by itself at a second
address for the page's own script; both render one template.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from showthrough.errors import InputError
from showthrough.jobs.case.resolve import MOST_JOB_BYTES
from showthrough.jobs.schema.job import EXAMPLE_JOB
from showthrough.web import samples
from showthrough.web.body import is_multipart, parts_of, read_limited
from showthrough.web.forms.fields import BY_NAME
from showthrough.web.forms.form import (
    MOST_FIELDS,
    Form,
    Pairs,
    acted,
    link_of,
    link_pairs,
    pairs_of,
    read_form,
)
from showthrough.web.forms.job_form import Mend, form_of, mends_of
from showthrough.web.shell import LONGEST_LINK, PLACES, Place, rendered

MOST_UPLOAD_BYTES = 4_000_000
"""For swatches; the library takes no more rows than fit."""

_START_EMPTY = "start=empty"
_FILLING = ("filling", "yes")
"""Goes with a form that is still being filled in: nobody has asked for the answer yet."""
_FILE_OF = {"swatches_file": "swatches"}
"""A chosen file takes the place of a text."""
_MOST_MENDS = 12
"""Faulty swatches that are listed one by one."""


@dataclass(frozen=True, slots=True)
class JobPage:
    """One page with the job's form."""

    address: str
    answer_address: str
    heading: str
    verb: str
    """On the button that asks."""
    wanting: str
    """Stands for the answer before anything was asked."""
    parts: str
    """Template of the answer's parts."""
    shown: Callable[[Form], dict[str, Any]]
    """The answer as the template takes it, ``answer`` and ``say`` among it; raises InputError."""
    ask_part: str = ""
    """Template of what the form asks beside the job."""
    takes_files: bool = False

    @property
    def place(self) -> Place:
        """Where it stands in the navigation."""
        return next(place for place in PLACES if place.address == self.address)

    @property
    def most_bytes(self) -> int:
        """How long a posted form may be."""
        return MOST_UPLOAD_BYTES if self.takes_files else MOST_JOB_BYTES

    def read(self, pairs: Iterable[tuple[str, str]]) -> tuple[Form, Pairs]:
        """The form of a query, and the buttons pressed."""
        return read_form(pairs, [BY_NAME[name] for name in self.place.options])


def answered(
    page: JobPage, form: Form, *, ask: bool, filling: bool = False
) -> tuple[dict[str, Any], int]:
    """What the templates show for a form, and the status that goes with it.

    Args:
        page: whose form it is.
        form: as it was sent.
        ask: whether to answer at all.
        filling: the painter has not asked yet: a colour still to be given is no fault.
    """
    link = link_of(form)
    context: dict[str, Any] = {
        "page": page,
        "form": form,
        "link": f"{page.address}?{link}",
        "long": len(link) > LONGEST_LINK,
        "nav": navigation(form, asked=ask),
        "answer": None,
        "mends": [],
        "wrong": {},
        "say": "",
        "seen": _seen(form),
    }
    if not ask:
        return context, 200
    try:
        return context | page.shown(form), 200
    except InputError as error:
        mends = mends_of(error, form)
    if filling:
        mends = [mend for mend in mends if not _still_empty(mend, form)]
        if not mends:
            return context | {"link": f"{context['link']}&{urlencode([_FILLING])}"}, 200
    count = sum(mend.stands_for for mend in mends)
    mends = _few(mends)
    say = "One thing to put right" if count == 1 else f"{count} things to put right"
    return context | {"mends": mends, "wrong": _by_field(mends), "say": say}, 422


def _still_empty(mend: Mend, form: Form) -> bool:
    """Whether a mend is about a colour of topcoat or surface that was not typed yet."""
    if mend.field == "topcoat":
        return not form.value("topcoat")
    number = mend.field.removeprefix("colour")
    return number.isdecimal() and not form.value("colour", int(number))


def navigation(form: Form, *, asked: bool) -> list[tuple[str, str, str | None]]:
    """Address, name and link of each page; the link keeps the job, None where it is too long."""
    out: list[tuple[str, str, str | None]] = []
    for place in PLACES:
        kept = {k: v for k, v in form.options.items() if k in place.options}
        link = link_of(replace(form, options=kept, unknown=()))
        if len(link) > LONGEST_LINK:
            link = link_of(replace(form, options={}, unknown=()))
        if not place.takes_job:
            found: str | None = place.address
        elif not asked:
            found = f"{place.address}?{_START_EMPTY}"
        else:
            found = f"{place.address}?{link}" if len(link) <= LONGEST_LINK else None
        out.append((place.address, place.name, found))
    return out


def _few(mends: list[Mend]) -> list[Mend]:
    """All that is wrong with the job; of many faulty swatches the first."""
    faulty = [m for m in mends if m.field == "swatches"]
    if len(faulty) <= _MOST_MENDS:
        return mends
    left = sum(mend.stands_for for mend in faulty[_MOST_MENDS:])
    more = Mend("swatches", faulty[0].label, f"And {left} more faults like these.")
    return [*(m for m in mends if m.field != "swatches"), *faulty[:_MOST_MENDS], more]


def _by_field(mends: list[Mend]) -> dict[str, list[str]]:
    out: dict[str, list[str]] = {}
    for mend in mends:
        out.setdefault(mend.field, []).append(mend.message)
    return out


def _seen(form: Form) -> dict[str, str]:
    """The colour of each field that holds one."""
    out = {}
    for name, text in link_pairs(form):
        plain = BY_NAME.get(name) or BY_NAME.get(name.rstrip("0123456789"))
        if plain is not None and plain.kind == "colour":
            colour = samples.seen_colour(text)
            if colour:
                out[name] = colour
    return out


def shown_page(
    page: JobPage,
    form: Form,
    *,
    ask: bool = True,
    filling: bool = False,
    example: bool = False,
    focus: str = "",
) -> Response:
    """The whole page."""
    context, status = answered(page, form, ask=ask, filling=filling)
    return rendered("job_page.html", context | {"example": example, "focus": focus}, status)


def _fragment(page: JobPage, pairs: Pairs) -> Response:
    form, actions = page.read(p for p in pairs if p != _FILLING)
    context, status = answered(page, acted(form, actions)[0], ask=True, filling=_FILLING in pairs)
    return rendered("answer/answer.html", context, status)


def _linked(page: JobPage, form: Form, focus: str, *, filling: bool) -> Response:
    link = link_of(form)
    if filling and not _colours_given(form):
        link += f"&{urlencode([_FILLING])}"
    return RedirectResponse(f"{page.address}?{link}{f'#{focus}' if focus else ''}", status_code=303)


def _colours_given(form: Form) -> bool:
    given = form.value("topcoat") or form.value("paint")
    return bool(given) and all(row.get("colour") for row in form.rows("patch"))


def router_of(page: JobPage) -> APIRouter:
    """Its routes."""
    router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)

    @router.get(page.address)
    def get_page(request: Request) -> Response:
        """The page; without a query, with an example job."""
        query = request.url.query
        if not query:
            return shown_page(page, form_of(EXAMPLE_JOB), example=True)
        if query == _START_EMPTY:
            return shown_page(page, Form(), ask=False)
        pairs = pairs_of(query)
        filling = _FILLING in pairs
        pairs = [p for p in pairs if p != _FILLING]
        form, actions = page.read(pairs)
        # Who presses a button of the form itself has not asked for the answer.
        filling |= bool(actions)
        focus = ""
        if actions and len(query) > LONGEST_LINK:
            form, focus = acted(form, actions)
        elif actions or pairs != link_pairs(form):
            form, focus = acted(form, actions)
            return _linked(page, form, focus, filling=filling)
        return shown_page(page, form, filling=filling, focus=focus)

    @router.post(page.address)
    async def post_page(request: Request) -> Response:
        """The page for a form that is too long for a link, or that holds a file."""
        form, actions = page.read(await posted(request, page.most_bytes))
        form, focus = acted(form, actions)
        # The page's own script posts no multipart form, and wants the page itself.
        if is_multipart(request) and len(link_of(form)) <= LONGEST_LINK:
            return _linked(page, form, focus, filling=bool(actions))
        return await run_in_threadpool(shown_page, page, form, filling=bool(actions), focus=focus)

    @router.get(page.answer_address)
    def get_answer(request: Request) -> Response:
        """The answer alone, as it stands in the page."""
        return _fragment(page, pairs_of(request.url.query))

    @router.post(page.answer_address)
    async def post_answer(request: Request) -> Response:
        """The same for a long form."""
        pairs = await posted(request, page.most_bytes)
        return await run_in_threadpool(_fragment, page, pairs)

    return router


async def posted(request: Request, most: int) -> Pairs:
    """Names and values of a posted form; a file that was chosen takes its text's place.

    Args:
        request: not yet read.
        most: bytes of the body.

    Raises:
        InputError: the form is too large, or none.
    """
    if not is_multipart(request):
        return pairs_of((await read_limited(request, most)).decode("utf-8", "replace"))
    pairs: Pairs = []
    files: Pairs = []
    parts = await parts_of(request, most, files=4, fields=MOST_FIELDS, field_bytes=most)
    for name, value in parts:
        if isinstance(value, str):
            if name not in _FILE_OF:
                pairs.append((name, value))
        elif name in _FILE_OF and value.name:
            files.append((_FILE_OF[name], file_text(value.content)))
    return [p for p in pairs if p[0] not in dict(files)] + files


def file_text(raw: bytes) -> str:
    """The text of a file, as spreadsheets of several kinds save it."""
    if b"\0" in raw:
        return "This file is no plain text: save the table as CSV."
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace")
