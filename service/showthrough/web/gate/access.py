"""The access code: typed once on a phone, sent as a bearer token by a program, not asked here.

It keeps others in the same network from the page. It is no secrecy: it crosses the network in
clear, as everything does here.
"""

from __future__ import annotations

import hmac
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from ipaddress import ip_address, ip_network
from math import ceil
from urllib.parse import parse_qs, quote, urlencode

from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import Headers
from starlette.requests import Request, cookie_parser
from starlette.types import ASGIApp, Receive, Scope, Send

from showthrough.web.body import read_limited
from showthrough.web.gate.hosts import ends_of
from showthrough.web.gate.refusal import Refused, wants_page
from showthrough.web.shell import rendered

_LETTERS = "acdefhjkmnprtwxy34679"
"""No two that look alike, in either case: without 0 o, 1 i l, 2 z, 5 s, 8 b, g q, u v."""
_LENGTH = 8  # 35 bits; at the pace of ``Tries`` one machine tries a thousandth in centuries
_COOKIE = "showthrough"
_BEARER = "bearer "
ADDRESS = "/access"
_MOST_BYTES = 16_000


def new_code() -> str:
    """A code as it is shown, in two groups."""
    text = "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))
    return f"{text[:4]}-{text[4:]}"


def _plain(code: str) -> bytes:
    """A code as it may be typed: in capitals, with or without what parts its groups."""
    return "".join(c for c in code.lower() if c.isalnum()).encode()


class Tries:
    """Wrong codes from each address, and how long it must wait for the next try."""

    FREE = 3
    LONGEST_WAIT_S = 300.0
    _MOST = 4096

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        """Nobody has tried yet."""
        self._clock = clock
        self._wrong: OrderedDict[str, tuple[int, float]] = OrderedDict()

    def wait(self, address: str) -> float:
        """Seconds until the address may try again."""
        _, until = self._wrong.get(_neighbourhood(address), (0, 0.0))
        return max(until - self._clock(), 0.0)

    def failed(self, address: str) -> None:
        """Note a wrong code: after the free ones each wait is twice the last."""
        key = _neighbourhood(address)
        count = self._wrong.pop(key, (0, 0.0))[0] + 1
        wait = min(2.0 ** min(count - self.FREE, 30), self.LONGEST_WAIT_S)
        until = self._clock() + wait if count >= self.FREE else 0.0
        self._wrong[key] = (count, until)
        if len(self._wrong) > self._MOST:
            self._wrong.popitem(last=False)

    def forget(self, address: str) -> None:
        """The address knows the code."""
        self._wrong.pop(_neighbourhood(address), None)


def _neighbourhood(address: str) -> str:
    """One machine has a whole IPv6 network of 64 bits to itself."""
    try:
        found = ip_address(address)
    except ValueError:
        return address
    return address if found.version == 4 else str(ip_network(f"{address}/64", strict=False))


class Access:
    """The code of one run of the service, and the browsers that have typed it."""

    _MOST_SESSIONS = 200

    def __init__(self, code: str | None = None, tries: Tries | None = None) -> None:
        """With a fresh code, unless one is given."""
        self.code = code or new_code()
        self.tries = tries or Tries()
        self._sessions: OrderedDict[str, None] = OrderedDict()

    def knows(self, scope: Scope) -> bool:
        """Whether a request comes from this machine, or shows that its sender knows the code.

        Raises:
            Refused: a wrong bearer code, or one too many.
        """
        client, server = ends_of(scope)
        if is_here(client, server):
            return True
        headers = Headers(scope=scope)
        cookie = cookie_parser(headers.get("cookie", "")).get(_COOKIE, "")
        if cookie in self._sessions:  # 256 random bits: nothing to learn from how long it takes
            return True
        bearer = headers.get("authorization", "")
        return bearer.lower().startswith(_BEARER) and self.takes(bearer[len(_BEARER) :], client)

    def takes(self, code: str, client: str) -> bool:
        """Whether a code is the right one.

        Raises:
            Refused: too many wrong ones came from this client.
        """
        wait = self.tries.wait(client)
        if wait > 0.0:
            seconds = str(ceil(wait))
            message = f"too many wrong codes; try again in {seconds} seconds"
            raise Refused.at(429, "code", "", message, {"Retry-After": seconds})
        if hmac.compare_digest(_plain(code), _plain(self.code)):
            self.tries.forget(client)
            return True
        self.tries.failed(client)
        return False

    def new_session(self) -> str:
        """A token for a browser whose user has typed the code; it ends with the service."""
        token = secrets.token_urlsafe(32)
        self._sessions[token] = None
        if len(self._sessions) > self._MOST_SESSIONS:
            self._sessions.popitem(last=False)
        return token


def is_here(client: str, server: str) -> bool:
    """Whether both ends of a connection are this machine."""
    try:
        return ip_address(client).is_loopback or client == server
    except ValueError:
        return False


class Gate:
    """Lets nobody from another machine further than to the page that asks for the code."""

    def __init__(self, app: ASGIApp, access: Access, free: tuple[str, ...] = ()) -> None:
        """Stand before the application; addresses in ``free`` need no code."""
        self.app = app
        self.access = access
        self.free = free

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
        elif scope["path"] == ADDRESS:
            await (await self._page(Request(scope, receive)))(scope, receive, send)
        elif scope["path"] in self.free or self.access.knows(scope):
            await self.app(scope, receive, send)
        else:
            await _asked(scope)(scope, receive, send)

    async def _page(self, request: Request) -> Response:
        """The page that asks for the code, and what follows from what was typed there."""
        if request.method != "POST":
            if self.access.knows(request.scope):
                return RedirectResponse("/", 303, _NO_STORE)
            shown = {"to": _local(request.query_params.get("to", "/")), "wrong": _WRONG}
            if "wrong" not in request.query_params:
                shown["wrong"] = ""
            return rendered("gate/access.html", shown, headers=_NO_STORE)
        form = parse_qs((await read_limited(request, _MOST_BYTES)).decode("utf-8", "replace"))
        code, to = (form.get(name, [""])[0] for name in ("code", "to"))
        if not self.access.takes(code, ends_of(request.scope)[0]):
            return _to_the_page(to, wrong="yes")
        response = RedirectResponse(_local(to), 303, _NO_STORE)
        response.set_cookie(_COOKIE, self.access.new_session(), httponly=True, samesite="strict")
        return response


_NO_STORE = {"Cache-Control": "no-store"}
_WRONG = "That is not the code. Compare it with the terminal, letter by letter."


def _asked(scope: Scope) -> Response:
    """Where somebody is led who has not typed the code: to the page; a program is refused."""
    if not wants_page(scope):
        message = f"this needs the access code: send Authorization: Bearer CODE, or open {ADDRESS}"
        challenge = {"WWW-Authenticate": 'Bearer realm="Showthrough"'}
        raise Refused.at(401, "Authorization", "", message, challenge)
    query = scope["query_string"].decode("latin-1")
    asked = scope["path"] + (f"?{query}" if query else "")
    return _to_the_page(asked if scope["method"] == "GET" else "/")


def _to_the_page(to: str, **more: str) -> Response:
    # No status of an error: a browser's console is for faults.
    return RedirectResponse(f"{ADDRESS}?{urlencode({'to': _local(to), **more})}", 303, _NO_STORE)


def _local(to: str) -> str:
    """An address of ours to go on to; another site's would be a trap."""
    ours = to.startswith("/") and to[1:2] not in {"/", "\\"} and to.isprintable()
    return quote(to, safe="/?&=%+,;:@!$'()*~#[]") if ours and to != ADDRESS else "/"
