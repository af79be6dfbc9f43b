"""What all tests share."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from typing import Any, NoReturn
from uuid import uuid4

import pytest
from hypothesis import settings
from threadpoolctl import threadpool_limits

# Two busy cores make single examples slow now and then; a clock decides no test. In CI the
# same examples are tried each time, so that a failure can be had again.
settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "here")

# Workers of the tests fill the cores already: threads of linear algebra beside them only wait for
# each other. A plugin has loaded numpy by now, so that the variable is for processes of tests.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
threadpool_limits(1, "blas")

_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
_NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")


def _cannot(reason: str) -> NoReturn:
    """A skip that is seen; on the build machine it is an error."""
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    print(f"\nBROWSER TESTS SKIPPED: {reason}", file=sys.__stderr__)
    pytest.skip(reason)


@pytest.fixture(autouse=True)
def own_records(tmp_path_factory, monkeypatch):
    """No test sees the records of whoever runs it; a store is made where one is asked for."""
    folder = tmp_path_factory.getbasetemp() / "records" / uuid4().hex
    monkeypatch.setenv("SHOWTHROUGH_DATABASE", str(folder / "records.db"))


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    path = next((found for name in _NAMES if (found := shutil.which(name))), None)
    if path is None:
        _cannot(f"no browser is installed; looked for {', '.join(_NAMES)}")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _cannot("playwright is not installed")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=_FLAGS)
        yield browser
        browser.close()
