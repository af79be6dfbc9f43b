"""What the records teach a job: each finished job as an entry of a job file, and which of them.

A job that holds ``finished`` entries of its own is left with those: it says what it was learned
from. What a stored answer was learned from is kept with it, so that a quote can be reckoned again
after further jobs were finished. A lesson is kept beside its outcome with the model that drew it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import Connection

from showthrough.errors import InputError
from showthrough.film.coats import MOST_COATS
from showthrough.jobs.case.learned import paint_key
from showthrough.jobs.case.prepared import PreparedJob, prepare
from showthrough.jobs.finished import finished_entry
from showthrough.records.store.kept.answers import last_answer
from showthrough.records.store.kept.model import model_id
from showthrough.records.store.kept.reads import OUTCOME_LINE, finished_rows
from showthrough.records.store.opening.opened import Store
from showthrough.records.store.shape.rows import Finished, Outcome
from showthrough.records.store.shape.tables import OUTCOME
from showthrough.records.store.shape.texts import to_json

MOST_LESSONS = 200
"""Those of the same paint first, then of the same tool, then of any; the latest of each."""

_AS: Mapping[str, Literal["enough", "gave up", "did not look"]] = {
    "enough": "enough",
    "did not look": "did not look",
    "gave up": "gave up",
    "not enough": "gave up",  # as far as it is known: more than so many
}


def lesson_of(found: Finished) -> dict[str, Any] | None:
    """What one finished job teaches; None where today's model refuses the job."""
    outcome = found.outcome
    job: Mapping[str, Any] = {k: v for k, v in found.job.items() if k != "finished"}
    ways = () if found.answer is None else found.answer.get("ways", ())
    way: str | None = next((one["key"] for one in ways), None)
    if outcome.group is not None:
        rows = [row for row in job.get("group", ()) if row["name"] == outcome.group]
        job, way = {**job, "group": rows}, None
    for key in (way, None):
        # A way that was planned by another model may be none today: then today's leads.
        with suppress(InputError):
            return {"job": outcome.uuid, **finished_entry(job, way=key, **_told(outcome))}
    return None


def _told(outcome: Outcome) -> dict[str, Any]:
    """What was logged, in the words of an entry."""
    # What ran or was spoilt otherwise was not counted by its hiding; more than 12 are told of none.
    counted = outcome.after <= MOST_COATS and outcome.failed_by in {None, "bleeding", "adhesion"}
    spent = None if outcome.minutes is None else {"topcoat": outcome.minutes / outcome.after}
    return {
        "coats": outcome.after if counted else None,
        "outcome": _AS[outcome.result],
        "stopped_by": outcome.stopped_by or "colour",
        "failed_by": outcome.failed_by if counted else None,
        "gauge_um": outcome.wet_film_um,
        "paint_ml": outcome.used_ml,
        "dried_h": outcome.recoat_h,
        "minutes": spent,
        **({} if outcome.area_m2 is None else {"area_m2": outcome.area_m2}),
    }


def _finished(connection: Connection, row: Any) -> Finished:
    stored = last_answer(connection, row.job_id, row.job_version)
    answer = None if stored is None else stored.answer
    outcome = Outcome(*(getattr(row, column.name) for column in OUTCOME_LINE))
    return Finished(json.loads(row.job), answer, outcome)


Teach = Callable[[Finished], dict[str, Any] | None]
"""What a finished job teaches, as an entry of a job file; None where it teaches nothing."""


def finished_for(store: Store, teach: Teach = lesson_of) -> list[dict[str, Any]]:
    """What all finished jobs teach, each lesson drawn once for today's model.

    Args:
        store: the records.
        teach: draws one lesson.

    Raises:
        StoreError: the records cannot be read; new lessons that cannot be kept are drawn again.
    """
    model = model_id()
    lessons: list[dict[str, Any]] = []
    drawn: dict[int, str] = {}
    with store.reading() as connection:
        # What was seen half way is part of how the same coats came out in the end.
        last = {_asked(row): row for row in finished_rows(connection)}
        for row in sorted(last.values(), key=lambda row: row.id):
            if row.lesson_model == model:
                lesson = json.loads(row.lesson)
            else:
                lesson = teach(_finished(connection, row))
                drawn[row.id] = to_json(lesson)
            if lesson is not None:
                lessons.append(lesson)
    if drawn:
        with store.writing() as connection:
            for number, text in drawn.items():
                change = OUTCOME.update().where(OUTCOME.c.id == number)
                connection.execute(change.values(lesson=text, lesson_model=model))
    return lessons


def _asked(row: Any) -> tuple[object, ...]:
    """What outcomes have in common that tell of the same coats."""
    beyond = row.after > MOST_COATS
    # A version that only says that the job is done says the same job.
    return row.job_id, row.job, row.group_name, row.failed_by, beyond


def taught(store: Store, job: Mapping[str, Any], folder: Path | None = None) -> Mapping[str, Any]:
    """A job with what the records teach it; as it is where it says what it was learned from.

    Raises:
        InputError: with every problem of the job, by field.
        StoreError: the records cannot be read.
    """
    every = [] if job.get("finished") else finished_for(store)
    return {**job, "finished": chosen(every, prepare(job, folder))} if every else job


def chosen(every: Sequence[dict[str, Any]], job: PreparedJob) -> list[dict[str, Any]]:
    """Entries that a job is learned from, in their order."""
    key, tool = paint_key(job.topcoat), job.film.tool
    ranks = [
        (0 if entry["paint"] == key else 1 if entry["tool"] == tool else 2, -place)
        for place, entry in enumerate(every)
    ]
    return [every[place] for place in sorted(-place for _, place in sorted(ranks)[:MOST_LESSONS])]
