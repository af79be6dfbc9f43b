"""Requests that hold more than a job: what the service's other routes take."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import Field, ValidationError

from showthrough.colour.swatches import parse_swatches
from showthrough.errors import InputError, ProblemList, shown
from showthrough.film.build import MOST_COATS
from showthrough.jobs.resolve import ReadJob, read_job
from showthrough.jobs.schema import Job, Model, Whole
from showthrough.jobs.soften import check_budget
from showthrough.jobs.sweep import SORT_KEYS, check_sort
from showthrough.jobs.wrong import problems_of


class SoftenRequest(Model):
    """A job and the coats that the painter wants to spend."""

    job: Job
    budget: Whole | None = Field(
        default=None,
        description="coats",
        json_schema_extra={"minimum": 1, "maximum": MOST_COATS},  # told in the library's words
    )
    swatches_csv: str | None = Field(default=None, description="own colours, a swatch file's text")


class SweepRequest(Model):
    """A job and the swatches to try as its topcoat."""

    job: Job
    swatches_csv: str | None = Field(default=None, description="a swatch file's text")
    sort: str = Field(
        default="coats",
        description="coats, total, difference, harmony or name",
        json_schema_extra={"enum": list(SORT_KEYS)},
    )


def checked_request(model: type[Model], data: Any) -> tuple[ReadJob, dict[str, Any]]:
    """The job of a request, read, and the rest of it; ``swatches_csv`` as ``swatches``.

    Raises:
        InputError: with every problem of the request and of its job; the job's fields are
            named as in a job file.
    """
    if not isinstance(data, Mapping):
        raise InputError.at("", shown(data), "a request must be a table of keys and values")
    problems = ProblemList()
    options: dict[str, Any] = {}
    try:
        options = model.model_validate(data).model_dump(exclude={"job"})
    except ValidationError as error:
        own = [p for p in problems_of(error, model) if not p.field.startswith("job.")]
        problems.problems.extend(own)
        options = {k: v for k, v in data.items() if k not in {p.field for p in own}}
    if isinstance(options.get("budget"), int):
        check_budget(options["budget"], problems)
    if "sort" in options:
        check_sort(options["sort"], problems)
    text = options.pop("swatches_csv", None)
    with problems.collecting("swatches_csv"):
        options["swatches"] = None if text is None else parse_swatches(text)
    read = None
    if isinstance(data.get("job"), Mapping):
        with problems.collecting():
            read = read_job(data["job"])
    problems.raise_if_any()
    assert read is not None
    return read, options
