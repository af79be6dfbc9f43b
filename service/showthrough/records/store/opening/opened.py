"""An opened store: its transactions, and what goes wrong in them as one sentence.

One writer at a time, in both databases: SQLite's own lock, or one of PostgreSQL's advisory
locks. So a number is given once, and a version that was read inside is the latest. Readers never
wait and see one moment.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from showthrough.errors import StoreError
from showthrough.records.store.opening.address import address_of, place_of
from showthrough.records.store.opening.migrate import HEAD, migrate, refuse_foreign, revision_of

_PATIENCE_S = 30
"""How long a writer waits for another."""

_LOCK = 0x53686F77
"""Key of the advisory lock of PostgreSQL under which is written."""


class Store:
    """The records, open. Close it, or use it as a context."""

    def __init__(self, url: URL, now: Callable[[], datetime]) -> None:
        """Over a database whose schema is looked at by ``open_store``."""
        self.place = place_of(url)
        """The address as it may be shown."""
        self.path = Path(str(url.database)) if url.get_backend_name() == "sqlite" else None
        """The file, or None where a server holds the records."""
        self._engine = _engine(url)
        self._now = now

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_error: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def now(self) -> str:
        """The present as it is stored."""
        return time_text(self._now())

    def moment(self) -> datetime:
        """The present, an aware moment."""
        return self._now().astimezone(UTC)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that sees one moment and changes nothing."""
        with self._said(), self._engine.connect() as connection:
            if self.path is None:
                connection.execution_options(
                    isolation_level="REPEATABLE READ", postgresql_readonly=True
                )
            with connection.begin():
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that alone writes; kept whole when it ends, or not at all."""
        with self._said(), self._engine.connect() as connection:
            connection.execution_options(showthrough_writes=True)
            with connection.begin():
                if self.path is None:
                    connection.execute(text(f"SET LOCAL lock_timeout = '{_PATIENCE_S}s'"))
                    connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
                yield connection

    @contextmanager
    def bare(self) -> Iterator[Any]:
        """SQLite's own connection outside any transaction, for what is done to the whole file."""
        with self._said(), closing(self._engine.raw_connection()) as pooled:
            yield pooled.driver_connection

    @contextmanager
    def apart(self) -> Iterator[Connection]:
        """A server's connection outside any transaction, for what is done to whole tables."""
        with self._said(), self._engine.connect() as connection:
            yield connection.execution_options(isolation_level="AUTOCOMMIT")

    @contextmanager
    def _said(self) -> Iterator[None]:
        try:
            yield
        except (DBAPIError, sqlite3.Error) as error:
            sentence = _sentence(error.orig if isinstance(error, DBAPIError) else error)
            if sentence is None:
                raise
            raise StoreError.at("records", self.place, f"{self.place}: {sentence}") from error


def open_store(
    address: str | os.PathLike[str] | None = None,
    *,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> Store:
    """Open the records, made or brought up to date where need be.

    Args:
        address: a path or URL; the environment's ``SHOWTHROUGH_DATABASE``, else the user's
            data folder, if absent.
        now: the clock; must give aware moments.

    Raises:
        StoreError: the records cannot be reached, are read-only, were written by a newer
            version, or are none; nothing was touched.
    """
    url = address_of(address)
    made = _ready_file(Path(str(url.database))) if url.get_backend_name() == "sqlite" else None
    try:
        store = Store(url, now)
        try:
            _up_to_date(store)
        except BaseException:
            store.close()
            raise
    except BaseException:
        if made is not None and made.stat().st_size == 0:
            made.unlink()
        raise
    return store


def time_text(moment: datetime) -> str:
    """A moment in UTC as it is stored: ISO 8601, always with six decimals."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def _up_to_date(store: Store) -> None:
    with store.reading() as connection:
        revision = revision_of(connection)
        refuse_foreign(connection, revision, store.place)
    if store.path is not None:
        with store.bare() as sqlite:
            _write_ahead(sqlite)
    if revision == HEAD:
        return
    with store.writing() as connection:
        if revision_of(connection) != HEAD:  # nobody was quicker
            migrate(connection)


def _write_ahead(sqlite: sqlite3.Connection) -> None:
    """Switch the file to a write-ahead log; the switch does not wait for others by itself."""
    end = time.monotonic() + _PATIENCE_S
    while True:
        try:
            sqlite.execute("PRAGMA journal_mode = WAL").fetchall()
        except sqlite3.OperationalError as error:
            if error.sqlite_errorname != "SQLITE_BUSY" or time.monotonic() > end:
                raise
            time.sleep(0.02)
        else:
            return


def _ready_file(path: Path) -> Path | None:
    """See that the file can be written; returns it where it was made just now."""
    shown = str(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        # Names and contacts of customers are nobody else's on this machine.
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600)
    except FileExistsError:
        if not path.is_file():
            raise StoreError.at("records", shown, f"{shown}: is no file; name one") from None
        if not os.access(path, os.W_OK) or not os.access(path.parent, os.W_OK):
            raise StoreError.at("records", shown, f"{shown}: {_READ_ONLY}") from None
        return None
    except OSError as error:
        if error.errno == 30:  # EROFS
            raise StoreError.at("records", shown, f"{shown}: {_READ_ONLY}") from error
        raise StoreError.at(
            "records", shown, f"{shown}: cannot be made: {error.strerror or error}"
        ) from error
    os.close(handle)
    return path


def _engine(url: URL) -> Engine:
    """One connection at a time, made when it is wanted."""
    if url.get_backend_name() != "sqlite":
        try:
            return create_engine(url, poolclass=NullPool, connect_args={"connect_timeout": 10})
        except ModuleNotFoundError as error:
            place = place_of(url)
            raise StoreError.at(
                "records",
                place,
                f"{place}: PostgreSQL needs the package psycopg: pip install "
                "'showthrough[postgresql]'",
            ) from error
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": _PATIENCE_S})
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return engine


def _set_up(sqlite: sqlite3.Connection, _record: Any) -> None:
    # SQLAlchemy's own recipe: the driver begins nothing by itself, ``_begin`` does.
    sqlite.isolation_level = None
    sqlite.execute("PRAGMA foreign_keys = ON")
    sqlite.execute("PRAGMA synchronous = FULL")
    sqlite.execute("PRAGMA secure_delete = ON")  # what is erased is gone from the file


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("showthrough_writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


_READ_ONLY = "is read-only, so nothing was changed; give yourself the right to write, or another \
place by SHOWTHROUGH_DATABASE"
_FULL = "the disk is full, so nothing was changed; make room and try again"
_BUSY = "another program has been writing for too long; nothing was changed, try again"
_CUT = (
    "the server cannot be reached, or the connection was cut: see that it runs, and whether your "
    "last change is there before you repeat it"
)

_SQLITE = {
    "SQLITE_FULL": _FULL,
    "SQLITE_READONLY": _READ_ONLY,
    "SQLITE_CANTOPEN": "cannot be opened; see that its folder is there and may be written",
    "SQLITE_BUSY": _BUSY,
    "SQLITE_NOTADB": "is no store of Showthrough; nothing was touched",
    "SQLITE_CORRUPT": "is damaged; take the last backup",
    "SQLITE_IOERR": "the disk could not be read or written, so nothing was changed; make room, or "
    "see whether it is sound",
}
_POSTGRESQL = {
    "53100": _FULL,
    "25006": _READ_ONLY,
    "42501": "this user may not read or write there; ask whoever keeps the server",
    "28": "the server refuses this user or password",
    "3D": "the server has no database of that name",
    "53300": "the server takes no more connections now; try again",
    "55P03": _BUSY,
    "08": _CUT,
    "57P": _CUT,
}


def _sentence(cause: BaseException | None) -> str | None:
    """What went wrong as a painter can mend it; None for what is our own fault."""
    for attribute, sentences in (("sqlite_errorname", _SQLITE), ("sqlstate", _POSTGRESQL)):
        code = getattr(cause, attribute, None)
        if isinstance(code, str):
            return next((say for start, say in sentences.items() if code.startswith(start)), None)
    told = str(cause)
    # While a connection is made the server's state is in its words alone.
    for sign, state in (("password auth", "28"), ("role", "28"), ("does not exist", "3D")):
        if sign in told:
            return _POSTGRESQL[state]
    with suppress(ImportError):
        import psycopg

        if isinstance(cause, psycopg.OperationalError):
            return _CUT
    return None
