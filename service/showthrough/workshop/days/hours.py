"""The hours that a painter really works: weekdays, days off, time zones, clock changes.

All reckoning is in UTC; local clock times are only read and shown. A night in which the
clocks change is an hour longer or shorter, and waiting paint does not care.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from showthrough.defaults import defaults_of
from showthrough.errors import InputError, ProblemList

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

Spans = tuple[tuple[time, time], ...]

_SPAN = re.compile(r"(\d{1,2}):(\d\d)\s*[-–]\s*(\d{1,2}):(\d\d)")
_USUAL: Spans = ((time(8), time(12)), (time(13), time(17)))
USUAL_WEEK: Mapping[str, Spans] = dict.fromkeys(DAYS[:5], _USUAL)
"""Monday to Friday, 8 to 12 and 13 to 17 (common practice, no source)."""

DEFAULTS = defaults_of("week")
"""What is taken where the painter does not say."""

FAR_DAYS = 730
"""Days that are searched for a free hour; beyond them the hours are wrong."""


def zone_of(name: str) -> ZoneInfo:
    """A time zone by its name in the IANA database.

    Raises:
        InputError: there is none of that name.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError, TypeError):
        message = "is not a time zone; Europe/Berlin, America/New_York or UTC works"
        raise InputError.at("zone", name, message, "unknown") from None


@lru_cache(maxsize=4096)
def _in_utc(zone: str, day: date, spans: Spans) -> tuple[tuple[datetime, datetime], ...]:
    """A day's spans in UTC, without those that a clock change leaves out whole."""
    local = ZoneInfo(zone)
    both = (
        tuple(datetime.combine(day, clock, local).astimezone(UTC) for clock in span)
        for span in spans
    )
    return tuple((begins, ends) for begins, ends in both if begins < ends)


@dataclass(frozen=True, slots=True)
class WorkingHours:
    """When somebody stands at the bench.

    Raises:
        InputError: an unknown zone or day, spans that end before they begin or overlap, or
            no hour at all.
    """

    zone: str = "UTC"
    week: Mapping[str, Spans] = field(default_factory=lambda: USUAL_WEEK)
    """Spans of local clock time by day: mon, tue, wed, thu, fri, sat, sun."""
    days_off: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        with ProblemList() as wrong:
            with wrong.collecting():
                zone_of(self.zone)
            for day, spans in self.week.items():
                if day not in DAYS:
                    wrong.add(f"week.{day}", day, f"is no day; one of {', '.join(DAYS)} works")
                before = None
                for start, end in spans:
                    told = f"{start:%H:%M}-{end:%H:%M}"
                    if start >= end:
                        message = f"{told} ends before it begins; split a night at midnight"
                        wrong.add(f"week.{day}", told, message, "order")
                    elif before is not None and start < before:
                        wrong.add(f"week.{day}", told, f"{told} overlaps the span before", "order")
                    before = end
            if not any(self.week.values()):
                wrong.add("week", "none", "gives no hour of work at all", "missing")

    def spans_from(self, begin: datetime) -> Iterator[tuple[datetime, datetime]]:
        """Spans of work that end after a moment, in UTC, for two years.

        A clock time that a clock change leaves out is read as the moment that it would
        have been, as zoneinfo does; a span that is left out whole is skipped.

        Args:
            begin: an aware moment.
        """
        first = begin.astimezone(ZoneInfo(self.zone)).date()
        for ahead in range(FAR_DAYS):
            day = first + timedelta(days=ahead)
            spans = self.week.get(DAYS[day.weekday()], ())
            if not spans or day in self.days_off:
                continue
            for begins, ends in _in_utc(self.zone, day, tuple(spans)):
                if begin < ends:
                    yield max(begins, begin), ends

    def fit(
        self, ready: datetime, minutes: float, *, whole: bool
    ) -> tuple[tuple[datetime, datetime], ...]:
        """When a stay at the bench happens that may begin at a moment.

        Args:
            ready: earliest moment, aware.
            minutes: its length.
            whole: must not be broken off; one longer than any span starts with a span and
                is broken off all the same, since it could never be done otherwise.

        Returns:
            Its spans in UTC, one unless it is broken off.

        Raises:
            InputError: no hour is free within two years.
        """
        left = timedelta(minutes=minutes)
        longest = max(
            (
                datetime.combine(date.min, end) - datetime.combine(date.min, start)
                for spans in self.week.values()
                for start, end in spans
            ),
        )
        unbroken = whole and left <= longest
        found: list[tuple[datetime, datetime]] = []
        full_only = whole and not unbroken
        for begins, ends in self.spans_from(ready):
            if unbroken and ends - begins < left:
                continue
            if full_only and not found and ends - begins < longest:
                continue
            done = min(ends, begins + left)
            found.append((begins, done))
            left -= done - begins
            if left <= timedelta(0):
                return tuple(found)
        message = f"no free hours for {minutes:.0f} min within {FAR_DAYS} days; mend the days off"
        raise InputError.at("week", f"{minutes:.0f} min", message, "no_time")


def read_hours(raw: Mapping[str, Any]) -> WorkingHours:
    """Working hours from a plain table.

    Args:
        raw: ``zone`` (a name), ``week`` (by day, texts such as "08:00-12:00, 13:00-17:00")
            and ``days_off`` (dates or texts such as "2027-05-01"), each optional.

    Raises:
        InputError: everything that is wrong, by field.
    """
    week: dict[str, Spans] = dict(USUAL_WEEK)
    told = raw.get("week")
    with ProblemList() as wrong:
        if isinstance(told, Mapping):
            week = {}
            for day, text in told.items():
                with wrong.collecting(f"week.{day}"):
                    week[str(day)] = _spans(text)
        elif told is not None:
            wrong.add(
                "week", told, "must give each day its hours, as mon = 08:00-12:00, 13:00-17:00"
            )
        off = set()
        listed = raw.get("days_off", ())
        if not isinstance(listed, list | tuple | set | frozenset):
            wrong.add("days_off", listed, "must be a list of dates, as 2027-05-01")
            listed = ()
        for place, one in enumerate(listed, 1):
            try:
                off.add(one if type(one) is date else date.fromisoformat(one))
            except (ValueError, TypeError):
                wrong.add(
                    f"days_off[{place}]", one, "is not a date; 2027-05-01 works", "not_a_date"
                )
        with wrong.collecting():
            hours = WorkingHours(raw.get("zone", "UTC"), week or USUAL_WEEK, frozenset(off))
    return hours


def _spans(text: Any) -> Spans:
    parts = (
        [part.strip() for part in text.split(",") if part.strip()]
        if isinstance(text, str)
        else [""]
    )
    found = [_SPAN.fullmatch(part) for part in parts]
    try:
        clocks = [[int(digits) for digits in match.groups()] for match in found if match]
        spans = tuple((time(h1, m1), time(h2, m2)) for h1, m1, h2, m2 in clocks)
    except ValueError:
        spans = ()
    if len(spans) < len(parts):
        message = "is not read; 08:00-12:00, 13:00-17:00 works"
        raise InputError.at("", text, message, "not_a_time")
    return spans


def read_start(text: str, zone: str, now: datetime) -> datetime:
    """The moment from which work may begin.

    Args:
        text: ISO 8601, as 2027-03-01 or 2027-03-01T08:00, in local clock time of the zone,
            or with an offset.
        zone: name of the time zone.
        now: the present, aware; a day without clock time may be today.

    Returns:
        The moment in UTC.

    Raises:
        InputError: not a time, a clock time that does not exist or stands twice in the
            night of a clock change, or in the past.
    """
    local = zone_of(zone)
    try:
        moment = datetime.fromisoformat(text.strip())
    except (ValueError, AttributeError, TypeError):
        message = "is not a date; 2027-03-01 or 2027-03-01T08:00 works"
        raise InputError.at("start", text, message, "not_a_date") from None
    if not 1970 < moment.year < 2200:
        raise InputError.at("start", text, "the year must be from 1971 to 2199", "out_of_range")
    day_alone = len(text.strip()) <= len("2027-03-01")
    if moment.tzinfo is None:
        # A day alone begins with its first moment, also where the clocks leave out midnight.
        moment = moment.replace(tzinfo=local) if day_alone else _local_moment(moment, local, text)
    found = moment.astimezone(UTC)
    if day_alone and found.astimezone(local).date() == now.astimezone(local).date():
        return now.astimezone(UTC)
    if found < now:
        told = now.astimezone(local).strftime("%Y-%m-%dT%H:%M")
        message = f"is in the past (it is {told} in {zone}); a later start works"
        raise InputError.at("start", text, message, "past")
    return found


def _local_moment(moment: datetime, local: ZoneInfo, text: str) -> datetime:
    first, second = (moment.replace(tzinfo=local, fold=fold) for fold in (0, 1))
    back = first.astimezone(UTC).astimezone(local).replace(tzinfo=None)
    if back != moment:
        message = f"does not exist: the clocks go forward that night; {back:%Y-%m-%dT%H:%M} works"
        raise InputError.at("start", text, message, "clock_change")
    if first.utcoffset() != second.utcoffset():
        works = " or ".join(one.isoformat(timespec="minutes") for one in (first, second))
        message = f"stands twice that night: the clocks go back; {works} works"
        raise InputError.at("start", text, message, "clock_change")
    return first
