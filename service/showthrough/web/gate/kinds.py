"""A body says what it is: JSON to ``/api/``, forms to pages.

A foreign page can make a browser send forms and plain text without asking, but not JSON that
calls itself JSON.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from itertools import chain

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from showthrough.web.gate.hosts import HARMLESS
from showthrough.web.gate.refusal import Refused

JSON = "application/json"
PARTS = "multipart/form-data"
FIELDS = "application/x-www-form-urlencoded"


class Kinds:
    """Refuses bodies of other kinds."""

    def __init__(
        self, app: ASGIApp, more: Sequence[tuple[re.Pattern[str], Collection[str]]]
    ) -> None:
        """Stand before the application; ``more``: addresses that take other kinds beside JSON."""
        self.app = app
        self.more = more

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "http" and scope["method"] not in HARMLESS:
            path = scope["path"]
            forms = () if path.startswith("/api/") else (FIELDS, PARTS)
            more = (kinds for address, kinds in self.more if address.match(path))
            _check(Headers(scope=scope), forms or {JSON, *chain.from_iterable(more)})
        await self.app(scope, receive, send)


def _check(headers: Headers, known: Collection[str]) -> None:
    stated = headers.get("content-type", "")
    empty = headers.get("content-length", "0") == "0" and "transfer-encoding" not in headers
    if empty and not stated:
        return
    kind = stated.partition(";")[0].strip().lower()
    if kind not in known and not (JSON in known and kind.endswith("+json")):
        message = f"the body must call itself {' or '.join(sorted(known))}"
        accept = {"Accept": ", ".join(sorted(known))}
        raise Refused.at(415, "Content-Type", stated, message, accept)
