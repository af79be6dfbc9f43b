"""How much is read and worked on at once, over real connections."""

from __future__ import annotations

import asyncio
import json
import re
import socket
import threading
import time
from contextlib import ExitStack, contextmanager, suppress
from typing import Annotated, Any

import pytest
from fastapi import Depends, Request, Response
from hypothesis import given
from hypothesis import strategies as st

from jobs.small_jobs import small_job
from showthrough.web.app import create_app
from showthrough.web.body import parts_of, read_limited
from showthrough.web.gate.connection import MOST_CONNECTIONS, PatientConnection
from showthrough.web.gate.load import Limits, Load, Share
from web.serving import LONG, all_of, apart, connected, head, served_at

PARTS = "multipart/form-data; boundary=x"
JSON = "application/json"
PART = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="p"\r\n\r\n%s\r\n--x--\r\n'
JOB = json.dumps(small_job()).encode()


async def read(request: Request) -> bytes:
    return await read_limited(request, 10**9)


async def parted(request: Request) -> list[Any]:
    return await parts_of(request, 10**9, files=1, fields=0)


class Bench:
    """Routes whose jobs last until they are told to end, and what has begun of them."""

    def __init__(self, limits: Limits) -> None:
        self.app = create_app(limits=limits)
        self.begun: list[str] = []
        self.end = threading.Event()
        self.one = threading.Semaphore(0)
        """Lets one job end, where not all are to."""

        def work(name: str) -> Response:
            self.begun.append(name)
            until = time.monotonic() + LONG
            while not self.end.wait(0.01) and not self.one.acquire(blocking=False):
                assert time.monotonic() < until
            return Response(name)

        @self.app.post("/slow/{name}")
        def post_work(name: str, _parts: Annotated[list[Any], Depends(parted)]) -> Response:
            return work(name)

        @self.app.post("/api/slow/{name}")
        def post_api(name: str, _body: Annotated[bytes, Depends(read)]) -> Response:
            return work(name)

        @self.app.get("/slow/{name}")
        def get_work(name: str) -> Response:
            return work(name)

        @self.app.get("/fault")
        def get_fault() -> Response:
            raise RuntimeError

        @self.app.get("/large")
        def get_large() -> Response:
            return Response(bytes(20_000_000), media_type="image/png")

    def until_begun(self, *names: str) -> None:
        """Wait until these jobs, and no others, have begun."""
        until = time.monotonic() + LONG
        while sorted(self.begun) != sorted(names) and time.monotonic() < until:
            time.sleep(0.01)
        assert sorted(self.begun) == sorted(names)

    def until_waiting(self, count: int) -> None:
        """Wait until so many uploads wait for their turn."""
        layer: Any = self.app.middleware_stack
        while not isinstance(layer, Load):
            layer = layer.app
        until = time.monotonic() + LONG
        while len(layer._shares.jobs[True]._queue) != count and time.monotonic() < until:
            time.sleep(0.01)
        assert len(layer._shares.jobs[True]._queue) == count


@contextmanager
def bench(http: type[PatientConnection] = PatientConnection, **limits: Any) -> Any:
    made = Bench(Limits(**limits))
    with served_at(made.app, http) as port, ExitStack() as stack:
        stack.callback(made.end.set)
        yield made, port, lambda: stack.enter_context(connected(port))


def asked(there: socket.socket, method: str, path: str, body: bytes = b"", **more: Any) -> None:
    """Send a whole request, after which the connection is closed."""
    kind = {"Content_Type": more.pop("kind", PARTS), "Content_Length": len(body)} if body else {}
    there.sendall(head(method, path, Connection="close", **kind, **more) + body)


def status(answer: bytes) -> int:
    found = re.match(rb"HTTP/1\.1 (\d{3}) ", answer)
    assert found, answer[:100]
    return int(found[1])


def field(answer: bytes, name: bytes) -> bytes | None:
    found = re.search(rb"(?i)\r\n" + name + rb": ([^\r]*)", answer.partition(b"\r\n\r\n")[0])
    return found and found[1]


# --- parts of a quantity ---------------------------------------------------------------


@given(
    total=st.integers(1, 9),
    wishes=st.lists(st.tuples(st.integers(1, 12), st.integers(0, 5), st.booleans()), max_size=12),
)
def test_no_more_is_held_than_there_is_and_who_came_first_is_first(total, wishes):
    order: list[int] = []
    held: list[int] = [0]

    async def one(share: Share, number: int, amount: int, steps: int) -> None:
        part = await share.take(amount)
        order.append(number)
        held.append(held[-1] + part)
        for _ in range(steps):
            await asyncio.sleep(0)
        held.append(held[-1] - part)
        share.give(part)

    async def everybody() -> int:
        share = Share(total)
        await share.take(total)
        tasks = [asyncio.create_task(one(share, n, *w[:2])) for n, w in enumerate(wishes)]
        await asyncio.sleep(0)
        for task, (_, _, leaves) in zip(tasks, wishes, strict=True):
            if leaves:  # while it waits
                task.cancel()
        share.give(total)
        await asyncio.gather(*tasks, return_exceptions=True)
        return share.free

    assert apart(everybody()) == total
    assert held[-1] == 0
    assert max(held) <= total
    assert order == [n for n, (_, _, leaves) in enumerate(wishes) if not leaves]


def test_a_part_that_comes_as_its_taker_leaves_is_given_on():
    async def race() -> int:
        share = Share(1)
        await share.take(1)
        task = asyncio.create_task(share.take(1))
        await asyncio.sleep(0)
        share.give(1)  # it is the task's now, which has not run yet
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        return share.free

    assert apart(race()) == 1


def test_who_leaves_the_head_of_the_queue_lets_the_next_one_in():
    async def queue() -> int:
        share = Share(4)
        await share.take(2)
        large, small = (asyncio.create_task(share.take(amount)) for amount in (3, 1))
        await asyncio.sleep(0)
        large.cancel()
        return await asyncio.wait_for(small, LONG)

    assert apart(queue()) == 1


# --- bodies ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "kind", "length"),
    [
        ("/api/predict", JSON, 1_000_001),  # what the route takes
        ("/api/slow/a", JSON, 4_000_001),  # what the gate lets any route take
        ("/slow/a", PARTS, 100_000_001),
        ("/api/chip", PARTS, 100_000_001),
        ("/photo/chip", PARTS, 100_000_001),
        ("/", "application/x-www-form-urlencoded", 4_000_001),
    ],
)
def test_what_says_that_it_is_too_long_is_refused_unread(path, kind, length):
    with bench() as (_, _port, connection):
        there = connection()
        there.sendall(head("POST", path, Content_Type=kind, Content_Length=length))
        answer = there.recv(65536)  # not a byte of the body was sent
        assert status(answer) == 413
        there = connection()
        more = {"Content_Type": kind, "Content_Length": length, "Expect": "100-continue"}
        there.sendall(head("POST", path, **more))
        assert status(there.recv(65536)) != 100  # nor asked for (RFC 9110, 10.1.1)


@pytest.mark.parametrize(("path", "kind"), [("/api/slow/a", JSON), ("/slow/a", PARTS)])
def test_a_body_that_does_not_say_how_long_it_is_is_cut_at_the_bound(path, kind):
    with bench(plain_bytes=300_000, parts_bytes=300_000) as (made, _, connection):
        made.end.set()
        there = connection()
        there.sendall(head("POST", path, Content_Type=kind, Transfer_Encoding="chunked"))
        start = PART.partition(b"%s")[0]  # of a file that goes on
        there.sendall(b"%x\r\n%s\r\n" % (len(start), start))
        sent = 0
        piece = b"10000\r\n" + b" " * 0x10000 + b"\r\n"
        there.settimeout(0.05)
        answer = b""
        while not answer and sent < 400:
            there.sendall(piece)
            sent += 1
            with suppress(TimeoutError):
                answer = there.recv(65536)
        assert status(answer) == 413
        assert made.begun == []


@pytest.mark.parametrize("drip", [False, True])
def test_a_body_that_pauses_or_never_ends_is_given_up(drip):
    with bench(silence_s=1000.0 if drip else 0.3, body_s=0.6 if drip else 1000.0) as (
        made,
        _,
        connection,
    ):
        there = connection()
        there.sendall(head("POST", "/api/slow/a", Content_Type=JSON, Content_Length=1000))
        for _ in range(100 if drip else 1):
            try:
                there.sendall(b" ")
                there.settimeout(0.05)
                if there.recv(1, socket.MSG_PEEK):
                    break
            except TimeoutError:
                continue
        there.settimeout(LONG)
        assert status(all_of(there)) == 408
        assert made.begun == []


def test_large_bodies_wait_until_there_is_room_for_them_and_small_ones_pass():
    with bench(all_parts_bytes=1000) as (made, _, connection):
        made.end.set()
        first, second = connection(), connection()
        body = PART % bytes(700)
        first.sendall(head("POST", "/slow/a", Content_Type=PARTS, Content_Length=len(body)))
        first.sendall(body[:300])
        more = head(
            "POST", "/slow/b", Content_Type=PARTS, Content_Length=len(body), Connection="close"
        )
        second.sendall(more + body)
        small = connection()
        asked(small, "POST", "/api/slow/c", b"{}", kind=JSON)
        assert status(all_of(small)) == 200
        assert made.begun == ["c"]
        first.sendall(body[300:])
        assert status(first.recv(65536)) == 200
        assert status(all_of(second)) == 200
        assert made.begun == ["c", "a", "b"]


def test_who_finds_no_room_in_time_is_told_to_come_again():
    with bench(all_parts_bytes=1000, patience_s=0.2) as (made, _, connection):
        made.end.set()
        first = connection()
        body = PART % bytes(700)
        first.sendall(head("POST", "/slow/a", Content_Type=PARTS, Content_Length=len(body)))
        first.sendall(body[:300])
        second = connection()
        time.sleep(0.1)  # so that the first is the first
        asked(second, "POST", "/slow/b", body)
        answer = all_of(second)
        assert status(answer) == 503
        assert int(field(answer, b"retry-after") or b"0") > 0
        assert b'"error":"http"' in answer
        first.sendall(body[300:])
        assert status(first.recv(65536)) == 200
        assert made.begun == ["a"]


# --- jobs at once ----------------------------------------------------------------------


def test_few_uploads_are_worked_on_at_once_in_their_order_and_others_pass():
    with bench(heavy_jobs=2) as (made, _, connection):
        there = []
        for name in "abcde":
            there.append(connection())
            asked(there[-1], "POST", f"/slow/{name}", PART % b"photo")
            made.until_begun(*"ab"[: len(there)])
            made.until_waiting(max(len(there) - 2, 0))  # each has come before the next
        light = connection()
        asked(light, "POST", "/api/predict", JOB, kind=JSON)
        assert status(all_of(light)) == 200
        for begun in ("ab", "abc", "abcd", "abcde", "abcde"):
            made.until_begun(*begun)
            made.one.release()
        assert [status(all_of(each)) for each in there] == [200] * 5


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_few_others_are_worked_on_at_once_and_uploads_pass(method):
    with bench(light_jobs=1, patience_s=0.3) as (made, _, connection):
        first, second, upload = connection(), connection(), connection()
        path = "/slow/{}" if method == "GET" else "/api/slow/{}"
        body = b"" if method == "GET" else b"{}"
        asked(first, method, path.format("a"), body, kind=JSON)
        made.until_begun("a")
        asked(second, method, path.format("b"), body, kind=JSON)
        asked(upload, "POST", "/slow/c", PART % b"photo")
        made.until_begun("a", "c")
        assert status(all_of(second)) == 503
        icon = connection()
        asked(icon, "GET", "/favicon.ico")
        assert status(all_of(icon)) == 200, "what costs nothing never waits"
        made.end.set()
        assert status(all_of(first)) == status(all_of(upload)) == 200


def test_the_job_of_a_client_that_has_left_the_queue_is_not_done():
    with bench(light_jobs=1) as (made, _, connection):
        first, gone, last = connection(), connection(), connection()
        asked(first, "GET", "/slow/a")
        made.until_begun("a")
        asked(gone, "POST", "/api/slow/b", b"{}", kind=JSON)
        time.sleep(0.1)
        gone.close()
        time.sleep(0.1)
        asked(last, "GET", "/slow/c")
        made.end.set()
        assert status(all_of(last)) == 200
        assert made.begun == ["a", "c"]


def test_faults_and_refusals_give_their_place_back():
    with bench(light_jobs=1, heavy_jobs=1, patience_s=0.5, all_parts_bytes=600) as (
        made,
        _,
        connection,
    ):
        made.end.set()
        for _ in range(3):
            for method, path, body in (
                ("GET", "/fault", b""),
                ("GET", "/nothing", b""),
                ("POST", "/api/chip", PART % bytes(300)),
                ("POST", "/api/chip", b"--"),
                ("PUT", "/api/chip", PART % b"x"),
            ):
                there = connection()
                asked(there, method, path, body)
                assert status(all_of(there)) in {404, 405, 415, 422, 500}
        for method, path, body in (("GET", "/slow/a", b""), ("POST", "/slow/b", PART % b"x")):
            there = connection()
            asked(there, method, path, body)
            assert status(all_of(there)) == 200


# --- connections -----------------------------------------------------------------------


class Hasty(PatientConnection):
    head_s = 0.4
    rest_s = 0.4
    drain_s = 0.4


@pytest.mark.parametrize(
    "begin",
    [
        b"",
        b"GET / HTTP/1.1\r\nHost: localhost\r\n",
        head("GET", "/favicon.ico") + b"GET /",  # a second one after a whole one
    ],
)
def test_a_head_that_comes_slowly_is_given_up_however_steadily_it_comes(begin):
    with bench(Hasty) as (_, _port, connection):
        there = connection()
        there.sendall(begin)
        there.settimeout(0.05)
        ended = False
        for _ in range(100):
            try:
                there.sendall(b"x" if begin else b"")
                ended = there.recv(65536) == b""
            except TimeoutError:
                continue
            except ConnectionError:
                ended = True
            if ended:
                break
        assert ended


def test_a_job_that_lasts_is_not_given_up():
    with bench(Hasty) as (made, _, connection):
        there = connection()
        asked(there, "GET", "/slow/a")
        made.until_begun("a")
        time.sleep(1.0)
        made.end.set()
        assert status(all_of(there)) == 200


def test_the_rest_of_a_body_that_nobody_wants_is_not_awaited_for_ever():
    with bench(Hasty) as (_, _port, connection):
        there = connection()
        there.sendall(head("POST", "/api/chip", Content_Type=PARTS, Content_Length=10**9))
        assert status(there.recv(65536)) == 413
        there.settimeout(0.05)
        ended = False
        for _ in range(100):
            try:
                there.sendall(b"x")
                ended = there.recv(65536) == b""
            except TimeoutError:
                continue
            except ConnectionError:
                ended = True
            if ended:
                break
        assert ended


def test_who_sends_on_after_a_refusal_still_reads_it_and_may_ask_again():
    with bench() as (_, _port, connection):
        there = connection()
        body = b" " * 8_000_000
        there.sendall(
            head("POST", "/api/predict", Content_Type=JSON, Content_Length=len(body)) + body
        )
        assert status(there.recv(65536)) == 413
        asked(there, "POST", "/api/predict", JOB, kind=JSON)
        assert status(all_of(there)) == 200


def test_an_answer_that_is_not_taken_holds_neither_a_job_nor_a_connection():
    with bench(Hasty, light_jobs=1) as (made, _, connection):
        made.end.set()
        there = connection()
        asked(there, "GET", "/large")
        other = connection()
        time.sleep(0.1)
        asked(other, "GET", "/slow/a")
        assert status(all_of(other)) == 200
        time.sleep(1.0)
        assert len(all_of(there)) < 20_000_000


def test_there_are_so_many_connections_and_no_more():
    class Calm(PatientConnection):
        head_s = 1000.0

    with bench(Calm) as (_, _port, connection):
        for _ in range(MOST_CONNECTIONS):
            connection()
        over = connection()
        assert all_of(over) == b""
