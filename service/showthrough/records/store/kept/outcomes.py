"""How jobs came out, and which steps were done; each can be taken back.

A job that came out is done, and runs again once that is taken back; one that was put away stays
so. What an outcome teaches is drawn in ``lessons``.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import get_args

from sqlalchemy import Connection, select

from showthrough.errors import InputError, ProblemList, UnknownError, shown
from showthrough.records.store.kept.jobs import number_of, open_job, put_state
from showthrough.records.store.kept.reads import OUTCOME_LINE, STEP, steps_of
from showthrough.records.store.opening.opened import Store, time_text
from showthrough.records.store.shape.rows import FailedBy, Outcome, Result, StepDone, StoppedBy
from showthrough.records.store.shape.tables import OUTCOME, STEP_DONE, next_number
from showthrough.records.store.shape.texts import checked_line, checked_number, new_uuid

MOST_AFTER = 40
"""Topcoats beyond which a count is a slip of the pen."""

_BOUNDS = {
    "used_ml": (0.1, 1e6),
    "area_m2": (0.001, 1e4),
    "wet_film_um": (1.0, 1000.0),
    "minutes": (0.1, 1e6),
    "recoat_h": (0.05, 2000.0),
}
"""What can be measured at a bench."""


def log(
    store: Store,
    name: int | str,
    *,
    after: int,
    result: Result,
    stopped_by: StoppedBy | None = None,
    failed_by: FailedBy | None = None,
    group: str | None = None,
    used_ml: float | None = None,
    area_m2: float | None = None,
    wet_film_um: float | None = None,
    minutes: float | None = None,
    recoat_h: float | None = None,
    note: str = "",
) -> Outcome:
    """Keep how a job came out; it is done by that unless it did not look right yet.

    Args:
        store: the records.
        name: which job.
        after: topcoats that were laid, 1 to 40.
        result: "enough", "not enough", "gave up" or "did not look".
        stopped_by: "even" where no edge showed, "colour" where it had the chip's.
        failed_by: "bleeding", "adhesion", "runs" or "other", where hiding was not the reason.
        group: which group of the job; all of it if absent.
        used_ml: paint that went into these topcoats.
        area_m2: area that they cover; the job's own if absent.
        wet_film_um: film of one coat as a comb showed it.
        minutes: at the bench, for all topcoats.
        recoat_h: hours between coats.
        note: anything else, on one line.

    Raises:
        InputError: with everything that is wrong, by field, or no job is meant.
        StoreError: the records cannot be written.
    """
    problems = ProblemList()
    if isinstance(after, bool) or not isinstance(after, int) or not 1 <= after <= MOST_AFTER:
        message = f"must be a whole number from 1 to {MOST_AFTER}, not {shown(after)}"
        problems.add("after", after, message)
    for field, value, kind in (
        ("result", result, Result),
        ("stopped_by", stopped_by, StoppedBy),
        ("failed_by", failed_by, FailedBy),
    ):
        words = get_args(kind)
        if value not in words and not (value is None and field != "result"):
            problems.add(field, value, f"must be {', '.join(words)}, not {shown(value)}")
    said = {
        "used_ml": used_ml,
        "area_m2": area_m2,
        "wet_film_um": wet_film_um,
        "minutes": minutes,
        "recoat_h": recoat_h,
    }
    measured = {
        field: checked_number(field, number, *_BOUNDS[field], problems)
        for field, number in said.items()
    }
    note = checked_line("note", note, problems, 1000)
    problems.raise_if_any()
    with store.writing() as connection:
        found = open_job(connection, number_of(connection, name))
        known = [row["name"] for row in found.shown.job.get("group", ())]
        if group is not None and group not in known:
            told = f"its groups are {', '.join(known)}" if known else "it has none"
            message = f"job {found.line.number} has no group {shown(group)}; {told}"
            raise InputError.at("group", group, message)
        values = {
            "id": next_number(connection, OUTCOME.c.id),
            "uuid": new_uuid(),
            "job_id": found.line.number,
            "job_version": found.line.version,
            "group_name": group,
            "after": after,
            "result": result,
            "stopped_by": stopped_by,
            "failed_by": failed_by,
            **measured,
            "note": note,
            "logged": store.now(),
        }
        row = connection.execute(OUTCOME.insert().values(values).returning(*OUTCOME_LINE)).one()
        _mark(store, connection, found.line.number)
        return Outcome(*row)


def _mark(store: Store, connection: Connection, number: int) -> None:
    """A job as its outcomes have it: done by the last of all of it, or by that of each group."""
    found = open_job(connection, number)
    if found.line.state == "archived":
        return
    last = {one.group: one.result != "not enough" for one in found.outcomes}
    groups = [row["name"] for row in found.shown.job.get("group", ())]
    each = bool(groups) and all(last.get(name, False) for name in groups)
    put_state(store, connection, found, "done" if last.get(None, False) or each else "open")


def undo(store: Store, name: int | str, uuid: str | None = None) -> Outcome:
    """Take an outcome back: it is kept, but no longer shown, teaches nothing, and ends no job.

    Args:
        store: the records.
        name: which job.
        uuid: which outcome; the last one logged if absent.

    Raises:
        UnknownError: no job is meant, or it has no such outcome.
        StoreError: the records cannot be written.
    """
    with store.writing() as connection:
        number = number_of(connection, name)
        query = select(OUTCOME).where(OUTCOME.c.job_id == number, OUTCOME.c.withdrawn.is_(None))
        if uuid is not None:
            query = query.where(OUTCOME.c.uuid == uuid)
        row = connection.execute(query.order_by(OUTCOME.c.id.desc())).first()
        if row is None:
            message = f"job {number} has no outcome to take back"
            raise UnknownError.at("outcome", uuid or "", message)
        change = OUTCOME.update().where(OUTCOME.c.id == row.id).values(withdrawn=store.now())
        row = connection.execute(change.returning(*OUTCOME_LINE)).one()
        _mark(store, connection, number)
        return Outcome(*row)


def step_done(
    store: Store, name: int | str, step: str, *, done: datetime | None = None, note: str = ""
) -> StepDone:
    """Keep that a step was done.

    Args:
        store: the records.
        name: which job.
        step: in the words of the plan, or the painter's own.
        done: when, an aware moment; now if absent.
        note: batch, weather, anything, on one line.

    Raises:
        InputError: a text is none that can be shown, or no job is meant.
        StoreError: the records cannot be written.
    """
    problems = ProblemList()
    step = checked_line("step", step, problems)
    if not step:
        problems.add("step", step, "say which step was done")
    note = checked_line("note", note, problems, 1000)
    problems.raise_if_any()
    with store.writing() as connection:
        values = {
            "id": next_number(connection, STEP_DONE.c.id),
            "uuid": new_uuid(),
            "job_id": number_of(connection, name),
            "step": step,
            "note": note,
            "done": store.now() if done is None else time_text(done.astimezone(UTC)),
        }
        made = STEP_DONE.insert().values(values).returning(*STEP)
        return StepDone(*connection.execute(made).one())


def step_undone(store: Store, name: int | str, step: str) -> StepDone:
    """Take a step back: it is kept, but no longer shown as done.

    Args:
        store: the records.
        name: which job.
        step: its UUID, or its words, capitals aside; of several the one done last.

    Raises:
        UnknownError: no job is meant, or it has no such step.
        StoreError: the records cannot be written.
    """
    with store.writing() as connection:
        number, wanted = number_of(connection, name), step.strip().casefold()
        told = steps_of(connection, number)
        found = [one for one in told if wanted in {one.uuid, one.step.casefold()}]
        if not found:
            message = f"job {number} has no step {shown(step)} to take back"
            raise UnknownError.at("step", step, message)
        here = STEP_DONE.c.uuid == found[-1].uuid
        change = STEP_DONE.update().where(here).values(withdrawn=store.now())
        return StepDone(*connection.execute(change.returning(*STEP)).one())
