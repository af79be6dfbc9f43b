"""Routes to what is kept: jobs, outcomes, photos, paints, customers; exports.

The database's libraries load when the first of these routes is called, not before.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel, Field, ValidationError

from showthrough.errors import InputError, shown
from showthrough.jobs.answers.prediction import ProblemsShown
from showthrough.jobs.answers.whole import WholeJob
from showthrough.jobs.schema.base import Line, Model, Number, Text, Whole, YesNo
from showthrough.jobs.schema.job import EXAMPLE_JOB, Job
from showthrough.jobs.schema.wrong import problems_of
from showthrough.jobs.whole import plan
from showthrough.records import store as records
from showthrough.records.store.shape.rows import (
    Customer,
    FailedBy,
    Imported,
    JobLine,
    Outcome,
    PhotoLine,
    Rerun,
    Result,
    ShelfPaint,
    State,
    StepDone,
    StoppedBy,
    StoredJob,
)
from showthrough.web.api.jobs import REFUSALS, JsonBody, body_schema
from showthrough.web.api.photos import Form
from showthrough.web.body import read_limited

if TYPE_CHECKING:
    from showthrough.records.store.opening.opened import Store

router = APIRouter(prefix="/api/records")

_REFUSALS: dict[int | str, dict[str, Any]] = REFUSALS | {
    404: {"model": ProblemsShown, "description": "No record has that number or name."},
    409: {"model": ProblemsShown, "description": "It was changed meanwhile; nothing is lost."},
    503: {"model": ProblemsShown, "description": "The records cannot be read or written."},
}

MOST_IMPORT_BYTES = 100_000_000

IMPORT = "/api/records/import"
"""Takes JSON as large as an upload."""


class KeepJob(Model):
    """A job to be kept."""

    job: dict[str, Any] = Field(description="as the routes that answer jobs take it")
    piece: Text = Field(default="", description="which piece it is")
    customer: Text | None = Field(default=None, description="number, or name; a new one is added")


class SaveJob(Model):
    """A changed job, and which version was changed."""

    job: dict[str, Any] = Field(description="the whole job")
    made_from: Whole = Field(description="version that was changed")
    piece: Text | None = Field(default=None, description="as before if absent")


class CopyJob(Model):
    """A job that says the same as another."""

    title: Text | None = None


class MarkJob(Model):
    """What a job becomes."""

    state: State
    made_from: Whole | None = Field(default=None, description="version that was looked at")


class LogOutcome(Model):
    """How a job came out."""

    after: Whole = Field(description="topcoats that were laid")
    result: Result
    stopped_by: StoppedBy | None = None
    failed_by: FailedBy | None = None
    group: Text | None = None
    used_ml: Number | None = None
    area_m2: Number | None = None
    wet_film_um: Number | None = None
    minutes: Number | None = None
    recoat_h: Number | None = None
    note: Line = ""


class LogStep(Model):
    """A step that was done now."""

    step: Text
    note: Line = ""


class KeepPaint(Model):
    """A paint for the shelf."""

    topcoat: dict[str, Any] = Field(description="as a job says it")
    name: Text = ""
    batch: Text = ""
    density_g_ml: Number | None = None
    size_ml: Number | None = None
    left_ml: Number | None = None
    price: Text | None = Field(default=None, description="of the full can, as 21.00 EUR")
    opened: Text | None = Field(default=None, description="the day, as 2026-05-31")


class ChangePaint(Model):
    """What is left of a paint."""

    made_from: Whole
    left_ml: Number | None = None
    opened: Text | None = None
    archived: YesNo | None = None


class KeepCustomer(Model):
    """A customer."""

    name: Text
    contact: Text = ""


class ChangeCustomer(Model):
    """What a customer is called, and how to reach them."""

    made_from: Whole
    name: Text | None = Field(default=None, description="as before if absent")
    contact: Text | None = Field(default=None, description="as before if absent")


BODY_MODELS: tuple[type[BaseModel], ...] = (
    KeepJob,
    SaveJob,
    CopyJob,
    MarkJob,
    LogOutcome,
    LogStep,
    KeepPaint,
    ChangePaint,
    KeepCustomer,
    ChangeCustomer,
)


def _open() -> Iterator[Store]:

    with records.opened.open_store() as store:
        yield store


Opened = Annotated[Any, Depends(_open)]


def _checked(model: type[Model], body: Any) -> dict[str, Any]:
    """The body in the words of a model.

    Raises:
        InputError: with everything that is wrong, by field.
    """
    if not isinstance(body, dict):
        raise InputError.at("", shown(body), "a request must be a table of keys and values")
    try:
        return model.model_validate(body).model_dump()
    except ValidationError as error:
        raise InputError(problems_of(error, model)) from error


@router.get("/jobs", response_model=list[JobLine], responses=_REFUSALS, summary="Jobs kept")
def get_jobs(
    store: Opened,
    text: Annotated[str, Query(description="words that each job holds")] = "",
    state: Annotated[State | None, Query(description="open and done if absent")] = None,
    most: Annotated[int, Query(ge=1, le=100_000)] = 200,
) -> Any:
    """The one changed last first."""
    return records.jobs.listed(store, text, state=state, most=most)


@router.post(
    "/jobs",
    response_model=JobLine,
    responses=_REFUSALS,
    openapi_extra=body_schema(KeepJob, {"job": EXAMPLE_JOB, "piece": "from the attic"}),
    summary="Keep a job with its answer",
)
def post_job(store: Opened, body: JsonBody) -> Any:
    """What is wrong with the job is told by its own fields."""
    said = _checked(KeepJob, body)
    return records.jobs.add(store, said["job"], piece=said["piece"], customer=said["customer"])


@router.get(
    "/jobs/{job}", response_model=StoredJob, responses=_REFUSALS, summary="One job as it is kept"
)
def get_job(store: Opened, job: str, version: int | None = None) -> Any:
    """At its latest version, or at an earlier one."""
    return records.jobs.opened(store, job, version)


@router.put(
    "/jobs/{job}",
    response_model=JobLine,
    responses=_REFUSALS,
    openapi_extra=body_schema(SaveJob, {"job": EXAMPLE_JOB, "made_from": 1}),
    summary="Keep a changed job as its next version",
)
def put_job(store: Opened, job: str, body: JsonBody) -> Any:
    """Refused where it was changed meanwhile."""
    said = _checked(SaveJob, body)
    return records.jobs.save(
        store, job, said["job"], made_from=said["made_from"], piece=said["piece"]
    )


@router.get(
    "/jobs/{job}/again",
    response_model=Rerun | None,
    responses=_REFUSALS,
    summary="What today's model says of a stored answer",
)
def get_again(store: Opened, job: str, version: int | None = None) -> Any:
    """Reckoned with the clock of the answer; null where none is kept."""
    return records.jobs.reckoned_again(store, job, version)


@router.post(
    "/jobs/{job}/copy",
    response_model=JobLine,
    responses=_REFUSALS,
    openapi_extra=body_schema(CopyJob, {"title": "Second cupboard"}),
    summary="A new job that says the same",
)
def post_copy(store: Opened, job: str, body: JsonBody) -> Any:
    """Without its start, customer, photos and outcomes."""
    return records.jobs.duplicate(store, job, title=_checked(CopyJob, body)["title"])


@router.post(
    "/jobs/{job}/state",
    response_model=JobLine,
    responses=_REFUSALS,
    openapi_extra=body_schema(MarkJob, {"state": "done"}),
    summary="Mark a job as open, done or archived",
)
def post_state(store: Opened, job: str, body: JsonBody) -> Any:
    """An archived job is kept, but no longer listed."""
    return records.jobs.set_state(store, job, **_checked(MarkJob, body))


@router.post(
    "/jobs/{job}/outcomes",
    response_model=Outcome,
    responses=_REFUSALS,
    openapi_extra=body_schema(LogOutcome, {"after": 4, "result": "enough", "used_ml": 620}),
    summary="Keep how a job came out",
)
def post_outcome(store: Opened, job: str, body: JsonBody) -> Any:
    """After how many topcoats, and whether they were enough; where they were, it is done."""
    return records.outcomes.log(store, job, **_checked(LogOutcome, body))


@router.delete(
    "/jobs/{job}/outcomes/{uuid}",
    response_model=Outcome,
    responses=_REFUSALS,
    summary="Take an outcome back",
)
def delete_outcome(store: Opened, job: str, uuid: str) -> Any:
    """It is kept, but no longer shown, and teaches nothing."""
    return records.outcomes.undo(store, job, uuid)


@router.post(
    "/jobs/{job}/steps",
    response_model=StepDone,
    responses=_REFUSALS,
    openapi_extra=body_schema(LogStep, {"step": "Wash", "note": "degreaser"}),
    summary="Keep that a step was done",
)
def post_step(store: Opened, job: str, body: JsonBody) -> Any:
    """In the words of the plan, or others."""
    return records.outcomes.step_done(store, job, **_checked(LogStep, body))


@router.delete(
    "/jobs/{job}/steps/{step}",
    response_model=StepDone,
    responses=_REFUSALS,
    summary="Take a step back",
)
def delete_step(store: Opened, job: str, step: str) -> Any:
    """By its UUID, or its words: of several the one done last."""
    return records.outcomes.step_undone(store, job, step)


@router.post(
    "/plan",
    response_model=WholeJob,
    responses=_REFUSALS,
    openapi_extra=body_schema(Job, EXAMPLE_JOB),
    summary="The whole job, with what the finished jobs that are kept teach it",
)
def post_plan(store: Opened, job: JsonBody) -> Response:
    """The body is the job itself; nothing is kept of it."""
    told = records.lessons.taught(store, job) if isinstance(job, Mapping) else job
    return Response(plan(told).model_dump_json(), media_type="application/json")


_PHOTO_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "properties": {
                        "photo": {"type": "string", "format": "binary"},
                        "request": {
                            "type": "object",
                            "properties": {"name": {"type": "string", "maxLength": 80}},
                            "additionalProperties": False,
                        },
                    },
                    "required": ["photo"],
                    "additionalProperties": False,
                },
                "encoding": {"request": {"contentType": "application/json"}},
                "example": {"request": {"name": "left door"}},
            }
        },
    }
}


class _NamedPhoto(Model):
    name: Text = ""


@router.post(
    "/jobs/{job}/photos",
    response_model=PhotoLine,
    responses=_REFUSALS,
    openapi_extra=_PHOTO_BODY,
    summary="Keep a photo with a job",
)
def post_photo(store: Opened, job: str, form: Form) -> Any:
    """Place, time and camera are removed before it is kept."""
    name = _checked(_NamedPhoto, dict(form.request))["name"]
    return records.photos.add_photo(store, job, form.needed(), name)


_PICTURE: dict[int | str, dict[str, Any]] = {
    200: {"content": {"image/png": {}, "image/jpeg": {}}, "description": "The picture."}
}


@router.get(
    "/photos/{sha256}",
    response_class=Response,
    responses=_REFUSALS | _PICTURE,
    summary="A photo by the hash of its content",
)
def get_photo(store: Opened, sha256: str) -> Response:
    """The picture and its colour profile, nothing else."""
    content = records.photos.photo_content(store, sha256)
    kind = "png" if content.startswith(b"\x89PNG") else "jpeg"
    return Response(content, media_type=f"image/{kind}")


@router.get("/paints", response_model=list[ShelfPaint], responses=_REFUSALS, summary="The shelf")
def get_paints(store: Opened, text: str = "", *, archived: bool = False) -> Any:
    """Paints by name."""
    return records.paints.listed_paints(store, text, archived=archived)


@router.post(
    "/paints",
    response_model=ShelfPaint,
    responses=_REFUSALS,
    openapi_extra=body_schema(
        KeepPaint, {"topcoat": {"colour": "#a3b84c"}, "batch": "B 7", "left_ml": 300}
    ),
    summary="Put a paint on the shelf",
)
def post_paint(store: Opened, body: JsonBody) -> Any:
    """What a job says of a topcoat, with its batch, price and what is left."""
    return records.paints.add_paint(store, **_checked(KeepPaint, body))


@router.patch(
    "/paints/{paint}",
    response_model=ShelfPaint,
    responses=_REFUSALS,
    openapi_extra=body_schema(ChangePaint, {"made_from": 1, "left_ml": 120}),
    summary="What is left of a paint, and whether it is on the shelf",
)
def patch_paint(store: Opened, paint: str, body: JsonBody) -> Any:
    """Refused where it was changed meanwhile."""
    return records.paints.edit_paint(store, paint, **_checked(ChangePaint, body))


@router.get("/customers", response_model=list[Customer], responses=_REFUSALS, summary="Customers")
def get_customers(store: Opened) -> Any:
    """Those whose name is kept."""
    return records.customers.listed_customers(store)


@router.post(
    "/customers",
    response_model=Customer,
    responses=_REFUSALS,
    openapi_extra=body_schema(KeepCustomer, {"name": "Ida Invented"}),
    summary="Keep a customer",
)
def post_customer(store: Opened, body: JsonBody) -> Any:
    """A name, and how to reach them."""
    return records.customers.add_customer(store, **_checked(KeepCustomer, body))


@router.patch(
    "/customers/{customer}",
    response_model=Customer,
    responses=_REFUSALS,
    openapi_extra=body_schema(ChangeCustomer, {"made_from": 1, "name": "Ida Renamed"}),
    summary="Call a customer otherwise",
)
def patch_customer(store: Opened, customer: str, body: JsonBody) -> Any:
    """Name, contact or both; refused where they were changed meanwhile."""
    said = _checked(ChangeCustomer, body)
    return records.customers.edit_customer(store, customer, said, made_from=said.pop("made_from"))


@router.delete(
    "/customers/{customer}",
    response_model=Customer,
    responses=_REFUSALS,
    summary="Forget a customer for good",
)
def delete_customer(store: Opened, customer: str, *, photos: bool = False) -> Any:
    """Name, contact and every text that may name them; with ``photos`` those of their jobs."""
    return records.erase.erase_customer(store, customer, photos=photos)


@router.get(
    "/export",
    response_class=Response,
    responses=_REFUSALS | {200: {"content": {"application/json": {}}, "description": "All."}},
    summary="Everything that is kept, of one moment",
)
def get_export(store: Opened) -> Response:
    """With names and photos: keep it as you keep the records."""
    return Response(records.exchange.exported(store), media_type="application/json")


async def _import_body(request: Request) -> bytes:
    return await read_limited(request, MOST_IMPORT_BYTES)


_EMPTY = {
    "format": "showthrough records",
    "version": 1,
    **{key: [] for key in ("customers", "paints", "models", "photos", "jobs")},
}


@router.post(
    "/import",
    response_model=Imported,
    responses=_REFUSALS,
    openapi_extra={
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": {"type": "object"}, "example": _EMPTY}},
        }
    },
    summary="Take in an export",
)
def post_import(store: Opened, body: Annotated[bytes, Depends(_import_body)]) -> Any:
    """Whole or not at all; doing it twice changes nothing, what differs is told."""
    return records.exchange.import_all(store, body)
