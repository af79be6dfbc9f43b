"""``serve --host``: what it says to who wants to open it from a phone, and that it is so."""

from __future__ import annotations

import http.client
import io
import re
import socket
from contextlib import closing

import numpy as np
import pytest

from doors.test_serve import started  # noqa: F401 - a fixture
from showthrough.web import serve
from showthrough.web.serve import addresses_of, drawn, link

ALL = "0.0.0.0"  # noqa: S104 - what is tested
URL = "http://192.0.2.17:8000/"


class Terminal(io.StringIO):
    def __init__(self, encoding, colours):
        super().__init__()
        self._encoding, self._colours = encoding, colours

    encoding = property(lambda self: self._encoding)

    def isatty(self):
        return self._colours


SIGNS = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}
BLACK, WHITE = "40", "107"


def modules_of(text):
    """What a terminal shows of a drawing: True where it is dark on light."""
    rows = []
    for line in text.splitlines():
        if "\x1b[40m" in line or "##" in line:
            cells = re.findall(r"\x1b\[(40|107)m {2}", line)
            bits = [cell == BLACK for cell in cells] or [c == "#" for c in line[::2]]
            rows.append(bits)
        elif set(line) <= {" "}:
            rows.append([False] * (len(line) // 2))
        elif re.fullmatch(r"(\x1b\[107m {2})+\x1b\[0m", line):
            rows.append([False] * line.count("  "))
        else:
            plain = re.sub(r"\x1b\[(30;107|0)m", "", line)
            rows += [[bool(SIGNS[sign][half]) for sign in plain] for half in (0, 1)]
    return rows


def read(text):
    """What another implementation reads in it."""
    import zxingcpp

    rows = modules_of(text)
    wide = max(map(len, rows))
    dark = np.array([row + [False] * (wide - len(row)) for row in rows])
    picture = np.where(np.kron(dark, np.ones((6, 6), bool)), 0, 255).astype(np.uint8)
    (found,) = zxingcpp.read_barcodes(picture)
    return found.text


@pytest.mark.parametrize("colours", [False, True])
@pytest.mark.parametrize("encoding", ["utf-8", "cp437", "ascii", "latin-1", None])
@pytest.mark.parametrize("text", [URL, "http://[2001:db8::17]:8000/"])
def test_a_phone_reads_the_address_from_every_terminal(text, encoding, colours):
    stream = Terminal(encoding, colours)
    shown = drawn(text, stream)
    shown.encode(encoding or "ascii")
    assert read(shown) == text
    lines = re.sub(r"\x1b\[[0-9;]*m", "", shown).splitlines()
    assert max(map(len, lines)) <= 80, "it fits a terminal of the usual width"
    if not colours:
        assert "\x1b" not in shown
    else:
        assert all(line.endswith("\x1b[0m") for line in shown.splitlines())


def test_an_address_in_ipv6_stands_in_brackets():
    # RFC 3986, 3.2.2.
    assert link("2001:db8::1", 80) == "http://[2001:db8::1]:80/"
    assert link("192.0.2.1", 8000) == "http://192.0.2.1:8000/"


def test_what_is_bound_to_one_address_is_told_under_that():
    assert addresses_of("192.0.2.5") == ["192.0.2.5"]


@pytest.mark.parametrize("bound", [ALL, "::"])
def test_what_is_bound_to_all_is_told_under_addresses_that_others_reach(bound, monkeypatch):
    def of_the_name(_host, _port):
        kinds = ((socket.AF_INET, ("127.0.1.1", 0)), (socket.AF_INET, ("192.0.2.9", 0)))
        return [(family, socket.SOCK_STREAM, 0, "", address) for family, address in kinds]

    monkeypatch.setattr(serve.socket, "getaddrinfo", of_the_name)
    found = addresses_of(bound)
    assert "192.0.2.9" in found
    assert not [each for each in found if each.startswith("127.") or each in {"::1", ALL, "::"}]
    assert len(set(found)) == len(found)


def test_without_a_network_nothing_is_invented(monkeypatch):
    def none(*_args, **_options):
        raise OSError

    monkeypatch.setattr(serve.socket, "socket", none)
    monkeypatch.setattr(serve.socket, "getaddrinfo", none)
    assert addresses_of(ALL) == []


def ask(host, port):
    with closing(http.client.HTTPConnection(host, port, timeout=20)) as connection:
        connection.request("GET", "/")
        with connection.getresponse() as answer:
            return answer.status


def test_a_service_for_others_tells_the_address_the_code_and_the_danger(started):  # noqa: F811 - a fixture
    process, line = started("--host", ALL)
    port = int(re.search(r"http://127\.0\.0\.1:(\d+)/", line)[1])
    assert ask("127.0.0.1", port) == 200
    others = addresses_of(ALL)
    if not others:
        pytest.skip("this machine has no network")
    said = process.stdout.readline()
    assert f"http://{others[0]}:{port}/" in said
    code = re.fullmatch(
        r"and types the access code ([a-z0-9-]+) once\.\n", process.stdout.readline()
    )
    assert code
    # From its own address it is this machine, which needs no code; see test_access for others.
    assert ask(others[0], port) == 200
    process.kill()
    rest = process.stdout.read()
    assert "in clear" in rest
    assert code[1] not in rest, "the picture holds the address alone"
