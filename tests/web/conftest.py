from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest


@pytest.fixture(scope="module")
def client() -> Iterator[Any]:
    from fastapi.testclient import TestClient

    from doors.doors import service

    with TestClient(service(), base_url="http://127.0.0.1", follow_redirects=False) as found:
        yield found


@pytest.fixture(scope="session")
def served() -> Iterator[str]:
    """The address of a service that runs for the tests."""
    import uvicorn

    from showthrough.web.app import create_app
    from showthrough.web.serve import bound_socket, configured

    with bound_socket("127.0.0.1", 0) as listener:
        server = uvicorn.Server(configured(create_app()))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        until = time.monotonic() + 20.0
        while not server.started and time.monotonic() < until:
            time.sleep(0.02)
        assert server.started
        yield f"http://127.0.0.1:{listener.getsockname()[1]}"
        server.should_exit = True
        thread.join(10.0)


_FAULTS = ("error", "warning")
"""Lines of a console that must not be: a job with faults is a page like any other."""


@pytest.fixture
def open_page(chromium: Any, served: str) -> Iterator[Callable[..., Any]]:
    """Opens a page of the service; at the end nothing may have gone wrong or left this machine."""
    contexts, faults, hosts = [], [], set()

    def open_(path: str = "/", width: int = 1280, height: int = 900, **options: Any) -> Any:
        context = chromium.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda line: faults.append(line.text) if line.type in _FAULTS else None)
        page.on("request", lambda request: hosts.add(request.url.split("/")[2].split(":")[0]))
        page.goto(served + path)
        return page

    yield open_
    for context in contexts:
        context.close()
    assert faults == []
    assert hosts <= {"127.0.0.1"}
