"""By what a job is found: its words without case, kept beside it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from sqlalchemy import ColumnElement, Connection, select

from showthrough.records.store.shape.tables import CUSTOMER, JOB, JOB_VERSION


def holding(text: str) -> Iterator[ColumnElement[bool]]:
    """Conditions that a job holds every word of a text."""
    for word in text.casefold().split():
        yield JOB.c.search.contains(word, autoescape=True)


def renew_search(connection: Connection, which: ColumnElement[bool]) -> None:
    """Write anew by what some jobs are found: title, piece, customer, colour, patches."""
    latest = (JOB_VERSION.c.job_id == JOB.c.id) & (JOB_VERSION.c.version == JOB.c.version)
    query = (
        select(JOB, CUSTOMER.c.name.label("owner"), JOB_VERSION.c.job)
        .join(JOB_VERSION, latest)
        .outerjoin(CUSTOMER, CUSTOMER.c.id == JOB.c.customer_id)
        .where(which)
    )
    for row in connection.execute(query).all():
        connection.execute(JOB.update().where(JOB.c.id == row.id).values(search=_words(row)))


def _words(row: Any) -> str:
    patches = [patch.get("name", "") for patch in json.loads(row.job)["surface"]]
    words = [row.title, row.piece, row.owner, row.colour_name, row.colour_hex, *patches]
    return "\n".join(word.casefold() for word in words if word)
