"""A real server for a test, and plain words over a socket."""

from __future__ import annotations

import asyncio
import socket
import threading
import time
from collections.abc import Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from typing import Any, TypeVar

import uvicorn
from starlette.types import ASGIApp

from showthrough.web.gate.connection import PatientConnection
from showthrough.web.serve import bound_socket, configured

T = TypeVar("T")

LONG = 20.0
"""Seconds after which a test gives up; no check depends on it."""


@contextmanager
def served_at(app: ASGIApp, http: type[PatientConnection] = PatientConnection) -> Iterator[int]:
    """The port of a server on this machine, as ``serve`` runs it."""
    with bound_socket("127.0.0.1", 0) as listener:
        config = configured(app)
        config.http = http
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        until = time.monotonic() + LONG
        while not server.started and time.monotonic() < until:
            time.sleep(0.02)
        assert server.started
        try:
            yield listener.getsockname()[1]
        finally:
            server.should_exit = True
            thread.join(LONG)


def connected(port: int) -> closing[socket.socket]:
    """A connection that is closed at the end."""
    return closing(socket.create_connection(("127.0.0.1", port), timeout=LONG))


def head(method: str, path: str, **headers: object) -> bytes:
    """The head of a request to this machine; underscores in names are hyphens."""
    lines = [f"{method} {path} HTTP/1.1", "Host: localhost"]
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    return "\r\n".join((*lines, "", "")).encode()


def all_of(connection: socket.socket) -> bytes:
    """Everything until the other end closes; what it resets is at an end, too."""
    out = b""
    try:
        while piece := connection.recv(65536):
            out += piece
    except ConnectionError:
        pass
    return out


def apart(work: Coroutine[Any, Any, T]) -> T:
    """What a coroutine comes to, in a loop of its own: a browser test keeps one here."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result(LONG)
