"""What is kept: jobs and their versions, paints, customers, photos; SQLite or PostgreSQL.

From what leaves the store down to its tables, which a contract of layers holds, also in the rooms:

- ``leaving/``: ``backup``; ``exchange`` and ``exported`` (an export and its words); ``erase``
- ``kept/``: ``outcomes``, ``paints``, ``photos``; ``jobs``; ``lessons`` (what outcomes teach);
  ``customers``, ``answers``, ``reads``; ``search``, ``model``
- ``opening/``: ``opened`` (transactions, their faults); ``migrate``, ``migrations/``, ``address``;
  ``there`` (whether anything is kept at all)
- ``shape/``: ``rows`` (what is handed out), ``tables``, ``texts``, ``differ``

The doors name the modules that they ask here (``store.jobs.add``); each loads, with the database's
libraries, when it is first asked for.
"""

from __future__ import annotations

from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from showthrough.records.store.kept import customers, jobs, lessons, outcomes, paints, photos
    from showthrough.records.store.leaving import backup, erase, exchange
    from showthrough.records.store.opening import opened

__all__ = [
    "backup",
    "customers",
    "erase",
    "exchange",
    "jobs",
    "lessons",
    "opened",
    "outcomes",
    "paints",
    "photos",
]

_FOLDERS = {
    **dict.fromkeys(("customers", "jobs", "lessons", "outcomes", "paints", "photos"), "kept"),
    **dict.fromkeys(("backup", "erase", "exchange"), "leaving"),
    "opened": "opening",
}


def __getattr__(name: str) -> ModuleType:
    """Import a module that the doors ask when it is first used."""
    if name not in _FOLDERS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return import_module(f"{__name__}.{_FOLDERS[name]}.{name}")
