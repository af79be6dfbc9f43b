"""A clock that tests turn by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta


class Clock:
    """Each look at it is a second later."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 5, 31, 8, 30, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.moment += timedelta(seconds=1)
        return self.moment
