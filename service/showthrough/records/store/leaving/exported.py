"""The words of an export, and what must hold of one before anything of it is taken in."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from showthrough.errors import InputError, ProblemList, shown
from showthrough.jobs.schema.base import Line, Model, Name, Number, Text, Whole
from showthrough.jobs.schema.job import Job
from showthrough.jobs.schema.wrong import problems_of
from showthrough.records.store.shape.rows import FailedBy, Result, State, StoppedBy

FORMAT = "showthrough records"
VERSION = 1

Uuid = Annotated[Line, Field(pattern=r"^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$")]
Sha256 = Annotated[Line, Field(pattern=r"^[0-9a-f]{64}$")]
Time = Annotated[Line, Field(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$")]
Count = Annotated[Whole, Field(ge=1, lt=10**9)]
Note = Annotated[Line, Field(max_length=1000)]
Label = Annotated[Line, Field(max_length=80)]
Document = dict[str, Any]


class ExportedCustomer(Model):
    """A customer; nameless once erased."""

    number: Count
    uuid: Uuid
    name: Label
    contact: Text
    version: Count
    created: Time
    changed: Time
    erased: Time | None


class ExportedPaint(Model):
    """A paint on the shelf."""

    number: Count
    uuid: Uuid
    name: Name
    topcoat: Document
    batch: Text
    density_g_ml: Number | None
    size_ml: Number | None
    left_ml: Number | None
    price_minor: Whole | None
    currency: Annotated[Line, Field(pattern=r"^[A-Z]{3}$")] | None
    opened: Annotated[Line, Field(pattern=r"^\d{4}-\d\d-\d\d$")] | None
    version: Count
    created: Time
    changed: Time
    archived: Time | None


class ExportedModel(Model):
    """A model that gave answers, with its defaults."""

    id: Sha256
    release: Text
    defaults: Document
    first_used: Time


class ExportedPhoto(Model):
    """A photo; its content in base 64 (RFC 4648)."""

    sha256: Sha256
    width: Count
    height: Count
    created: Time
    content: Line


class ExportedVersion(Model):
    """A job as it was saved once."""

    version: Count
    job: Document
    piece: Text
    state: State
    saved: Time


class ExportedAnswer(Model):
    """What a version was answered."""

    uuid: Uuid
    job_version: Count
    model_id: Sha256
    answer: Document
    made: Time
    finished: list[Document] | None = None


class ExportedOutcome(Model):
    """How it came out."""

    uuid: Uuid
    job_version: Count
    group_name: Label | None
    after: Count
    result: Result
    stopped_by: StoppedBy | None
    failed_by: FailedBy | None
    used_ml: Number | None
    area_m2: Number | None
    wet_film_um: Number | None
    minutes: Number | None
    recoat_h: Number | None
    note: Note
    logged: Time
    withdrawn: Time | None


class ExportedStep(Model):
    """A step that was done."""

    uuid: Uuid
    step: Text
    note: Note
    done: Time
    withdrawn: Time | None


class ExportedLink(Model):
    """A photo of a job."""

    sha256: Sha256
    name: Label
    added: Time


class ExportedJob(Model):
    """A job with all that hangs on it."""

    number: Count
    uuid: Uuid
    title: Text
    piece: Text
    customer: Uuid | None
    state: State
    colour_name: Text
    colour_hex: Text
    version: Count
    created: Time
    changed: Time
    versions: list[ExportedVersion] = Field(min_length=1)
    answers: list[ExportedAnswer]
    outcomes: list[ExportedOutcome]
    steps: list[ExportedStep]
    photos: list[ExportedLink]


class Records(Model):
    """Everything that a store keeps."""

    format: Literal["showthrough records"]
    version: Literal[1]
    customers: list[ExportedCustomer]
    paints: list[ExportedPaint]
    models: list[ExportedModel]
    photos: list[ExportedPhoto]
    jobs: list[ExportedJob]


def read_export(text: str | bytes) -> Records:
    """An export, found to be whole.

    Raises:
        InputError: it is none, was written by a newer version, or holds what cannot be; by place.
    """
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError.at(
            "export", "", f"is not JSON, so no export of records: {error}"
        ) from error
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        message = f'is no export of records: its first key is "format": "{FORMAT}"'
        raise InputError.at("export", "", message)
    found = data.get("version")
    if isinstance(found, int) and found > VERSION:
        message = (
            f"was written by a newer Showthrough (version {shown(found)}, this one reads "
            f"{VERSION}); update Showthrough"
        )
        raise InputError.at("export.version", found, message, "newer")
    try:
        records = Records.model_validate(data)
    except ValidationError as error:
        raise InputError(problems_of(error, Records)).within("export") from error
    problems = ProblemList(most=20)
    for field, value, message in _amiss(records):
        problems.add(field, value, message)
    problems.raise_if_any()
    return records


def _amiss(records: Records) -> Iterator[tuple[str, Any, str]]:
    """What does not fit together: place, value, and why."""
    for kind in ("customers", "paints", "jobs"):
        for key in ("uuid", "number"):
            seen: set[Any] = set()
            for i, one in enumerate(getattr(records, kind), 1):
                value = getattr(one, key)
                if value in seen:
                    yield f"{kind}[{i}].{key}", value, "stands for two records"
                seen.add(value)
    known: dict[str, set[Any]] = {
        "customer": {None, *(one.uuid for one in records.customers)},
        "model_id": {one.id for one in records.models},
        "sha256": {one.sha256 for one in records.photos},
    }
    for i, job in enumerate(records.jobs, 1):
        for place, value, message in _amiss_in(job, known):
            yield f"jobs[{i}].{place}", value, message


def _amiss_in(job: ExportedJob, known: Mapping[str, set[Any]]) -> Iterator[tuple[str, Any, str]]:
    """What does not fit together in one job."""
    numbers = [one.version for one in job.versions]
    if numbers != list(range(1, job.version + 1)):
        yield "versions", numbers, f"must be 1 to {job.version}, each once, in order"
    for i, version in enumerate(job.versions, 1):
        try:
            Job.model_validate(version.job)
        except ValidationError as error:
            for problem in problems_of(error, Job):
                field = problem.within(f"versions[{i}].job").field
                yield field, problem.value, problem.message
    named: list[tuple[str, str, str | None]] = [("customer", "customer", job.customer)]
    named += [
        (f"answers[{i}].model_id", "model_id", a.model_id) for i, a in enumerate(job.answers, 1)
    ]
    named += [(f"photos[{i}].sha256", "sha256", p.sha256) for i, p in enumerate(job.photos, 1)]
    for place, key, name in named:
        if name not in known[key]:
            yield place, name, "is not in this export"
    tied = [(f"answers[{i}]", a.job_version) for i, a in enumerate(job.answers, 1)]
    tied += [(f"outcomes[{i}]", o.job_version) for i, o in enumerate(job.outcomes, 1)]
    for place, of_version in tied:
        if of_version > job.version:
            yield f"{place}.job_version", of_version, "is no version of this job"
