"""A job's answer as it is stored, with the model that gave it; and the same reckoned again.

A quote stands by what was known when it was made: the answer is kept as it was, and to reckon it
again takes the clock of that time. Where the two differ, the model or its defaults did.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, select

from showthrough.errors import InputError
from showthrough.jobs.answers.whole import WholeJob
from showthrough.jobs.case.prepared import PreparedJob, prepare
from showthrough.jobs.whole import plan
from showthrough.records.store.kept.model import defaults_now, model_id, pin_model
from showthrough.records.store.opening.opened import time_text
from showthrough.records.store.shape.differ import differences
from showthrough.records.store.shape.rows import Rerun, StoredAnswer
from showthrough.records.store.shape.tables import ANSWER, MODEL, next_number
from showthrough.records.store.shape.texts import new_uuid, standalone, to_json


class Reckoned(NamedTuple):
    """A job in words of its own, beside its answer."""

    job: dict[str, Any]
    answer: WholeJob
    moment: datetime
    finished: list[dict[str, Any]]
    """What it was learned from, beside what the job itself says of that."""


Lessons = Callable[[PreparedJob], list[dict[str, Any]]]
"""What finished jobs teach a job, as entries of a job file."""


def reckon(
    job: Mapping[str, Any],
    folder: Path | None,
    moment: datetime,
    begun: datetime | None = None,
    lessons: Lessons | None = None,
) -> Reckoned:
    """Check a job and answer it.

    Args:
        job: as in a job file.
        folder: where files that it names are looked for; None refuses files.
        moment: the present; work begins then where the job states no start.
        begun: since when the job is kept; a start that was to come then may have passed.
        lessons: asked where the job says nothing of finished ones itself.

    Raises:
        InputError: with every problem of the job, by field.
    """
    prepared = prepare(job, folder)
    finished = lessons(prepared) if lessons is not None and not job.get("finished") else []
    if finished:
        prepared = prepare({**job, "finished": finished}, folder)
    try:
        answer = plan(prepared, now=moment)
    except InputError as error:
        if begun is None or {p.field for p in error.problems} != {"days.start"}:
            raise
        moment = begun
        answer = plan(prepared, now=moment)
    return Reckoned(standalone(job, folder), answer, moment, finished)


def put_answer(connection: Connection, number: int, version: int, reckoned: Reckoned) -> None:
    """Keep the answer of a version of a job, and pin the model that gave it."""
    made = time_text(reckoned.moment)
    values = {
        "id": next_number(connection, ANSWER.c.id),
        "uuid": new_uuid(),
        "job_id": number,
        "job_version": version,
        "model_id": pin_model(connection, made),
        "answer": packed(reckoned.answer.model_dump_json()),
        "made": made,
        "finished": packed(to_json(reckoned.finished)) if reckoned.finished else None,
    }
    connection.execute(ANSWER.insert().values(values))


def packed(text: str) -> bytes:
    """An answer's JSON as it is kept."""
    return zlib.compress(text.encode("utf-8"))


def unpacked(content: bytes) -> Any:
    """What was kept so."""
    return json.loads(zlib.decompress(content))


def last_answer(connection: Connection, number: int, version: int) -> StoredAnswer | None:
    """The last answer of a job up to one of its versions."""
    query = (
        select(ANSWER, MODEL.c.release)
        .join(MODEL, MODEL.c.id == ANSWER.c.model_id)
        .where(ANSWER.c.job_id == number, ANSWER.c.job_version <= version)
        .order_by(ANSWER.c.job_version.desc(), ANSWER.c.id.desc())
        .limit(1)
    )
    row = connection.execute(query).first()
    if row is None:
        return None
    answer = dict(unpacked(row.answer))
    finished = [] if row.finished is None else unpacked(row.finished)
    kept = (row.uuid, row.job_version, row.made, row.release, row.model_id)
    return StoredAnswer(*kept, answer, finished)


def rerun(
    connection: Connection, job: Mapping[str, Any], stored: StoredAnswer, lessons: Lessons
) -> Rerun:
    """Reckon a stored job again with today's model, with the clock of its answer.

    Args:
        connection: of the store that keeps the answer.
        job: the version of the job that was answered.
        stored: its answer.
        lessons: asked for today's plan, where the job says nothing of finished ones itself.

    Raises:
        InputError: today's model refuses the job; by field.
    """
    moment = datetime.fromisoformat(stored.made)
    told = [] if job.get("finished") else lessons(prepare(job))
    answer = plan({**job, "finished": stored.finished} if stored.finished else job, now=moment)
    planned = answer
    if told != stored.finished:
        planned = plan({**job, "finished": told}, now=moment)
    today = dict(json.loads(answer.model_dump_json()))
    found = list(differences(stored.answer, today))
    why: list[str] = []
    if found:
        query = select(MODEL.c.defaults).where(MODEL.c.id == stored.model_id)
        pinned = json.loads(connection.execute(query).scalar_one())
        changed = list(differences(pinned, defaults_now()))
        why = [f"default {d.field}: {_said(d.before)} became {_said(d.after)}" for d in changed]
        if stored.model_id != model_id() and not changed:
            why.append("the model itself changed, none of its defaults did")
        elif stored.model_id == model_id():
            why.append("the same model: a library or the zone of this computer's clock changed")
    taught = (len(stored.finished), len(told))
    return Rerun(today, found, why, planned.headline, *taught)


def _said(value: Any) -> str:
    if isinstance(value, list):
        number, low, high, sd = value
        span = f" ({low:g} to {high:g})" if low is not None and high is not None else ""
        return f"{number:g}{span}{f' x/÷ {sd:g}' if sd is not None else ''}"
    return "nothing" if value is None else f"{value:g}"
