"""Everything that is kept as one JSON text, and back: nothing lost, nothing twice, nothing undone.

An export is of one moment. Records are known by UUID, photos by their hash, so importing twice
changes nothing. What is here and differs stays as it is and is told, but for a job that only went
on elsewhere: its later versions follow those that are here.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections import Counter
from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, Table, select

from showthrough.errors import ProblemList, shown
from showthrough.photo.picture.clean import is_clean
from showthrough.photo.picture.load import load_picture
from showthrough.records.store.kept.answers import packed, unpacked
from showthrough.records.store.kept.search import renew_search
from showthrough.records.store.leaving.exported import (
    FORMAT,
    VERSION,
    ExportedJob,
    Records,
    read_export,
)
from showthrough.records.store.opening.opened import Store
from showthrough.records.store.shape.rows import Imported
from showthrough.records.store.shape.tables import (
    ANSWER,
    CUSTOMER,
    JOB,
    JOB_PHOTO,
    JOB_VERSION,
    MODEL,
    OUTCOME,
    PAINT,
    PHOTO,
    STEP_DONE,
    next_number,
)
from showthrough.records.store.shape.texts import to_json


def exported(store: Store) -> str:
    """Everything that the store keeps, of one moment, as JSON in ASCII.

    Raises:
        StoreError: the records cannot be read.
    """
    with store.reading() as connection:
        return json.dumps(_everything(connection), indent=1, allow_nan=False) + "\n"


def _everything(connection: Connection) -> dict[str, Any]:
    owners = {row.id: row.uuid for row in connection.execute(select(CUSTOMER))}
    jobs = []
    for row in connection.execute(select(JOB).order_by(JOB.c.id)).mappings().all():
        job = _plain(row, JOB, leave={"customer_id", "search"})
        job["customer"] = owners.get(row["customer_id"])
        for key, table, order in _PARTS:
            query = select(table).where(table.c.job_id == row["id"]).order_by(*order)
            job[key] = [_plain(part, table) for part in connection.execute(query).mappings()]
        jobs.append(job)
    return {
        "format": FORMAT,
        "version": VERSION,
        "customers": _rows(connection, CUSTOMER, CUSTOMER.c.id),
        "paints": _rows(connection, PAINT, PAINT.c.id),
        "models": _rows(connection, MODEL, MODEL.c.id),
        "photos": _rows(connection, PHOTO, PHOTO.c.sha256),
        "jobs": jobs,
    }


_PARTS: tuple[tuple[str, Table, tuple[Any, ...]], ...] = (
    ("versions", JOB_VERSION, (JOB_VERSION.c.version,)),
    ("answers", ANSWER, (ANSWER.c.id,)),
    ("outcomes", OUTCOME, (OUTCOME.c.id,)),
    ("steps", STEP_DONE, (STEP_DONE.c.id,)),
    ("photos", JOB_PHOTO, (JOB_PHOTO.c.added, JOB_PHOTO.c.sha256)),
)
_NUMBERED = {"customer", "paint", "job"}
_DOCUMENTS = {"topcoat", "job", "defaults"}
_PACKED = {"answer", "finished"}
_INNER = {"job_id", "lesson", "lesson_model"}
"""Columns that another store finds for itself: whose row it is, and what it teaches."""


def _rows(connection: Connection, table: Table, order: Any) -> list[dict[str, Any]]:
    query = select(table).order_by(order)
    return [_plain(row, table) for row in connection.execute(query).mappings()]


def _plain(row: Any, table: Table, leave: Iterable[str] = ()) -> dict[str, Any]:
    """A row in the words of an export."""
    out = {}
    for column in table.columns:
        key, value = column.name, row[column.name]
        if key in _INNER or key in leave:
            continue
        if key == "id" and table is not MODEL:
            if table.name not in _NUMBERED:
                continue
            key = "number"
        if key in _DOCUMENTS:
            value = json.loads(value)
        elif key in _PACKED:
            value = None if value is None else unpacked(value)
        elif key == "content":
            value = base64.b64encode(value).decode("ascii")
        out[key] = value
    return out


def _stored(row: dict[str, Any]) -> dict[str, Any]:
    """The words of an export as a row; ``_plain`` turned round."""
    out = dict(row)
    for key in _DOCUMENTS & out.keys():
        out[key] = to_json(out[key])
    for key in _PACKED & out.keys():
        out[key] = None if out[key] is None else packed(to_json(out[key]))
    return out


def import_all(store: Store, text: str | bytes) -> Imported:
    """Take in an export, whole or not at all.

    Args:
        store: the records.
        text: as ``exported`` writes it.

    Raises:
        InputError: it is no export, or holds what cannot be; by place. Nothing was taken in.
        StoreError: the records cannot be written.
    """
    records = read_export(text)
    contents = _contents(records)
    with store.writing() as connection:
        return _Intake(connection).take(records, contents)


def _contents(records: Records) -> dict[str, bytes]:
    """The photos by their hash, each the picture that it is said to be and nothing else."""
    problems, out = ProblemList(most=20), {}
    for i, photo in enumerate(records.photos, 1):
        place = f"export.photos[{i}].content"
        try:
            content = base64.b64decode(photo.content, validate=True)
            load_picture(content)
        except ValueError as error:  # no base 64, or an ImageError
            problems.add(place, photo.content[:20], f"is no picture: {error}")
            continue
        if hashlib.sha256(content).hexdigest() != photo.sha256:
            problems.add(place, photo.content[:20], "is not the picture of its hash")
        elif not is_clean(content):
            message = "holds more than a picture, such as its place; add it as a photo instead"
            problems.add(place, photo.content[:20], message)
        out[photo.sha256] = content
    problems.raise_if_any()
    return out


class _Intake:
    """One import, inside its transaction."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.added: Counter[str] = Counter()
        self.renumbered: list[str] = []
        self.conflicts: list[str] = []

    def take(self, records: Records, contents: dict[str, bytes]) -> Imported:
        for model in records.models:
            row = _stored(model.model_dump())
            if self.here(MODEL, "id", row["id"]) is None:
                self.connection.execute(MODEL.insert().values(row))
        for photo in records.photos:
            if self.here(PHOTO, "sha256", photo.sha256) is None:
                row = {**photo.model_dump(), "content": contents[photo.sha256]}
                self.put("photos", PHOTO, row)
        owners: dict[str | None, int | None] = {None: None}
        for customer in records.customers:
            owners[customer.uuid] = self.record("customer", CUSTOMER, customer.model_dump())
        for paint in records.paints:
            self.record("paint", PAINT, paint.model_dump())
        for job in records.jobs:
            self.job(job, owners[job.customer])
        return Imported(dict(self.added), self.renumbered, self.conflicts)

    def here(self, table: Table, key: str, value: Any) -> Any:
        """The row of that key, or None."""
        query = select(table).where(table.c[key] == value)
        return self.connection.execute(query).mappings().first()

    def put(self, kind: str, table: Table, row: dict[str, Any]) -> None:
        self.connection.execute(table.insert().values(row))
        self.added[kind] += 1

    def numbered(self, what: str, table: Table, wanted: int) -> int:
        """The number that a record has here: its own where that is free."""
        if self.here(table, "id", wanted) is None:
            return wanted
        found = next_number(self.connection, table.c.id)
        self.renumbered.append(f"{what} {wanted} is {what} {found} here")
        return found

    def record(self, what: str, table: Table, row: dict[str, Any]) -> int:
        """A customer or a paint: new here, the same, or another that stays."""
        old = self.here(table, "uuid", row["uuid"])
        if old is None:
            number = self.numbered(what, table, row.pop("number"))
            self.put(f"{what}s", table, {**_stored(row), "id": number})
            return number
        own = {k: v for k, v in _plain(old, table).items() if k != "number"}
        if own != {k: v for k, v in row.items() if k != "number"}:
            self.conflicts.append(
                f"{what} {old['id']} differs (version {own['version']} here, {row['version']} "
                "there); it stays as it is here"
            )
        return int(old["id"])

    def job(self, job: ExportedJob, owner: int | None) -> None:
        line = job.model_dump(exclude={"versions", "customer", *_CHILDREN})
        versions = [one.model_dump() for one in job.versions]
        old = self.here(JOB, "uuid", job.uuid)
        if old is None:
            number = self.numbered("job", JOB, line.pop("number"))
            self.put("jobs", JOB, {**line, "id": number, "customer_id": owner})
            known = 0
        else:
            number = int(old["id"])
            query = select(JOB_VERSION).where(JOB_VERSION.c.job_id == number)
            rows = self.connection.execute(query.order_by(JOB_VERSION.c.version)).mappings()
            own = [_plain(row, JOB_VERSION) for row in rows]
            known = len(own)
            both = min(known, len(versions))
            if own[:both] != versions[:both]:
                self.conflicts.append(
                    f"job {number} {shown(old['title'], 30)} differs (version {known} here, "
                    f"{len(versions)} there); it stays as it is here"
                )
                return
            if len(versions) > known:
                line.pop("number")
                change = {k: v for k, v in line.items() if k not in {"uuid", "created"}}
                self.connection.execute(JOB.update().where(JOB.c.id == number).values(change))
        for version in versions[known:]:
            row = {**_stored(version), "job_id": number}
            self.put("versions", JOB_VERSION, row)
        renew_search(self.connection, JOB.c.id == number)
        self.children(job, number)

    def children(self, job: ExportedJob, number: int) -> None:
        """What hangs on a job: what is not here yet, and what was taken back elsewhere."""
        for key, table in _CHILDREN.items():
            for one in getattr(job, key):
                row = {**_stored(one.model_dump()), "job_id": number}
                name = "sha256" if table is JOB_PHOTO else "uuid"
                same = (table.c[name] == row[name]) & (table.c.job_id == number)
                old = self.connection.execute(select(table).where(same)).first()
                if old is None:
                    if table is not JOB_PHOTO:
                        row["id"] = next_number(self.connection, table.c.id)
                    self.put("photos of jobs" if table is JOB_PHOTO else key, table, row)
                elif row.get("withdrawn") and old.withdrawn is None:
                    change = table.update().where(same).values(withdrawn=row["withdrawn"])
                    self.connection.execute(change)


_CHILDREN: dict[str, Table] = {
    "answers": ANSWER,
    "outcomes": OUTCOME,
    "steps": STEP_DONE,
    "photos": JOB_PHOTO,
}


MOST_BYTES = 2_000_000_000
"""Largest export that is read."""
