"""A customer is forgotten: every text that may name them, in all that is kept, for good.

Figures stay: what a job was, how it came out, and what that teaches name nobody.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from sqlalchemy import Connection, Table, select, text

from showthrough.errors import StoreError
from showthrough.records.store.kept.answers import packed, unpacked
from showthrough.records.store.kept.customers import one_customer
from showthrough.records.store.kept.search import renew_search
from showthrough.records.store.opening.opened import Store
from showthrough.records.store.shape.rows import Customer
from showthrough.records.store.shape.tables import (
    ANSWER,
    CUSTOMER,
    JOB,
    JOB_PHOTO,
    JOB_VERSION,
    METADATA,
    OUTCOME,
    PAINT,
    PHOTO,
    STEP_DONE,
)
from showthrough.records.store.shape.texts import to_json

BLANK = "(erased)"
"""What stands where a name or an address stood inside a longer text."""

_LEAST = 3
"""Letters of a word of the name that is looked for by itself; shorter ones are in many words."""


def erase_customer(store: Store, which: int | str, *, photos: bool = False) -> Customer:
    """Forget a customer.

    Name and contact are emptied, and so are the titles, pieces and notes of their jobs, in every
    version and answer. Where a patch, a group or a paint of these jobs is called by a word of their
    name or contact, or anything in another job by the whole of it, that is blanked. The bytes are
    overwritten in SQLite's file and its log; a PostgreSQL server rewrites the tables. Backups and
    exports that were made before are the painter's to delete.

    Args:
        store: the records.
        which: number or name.
        photos: whether photos that only their jobs hold go as well.

    Raises:
        UnknownError: there is no such customer, or the name is that of several.
        StoreError: the records cannot be written.
    """
    with store.writing() as connection:
        customer = one_customer(connection, which)
        theirs = set(
            connection.execute(
                select(JOB.c.id).where(JOB.c.customer_id == customer.number)
            ).scalars()
        )
        if photos:
            _drop_photos(connection, theirs)
        _Eraser(connection, customer, theirs).erase()
        now = store.now()
        connection.execute(
            CUSTOMER.update()
            .where(CUSTOMER.c.id == customer.number)
            .values(name="", contact="", version=customer.version + 1, changed=now, erased=now)
        )
        renew_search(connection, JOB.c.id > 0)
        done = one_customer(connection, customer.number)
    _overwrite(store)
    return done


def _drop_photos(connection: Connection, theirs: set[int]) -> None:
    links = connection.execute(select(JOB_PHOTO.c.job_id, JOB_PHOTO.c.sha256)).all()
    kept = {row.sha256 for row in links if row.job_id not in theirs}
    gone = {row.sha256 for row in links if row.job_id in theirs} - kept
    for table in (JOB_PHOTO, PHOTO):
        connection.execute(table.delete().where(table.c.sha256.in_(sorted(gone))))


def _overwrite(store: Store) -> None:
    """See that no byte of what was erased is left in the files."""
    if store.path is None:
        with store.apart() as connection:
            for table in METADATA.sorted_tables:
                connection.execute(text(f'VACUUM FULL "{table.name}"'))
        return
    with store.bare() as sqlite:
        # The log holds earlier pages until it is cut.
        sqlite.execute("VACUUM")
        (busy, *_) = sqlite.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    if busy:
        message = (
            f"{store.place}: the customer is erased, but another program still reads the pages of "
            "before; close it and erase the same number again"
        )
        raise StoreError.at("records", store.place, message)


class _Eraser:
    """Goes through the texts of every job; figures and chosen words are no texts of a person."""

    def __init__(self, connection: Connection, customer: Customer, theirs: set[int]) -> None:
        self.connection = connection
        self.theirs = theirs
        whole = [one for one in (customer.name, customer.contact) if one]
        words = re.findall(rf"[^\W\d_]{{{_LEAST},}}|\d{{{_LEAST},}}", " ".join(whole))
        self.whole = _any_of(whole)
        self.each = _any_of([*whole, *words])
        query = select(OUTCOME.c.uuid).where(OUTCOME.c.job_id.in_(sorted(theirs)))
        self.outcomes = set(connection.execute(query).scalars())

    def erase(self) -> None:
        for number in self.connection.execute(select(JOB.c.id)).scalars().all():
            self.job(number)
        for row in self.connection.execute(select(PAINT)).mappings().all():
            change: dict[str, Any] = {n: self.whole.sub(BLANK, row[n]) for n in ("name", "batch")}
            topcoat = json.loads(row["topcoat"])
            clean = _renamed(topcoat, self.new_labels(labels_of(topcoat), self.whole))
            self.write(PAINT, row, change | {"topcoat": to_json(clean)})

    def new_labels(self, labels: Iterable[str], pattern: re.Pattern[str]) -> dict[str, str]:
        """What each label that names the customer becomes; no two become the same."""
        out: dict[str, str] = {}
        taken = set(labels)
        for label in sorted(taken):
            clean = pattern.sub(BLANK, label)
            if clean == label:
                continue
            found, count = clean[:80], 1
            while found in taken:
                count += 1
                found = f"{clean[:70]} {count}"
            taken.add(found)
            out[label] = found
        return out

    def job(self, number: int) -> None:
        """One job with all that hangs on it."""
        theirs = number in self.theirs
        pattern = self.each if theirs else self.whole
        versions = self.of(JOB_VERSION, number)
        documents = [json.loads(row["job"]) for row in versions]
        labels = self.new_labels({x for one in documents for x in labels_of(one)}, pattern)

        def own(text: str) -> str:
            return "" if theirs else self.whole.sub(BLANK, text)

        def told(value: Any) -> Any:
            return _said_anew(value, labels, self.whole)

        for row, document in zip(versions, documents, strict=True):
            clean = _renamed(document, labels)
            if "title" in document:
                clean["title"] = own(document["title"])
            self.write(JOB_VERSION, row, {"job": to_json(clean), "piece": own(row["piece"])})
        for row in self.of(ANSWER, number):
            answer = told(unpacked(row["answer"]))
            answer["title"] = own(answer["title"])
            learned = self.learned(row["finished"])
            self.write(ANSWER, row, {"answer": packed(to_json(answer)), "finished": learned})
        for row in self.of(OUTCOME, number):
            group = row["group_name"]
            # The lesson is drawn again from what is left.
            change = {"note": own(row["note"]), "lesson": None, "lesson_model": None}
            self.write(OUTCOME, row, change | {"group_name": labels.get(group, group)})
        for row in self.of(STEP_DONE, number):
            step = pattern.sub(BLANK, told(row["step"]))
            self.write(STEP_DONE, row, {"note": own(row["note"]), "step": step})
        for row in self.of(JOB_PHOTO, number):
            self.write(JOB_PHOTO, row, {"name": own(row["name"])})
        (row,) = self.of(JOB, number, "id")
        change = {"title": own(row["title"]), "piece": own(row["piece"])}
        self.write(JOB, row, change | {"colour_name": told(row["colour_name"])})

    def learned(self, kept: bytes | None) -> bytes | None:
        """What an answer was learned from, paints blanked that are called by the customer."""
        if kept is None:
            return None
        out = []
        for entry in unpacked(kept):
            theirs = entry["job"] in self.outcomes
            paint = (self.each if theirs else self.whole).sub(BLANK, entry["paint"])
            out.append({**entry, "paint": paint})
        return packed(to_json(out))

    def of(self, table: Table, number: int, key: str = "job_id") -> list[Any]:
        query = select(table).where(table.c[key] == number)
        return [*self.connection.execute(query).mappings()]

    def write(self, table: Table, row: Any, change: dict[str, Any]) -> None:
        """Write back what is not as it was."""
        change = {key: value for key, value in change.items() if value != row[key]}
        if change:
            same = [key == row[key.name] for key in table.primary_key.columns]
            self.connection.execute(table.update().where(*same).values(change))


_LABELS = {"name", "job", "paint"}
"""Keys of a painter's own words; the last two in rows of finished jobs."""


def labels_of(document: Any) -> Iterator[str]:
    """What a job calls its patches, groups, paints and the jobs before it."""
    if isinstance(document, dict):
        for key, value in document.items():
            if key in _LABELS and isinstance(value, str):
                yield value
            yield from labels_of(value)
    elif isinstance(document, list):
        for value in document:
            yield from labels_of(value)


def _renamed(document: Any, labels: Mapping[str, str]) -> Any:
    """A job with its labels changed."""
    return _mapped(document, lambda text, key: labels.get(text, text) if key in _LABELS else text)


def _said_anew(document: Any, labels: Mapping[str, str], whole: re.Pattern[str]) -> Any:
    """An answer's texts with the new labels, wherever they stand in a sentence."""

    def told(text: str, _key: str = "") -> str:
        for old in sorted(labels, key=len, reverse=True):
            text = text.replace(old, labels[old])
        return whole.sub(BLANK, text)

    return _mapped(document, told, told)


def _mapped(
    value: Any,
    change: Callable[[str, str], str],
    of_key: Callable[[str], str] = str,
    key: str = "",
) -> Any:
    """A document with each text changed, which is handed over with the key that it stands at."""
    if isinstance(value, dict):
        return {of_key(k): _mapped(inner, change, of_key, k) for k, inner in value.items()}
    if isinstance(value, list):
        return [_mapped(inner, change, of_key) for inner in value]
    return change(value, key) if isinstance(value, str) else value


def _any_of(texts: list[str]) -> re.Pattern[str]:
    """Any of some texts, as whole words, in any case."""
    longest_first = sorted(set(texts), key=len, reverse=True)
    inner = "|".join(re.escape(one) for one in longest_first)
    return re.compile(rf"(?<!\w)(?:{inner})(?!\w)" if inner else r"(?!)", re.IGNORECASE)
