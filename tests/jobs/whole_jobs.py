"""What the tests of the whole job share: a fixed present, and what lies behind an answer."""

from __future__ import annotations

from datetime import UTC, datetime

from jobs.small_jobs import BROWN_FINISH, GREYISH_GREEN, patch, small_job
from showthrough import plan
from showthrough.jobs.bench.case import Case, bench_of, part_of
from showthrough.jobs.bench.order import whole_of
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.predict import predicted

NOW = datetime(2027, 1, 4, 9, tzinfo=UTC)
"""A Monday."""

CANS = [{"ml": 250, "price": "9.50"}, {"ml": 750, "price": "21.90"}, {"ml": 2500, "price": "58"}]
MONEY = {"currency": "EUR", "labour_per_hour": "24.00", "sheet": "0.80", "margin": "0.3"}


def whole(job):
    """The answer to a job at a fixed present."""
    return plan(job, now=NOW)


def reckoned(job):
    """What paint, days and money are reckoned from; for looking inside."""
    prepared = prepare(job)
    cases = []
    for group in prepared.groups or (prepared,):
        answer, found = predicted(group)
        cases.append(Case(group, found.ways, tuple(answer.plan), part_of(group)))
    return whole_of(tuple(cases), bench_of(prepared))


def priced_job(topcoat=GREYISH_GREEN, *surface, **more):
    """A small job with cans, prices and an area, unless it says groups."""
    if "group" not in more:
        more.setdefault("area_m2", 1.9)
    paint = {"cans": CANS, **more.pop("paint", {})}
    surface = surface or (patch(BROWN_FINISH, ground="varnish"),)
    return small_job(topcoat, *surface, paint=paint, **{"money": MONEY, **more})


def numbers(value):
    """Every number of an answer."""
    if isinstance(value, dict):
        for inner in value.values():
            yield from numbers(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from numbers(inner)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield value
