"""The paints on the shelf: what each is, of which batch, and how much is left."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from showthrough.colour.names import describe_colour
from showthrough.errors import ProblemList, StaleError, UnknownError, shown
from showthrough.jobs.case.resolve import read_job
from showthrough.records.store.opening.opened import Store
from showthrough.records.store.shape.rows import ShelfPaint
from showthrough.records.store.shape.tables import PAINT, next_number
from showthrough.records.store.shape.texts import (
    checked_line,
    checked_number,
    new_uuid,
    standalone,
    to_json,
)
from showthrough.workshop.price.money import PLACES, read_price

_DAY = "is a day, as 2026-05-31"


def paint_of_row(row: Any) -> ShelfPaint:
    """A row of the table as it is handed out."""
    return ShelfPaint(
        row.id,
        row.uuid,
        row.name,
        json.loads(row.topcoat),
        row.batch,
        row.density_g_ml,
        row.size_ml,
        row.left_ml,
        row.price_minor,
        row.currency,
        row.opened,
        row.version,
        row.created,
        row.changed,
        row.archived,
    )


def add_paint(
    store: Store,
    topcoat: Mapping[str, Any],
    folder: Path | None = None,
    *,
    name: str = "",
    batch: str = "",
    density_g_ml: float | None = None,
    size_ml: float | None = None,
    left_ml: float | None = None,
    price: str | float | None = None,
    opened: str | None = None,
) -> ShelfPaint:
    """Put a paint on the shelf.

    Args:
        store: the records.
        topcoat: what a job file says of a topcoat: its colour or measured paint, solids and so on.
        folder: where files that it names are looked for; what they say is kept.
        name: what to call it; the topcoat's own name, else its colour's, if absent.
        batch: as the can says.
        density_g_ml: weight of a millilitre, 0.7 to 3 g.
        size_ml: what the full can held.
        left_ml: what it still holds.
        price: of the full can, as "21.00 EUR".
        opened: the day, ISO 8601.

    Raises:
        InputError: with everything that is wrong, by field.
        StoreError: the records cannot be written.
    """
    problems = ProblemList()
    values: dict[str, Any] = {
        "batch": checked_line("batch", batch, problems),
        "density_g_ml": checked_number("density_g_ml", density_g_ml, 0.7, 3.0, problems),
        "size_ml": checked_number("size_ml", size_ml, 1.0, 200_000.0, problems),
        "left_ml": checked_number("left_ml", left_ml, 0.0, 200_000.0, problems),
        "opened": _day(opened, problems),
        **_price(price, problems),
    }
    called = checked_line("name", name, problems, 80)
    kept: dict[str, Any] = {}
    with problems.collecting():
        # A topcoat is right where a job of it is.
        job = {"topcoat": topcoat, "surface": [{"colour": "#808080"}]}
        read = read_job(job, folder)
        kept = standalone(job, folder)["topcoat"]
        own = describe_colour(read.topcoat.lab) if read.topcoat else "measured paint"
        called = called or read.job.topcoat.name or own
    problems.raise_if_any()
    with store.writing() as connection:
        now = store.now()
        number = next_number(connection, PAINT.c.id)
        values |= {
            "id": number,
            "uuid": new_uuid(),
            "name": called,
            "topcoat": to_json(kept),
            "version": 1,
            "created": now,
            "changed": now,
        }
        connection.execute(PAINT.insert().values(values))
        return one_paint(connection, number)


def _day(text: str | None, problems: ProblemList) -> str | None:
    try:
        return None if text is None else date.fromisoformat(text).isoformat()
    except (TypeError, ValueError):
        problems.add("opened", text, _DAY)
        return None


def _price(price: str | float | None, problems: ProblemList) -> dict[str, Any]:
    if price is None:
        return {"price_minor": None, "currency": None}
    with problems.collecting():
        money = read_price(price, "")
        return {"price_minor": int(money.amount.scaleb(PLACES)), "currency": money.currency}
    return {}


def one_paint(connection: Connection, which: int | str) -> ShelfPaint:
    """The paint of a number or of a whole name.

    Raises:
        UnknownError: there is none, or the name is that of several.
    """
    text = str(which).strip().removeprefix("#")
    query = select(PAINT).order_by(PAINT.c.id)
    rows = connection.execute(query).all()
    found = [row for row in rows if text.isdecimal() and row.id == int(text[:10])]
    named = [row for row in rows if row.name.casefold() == text.casefold()]
    found = found or [row for row in named if row.archived is None] or named
    if len(found) == 1:
        return paint_of_row(found[0])
    if found:
        numbers = ", ".join(str(row.id) for row in found)
        message = f"{shown(text)} is the name of several; give a number: {numbers}"
    else:
        message = f"no paint has the number or the name {shown(text)}"
    raise UnknownError.at("paint", text, message)


def listed_paints(store: Store, text: str = "", *, archived: bool = False) -> list[ShelfPaint]:
    """Paints on the shelf whose name or batch holds every word of a text, by name."""
    query = select(PAINT).order_by(PAINT.c.id)
    if not archived:
        query = query.where(PAINT.c.archived.is_(None))
    with store.reading() as connection:
        found = [paint_of_row(row) for row in connection.execute(query)]
    words = text.casefold().split()
    held = [p for p in found if all(w in f"{p.name} {p.batch}".casefold() for w in words)]
    return sorted(held, key=lambda paint: paint.name.casefold())


def edit_paint(
    store: Store,
    which: int | str,
    *,
    made_from: int,
    left_ml: float | None = None,
    opened: str | None = None,
    archived: bool | None = None,
) -> ShelfPaint:
    """Say what is left of a paint, when it was opened, or that it is used up.

    Args:
        store: the records.
        which: number or name.
        made_from: version of the paint that the change was made from.
        left_ml: what it still holds; as before if absent, as are the others.
        opened: the day, ISO 8601.
        archived: whether it is off the shelf.

    Raises:
        StaleError: it was changed meanwhile; nothing is lost.
        InputError: with everything that is wrong, by field, or there is no such paint.
    """
    problems = ProblemList()
    values: dict[str, Any] = {}
    if left_ml is not None:
        values["left_ml"] = checked_number("left_ml", left_ml, 0.0, 200_000.0, problems)
    if opened is not None:
        values["opened"] = _day(opened, problems)
    problems.raise_if_any()
    with store.writing() as connection:
        old, now = one_paint(connection, which), store.now()
        if old.version != made_from:
            raise StaleError.at(
                "made_from",
                made_from,
                f"paint {old.number} was changed since version {made_from} (now {old.version}, "
                f"{old.changed[:16].replace('T', ' ')} UTC, {old.left_ml} ml left); look again and "
                "put your change in",
            )
        if archived is not None:
            values["archived"] = now if archived else None
        values |= {"version": old.version + 1, "changed": now}
        connection.execute(PAINT.update().where(PAINT.c.id == old.number).values(values))
        return one_paint(connection, old.number)
