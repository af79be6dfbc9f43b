"""Rows of outcomes and steps as they are handed out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, select

from showthrough.records.store.shape.rows import Outcome, StepDone
from showthrough.records.store.shape.tables import JOB_VERSION, OUTCOME, STEP_DONE

OUTCOME_LINE: tuple[ColumnElement[Any], ...] = (
    OUTCOME.c.uuid,
    OUTCOME.c.job_id,
    OUTCOME.c.job_version,
    OUTCOME.c.group_name,
    OUTCOME.c.after,
    OUTCOME.c.result,
    OUTCOME.c.stopped_by,
    OUTCOME.c.failed_by,
    OUTCOME.c.used_ml,
    OUTCOME.c.area_m2,
    OUTCOME.c.wet_film_um,
    OUTCOME.c.minutes,
    OUTCOME.c.recoat_h,
    OUTCOME.c.note,
    OUTCOME.c.logged,
    OUTCOME.c.withdrawn,
)
"""Columns of an outcome as it is handed out."""
STEP: tuple[ColumnElement[Any], ...] = (
    STEP_DONE.c.uuid,
    STEP_DONE.c.job_id,
    STEP_DONE.c.step,
    STEP_DONE.c.note,
    STEP_DONE.c.done,
    STEP_DONE.c.withdrawn,
)
"""The same of a step."""


def outcomes_of(connection: Connection, number: int) -> list[Outcome]:
    """Outcomes of a job that were not taken back, in order."""
    query = select(*OUTCOME_LINE).where(OUTCOME.c.job_id == number, OUTCOME.c.withdrawn.is_(None))
    return [Outcome(*row) for row in connection.execute(query.order_by(OUTCOME.c.id))]


def steps_of(connection: Connection, number: int) -> list[StepDone]:
    """Steps of a job that were done, in order."""
    query = select(*STEP).where(STEP_DONE.c.job_id == number, STEP_DONE.c.withdrawn.is_(None))
    order = (STEP_DONE.c.done, STEP_DONE.c.id)
    return [StepDone(*row) for row in connection.execute(query.order_by(*order))]


def finished_rows(connection: Connection) -> Sequence[Any]:
    """Every outcome that was not taken back beside its version of the job, the earliest first."""
    same = (JOB_VERSION.c.job_id == OUTCOME.c.job_id) & (
        JOB_VERSION.c.version == OUTCOME.c.job_version
    )
    query = select(OUTCOME, JOB_VERSION.c.job).join(JOB_VERSION, same)
    query = query.where(OUTCOME.c.withdrawn.is_(None)).order_by(OUTCOME.c.id)
    return connection.execute(query).all()
