"""Runs the service on this machine."""

from __future__ import annotations

import asyncio
import logging
import socket
import sys
from contextlib import suppress

from showthrough.errors import InputError


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


def serve(host: str, port: int) -> int:
    """Serve until interrupted; says in one line where to open the page."""
    import uvicorn

    from showthrough.web.app import create_app

    with bound_socket(host, port) as listener:
        name, real_port = listener.getsockname()[:2]
        where = f"[{name}]" if ":" in name else name
        sys.stdout.write(f"Showthrough is at http://{where}:{real_port}/ (Ctrl-C ends it)\n")
        sys.stdout.flush()
        config = uvicorn.Config(
            create_app(),
            log_level="warning",
            access_log=False,
            use_colors=False,
            timeout_graceful_shutdown=_LONGEST_GOODBYE_S,
        )
        logging.getLogger("uvicorn.error").addFilter(_unless_ended)
        with suppress(KeyboardInterrupt):  # Ctrl-C, after which the server has closed down
            uvicorn.Server(config).run(sockets=[listener])
    return 0
