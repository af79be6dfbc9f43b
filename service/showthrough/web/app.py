"""The HTTP service: translates requests into jobs and answers into JSON or a page.

One error body everywhere: ``{"error": code, "problems": [{field, value, message, code}]}``.
No route knows a rule; each makes one call.
"""

from __future__ import annotations

import json
import logging
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from pydantic.json_schema import models_json_schema
from starlette.datastructures import MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from showthrough import __version__
from showthrough.errors import InputError, Problem, shown
from showthrough.jobs.schema.wrong import field_path
from showthrough.web.api import jobs as api
from showthrough.web.api import photos as photo_api
from showthrough.web.api import records as records_api
from showthrough.web.pages import coats as page
from showthrough.web.shell import missing

_LOG = logging.getLogger("showthrough")


def create_app() -> FastAPI:
    """A fresh application; nothing is built when this module is imported."""
    app = FastAPI(
        title="Showthrough",
        version=__version__,
        summary="How many coats a colour takes over a surface, and what goes under and beside it.",
        # The stock documentation pages load scripts from another host.
        docs_url=None,
        redoc_url=None,
    )
    app.include_router(api.router)
    app.include_router(photo_api.router)
    app.include_router(records_api.router)
    app.include_router(page.router)
    page.mount_assets(app)
    _describe_bodies(app)
    app.add_exception_handler(InputError, _wrong_input)
    app.add_exception_handler(RequestValidationError, _wrong_request)
    app.add_exception_handler(HTTPException, _http_error)
    app.add_exception_handler(ClientDisconnect, _gone)
    app.add_exception_handler(Exception, _fault)
    app.add_middleware(_Plain)
    return app


class _Plain:
    """What holds for every address: HEAD is GET without a body, and no browser guesses a type."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        head = scope["method"] == "HEAD"

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).setdefault(*_NOSNIFF)
            elif head and message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await self.app({**scope, "method": "GET"} if head else scope, receive, sent)


_NOSNIFF = ("X-Content-Type-Options", "nosniff")


_BODY_MODELS = (*api.BODY_MODELS, *photo_api.BODY_MODELS, *records_api.BODY_MODELS)


def _describe_bodies(app: FastAPI) -> None:
    """Add the bodies that the library checks itself to the OpenAPI document."""
    stock = app.openapi

    def described() -> dict[str, Any]:
        if app.openapi_schema is None:
            document = stock()
            _, definitions = models_json_schema(
                [(model, "validation") for model in _BODY_MODELS],
                ref_template="#/components/schemas/{model}",
            )
            schemas = document.setdefault("components", {}).setdefault("schemas", {})
            for name, schema in definitions.get("$defs", {}).items():
                schemas.setdefault(name, schema)
            app.openapi_schema = document
        return app.openapi_schema

    app.openapi = described  # type: ignore[method-assign] # FastAPI's own documented way


class _Refusal(JSONResponse):
    """JSON in ASCII, so that half of a surrogate pair can be told back to its sender."""

    def render(self, content: Any) -> bytes:
        """The body."""
        return json.dumps(content, allow_nan=False, separators=(",", ":")).encode("ascii")


def problem_body(error: str, problems: list[Problem]) -> dict[str, Any]:
    """The one body of every refusal."""
    return {"error": error, "problems": [p.as_dict() for p in problems]}


def _wrong_input(_request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, InputError)
    too_large = any(p.code == "too_large" for p in error.problems)
    status = 413 if too_large else _STATUS.get(error.code, 422)
    return _Refusal(problem_body(error.code, list(error.problems)), status_code=status)


_STATUS = {"stale": 409, "store": 503, "unknown": 404}
"""What is not the sender's mistake but the records' state, by the error's code."""


def _wrong_request(_request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    problems = [
        Problem(
            field_path(tuple(item["loc"][1:])),
            shown(item.get("input", "")),
            str(item["msg"]),
            str(item["type"]),
        )
        for item in error.errors()
    ]
    return _Refusal(problem_body("invalid_input", problems), status_code=422)


def _http_error(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404 and "text/html" in request.headers.get("accept", ""):
        return missing(request.url.path)
    problem = Problem("", request.url.path, str(error.detail), f"http_{error.status_code}")
    return _Refusal(
        problem_body("http", [problem]), status_code=error.status_code, headers=error.headers
    )


def _fault(_request: Request, error: Exception) -> JSONResponse:
    _LOG.error("unforeseen fault", exc_info=error)
    problem = Problem("", "", "something went wrong inside; the log has the details", "internal")
    # This answer goes out past everything that holds for every address.
    return _Refusal(problem_body("internal", [problem]), status_code=500, headers=dict([_NOSNIFF]))


def _gone(_request: Request, _error: Exception) -> Response:
    """The client went while it was sending: nobody is left to read an answer."""
    return Response(status_code=400)
