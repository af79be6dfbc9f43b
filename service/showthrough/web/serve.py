"""Runs the service on this machine, and says how others in the same network can open it."""

from __future__ import annotations

import asyncio
import logging
import socket
import sys
from contextlib import suppress
from ipaddress import ip_address
from typing import TYPE_CHECKING, TextIO

from starlette.types import ASGIApp

from showthrough.errors import InputError

if TYPE_CHECKING:
    import uvicorn

    from showthrough.web.gate.access import Access


QUIET = 4
"""Empty modules around a QR code (ISO/IEC 18004)."""
_BLACK_ON_WHITE, _PLAIN = "\x1b[30;107m", "\x1b[0m"
_HALVES = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches an address."""
    return ip_address(host.partition("%")[0]).is_loopback


def addresses_of(bound: str) -> list[str]:
    """Addresses under which others find what is bound to one address, the likeliest first.

    Where it is bound to all of them, these are the address that this machine sends from, and
    those of its name. Nothing is sent to find them.
    """
    if not ip_address(bound.partition("%")[0]).is_unspecified:
        return [bound]
    found: list[str] = []
    # Choosing a way to an address of the documentation (RFC 5737, 3849) names our own end of it.
    ends = [(socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")]
    for family, there in ends if ":" in bound else ends[:1]:
        with suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.connect((there, 9))
            found.append(probe.getsockname()[0])
    with suppress(OSError, UnicodeError):
        for family, *_, address in socket.getaddrinfo(socket.gethostname(), None):
            if family == socket.AF_INET:
                found.append(str(address[0]))
    return [each for each in dict.fromkeys(found) if not is_loopback(each)]


def link(host: str, port: int) -> str:
    """What is typed or scanned."""
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


def drawn(text: str, stream: TextIO) -> str:
    """A QR code of a text for a terminal: dark on light, whatever its own colours.

    Two rows of modules a line where the stream's encoding has half blocks; else spaces in two
    colours, or number signs where there are no colours, each module two signs wide.
    """
    import segno

    made = segno.make(text, error="l", micro=False)
    rows = [tuple(bytes(row)) for row in made.matrix_iter(border=QUIET)]
    colours = stream.isatty()
    try:
        "".join(_HALVES.values()).encode(stream.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        signs = ("\x1b[107m  ", "\x1b[40m  ") if colours else ("  ", "##")
        lines = ["".join(signs[module] for module in row) for row in rows]
        end = _PLAIN if colours else ""
        return "".join(f"{line}{end}\n" for line in lines)
    rows.append((0,) * len(rows[0]))  # an odd number of rows lacks one
    pairs = zip(rows[::2], rows[1::2], strict=False)
    lines = ["".join(_HALVES[both] for both in zip(*pair, strict=True)) for pair in pairs]
    before, after = (_BLACK_ON_WHITE, _PLAIN) if colours else ("", "")
    return "".join(f"{before}{line}{after}\n" for line in lines)


def bound_socket(host: str, port: int) -> socket.socket:
    """A listening address, or an error that says what would work; port 0 takes a free one."""
    if not 0 <= port <= 65535:
        raise InputError.at("port", port, f"port {port} is not between 0 and 65535")
    listener = None
    try:
        family, kind, proto, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listener = socket.socket(family, kind, proto)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(address)
        listener.listen()  # whoever opens the address at once waits a little, and is served
    except (OSError, UnicodeError) as error:
        if listener is not None:
            listener.close()
        reason = getattr(error, "strerror", None) or error
        raise InputError.at(
            "port",
            f"{host}:{port}",
            f"{host}:{port} cannot be used ({reason}); try --port 0 for a free one",
        ) from error
    return listener


_LONGEST_GOODBYE_S = 2
"""How long Ctrl-C waits for answers that are under way."""


def _unless_ended(record: logging.LogRecord) -> bool:
    """Whether a line is worth a log: a request that Ctrl-C cut off is no fault."""
    cause = record.exc_info[1] if record.exc_info else None
    return not isinstance(cause, asyncio.CancelledError)


def _told(listener: socket.socket, access: Access | None) -> str:
    """What is said when it starts: where to open it, and how from a phone."""
    bound, port = listener.getsockname()[:2]
    here = bound if access is None or bound not in _ALL else _ALL[bound]
    first = f"Showthrough is at {link(here, port)} (Ctrl-C ends it)\n"
    if access is None:
        return f"{first}For a phone in the same workshop: showthrough serve --host 0.0.0.0\n"
    others = [link(address, port) for address in addresses_of(bound)]
    if not others:
        return f"{first}No network was found, so that no other machine can reach it.\n"
    return (
        f"{first}A phone in the same network opens {' or '.join(others)}\n"
        f"and types the access code {access.code} once.\n\n"
        f"{drawn(others[0], sys.stdout)}\n"
        "The code, and all that is sent, cross the network in clear: use it only where you trust\n"
        "everyone on the network. Programs send Authorization: Bearer CODE.\n"
    )


_ALL = {"0.0.0.0": "127.0.0.1", "::": "::1"}  # noqa: S104 - compared, never bound
"""Every address of this machine, and the one that it uses itself."""


def configured(app: ASGIApp) -> uvicorn.Config:
    """How the server runs: bounds on waits, nothing believed that a proxy would say."""
    import uvicorn

    from showthrough.web.gate.connection import PatientConnection

    return uvicorn.Config(
        app,
        http=PatientConnection,
        ws="none",
        log_level="warning",
        access_log=False,
        use_colors=False,
        proxy_headers=False,
        server_header=False,
        timeout_graceful_shutdown=_LONGEST_GOODBYE_S,
    )


def serve(host: str, port: int) -> int:
    """Serve until interrupted; says where to open the page.

    Machines other than this one, which reach it only where ``host`` allows it, need a code.
    """
    import uvicorn

    from showthrough.web.app import create_app
    from showthrough.web.gate.access import Access

    with bound_socket(host, port) as listener:
        names = [] if host in _ALL else [host]
        access = None if is_loopback(listener.getsockname()[0]) else Access()
        sys.stdout.write(_told(listener, access))
        sys.stdout.flush()
        logging.getLogger("uvicorn.error").addFilter(_unless_ended)
        with suppress(KeyboardInterrupt):  # Ctrl-C, after which the server has closed down
            uvicorn.Server(configured(create_app(names, access))).run(sockets=[listener])
    return 0
