"""How the service says no: one body for programs, one page for browsers, on every address."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping, Sequence
from typing import Any

from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from showthrough.errors import InputError, Problem, shown
from showthrough.jobs.schema.wrong import field_path
from showthrough.web.shell import missing, rendered

_LOG = logging.getLogger("showthrough")

_HEADINGS = {
    401: "This needs the access code",
    403: "This came from elsewhere",
    404: "There is nothing here",
    405: "This address does not do that",
    408: "Too slow",
    409: "It was changed meanwhile",
    413: "Too large",
    415: "Not in a form that is read here",
    421: "This service has another name",
    422: "Something is to put right",
    429: "Too many tries",
    500: "Something went wrong inside",
    503: "Too much at once",
}


class Refused(HTTPException):
    """A request that is answered with a problem before or while it is read."""

    def __init__(
        self, status: int, problem: Problem, headers: Mapping[str, str] | None = None
    ) -> None:
        """Hold what the answer says."""
        super().__init__(status, problem.message, headers)
        self.problem = problem

    @classmethod
    def at(
        cls,
        status: int,
        field: str,
        value: str,
        message: str,
        headers: Mapping[str, str] | None = None,
    ) -> Refused:
        """One about a field of the request."""
        return cls(status, Problem(field, shown(value), message, f"http_{status}"), headers)


def wants_page(scope: Scope) -> bool:
    """Whether a browser asks, and not its script or a program."""
    return "text/html" in Headers(scope=scope).get("accept", "")


def refusal(
    scope: Scope,
    status: int,
    error: str,
    problems: Sequence[Problem],
    headers: Mapping[str, str] | None = None,
) -> Response:
    """The body ``{"error": code, "problems": [{field, value, message, code}]}``, or a page."""
    kept = {"Cache-Control": "no-store", **(headers or {})}
    if not wants_page(scope):
        body = {"error": error, "problems": [p.as_dict() for p in problems]}
        # In ASCII, so that half of a surrogate pair can be told back to its sender.
        text = json.dumps(body, allow_nan=False, separators=(",", ":"))
        return Response(text, status, kept, "application/json")
    if status == 404:
        response = missing(scope["path"])
        response.headers.update(kept)
        return response
    heading = _HEADINGS.get(status, "This cannot be done")
    # What a request is made of is no painter's word; which field of a job is wrong is one.
    told = [p.message if p.field == "body" else str(p) for p in problems]
    context = {"heading": heading, "problems": [shown(each, 400) for each in told]}
    return rendered("gate/refusal.html", context, status, kept)


_STATUS = {"stale": 409, "store": 503, "unknown": 404}
"""What is not the sender's mistake but the records' state, by the error's code."""


def told(scope: Scope, error: Exception) -> Response:
    """The answer to whatever went wrong."""
    if isinstance(error, InputError):
        large = any(p.code == "too_large" for p in error.problems)
        status = 413 if large else _STATUS.get(error.code, 422)
        return refusal(scope, status, error.code, error.problems)
    if isinstance(error, RequestValidationError):
        return refusal(scope, 422, InputError.code, [_problem(item) for item in error.errors()])
    if isinstance(error, Refused):
        return refusal(scope, error.status_code, "http", [error.problem], error.headers)
    if isinstance(error, HTTPException):
        status = error.status_code
        problem = Problem("", scope["path"], str(error.detail), f"http_{status}")
        return refusal(scope, status, "http", [problem], error.headers)
    if isinstance(error, ClientDisconnect):
        return Response(status_code=400)  # nobody is left to read an answer
    _LOG.error("unforeseen fault", exc_info=error)
    problem = Problem("", "", "something went wrong inside; the log has the details", "internal")
    return refusal(scope, 500, "internal", [problem])


def _problem(item: Mapping[str, Any]) -> Problem:
    where = field_path(tuple(item["loc"][1:]))
    return Problem(where, shown(item.get("input", "")), str(item["msg"]), str(item["type"]))


class Refusals:
    """Answers what was raised further in, where no answer has begun."""

    def __init__(self, app: ASGIApp) -> None:
        """Stand before the application."""
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        begun = False

        async def sent(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await self.app(scope, receive, sent)
        except Exception as error:
            if begun:
                raise
            await told(scope, error)(scope, receive, send)
