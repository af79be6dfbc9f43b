"""Requests that hold more than a job: what the service's other routes take."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pydantic import Field, ValidationError

from showthrough.errors import InputError, shown
from showthrough.jobs.schema import Job, Model
from showthrough.jobs.wrong import problems_of

if TYPE_CHECKING:
    from showthrough.colour.swatches import Swatch


class SoftenRequest(Model):
    """A job and the coats that the painter wants to spend."""

    job: Job
    budget: int | None = Field(default=None, description="coats, 1 to 12")
    swatches_csv: str | None = Field(default=None, description="own colours, a swatch file's text")


class SweepRequest(Model):
    """A job and the swatches to try as its topcoat."""

    job: Job
    swatches_csv: str | None = Field(default=None, description="a swatch file's text")
    sort: str = Field(default="coats", description="coats, total, difference, harmony or name")


def checked_request(model: type[Model], data: Any) -> tuple[Any, dict[str, Any]]:
    """The job (left raw, so that its own reader names all its problems) and the rest.

    Raises:
        InputError: the request is no table, lacks a job, or holds what is not known.
    """
    if not isinstance(data, Mapping):
        raise InputError.at("", shown(data), "a request must be a table of keys and values")
    try:
        request = model.model_validate(data)
    except ValidationError as error:
        own = [p for p in problems_of(error, model) if not p.field.startswith("job.")]
        if own:
            raise InputError(own) from error
        return data.get("job"), {k: v for k, v in data.items() if k != "job"}
    return data["job"], request.model_dump(exclude={"job"})


def swatches_in(text: str | None) -> tuple[Swatch, ...] | None:
    """The swatches of a request, or None for the samples."""
    if text is None:
        return None
    from showthrough.colour.swatches import parse_swatches

    try:
        return parse_swatches(text)
    except InputError as error:
        raise error.within("swatches_csv") from None
