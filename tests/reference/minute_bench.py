"""One piece at the bench, minute by minute: Monday to Friday, 8 to 12 and 13 to 17, UTC.

Waiting is kept in microseconds as datetimes are; work steps on in whole minutes from the
moment it may begin.
"""

from __future__ import annotations

from datetime import timedelta

MINUTE = timedelta(minutes=1)


def _left_today(moment):
    """Whole stretch of work from a moment on, or None outside of it."""
    if moment.weekday() >= 5:
        return None
    clock = moment - moment.replace(hour=0, minute=0, second=0, microsecond=0)
    for first, last in ((8, 12), (13, 17)):
        if timedelta(hours=first) <= clock < timedelta(hours=last):
            return timedelta(hours=last) - clock
    return None


def _next_open(moment):
    while _left_today(moment) is None:
        moment = moment.replace(second=0, microsecond=0) + MINUTE
    return moment


def finish(tasks, start):
    """When the last task is done."""
    now = ready = handled = start
    for task in tasks:
        at = max(ready, handled) if task.after_films else ready
        now = _next_open(max(at, now))
        left = timedelta(minutes=task.minutes)
        if task.whole:
            wanted = min(left, timedelta(hours=4))
            while _left_today(now) < wanted:
                now = _next_open(now + _left_today(now))
        while left > timedelta(0):
            now = _next_open(now)
            did = min(left, _left_today(now))
            now += did
            left -= did
        ready = now + timedelta(hours=task.wait_h)
        if task.laid:
            handled = max(handled, now + timedelta(hours=task.handle_h))
    return now
