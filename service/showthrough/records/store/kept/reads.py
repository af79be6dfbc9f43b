"""Rows of outcomes and steps as they are handed out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, select

from showthrough.records.store.shape.rows import Outcome, StepDone
from showthrough.records.store.shape.tables import JOB_VERSION, OUTCOME, STEP_DONE


def outcome_of_row(row: Any) -> Outcome:
    """One outcome."""
    return Outcome(
        row.uuid,
        row.job_id,
        row.job_version,
        row.group_name,
        row.after,
        row.result,
        row.stopped_by,
        row.failed_by,
        row.used_ml,
        row.area_m2,
        row.wet_film_um,
        row.minutes,
        row.recoat_h,
        row.note,
        row.logged,
        row.withdrawn,
    )


def step_of_row(row: Any) -> StepDone:
    """One step."""
    return StepDone(row.uuid, row.job_id, row.step, row.note, row.done, row.withdrawn)


def outcomes_of(connection: Connection, number: int) -> list[Outcome]:
    """Outcomes of a job that were not taken back, in order."""
    query = select(OUTCOME).where(OUTCOME.c.job_id == number, OUTCOME.c.withdrawn.is_(None))
    return [outcome_of_row(row) for row in connection.execute(query.order_by(OUTCOME.c.id))]


def steps_of(connection: Connection, number: int) -> list[StepDone]:
    """Steps of a job that were done, in order."""
    query = select(STEP_DONE).where(STEP_DONE.c.job_id == number, STEP_DONE.c.withdrawn.is_(None))
    order = (STEP_DONE.c.done, STEP_DONE.c.id)
    return [step_of_row(row) for row in connection.execute(query.order_by(*order))]


def finished_rows(connection: Connection) -> Sequence[Any]:
    """Every outcome that was not taken back beside its version of the job, the earliest first."""
    same = (JOB_VERSION.c.job_id == OUTCOME.c.job_id) & (
        JOB_VERSION.c.version == OUTCOME.c.job_version
    )
    query = select(OUTCOME, JOB_VERSION.c.job).join(JOB_VERSION, same)
    query = query.where(OUTCOME.c.withdrawn.is_(None)).order_by(OUTCOME.c.id)
    return connection.execute(query).all()
