"""A quantity of which several may hold a part; who came first is served first."""

from __future__ import annotations

import asyncio
from collections import deque


class Share:
    """So much of something, in one event loop."""

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
