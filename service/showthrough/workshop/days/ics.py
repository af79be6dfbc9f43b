"""A schedule as an iCalendar file that any diary takes (RFC 5545)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from unicodedata import category

from showthrough.workshop.days.schedule import Schedule

DOMAIN = "showthrough.invalid"
"""Right part of each UID; .invalid belongs to nobody (RFC 2606)."""

_LEFT_OUT = {"Cc", "Cs", "Zl", "Zp"}
"""Control signs, half characters and line ends of other alphabets: no text of RFC 5545."""

_LONGEST = 75
"""Octets of a content line before it is folded (RFC 5545, 3.1)."""


def calendar_text(schedule: Schedule, job: str, stamp: datetime) -> str:
    """The stays at the bench and the dates of each piece as calendar events.

    Args:
        schedule: what is planned.
        job: the job's title; it also makes the UIDs, so that the events of a schedule that
            is planned again replace the old ones.
        stamp: when this was made, an aware moment.

    Returns:
        Text with lines ended by CR LF and folded at 75 octets.

    Source:
        RFC 5545, sections 3.1, 3.3.11 (escapes) and 3.6.1.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:-//{DOMAIN}//Showthrough//EN"]
    for key, title, start, end, note in _events(schedule):
        uid = sha256(f"{job}|{key}".encode()).hexdigest()[:32]
        lines += [
            "BEGIN:VEVENT",
            f"UID:{uid}@{DOMAIN}",
            f"DTSTAMP:{_utc(stamp)}",
            f"DTSTART:{_utc(start)}",
            f"DTEND:{_utc(end)}",
            f"SUMMARY:{_escaped(f'{job}: {title}')}",
        ]
        if note:
            lines.append(f"DESCRIPTION:{_escaped(note)}")
        lines.append("END:VEVENT")
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines)


def _events(schedule: Schedule) -> Iterator[tuple[str, str, datetime, datetime, str]]:
    several = len(schedule.dates) > 1
    for place, booking in enumerate(schedule.bookings):
        title = f"{booking.piece}: {booking.title}" if several else booking.title
        minutes = f"{booking.minutes:.0f} min at the bench"
        # RFC 5545, 3.6.1: an event's end comes after its start.
        for part, (start, end) in enumerate(booking.spans):
            key = f"{place}|{part}"
            yield key, title, start, max(end, start + timedelta(minutes=1)), minutes
    handed = [dates for dates in schedule.dates if dates.hand_over is not None]
    for dates in schedule.dates:
        for name, moment, note in (
            ("refit", dates.refit, "May be refitted and stacked from now on."),
            ("full cure", dates.cure, "May be washed, waxed and loaded from now on."),
            ("hand-over", dates.hand_over, ""),
        ):
            if moment is not None:
                alone = not several or (name == "hand-over" and len(handed) == 1)
                title = name if alone else f"{dates.piece}: {name}"
                until = moment + timedelta(minutes=15)
                yield f"{dates.piece}|{name}", title, moment, until, note


def _utc(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def _escaped(text: str) -> str:
    plain = "".join(
        c for c in text.replace("\r\n", "\n") if c in "\n\t" or category(c) not in _LEFT_OUT
    )
    for sign in ("\\", ";", ","):
        plain = plain.replace(sign, f"\\{sign}")
    return plain.replace("\n", "\\n")


def _folded(line: str) -> str:
    parts, size = [""], 0
    for char in line:
        octets = len(char.encode())
        if size + octets > _LONGEST:
            parts.append("")
            size = 1  # the space that a folded line begins with
        parts[-1] += char
        size += octets
    return "\r\n ".join(parts)
