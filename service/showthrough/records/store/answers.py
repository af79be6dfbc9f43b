"""A job's answer as it is stored: reckoned once, when the job was saved."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from showthrough.errors import InputError
from showthrough.jobs.answers.whole import WholeJob
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.whole import plan
from showthrough.records.store.texts import standalone


class Reckoned(NamedTuple):
    """A job in words of its own, beside its answer."""

    job: dict[str, Any]
    answer: WholeJob
    moment: datetime


def reckon(
    job: Mapping[str, Any], folder: Path | None, moment: datetime, begun: datetime | None = None
) -> Reckoned:
    """Check a job and answer it.

    Args:
        job: as in a job file.
        folder: where files that it names are looked for; None refuses files.
        moment: the present; work begins then where the job states no start.
        begun: since when the job is kept; a start that was to come then may have passed.

    Raises:
        InputError: with every problem of the job, by field.
    """
    prepared = prepare(job, folder)
    try:
        answer = plan(prepared, now=moment)
    except InputError as error:
        if begun is None or {p.field for p in error.problems} != {"days.start"}:
            raise
        moment = begun
        answer = plan(prepared, now=moment)
    return Reckoned(standalone(job, folder), answer, moment)
