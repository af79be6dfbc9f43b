"""What finished jobs teach, in the words in which the next job is told of them."""

from __future__ import annotations

from typing import Any

from showthrough.errors import InputError
from showthrough.film.coats import MOST_COATS
from showthrough.jobs.finished import finished_entry
from showthrough.records.learning.likelihood import Outcome as Told
from showthrough.records.store.opened import Store
from showthrough.records.store.outcomes import finished_for
from showthrough.records.store.rows import Finished, Result

_TOLD: dict[Result, Told] = {
    "enough": "enough",
    "not enough": "gave up",  # so many were not; nobody asks what was done then
    "gave up": "gave up",
    "did not look": "did not look",
}


def taught(store: Store) -> list[dict[str, Any]]:
    """Rows of ``finished`` for a job, one for each outcome that teaches, the latest last.

    Raises:
        StoreError: the records cannot be read or written.
    """
    return finished_for(store, lesson_of)


def lesson_of(done: Finished) -> dict[str, Any] | None:
    """What one finished job teaches; None where its log is a slip, or today's model refuses it."""
    outcome, job = done.outcome, done.job
    if outcome.group is not None:
        job = {**job, "group": [g for g in job["group"] if g["name"] == outcome.group]}
    counted = outcome.after <= MOST_COATS and outcome.failed_by in {None, "bleeding", "adhesion"}
    spent = None if outcome.minutes is None else {"topcoat": outcome.minutes / outcome.after}
    logged: dict[str, Any] = {
        "failed_by": outcome.failed_by if counted else None,
        "gauge_um": outcome.wet_film_um,
        "paint_ml": outcome.used_ml,
        "dried_h": outcome.recoat_h,
        **({} if outcome.area_m2 is None else {"area_m2": outcome.area_m2}),
    }
    try:
        entry = finished_entry(
            job,
            coats=outcome.after if counted else None,
            outcome=_TOLD[outcome.result],
            stopped_by=outcome.stopped_by or "colour",
            minutes=spent,
            **logged,
        )
    except InputError:
        return None
    return {"job": outcome.uuid, **entry}
