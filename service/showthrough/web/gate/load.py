"""How much is read and worked on at once.

A body is admitted before it is read: its length counts against what all bodies together may hold
until the answer is sent. When it is read, the request waits for its turn: few jobs run at once,
since they share the cores, and uploads have a queue of their own, so that neither stands behind
the other. Who waits too long is told to come again.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Coroutine
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from showthrough.web.body import check_length
from showthrough.web.gate.hosts import HARMLESS
from showthrough.web.gate.kinds import PARTS
from showthrough.web.gate.refusal import Refused


@dataclass(frozen=True, slots=True)
class Limits:
    """Bounds; bytes, seconds and jobs."""

    parts_bytes: int = 100_000_000
    """Of one multipart body."""
    plain_bytes: int = 4_000_000
    """Of one body of another kind; a route may take less."""
    all_parts_bytes: int = 128_000_000
    """Of all multipart bodies that are held."""
    all_plain_bytes: int = 48_000_000
    heavy_jobs: int = 2
    """Uploads that are worked on at once."""
    light_jobs: int = 3
    patience_s: float = 20.0
    """How long a request waits for its turn."""
    silence_s: float = 30.0
    """How long a body may pause."""
    body_s: float = 300.0
    """How long a whole body may take."""


class Share:
    """A quantity of which several may hold a part; who came first is served first."""

    def __init__(self, total: int) -> None:
        """All of it is free."""
        self.total = total
        self.free = total
        self._queue: deque[tuple[int, asyncio.Future[None]]] = deque()

    async def take(self, amount: int) -> int:
        """Wait for a part, and hold it until it is given back; never more than there is."""
        amount = min(amount, self.total)
        turn: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._queue.append((amount, turn))
        self._serve()
        try:
            await turn
        except asyncio.CancelledError:
            if turn.cancelled():
                self._serve()  # the next in the queue may need less
            else:
                self.give(amount)
            raise
        return amount

    def give(self, amount: int) -> None:
        """Give a part back."""
        self.free += amount
        self._serve()

    def _serve(self) -> None:
        while self._queue and (self._queue[0][1].done() or self._queue[0][0] <= self.free):
            amount, turn = self._queue.popleft()
            if not turn.done():
                self.free -= amount
                turn.set_result(None)


class _Shares:
    """What the requests of one event loop share."""

    def __init__(self, limits: Limits) -> None:
        self.loop = asyncio.get_running_loop()
        self.bytes = {True: Share(limits.all_parts_bytes), False: Share(limits.all_plain_bytes)}
        self.jobs = {True: Share(limits.heavy_jobs), False: Share(limits.light_jobs)}


class Load:
    """Lets in as much at once as there is room for."""

    def __init__(
        self,
        app: ASGIApp,
        limits: Limits | None = None,
        free: tuple[str, ...] = (),
        large: tuple[str, ...] = (),
    ) -> None:
        """Stand before the application.

        Args:
            app: what stands behind.
            limits: how much at once.
            free: addresses that begin with one of these have no queue.
            large: addresses whose bodies are bounded as uploads are, whatever their kind.
        """
        self.app = app
        self.limits = limits or Limits()
        self.free, self.large = free, large
        self._shares: _Shares | None = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        if self._shares is None or self._shares.loop is not asyncio.get_running_loop():
            self._shares = _Shares(self.limits)
        large = scope["path"] in self.large
        visit = _Visit(scope, receive, self._shares, self.limits, large=large)
        visit.queues = not scope["path"].startswith(self.free)
        try:
            if scope["method"] not in HARMLESS or await visit.begun():
                await self.app(scope, visit.receive, send)
        finally:
            visit.leave()


class _Visit:
    """One request: what it holds of what is shared."""

    def __init__(
        self, scope: Scope, receive: Receive, shares: _Shares, limits: Limits, *, large: bool
    ) -> None:
        headers = Headers(scope=scope)
        self.limits, self.shares, self.queues = limits, shares, True
        self.upload = large or headers.get("content-type", "").lower().startswith(PARTS)
        self.most = limits.parts_bytes if self.upload else limits.plain_bytes
        default = self.most if "transfer-encoding" in headers else 0
        self.length = int(headers.get("content-length", default))
        self._receive = receive
        self._bytes = self._jobs = self._read = 0
        self._whole = False
        self._until = 0.0
        self._first: Message | None = None

    async def begun(self) -> bool:
        """Wait for the turn of a request without a body; false where its client left."""
        if self.length:
            await self._turn(watching=False)
            return True
        self._first = await self.receive()
        return self._first["type"] == "http.request"

    async def receive(self) -> Message:
        """The next piece of the body; the last comes when it is the request's turn."""
        if self._first is not None:
            first, self._first = self._first, None
            return first
        if self._whole:
            return await self._receive()
        now = asyncio.get_running_loop().time()
        if not self._until:
            check_length(self.length, self.most)
            if self.length:
                self._bytes = await self._wait(self.shares.bytes[self.upload].take(self.length))
            now = asyncio.get_running_loop().time()
            self._until = now + self.limits.body_s
        try:
            async with asyncio.timeout_at(min(now + self.limits.silence_s, self._until)):
                message = await self._receive()
        except TimeoutError:
            slow = "the rest of the body did not come in time; send it again"
            raise Refused.at(408, "body", "", slow, {"Connection": "close"}) from None
        self._read += len(message.get("body", b""))
        check_length(self._read, self.most)
        self._whole = not message.get("more_body", False)
        if self._whole and message["type"] == "http.request":
            await self._turn()
        return message

    async def _turn(self, *, watching: bool = True) -> None:
        """Wait until the job may run; given up where the client leaves meanwhile."""
        if self.queues:
            # Nothing more comes from the client but its end.
            gone = asyncio.ensure_future(self._receive()) if watching else None
            try:
                self._jobs = await self._wait(self.shares.jobs[self.upload].take(1), gone)
            finally:
                if gone is not None:
                    gone.cancel()

    async def _wait(
        self, taking: Coroutine[Any, Any, int], gone: asyncio.Future[Message] | None = None
    ) -> int:
        """What was taken in time, and before the client went."""
        turn = asyncio.ensure_future(taking)
        both: set[asyncio.Future[Any]] = {turn} if gone is None else {turn, gone}
        try:
            await asyncio.wait(
                both, timeout=self.limits.patience_s, return_when=asyncio.FIRST_COMPLETED
            )
            if turn.done():
                return turn.result()
        finally:
            turn.cancel()
        busy = "more is asked at once than this machine can do; try again in a little while"
        raise Refused.at(503, "", "", busy, {"Retry-After": "10"})

    def leave(self) -> None:
        """Give all back."""
        self.shares.jobs[self.upload].give(self._jobs)
        self.shares.bytes[self.upload].give(self._bytes)
