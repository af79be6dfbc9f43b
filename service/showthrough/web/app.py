"""The HTTP service: translates requests into jobs and answers into JSON or a page.

No route knows a rule; each makes one call. What stands before all of them is in ``gate/``.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute
from pydantic.json_schema import models_json_schema
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import ClientDisconnect

from showthrough import __version__
from showthrough.errors import InputError
from showthrough.web.api import jobs as api
from showthrough.web.api import photos as photo_api
from showthrough.web.api import records as records_api
from showthrough.web.gate.access import ADDRESS, Access, Gate
from showthrough.web.gate.headers import PlainHeaders
from showthrough.web.gate.hosts import Hosts
from showthrough.web.gate.kinds import Kinds
from showthrough.web.gate.load import Limits, Load
from showthrough.web.gate.refusal import Refusals, told
from showthrough.web.pages import (
    bench,
    colours,
    customers,
    halfway,
    jobs,
    paper,
    photos,
    practice,
    shelf,
)
from showthrough.web.shell import ICON, STYLE, mount_assets


def create_app(
    names: Iterable[str] = (), access: Access | None = None, limits: Limits | None = None
) -> FastAPI:
    """A fresh application; nothing is built when this module is imported.

    Args:
        names: host names that it serves beside loopback names and its own address.
        access: what other machines must know; None asks for nothing.
        limits: how much at once.
    """
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
    for page in (bench, photos, colours, practice, paper, jobs, shelf, customers, halfway):
        app.include_router(page.router)
    mount_assets(app)
    _describe_bodies(app)
    for kind in (InputError, RequestValidationError, HTTPException, ClientDisconnect):
        app.add_exception_handler(kind, lambda request, error: told(request.scope, error))
    # The last one added stands before all others.
    if access is not None:
        app.add_middleware(Gate, access, free=(ICON, STYLE))
    app.add_middleware(Load, limits, free=_NO_QUEUE, large=(records_api.IMPORT,))
    # Routes of the API that take other bodies than JSON, by their own description.
    described = (*photo_api.router.routes, *records_api.router.routes)
    more = [
        (route.path_regex, tuple(route.openapi_extra["requestBody"]["content"]))
        for route in described
        if isinstance(route, APIRoute) and route.openapi_extra
    ]
    app.add_middleware(Kinds, more)
    app.add_middleware(Hosts, names)
    app.add_middleware(Refusals)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=6)
    app.add_middleware(PlainHeaders)
    return app


_NO_QUEUE = ("/assets/", ICON, STYLE, ADDRESS)


_BODY_MODELS = (*api.BODY_MODELS, *photo_api.BODY_MODELS, *records_api.BODY_MODELS)


def _describe_bodies(app: FastAPI) -> None:
    """Add the bodies that the library checks itself to the OpenAPI document, and the refusals."""
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
            _describe_refusals(document)
            app.openapi_schema = document
        return app.openapi_schema

    app.openapi = described  # type: ignore[method-assign] # FastAPI's own documented way


def _describe_refusals(document: dict[str, Any]) -> None:
    content = {"application/json": {"schema": {"$ref": "#/components/schemas/ProblemsShown"}}}
    for methods in document["paths"].values():
        for operation in methods.values():
            for status, why in _GATE.items():
                said = {"description": why, "content": content}
                operation["responses"].setdefault(status, said)


_GATE = {
    "401": "The access code is wanted.",
    "403": "A page of another site sent it.",
    "408": "The body came too slowly.",
    "415": "The body does not call itself what is read here.",
    "421": "It was meant for another host.",
    "429": "Too many wrong access codes.",
    "503": "Too much at once.",
}
