"""Diary files, read back by a general library."""

from __future__ import annotations

from datetime import UTC, datetime

import icalendar
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from showthrough.workshop.days.drying import Climate
from showthrough.workshop.days.hours import WorkingHours
from showthrough.workshop.days.ics import calendar_text
from showthrough.workshop.days.schedule import Piece, schedule
from showthrough.workshop.days.steps import Step

STAMP = datetime(2027, 2, 1, 12, tzinfo=UTC)
START = datetime(2027, 3, 26, 8, tzinfo=UTC)


def planned(*names, title="coat"):
    steps = (Step("wash", 1.9), Step("coat", 1.9, title, coats={2: 1.0}), Step("hardware on"))
    pieces = [Piece(name, steps) for name in names]
    return schedule(pieces, START, WorkingHours("Europe/Berlin"), Climate())


ONE = planned("cupboard")


def events(text):
    return list(icalendar.Calendar.from_ical(text).walk("VEVENT"))


def test_a_library_reads_every_stay_and_date_back():
    plan = planned("cupboard")
    found = events(calendar_text(plan, "Linen cupboard", STAMP))
    assert len(found) == len(plan.bookings) + 3
    for event, booking in zip(found, plan.bookings, strict=False):
        assert event["SUMMARY"] == f"Linen cupboard: {booking.title}"
        assert event["DTSTART"].dt == booking.start.replace(microsecond=0)
        assert event["DTEND"].dt == booking.end.replace(microsecond=0)
        assert event["DTSTAMP"].dt == STAMP
    (dates,) = plan.dates
    ends = [event["DTSTART"].dt for event in found[-3:]]
    assert ends == [m.replace(microsecond=0) for m in (dates.refit, dates.cure, dates.hand_over)]


def test_uids_are_single_ours_and_stay_when_planned_again():
    text = calendar_text(planned("a", "b"), "Job", STAMP)
    uids = [str(event["UID"]) for event in events(text)]
    assert len(set(uids)) == len(uids)
    assert all(uid.endswith("@showthrough.invalid") for uid in uids)
    again = calendar_text(planned("a", "b"), "Job", datetime(2027, 2, 2, tzinfo=UTC))
    assert [str(event["UID"]) for event in events(again)] == uids
    other = calendar_text(planned("a", "b"), "Another job", STAMP)
    assert set(uids).isdisjoint(str(event["UID"]) for event in events(other))


@settings(max_examples=60)
@example("ö" * 300)
@example("a" * 300)
@given(st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=200))
def test_any_title_comes_back_and_every_line_is_at_most_75_octets(title):
    # Source: RFC 5545, 3.1 (lines, folding) and 3.3.11 (escapes).
    text = calendar_text(ONE, title, STAMP)
    assert text.endswith("END:VCALENDAR\r\n")
    lines = text.encode().split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    assert all(b"\n" not in line and b"\r" not in line for line in lines)
    for line in lines:
        line.decode()  # no character is cut in two
    assert events(text)[0]["SUMMARY"] == f"{title}: wash"


@pytest.mark.parametrize("title", ["two\nlines; and, a \\ sign", "a\r\nBEGIN:VEVENT"])
def test_line_ends_and_signs_are_escaped(title):
    text = calendar_text(planned("cupboard"), title, STAMP)
    found = events(text)
    assert len(found) == len(events(calendar_text(planned("cupboard"), "plain", STAMP)))
    assert found[0]["SUMMARY"] == f"{title}: wash".replace("\r\n", "\n")


def test_control_signs_are_left_out():
    text = calendar_text(planned("cupboard", title="co\x00a\x07t"), "Job", STAMP)
    assert "Job: coat 1 of 2" in [str(event["SUMMARY"]) for event in events(text)]
