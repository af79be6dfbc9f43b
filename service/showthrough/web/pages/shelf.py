"""The painter's own paints: kept from a job, used for another, and what is left of each."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from showthrough.colour.space import hex_of_lab
from showthrough.errors import InputError
from showthrough.jobs.case.resolve import read_job
from showthrough.records import store as records
from showthrough.web.forms.paths import fields_of_job, job_of, number_of
from showthrough.web.pages.asked import Asked, AskedBy, surroundings
from showthrough.web.pages.bench import page_of
from showthrough.web.shell import PLACES, rendered

if TYPE_CHECKING:
    from showthrough.records.store.shape.rows import ShelfPaint

_PLACE = PLACES[4]
_ADDRESS = "/jobs/shelf"
_FIELDS = ("name", "batch", "left_ml", "size_ml", "price", "opened")

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get(_ADDRESS)
@router.post(_ADDRESS)
def shelf(asked: AskedBy) -> Response:
    """The paints that are kept."""
    return _list(asked)


def _list(asked: Asked, **more: Any) -> Response:

    context = surroundings(asked, _PLACE) | {
        "paints": [],
        "away": [],
        "trouble": [],
        "typed": {},
        "can_add": any(k.startswith(("topcoat.colour", "topcoat.paint")) for k in asked.fields),
    }
    try:
        with records.opened.open_store() as store:
            every = [
                (each, _hex(each), _price(each))
                for each in records.paints.listed_paints(store, archived=True)
            ]
        context["paints"] = [row for row in every if not row[0].archived]
        context["away"] = [row for row in every if row[0].archived]
    except InputError as error:
        context["trouble"] = _told(error)
    return rendered("shelf.html", context | more)


def _told(error: InputError) -> list[str]:
    return [str(problem) for problem in error.problems]


def _hex(paint: ShelfPaint) -> str:
    """The colour of a paint; "" of one that was measured, or that no release of today reads."""
    try:
        found = read_job({"topcoat": paint.topcoat, "surface": [{"colour": "#808080"}]}, None)
    except InputError:
        return ""
    return hex_of_lab(found.topcoat.lab) if found.topcoat else ""


def _price(paint: ShelfPaint) -> str:
    return "" if paint.price_minor is None else f"{paint.price_minor / 100:.2f} {paint.currency}"


def _back(asked: Asked) -> Response:
    """The shelf after a change, by an address where one can hold the job."""
    if asked.long:
        return _list(asked)
    return RedirectResponse(asked.href(_ADDRESS), status_code=303)


def _route(then: Callable[[Asked, dict[str, str]], Response]) -> Callable[..., Any]:
    def answered(asked: AskedBy) -> Response:
        return then(asked, dict(asked.pairs))

    return answered


def _add(asked: Asked, said: dict[str, str]) -> Response:
    """Put the job's topcoat on the shelf."""
    typed = {key: said.get(key, "").strip() for key in _FIELDS}
    values: dict[str, Any] = {key: text for key, text in typed.items() if text}
    for key in ("left_ml", "size_ml"):
        if key in values:
            values[key] = number_of(values[key])
    try:
        with records.opened.open_store() as store:
            records.paints.add_paint(store, job_of(asked.fields).get("topcoat", {}), **values)
    except InputError as error:
        wrong = {p.field: [p.message] for p in error.problems if p.field in _FIELDS}
        rest = [str(p) for p in error.problems if p.field not in _FIELDS]
        return _list(asked, typed=typed, wrong=wrong, trouble=rest)
    return _back(asked)


def _change(asked: Asked, said: dict[str, str]) -> Response:
    """What is left of a paint, that it is used up, or that it is there again."""
    number, version = said.get("shelf", ""), said.get("version", "")
    left = said.get("left", "").strip()
    change: dict[str, Any] = {"left_ml": number_of(left)}
    if said.get("away") == "yes" or said.get("back") == "yes":
        change = {"archived": said.get("away") == "yes"}
    key = f"left_ml.{number}"
    try:
        with records.opened.open_store() as store:
            plain = version.isascii() and version.isdecimal() and len(version) < 10
            made_from = int(version) if plain else 0
            records.paints.edit_paint(store, number, made_from=made_from, **change)
    except InputError as error:
        wrong = {key: [p.message for p in error.problems if p.field == "left_ml"]}
        rest = [str(p) for p in error.problems if p.field != "left_ml"]
        return _list(asked, typed={key: left}, wrong=wrong, trouble=rest)
    return _back(asked)


def _use(asked: Asked, said: dict[str, str]) -> Response:
    """The plan with a kept paint as its topcoat."""
    try:
        with records.opened.open_store() as store, store.reading() as connection:
            found = records.paints.one_paint(connection, said.get("shelf", ""))
        topcoat = fields_of_job({"topcoat": {"name": found.name, **found.topcoat}})
    except InputError as error:
        return _list(asked, trouble=_told(error))
    new = asked.with_topcoat(topcoat)
    return page_of(new) if new.long else RedirectResponse(new.address, status_code=303)


for _name, _then in (("add", _add), ("change", _change), ("use", _use)):
    router.add_api_route(f"{_ADDRESS}/{_name}", _route(_then), methods=["POST"])
