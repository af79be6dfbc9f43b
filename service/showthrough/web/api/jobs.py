"""The JSON routes. Bodies are the words of a job file; answers those of the library."""

from __future__ import annotations

import json
from typing import Annotated, Any, cast

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse, Response
from pydantic import BaseModel

from showthrough.errors import InputError
from showthrough.jobs.answers.halfway import HalfWay
from showthrough.jobs.answers.palette import Palette
from showthrough.jobs.answers.prediction import Prediction, ProblemsShown
from showthrough.jobs.answers.softening import Softening
from showthrough.jobs.answers.whole import WholeJob
from showthrough.jobs.case.resolve import MOST_JOB_BYTES
from showthrough.jobs.halfway import half_way
from showthrough.jobs.palette import palette
from showthrough.jobs.predict import predict
from showthrough.jobs.requests import LogRequest, SoftenRequest, SweepRequest, checked_request
from showthrough.jobs.schema.job import EXAMPLE_JOB, Job
from showthrough.jobs.soften.soften import soften
from showthrough.jobs.sweep.sweep import Sweep, sweep, sweep_csv
from showthrough.jobs.whole import calendar, plan
from showthrough.sheets.sheet import PAGES, PAPERS, Pages, Paper, sheet
from showthrough.web.body import read_limited

router = APIRouter(prefix="/api")

REFUSALS: dict[int | str, dict[str, Any]] = {
    413: {"model": ProblemsShown, "description": "The body is too large."},
    422: {"model": ProblemsShown, "description": "Something in the input is wrong: all of it."},
}


async def json_body(request: Request) -> Any:
    """The body as JSON; numbers such as NaN are let through for the schema to name."""
    raw = await read_limited(request, MOST_JOB_BYTES)
    try:
        return json.loads(raw)
    except (ValueError, RecursionError) as error:
        raise InputError.at(
            "body", raw[:60].decode("utf-8", "replace"), f"not JSON: {error}"
        ) from error


JsonBody = Annotated[Any, Depends(json_body)]


BODY_MODELS: tuple[type[BaseModel], ...] = (Job, LogRequest, SoftenRequest, SweepRequest)
"""Bodies that the library checks itself, so that all doors use its words; the app adds
their schemas to the OpenAPI document."""


def body_schema(model: type[BaseModel], example: dict[str, Any]) -> dict[str, Any]:
    """OpenAPI for such a body."""
    reference = {"$ref": f"#/components/schemas/{model.__name__}"}
    content = {"application/json": {"schema": reference, "example": example}}
    return {"requestBody": {"required": True, "content": content}}


@router.post(
    "/predict",
    response_model=Prediction,
    responses=REFUSALS,
    openapi_extra=body_schema(Job, EXAMPLE_JOB),
    summary="Coats, undercoats and finishes for a job",
)
def post_predict(job: JsonBody) -> Response:
    """The same job as in a job file, as JSON; files cannot be named here."""
    return Response(predict(job).model_dump_json(), media_type="application/json")


@router.post(
    "/plan",
    response_model=WholeJob,
    responses=REFUSALS
    | {200: {"content": {"text/calendar": {}}, "description": "JSON, or a calendar if asked for."}},
    openapi_extra=body_schema(Job, EXAMPLE_JOB),
    summary="The whole job: steps, paint and cans, days, money",
)
def post_plan(job: JsonBody, request: Request) -> Response:
    """The body is the job itself; iCalendar where the request accepts text/calendar."""
    if "text/calendar" in request.headers.get("accept", ""):
        return Response(calendar(job), media_type="text/calendar")
    return Response(plan(job).model_dump_json(), media_type="application/json")


_SHEET: dict[int | str, dict[str, Any]] = {
    200: {
        "content": {"text/html": {"schema": {"type": "string"}}},
        "description": "One self-contained file, ready to print.",
    }
}
_NOTHING_FOREIGN = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'; "
        "frame-ancestors 'none'"
    )
}
"""The sheet carries its style inside, and nothing in it may load or run."""


@router.post(
    "/sheet",
    response_class=Response,
    responses=REFUSALS | _SHEET,
    openapi_extra=body_schema(Job, EXAMPLE_JOB),
    summary="The printed sheet: bench, customer and shopping pages",
)
def post_sheet(
    job: JsonBody,
    *,
    pages: Annotated[str, Query(alias="for", json_schema_extra={"enum": list(PAGES)})] = "all",
    paper: Annotated[str | None, Query(json_schema_extra={"enum": list(PAPERS)})] = None,
    money: Annotated[
        bool, Query(description="price and clause on the customer's page, never costs")
    ] = False,
) -> Response:
    """The body is the job itself. Without ``paper``: letter for US units, else a4."""
    html = sheet(job, pages=cast("Pages", pages), paper=cast("Paper | None", paper), money=money)
    return HTMLResponse(html, headers=_NOTHING_FOREIGN)


@router.post(
    "/palette",
    response_model=Palette,
    responses=REFUSALS,
    openapi_extra=body_schema(Job, EXAMPLE_JOB),
    summary="Finishes, second colours and woods beside a job's topcoat",
)
def post_palette(job: JsonBody) -> Response:
    """The body is the job itself."""
    return Response(palette(job).model_dump_json(), media_type="application/json")


@router.post(
    "/soften",
    response_model=Softening,
    responses=REFUSALS,
    openapi_extra=body_schema(SoftenRequest, {"job": EXAMPLE_JOB, "budget": 3}),
    summary="The smallest changes of the topcoat that save coats",
)
def post_soften(body: JsonBody) -> Response:
    """The body holds the job and the budget."""
    job, options = checked_request(SoftenRequest, body)
    answer = soften(job, budget=options["budget"], swatches=options["swatches"])
    return Response(answer.model_dump_json(), media_type="application/json")


@router.post(
    "/log",
    response_model=HalfWay,
    responses=REFUSALS,
    openapi_extra=body_schema(LogRequest, {"job": EXAMPLE_JOB, "after": 2, "enough": False}),
    summary="Half way: what is left once some coats were seen",
)
def post_log(body: JsonBody) -> Response:
    """The body holds the job, the topcoats that are on, and whether they are enough."""
    job, seen = checked_request(LogRequest, body)
    return Response(half_way(job, **seen).model_dump_json(), media_type="application/json")


@router.post(
    "/sweep",
    response_model=Sweep,
    responses=REFUSALS
    | {200: {"content": {"text/csv": {}}, "description": "JSON, or CSV if it is asked for."}},
    openapi_extra=body_schema(SweepRequest, {"job": EXAMPLE_JOB, "sort": "difference"}),
    summary="Every swatch of a file over a job's surface",
)
def post_sweep(body: JsonBody, request: Request) -> Response:
    """CSV where the request accepts text/csv, else JSON."""
    job, options = checked_request(SweepRequest, body)
    answer = sweep(job, options["swatches"], sort=options["sort"], strict=options["strict"])
    if "text/csv" in request.headers.get("accept", ""):
        return Response(sweep_csv(answer), media_type="text/csv")
    return Response(answer.model_dump_json(), media_type="application/json")
