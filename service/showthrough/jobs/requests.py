"""Requests that hold more than a job: what the service's other routes take."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import Field, ValidationError

from showthrough.colour.files.swatches import read_swatches
from showthrough.errors import InputError, ProblemList, shown
from showthrough.film.coats import MOST_COATS
from showthrough.jobs.case.prepared import PreparedJob, prepare
from showthrough.jobs.halfway import check_seen
from showthrough.jobs.schema.base import Model, Name, Number, Text, Whole, YesNo
from showthrough.jobs.schema.job import Job
from showthrough.jobs.schema.wrong import problems_of
from showthrough.jobs.soften.soften import check_budget
from showthrough.jobs.sweep.sweep import SORT_KEYS, check_sort

_SWATCHES = (
    "own colours as a text: a CSV table of name,L,a,b, or of name and hex or another notation, or "
    "a collection in the format of ISO 28178"
)


class SoftenRequest(Model):
    """A job and the coats that the painter wants to spend."""

    job: Job
    budget: Whole | None = Field(
        default=None,
        description="coats",
        json_schema_extra={"minimum": 1, "maximum": MOST_COATS},  # told in the library's words
    )
    swatches_csv: str | None = Field(default=None, description=_SWATCHES)


class SweepRequest(Model):
    """A job and the swatches to try as its topcoat."""

    job: Job
    swatches_csv: str | None = Field(default=None, description=_SWATCHES)
    sort: str = Field(
        default="coats",
        description="coats, total, difference, harmony or name",
        json_schema_extra={"enum": list(SORT_KEYS)},
    )
    strict: YesNo = Field(
        default=False, description="refuse swatches that cannot be, rather than leave them out"
    )


class LogRequest(Model):
    """A job and what was seen of it half way."""

    job: Job
    enough: YesNo = Field(description="whether the coats were enough, dry and in two lights")
    after: Whole | None = Field(default=None, description="topcoats that are on the piece")
    test_piece: Whole | None = Field(default=None, description="or tried on a test piece")
    way: Text | None = Field(default=None, description="key of the way taken; the leading one")
    group: Name | None = Field(default=None, description="which group; the largest")
    left_ml: Number | None = Field(default=None, description="topcoat left in the tins")


def checked_request(model: type[Model], data: Any) -> tuple[PreparedJob, dict[str, Any]]:
    """The job of a request, ready, and the rest of it.

    The text of ``swatches_csv`` comes as ``swatches``: a whole SwatchFile where the request
    says whether it is strict, else a tuple in which every swatch is in order.

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
    # First the job, so that a long table full of faults does not crowd its problems out.
    read = None
    if isinstance(data.get("job"), Mapping):
        with problems.collecting():
            read = prepare(data["job"])
    text = options.pop("swatches_csv", None)
    if model is LogRequest:
        check_seen(problems, *(options.get(key) for key in ("after", "test_piece", "left_ml")))
        problems.raise_if_any()
        assert read is not None
        return read, options
    with problems.collecting("swatches_csv"):
        options["swatches"] = None
        if text is not None:
            # A request that does not say so needs every swatch in order.
            says = "strict" in model.model_fields
            strict = not says or options.get("strict") is True
            file = read_swatches(text).checked(strict=strict)
            options["swatches"] = file if says else file.swatches
    problems.raise_if_any()
    assert read is not None
    return read, options
