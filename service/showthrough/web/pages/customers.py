"""Whom pieces belong to: listed, renamed, and forgotten for good once that was asked twice."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from showthrough.errors import InputError
from showthrough.records import store as records
from showthrough.web.pages.asked import Asked, AskedBy, surroundings
from showthrough.web.shell import PLACES, rendered

_PLACE = PLACES[4]
_ADDRESS = "/jobs/customers"

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get(_ADDRESS)
def customers() -> Response:
    """Every customer whose name is kept."""
    return _list()


def _list(trouble: tuple[str, ...] = (), **more: Any) -> Response:

    found: list[Any] = []
    try:
        with records.opened.open_store() as store:
            found = records.customers.listed_customers(store)
    except InputError as error:
        trouble = (*trouble, *map(str, error.problems))
    context = surroundings(Asked({}), _PLACE) | {"customers": found, "trouble": trouble}
    return rendered("customers.html", context | {"typed": {}} | more)


@router.post(f"{_ADDRESS}/edit")
def edited(asked: AskedBy) -> Response:
    """A new customer, or another name or contact of one."""
    said = dict(asked.pairs)
    which, version = said.get("customer", ""), said.get("version", "")
    typed = {key: said.get(key, "").strip() for key in ("name", "contact")}
    plain = version.isascii() and version.isdecimal() and len(version) < 10
    try:
        with records.opened.open_store() as store:
            if which:
                made_from = int(version) if plain else 0
                records.customers.edit_customer(store, which, typed, made_from=made_from)
            else:
                records.customers.add_customer(store, **typed)
    except InputError as error:
        wrong = {f"{p.field}.{which}": [p.message] for p in error.problems if p.field in typed}
        rest = tuple(str(p) for p in error.problems if p.field not in typed)
        held = {f"{key}.{which}": text for key, text in typed.items()}
        return _list(rest, wrong=wrong, typed=held)
    return RedirectResponse(_ADDRESS, status_code=303)


@router.get(f"{_ADDRESS}/erase")
def asked_twice(customer: str = "") -> Response:
    """What would be erased, and what would not."""
    try:
        with records.opened.open_store() as store, store.reading() as connection:
            found = records.customers.one_customer(connection, customer)
    except InputError as error:
        return _list(tuple(map(str, error.problems)))
    return rendered("erase.html", surroundings(Asked({}), _PLACE) | {"customer": found})


@router.post(f"{_ADDRESS}/erase")
def erased(asked: AskedBy) -> Response:
    """Forget a customer."""
    said = dict(asked.pairs)
    try:
        with records.opened.open_store() as store:
            records.erase.erase_customer(
                store, said.get("customer", ""), photos=said.get("photos") == "yes"
            )
    except InputError as error:
        return _list(tuple(map(str, error.problems)))
    return RedirectResponse(_ADDRESS, status_code=303)
