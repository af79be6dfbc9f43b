"""What a browser loads before anything is allowed to it: the icon, the style of refusals."""

from __future__ import annotations

from importlib import resources

from fastapi import APIRouter
from fastapi.responses import Response

ICON = "/favicon.ico"
"""Where a browser looks by itself, also from an answer that is no page."""
STYLE = "/gate.css"

router = APIRouter(include_in_schema=False)


def _asset(name: str, kind: str) -> Response:
    content = (resources.files("showthrough.web") / "assets" / name).read_bytes()
    return Response(content, media_type=kind, headers={"Cache-Control": "public, max-age=3600"})


@router.get(ICON)
def get_icon() -> Response:
    """The mark of the pages."""
    return _asset("mark.svg", "image/svg+xml")


@router.get(STYLE)
def get_style() -> Response:
    """The style of the access page and of refusals."""
    return _asset("gate.css", "text/css; charset=utf-8")
