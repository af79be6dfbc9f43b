"""Days as they stand on paper."""

from __future__ import annotations

from datetime import datetime


def long_day(moment: str) -> str:
    """A day with its year, from ISO 8601: "4 December 2026"."""
    day = datetime.fromisoformat(moment)
    return f"{day.day} {day:%B %Y}"


def week_day(moment: str) -> str:
    """The same with the day of the week: "Friday 4 December 2026"."""
    return f"{datetime.fromisoformat(moment):%A} {long_day(moment)}"
