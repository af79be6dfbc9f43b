"""Working hours over days off and clock changes, and starts that cannot be."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showthrough.errors import InputError
from showthrough.workshop.days.hours import (
    DAYS,
    USUAL_WEEK,
    WorkingHours,
    read_hours,
    read_start,
    zone_of,
)

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2027, 1, 4, 10, 0, tzinfo=UTC)  # a Monday
ALL_NIGHT = WorkingHours("Europe/Berlin", dict.fromkeys(DAYS, ((time(0), time(6)),)))


def at(*clock):
    return datetime(*clock, tzinfo=BERLIN)


# --- fitting work in -------------------------------------------------------------------


def test_work_waits_for_the_hours_and_breaks_at_noon():
    hours = WorkingHours("Europe/Berlin")
    ((begin, end),) = hours.fit(at(2027, 1, 4, 6), 60, whole=True)
    assert (begin, end) == (at(2027, 1, 4, 8), at(2027, 1, 4, 9))
    broken = hours.fit(at(2027, 1, 4, 11, 30), 60, whole=False)
    assert broken == (
        (at(2027, 1, 4, 11, 30), at(2027, 1, 4, 12)),
        (at(2027, 1, 4, 13), at(2027, 1, 4, 13, 30)),
    )
    ((begin, _),) = hours.fit(at(2027, 1, 4, 11, 30), 60, whole=True)
    assert begin == at(2027, 1, 4, 13)


def test_weekends_and_days_off_are_left_out():
    hours = WorkingHours("Europe/Berlin", days_off=frozenset({date(2027, 1, 11)}))
    ((begin, _),) = hours.fit(at(2027, 1, 8, 17), 30, whole=True)  # a Friday evening
    assert begin == at(2027, 1, 12, 8)


def test_a_coat_longer_than_any_span_starts_with_one():
    parts = WorkingHours("Europe/Berlin").fit(at(2027, 1, 4, 10), 300, whole=True)
    assert parts[0][0] == at(2027, 1, 4, 13)
    assert sum(((end - begin) for begin, end in parts), timedelta(0)) == timedelta(minutes=300)


def test_a_night_of_clock_change_is_an_hour_shorter_or_longer():
    # Source: European Union summer time, 28 March and 31 October 2027 (IANA data).
    for day, real in (((2027, 3, 28), 5), ((2027, 3, 27), 6), ((2027, 10, 31), 7)):
        span = next(ALL_NIGHT.spans_from(datetime(*day, tzinfo=BERLIN)))
        assert span[1] - span[0] == timedelta(hours=real)


def test_a_span_that_the_clocks_leave_out_whole_is_skipped():
    short = WorkingHours("Europe/Berlin", {"sun": ((time(2), time(2, 30)),)})
    ((begin, end),) = short.fit(at(2027, 3, 27, 12), 30, whole=True)
    assert end - begin == timedelta(minutes=30)
    lost = WorkingHours("Europe/Berlin", {"sun": ((time(2, 30), time(3, 15)),)})
    ((begin, _),) = lost.fit(at(2027, 3, 27, 12), 30, whole=False)
    assert begin == at(2027, 4, 4, 2, 30)


@given(
    st.integers(0, 60 * 24 * 730),
    st.integers(0, 1500),
    st.booleans(),
    st.sampled_from(["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "UTC"]),
)
def test_work_is_done_in_full_within_the_hours_and_never_before(later, minutes, whole, zone):
    hours = WorkingHours(zone)
    ready = NOW + timedelta(minutes=later)
    parts = hours.fit(ready, minutes, whole=whole)
    assert sum((end - begin for begin, end in parts), timedelta(0)) == timedelta(minutes=minutes)
    before = ready
    for begin, end in parts:
        assert before <= begin <= end
        before = end
        local = begin.astimezone(zone_of(zone)), end.astimezone(zone_of(zone))
        spans = USUAL_WEEK[DAYS[local[0].weekday()]]
        assert any(first <= local[0].time() and local[1].time() <= last for first, last in spans)
    if whole and minutes <= 240:
        assert len(parts) == 1


# --- the start -------------------------------------------------------------------------


def test_a_start_is_local_clock_time_unless_it_has_an_offset():
    assert read_start("2027-07-01T08:00", "Europe/Berlin", NOW) == at(2027, 7, 1, 8)
    assert read_start("2027-07-01T08:00+00:00", "Europe/Berlin", NOW) == at(2027, 7, 1, 10)
    assert read_start("2027-07-01", "America/New_York", NOW).hour == 4


def test_today_begins_now():
    assert read_start("2027-01-04", "Europe/Berlin", NOW) == NOW


def test_a_day_whose_midnight_the_clocks_leave_out_is_a_day_all_the_same():
    # Source: IANA data: in Beirut the clocks go forward at midnight, 28 March 2027.
    start = read_start("2027-03-28", "Asia/Beirut", NOW)
    assert start.astimezone(ZoneInfo("Asia/Beirut")).date() == date(2027, 3, 28)


@pytest.mark.parametrize(
    ("text", "code", "works"),
    [
        ("2026-12-31", "past", "2027-01-04T11:00"),
        ("2027-01-04T10:59", "past", "in the past"),
        ("2027-03-28T02:30", "clock_change", "2027-03-28T03:30"),
        ("2027-10-31T02:30", "clock_change", "2027-10-31T02:30+01:00"),
        ("2027-02-30", "not_a_date", "2027-03-01"),
        ("soon", "not_a_date", "2027-03-01"),
        ("0001-01-01", "out_of_range", "1971"),
        ("9999-12-31T23:59-12:00", "out_of_range", "2199"),
        (None, "not_a_date", "2027-03-01"),
        (b"2027-03-01", "not_a_date", "2027-03-01"),
    ],
)
def test_a_start_that_cannot_be_is_refused_with_what_works(text, code, works):
    with pytest.raises(InputError, match=works.replace("+", r"\+")) as caught:
        read_start(text, "Europe/Berlin", NOW)
    (problem,) = caught.value.problems
    assert (problem.field, problem.code) == ("start", code)


def test_a_start_offered_for_a_clock_change_is_accepted():
    for text in ("2027-03-28T03:30", "2027-10-31T02:30+01:00", "2027-10-31T02:30+02:00"):
        assert read_start(text, "Europe/Berlin", NOW).date() in {
            date(2027, 3, 28),
            date(2027, 10, 31),
        }


# --- hours from a table ----------------------------------------------------------------


def test_hours_are_read_from_a_plain_table():
    found = read_hours(
        {
            "zone": "Europe/Berlin",
            "week": {"sat": "8:00-12:00, 13:00 – 15:30", "sun": ""},
            "days_off": ["2027-01-09", date(2027, 1, 16)],
        }
    )
    ((begin, end),) = found.fit(NOW, 150, whole=True)
    assert (begin, end) == (at(2027, 1, 23, 8), at(2027, 1, 23, 10, 30))
    assert read_hours({}) == WorkingHours()


def test_everything_wrong_with_a_table_of_hours_is_told_at_once():
    with pytest.raises(InputError) as caught:
        read_hours(
            {
                "zone": 5,
                "week": {"mon": "8 to 12", "tue": 8, "thu": "25:00-26:00", "fri": "17:00-8:00"},
                "days_off": ["today", 5, NOW],
            }
        )
    fields = {p.field for p in caught.value.problems}
    assert fields == {"zone", "week.mon", "week.tue", "week.thu", "week.fri"} | {
        f"days_off[{n}]" for n in (1, 2, 3)
    }
    with pytest.raises(InputError) as caught:
        read_hours({"week": "always", "days_off": "2027-01-01"})
    assert {p.field for p in caught.value.problems} == {"week", "days_off"}


# --- hours that cannot be --------------------------------------------------------------


def test_everything_wrong_with_the_hours_is_told_at_once():
    week = {
        "mon": ((time(17), time(8)),),
        "tue": ((time(8), time(12)), (time(11), time(13))),
        "moonday": ((time(8), time(12)),),
    }
    with pytest.raises(InputError) as caught:
        WorkingHours("Mars/Olympus", week)
    fields = {p.field for p in caught.value.problems}
    assert fields == {"zone", "week.mon", "week.tue", "week.moonday"}
    with pytest.raises(InputError, match="no hour of work"):
        WorkingHours("UTC", {"mon": ()})


@pytest.mark.parametrize("name", ["", "../etc/passwd", "Nowhere", "/etc/localtime", None, 5, []])
def test_a_zone_is_a_name_in_the_database(name):
    with pytest.raises(InputError, match="not a time zone"):
        zone_of(name)


def test_hours_that_never_come_are_refused():
    first = date(2027, 1, 1)
    off = frozenset(first + timedelta(days=n) for n in range(800))
    with pytest.raises(InputError, match="no free hours"):
        WorkingHours("UTC", days_off=off).fit(NOW, 30, whole=True)
