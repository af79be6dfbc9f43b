"""Customers: whom a piece belongs to; what is personal can be erased for good."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, select

from showthrough.errors import ProblemList, StaleError, UnknownError, shown
from showthrough.records.store.kept.search import renew_search
from showthrough.records.store.opening.opened import Store
from showthrough.records.store.shape.rows import Customer
from showthrough.records.store.shape.tables import CUSTOMER, JOB, next_number
from showthrough.records.store.shape.texts import checked_line, new_uuid


def add_customer(store: Store, name: str, contact: str = "") -> Customer:
    """Keep a new customer.

    Raises:
        InputError: the name is empty, or a text is none that can be shown.
        StoreError: the records cannot be written.
    """
    values = _checked(name, contact)
    with store.writing() as connection:
        return insert_customer(connection, store.now(), **values)


def _checked(name: str, contact: str) -> dict[str, str]:
    problems = ProblemList()
    values = {
        "name": checked_line("name", name, problems, 80),
        "contact": checked_line("contact", contact, problems),
    }
    if not values["name"]:
        problems.add("name", name, "a customer needs a name")
    problems.raise_if_any()
    return values


def insert_customer(connection: Connection, now: str, name: str, contact: str = "") -> Customer:
    """Write a new customer into a transaction."""
    made = CUSTOMER.insert().values(
        id=next_number(connection, CUSTOMER.c.id),
        uuid=new_uuid(),
        name=name,
        contact=contact,
        version=1,
        created=now,
        changed=now,
    )
    return Customer(*connection.execute(made.returning(CUSTOMER)).one())


def one_customer(connection: Connection, which: int | str) -> Customer:
    """The customer of a number or of a whole name.

    Raises:
        UnknownError: there is none, or the name is that of several.
    """
    rows: list[Any] = []
    text = str(which).strip().removeprefix("#")
    if text.isdecimal() and len(text) < 10:
        rows = [*connection.execute(select(CUSTOMER).where(CUSTOMER.c.id == int(text)))]
    if not rows:
        query = select(CUSTOMER).order_by(CUSTOMER.c.id)
        wanted = text.casefold()
        rows = [r for r in connection.execute(query) if wanted and r.name.casefold() == wanted]
    if len(rows) > 1:
        numbers = ", ".join(str(row.id) for row in rows)
        raise UnknownError.at(
            "customer", text, f"{shown(text)} is the name of several; give a number: {numbers}"
        )
    if not rows:
        raise UnknownError.at(
            "customer", text, f"no customer has the number or the name {shown(text)}"
        )
    return Customer(*rows[0])


def listed_customers(store: Store) -> list[Customer]:
    """Every customer whose name is kept, by name."""
    query = select(CUSTOMER).where(CUSTOMER.c.erased.is_(None)).order_by(CUSTOMER.c.id)
    with store.reading() as connection:
        found = [Customer(*row) for row in connection.execute(query)]
    return sorted(found, key=lambda customer: customer.name.casefold())


def edit_customer(
    store: Store, which: int | str, change: Mapping[str, str | None], *, made_from: int
) -> Customer:
    """Change name or contact.

    Args:
        store: the records.
        which: number or name.
        change: ``name``, ``contact`` or both; None leaves one as it is.
        made_from: version of the customer that the change was made from.

    Raises:
        StaleError: it was changed meanwhile; nothing is lost.
        InputError: a text is none that can be shown, or there is no such customer.
    """
    with store.writing() as connection:
        old = one_customer(connection, which)
        if old.erased is not None:
            raise UnknownError.at("customer", str(which), f"customer {old.number} was forgotten")
        if old.version != made_from:
            raise StaleError.at(
                "made_from",
                made_from,
                f"customer {old.number} was changed since version {made_from} (now {old.version}, "
                f"{old.changed[:16]} UTC); open it again and put your change in",
            )
        said = {key: text for key, text in change.items() if text is not None}
        values = {
            **_checked(**{"name": old.name, "contact": old.contact, **said}),
            "version": old.version + 1,
            "changed": store.now(),
        }
        connection.execute(CUSTOMER.update().where(CUSTOMER.c.id == old.number).values(values))
        renew_search(connection, JOB.c.customer_id == old.number)
        return one_customer(connection, old.number)
