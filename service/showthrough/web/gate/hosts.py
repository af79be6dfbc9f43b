"""Who a request was meant for, and whose page sent it.

A foreign page can make a browser send requests here. Under a name of its own that leads to this
machine (DNS rebinding) it could read the answers, so that only our own names are served; and what
is no GET must come from a page of ours or from no page at all.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from ipaddress import IPv4Address, IPv6Address, ip_address

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from showthrough.web.gate.refusal import Refused

LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
HARMLESS = frozenset({"GET", "HEAD", "OPTIONS"})
"""Methods that change nothing (RFC 9110, 9.2.1)."""

_HOST = re.compile(r"(?:\[([0-9a-f:.]+)\]|([a-z0-9._-]+))(?::[0-9]{1,5})?")


def plain_address(text: str) -> str:
    """An address without its zone; IPv4 that came through an IPv6 socket is IPv4."""
    text = text.partition("%")[0]
    try:
        address: IPv4Address | IPv6Address = ip_address(text)
    except ValueError:
        return text.lower()
    mapped = address.ipv4_mapped if isinstance(address, IPv6Address) else None
    return str(mapped or address)


def ends_of(scope: Scope) -> tuple[str, str]:
    """The addresses of a connection: the client's and ours; empty where unknown."""
    client, server = (scope.get(end) or ("",) for end in ("client", "server"))
    return plain_address(client[0]), plain_address(server[0])


class Hosts:
    """Serves loopback names, the address that a connection came to, and names given."""

    def __init__(self, app: ASGIApp, names: Iterable[str] = ()) -> None:
        """Stand before the application."""
        self.app = app
        self.names = LOOPBACK_NAMES | {name.lower() for name in names}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] in {"http", "websocket"}:
            headers = Headers(scope=scope)
            host = headers.get("host", "").lower()
            self._check_host(host, scope)
            if scope.get("method", "") not in HARMLESS:
                _check_sender(headers, host)
        await self.app(scope, receive, send)

    def _check_host(self, host: str, scope: Scope) -> None:
        found = _HOST.fullmatch(host)
        name = plain_address(found[1] or found[2]) if found else ""
        own = ends_of(scope)[1]
        if not name or name not in self.names | {own}:
            message = f"this service answers to {own or 'localhost'} or localhost only"
            raise Refused.at(421, "Host", host, message)


def _check_sender(headers: Headers, host: str) -> None:
    site = headers.get("sec-fetch-site", "same-origin")
    if site not in {"same-origin", "none"}:
        raise Refused.at(403, "Sec-Fetch-Site", site, _FOREIGN)
    origin = headers.get("origin")
    if origin is not None and origin.lower() not in {f"http://{host}", f"https://{host}"}:
        raise Refused.at(403, "Origin", origin, _FOREIGN)


_FOREIGN = "a page of another site may not send this; open the page of this service and send it"
