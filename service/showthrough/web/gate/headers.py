"""What holds for every address: HEAD is GET without a body, and headers that bind a browser."""

from __future__ import annotations

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from showthrough.web.shell import SAFE

_ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    # With no-referrer a browser hides the origin of its own forms, too.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_POLICY = "Content-Security-Policy"


class PlainHeaders:
    """A route's own headers stay; what it leaves out is strict."""

    def __init__(self, app: ASGIApp) -> None:
        """Stand before the application."""
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        head = scope["method"] == "HEAD"
        kept = "no-store" if scope["path"].startswith("/api/") else "private, no-cache"

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _ALWAYS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", kept)
                if headers.get("content-type", "").startswith("text/html"):
                    headers.setdefault(_POLICY, SAFE[_POLICY])
            elif head and message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await self.app({**scope, "method": "GET"} if head else scope, receive, sent)
