"""Whom pieces belong to: listed, and forgotten for good once that was asked twice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from showthrough.errors import InputError
from showthrough.web.pages.asked import Asked, asked_by, surroundings
from showthrough.web.pages.known import open_records
from showthrough.web.shell import PLACES, rendered

if TYPE_CHECKING:
    pass

_PLACE = PLACES[4]
_ADDRESS = "/jobs/customers"

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get(_ADDRESS)
async def customers() -> Response:
    """Every customer whose name is kept."""
    return await run_in_threadpool(_list)


def _list(trouble: tuple[str, ...] = ()) -> Response:
    from showthrough.records.store.customers import listed_customers

    found: list[Any] = []
    try:
        with open_records() as store:
            found = listed_customers(store)
    except InputError as error:
        trouble = (*trouble, *map(str, error.problems))
    context = surroundings(Asked({}), _PLACE)
    return rendered("customers.html", context | {"customers": found, "trouble": trouble})


@router.get(f"{_ADDRESS}/erase")
async def asked_twice(request: Request) -> Response:
    """What would be erased, and what would not."""
    return await run_in_threadpool(_confirm, request.query_params.get("customer", ""))


def _confirm(which: str) -> Response:
    from showthrough.records.store.customers import one_customer

    try:
        with open_records() as store, store.reading() as connection:
            found = one_customer(connection, which)
    except InputError as error:
        return _list(tuple(map(str, error.problems)))
    return rendered("erase.html", surroundings(Asked({}), _PLACE) | {"customer": found})


@router.post(f"{_ADDRESS}/erase")
async def erased(request: Request) -> Response:
    """Forget a customer."""
    asked = await asked_by(request)
    return await run_in_threadpool(_erase, dict(asked.pairs))


def _erase(said: dict[str, str]) -> Response:
    from showthrough.records.store.erase import erase_customer

    try:
        with open_records() as store:
            erase_customer(store, said.get("customer", ""), photos=said.get("photos") == "yes")
    except InputError as error:
        return _list(tuple(map(str, error.problems)))
    return RedirectResponse(_ADDRESS, status_code=303)
