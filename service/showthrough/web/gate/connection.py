"""A connection that says nothing, or takes nothing, is closed."""

from __future__ import annotations

import asyncio
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

MOST_CONNECTIONS = 256
"""At once; more are closed as they come."""


class PatientConnection(H11Protocol):
    """HTTP/1.1 with bounds on every wait; the server's own bound only waits between requests."""

    head_s = 15.0
    """How long the head of a request may take, from the first moment of its connection."""
    drain_s = 30.0
    """How long a client may leave an answer untaken."""
    rest_s = 30.0
    """How long the rest of a body is read, and thrown away, after its refusal."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Not connected yet."""
        super().__init__(*args, **kwargs)
        self._timers: dict[str, asyncio.TimerHandle] = {}

    def _within(self, what: str, seconds: float) -> None:
        if what not in self._timers:
            self._timers[what] = self.loop.call_later(seconds, self.transport.abort)

    def _done(self, *whats: str) -> None:
        for what in whats:
            if timer := self._timers.pop(what, None):
                timer.cancel()

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override] # its own is wider
        """Close at once where there are too many; else wait for a head."""
        super().connection_made(transport)
        if len(self.connections) > MOST_CONNECTIONS:
            transport.abort()
        else:
            self._within("head", self.head_s)

    def connection_lost(self, exc: Exception | None) -> None:
        """No more waits."""
        self._done(*list(self._timers))
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Read on; the time for a head ends with it, not with its next byte."""
        super().data_received(data)
        self._watch()

    def on_response_complete(self) -> None:
        """Wait for the next head, or for the end of a body that nobody wants."""
        super().on_response_complete()
        if self.conn.their_state is h11.SEND_BODY:
            self._watch()

    def _watch(self) -> None:
        if self.cycle is not None and not self.cycle.response_complete:
            self._done("head", "rest")
        elif self.conn.their_state is h11.SEND_BODY:
            self._within("rest", self.rest_s)
        else:
            self._done("rest")
            self._within("head", self.head_s)

    def pause_writing(self) -> None:
        """The client takes nothing for now."""
        super().pause_writing()
        self._within("drain", self.drain_s)

    def resume_writing(self) -> None:
        """It takes the answer."""
        super().resume_writing()
        self._done("drain")
