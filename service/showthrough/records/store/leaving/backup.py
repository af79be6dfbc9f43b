"""A copy of the records while others work with them."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from pathlib import Path

from showthrough.errors import InputError, StoreError, shown
from showthrough.records.store.leaving.exchange import exported
from showthrough.records.store.opening.opened import Store


def backup(store: Store, target: str | os.PathLike[str]) -> Path:
    """Write a whole copy: of a file a file that can take its place, of a server an export.

    It is of one moment, waits for nobody and lets nobody wait. It has its name only once it is
    whole and found to be sound.

    Args:
        store: the records.
        target: a file that is not there yet.

    Raises:
        InputError: the file is there already or cannot be written.
        StoreError: the records cannot be read, or the copy of a file is not sound.
    """
    path = Path(target)
    if path.exists():
        raise InputError.at(
            "backup", str(path), f"{shown(str(path))} is there already; choose another name"
        )
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    except OSError as error:
        raise _unwritten(path, error) from error
    os.close(handle)
    part = Path(name)
    try:
        if store.path is None:
            part.write_text(exported(store), encoding="utf-8")
        else:
            _copy(store, part)
        with part.open("rb+") as stream:
            os.fsync(stream.fileno())
        part.rename(path)
    except OSError as error:
        raise _unwritten(path, error) from error
    finally:
        part.unlink(missing_ok=True)
    return path


def _unwritten(path: Path, error: OSError) -> InputError:
    said = f"{shown(str(path))} cannot be written: {error.strerror or error}"
    return InputError.at("backup", str(path), said)


def _copy(store: Store, part: Path) -> None:
    with store.bare() as source:
        copy = sqlite3.connect(part)
        try:
            source.backup(copy)
            found = copy.execute("PRAGMA integrity_check").fetchall()
        finally:
            copy.close()
    if found != [("ok",)]:
        raise StoreError.at("records", store.place, f"{store.place}: is damaged: {found[0][0]}")
