"""Stores to test on: a SQLite file, and a database of a PostgreSQL server started for the tests."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import NoReturn
from uuid import uuid4

import pytest

from records.moments import Clock
from showthrough.records.store.opening.opened import open_store


def _cannot(reason: str) -> NoReturn:
    """A skip that is seen; on the build machine it is an error."""
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    print(f"\nPOSTGRESQL TESTS SKIPPED: {reason}", file=sys.__stderr__)
    pytest.skip(reason)


def _programs() -> Path | None:
    """Folder of the server's own programs; Debian keeps them out of the path."""
    found = shutil.which("initdb")
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return Path(found).resolve().parent if found else debian[-1].parent if debian else None


def _as_server(command: list[str]) -> list[str]:
    """The server refuses to run as root: Debian's package makes a user for it."""
    return ["runuser", "-u", "postgres", "--", *command] if os.geteuid() == 0 else command


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """URL of a server of this session's own, up to the name of a database."""
    programs = _programs()
    if programs is None:
        _cannot("no initdb is installed (apt-get install postgresql)")
    folder = Path(tempfile.mkdtemp(prefix="showthrough-postgresql-", dir="/tmp"))
    if os.geteuid() == 0:
        import pwd  # Unix alone has it

        server = pwd.getpwnam("postgres")
        os.chown(folder, server.pw_uid, server.pw_gid)
    data, log = folder / "data", folder / "log"
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    options = (
        f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder} "
        "-c fsync=off -c full_page_writes=off"  # nobody pulls this server's plug
    )
    control = [str(programs / "pg_ctl"), "-D", str(data), "-w"]

    def run(*command: str) -> None:
        subprocess.run(_as_server(list(command)), check=True, cwd=folder, stdout=subprocess.DEVNULL)

    try:
        run(str(programs / "initdb"), "-D", str(data), "-A", "trust", "-U", "bench", "-E", "UTF8")
        run(*control, "-l", str(log), "-o", options, "start")
        yield f"postgresql://bench@127.0.0.1:{port}"
    finally:
        with suppress(subprocess.CalledProcessError):
            run(*control, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def server(postgresql):
    """A connection to the server, for what is done to its databases from outside."""
    import psycopg

    for _ in range(50):
        with suppress(psycopg.OperationalError):
            connection = psycopg.connect(f"{postgresql}/postgres", autocommit=True)
            break
        time.sleep(0.1)
    with connection:
        yield connection


@pytest.fixture
def new_database(postgresql, server):
    """URL of an empty database, dropped at the end."""
    name = f"records_{uuid4().hex[:12]}"
    server.execute(f"CREATE DATABASE {name}")
    yield f"{postgresql}/{name}"
    server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request, tmp_path):
    """Where an empty store may be: the same tests run in both databases."""
    if request.param == "sqlite":
        return str(tmp_path / "records.db")
    return request.getfixturevalue("new_database")


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def store(address, clock):
    with open_store(address, now=clock) as opened:
        yield opened
