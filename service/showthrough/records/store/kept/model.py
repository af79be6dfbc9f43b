"""Which model gives today's answers: its release, a hash of what it is made of, its defaults."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

import showthrough
from showthrough.colour.files.shipped import swatch_folder
from showthrough.defaults import every_default
from showthrough.records.store.shape.tables import MODEL
from showthrough.records.store.shape.texts import to_json

_ROOMS = ("colour", "data", "film", "jobs", "records/learning", "say", "workshop")
"""What an answer is made of: their code with its constants, and their tables."""


@cache
def model_id() -> str:
    """SHA-256 of the code and the tables that an answer is made of.

    Two answers of one job with the same id and the same clock are the same; with another id they
    may be. A comment that changes makes another id, so what differs is looked for in the answers.
    """
    package = Path(showthrough.__file__).parent
    found = hashlib.sha256()
    for folder in (*(package / room for room in _ROOMS), swatch_folder()):
        for path in sorted(folder.rglob("*")):
            if path.is_file() and path.suffix != ".pyc":
                name = f"{folder.name}/{path.relative_to(folder).as_posix()}"
                found.update(hashlib.sha256(name.encode()).digest())
                found.update(hashlib.sha256(path.read_bytes()).digest())
    return found.hexdigest()


def defaults_now() -> dict[str, Any]:
    """Each default of today: its value, or where it has a range or a spread a list of all four."""
    return {
        key: d.value if (d.low, d.high, d.sd) == (None,) * 3 else [d.value, d.low, d.high, d.sd]
        for key, d in every_default().items()
    }


def pin_model(connection: Connection, now: str) -> str:
    """The id of today's model, kept with its defaults."""
    found = model_id()
    if connection.execute(select(MODEL.c.id).where(MODEL.c.id == found)).first() is None:
        connection.execute(
            MODEL.insert().values(
                id=found,
                release=showthrough.__version__,
                defaults=to_json(defaults_now()),
                first_used=now,
            )
        )
    return found
