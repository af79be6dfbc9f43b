"""How another machine in the same network can open the service: addresses, a code to scan."""

from __future__ import annotations

import socket
from contextlib import suppress
from ipaddress import ip_address
from typing import TextIO

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
