"""What all pages share: assets, the templates' surroundings, headers, places."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from importlib import resources
from typing import Any

from fastapi import FastAPI, HTTPException, Request
from fastapi.responses import HTMLResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined

from showthrough.say.chances import (
    capital,
    chance_words,
    change_words,
    count_words,
    filled_tenths,
    short_chance,
    short_words,
)
from showthrough.say.plan import MOVED, step_line, way_line
from showthrough.say.sentence import beside_words
from showthrough.say.undercoats import option_line
from showthrough.say.whole import hours_words
from showthrough.say.words import off, parts_words
from showthrough.web import samples
from showthrough.web.forms import labels, paths

LONGEST_LINK = 6000
"""Longer queries are posted: some proxies refuse a request line of 8 kB."""


@dataclass(frozen=True, slots=True)
class Place:
    """A page in the navigation."""

    address: str
    name: str


PLACES = (
    Place("/", "Plan"),
    Place("/photo", "Photo"),
    Place("/colours", "Colours"),
    Place("/sheet", "Sheet"),
    Place("/jobs", "Jobs"),
)

SAFE = {
    # Colours are SVG attributes, which are no style; nothing inline and nobody else's.
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
}
PHOTO_SAFE = SAFE | {
    # The photo as the browser holds it, and pictures that come in the page itself.
    "Content-Security-Policy": SAFE["Content-Security-Policy"].replace(
        "img-src 'self'", "img-src 'self' blob: data:"
    )
}
PAPER_SAFE = SAFE | {
    # The printed sheet is one file with its style inside; it runs and fetches nothing.
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )
}
_ASSETS = {
    "page.css": "text/css; charset=utf-8",
    "page.js": "text/javascript; charset=utf-8",
    "photo.css": "text/css; charset=utf-8",
    "photo.js": "text/javascript; charset=utf-8",
    "mark.svg": "image/svg+xml",
}
ICON, STYLE = "/favicon.ico", "/gate.css"
"""What a browser loads before anything is allowed to it: the icon, looked for also from what is no
page, and the style of the access page and of refusals."""
_LONGEST_SHOWN = 80
_A_YEAR = "public, max-age=31536000, immutable"


@cache
def _asset(name: str) -> tuple[bytes, str]:
    """Content of an asset and a version that changes with it."""
    content = (resources.files("showthrough.web") / "assets" / name).read_bytes()
    return content, sha256(content).hexdigest()[:12]


def asset_link(name: str) -> str:
    """Where a page finds an asset, for as long as it stays what it is."""
    return f"/assets/{name}?v={_asset(name)[1]}"


def mount_assets(app: FastAPI) -> None:
    """Serve the icon and the pages' own styles and scripts."""

    @app.get("/assets/{name}", include_in_schema=False)
    def get_asset(name: str, v: str = "") -> Response:
        if name not in _ASSETS:
            raise HTTPException(404, "there is no such file")
        content, version = _asset(name)
        cache_for = _A_YEAR if v == version else "no-cache"
        headers = {"Cache-Control": cache_for, "X-Content-Type-Options": "nosniff"}
        return Response(content, media_type=_ASSETS[name], headers=headers)

    @app.get(ICON, include_in_schema=False)
    @app.get(STYLE, include_in_schema=False)
    def get_early(request: Request) -> Response:
        name = {ICON: "mark.svg", STYLE: "gate.css"}[request.url.path]
        headers = {"Cache-Control": "public, max-age=3600"}
        kind = _ASSETS.get(name, _ASSETS["page.css"])
        return Response(_asset(name)[0], media_type=kind, headers=headers)


def signed(value: float) -> str:
    """Two decimals with their sign; a true minus, and no sign on nothing."""
    text = f"{abs(value):.2f}"
    if text == "0.00":
        return text
    return f"\N{MINUS SIGN}{text}" if value < 0.0 else f"+{text}"


@cache
def _environment() -> Environment:
    env = Environment(
        loader=PackageLoader("showthrough.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters.update(
        beside=beside_words,
        capital=capital,
        chance=chance_words,
        change=change_words,
        coats=count_words,
        hours=hours_words,
        ink=samples.ink_on,
        mix=parts_words,
        off=off,
        seen=samples.seen_colour,
        short=short_words,
        signed=signed,
        step=step_line,
        tenths=short_chance,
        squares=filled_tenths,
        undercoat=option_line,
        way=way_line,
    )
    env.globals.update(
        asset=asset_link,
        choice_words=labels.choice_words,
        label_of=labels.label_of,
        leaf=paths.leaf,
        moved=MOVED,
        places=PLACES,
    )
    return env


def rendered(
    template: str,
    context: Mapping[str, Any],
    status: int = 200,
    headers: Mapping[str, str] = SAFE,
) -> Response:
    """A template as a response that nothing foreign can run in."""
    html = _environment().get_template(template).render(context)
    return HTMLResponse(html, status, headers=headers)


def as_file(text: str, kind: str, name: str) -> Response:
    """A text as a file to keep."""
    headers = {
        "Content-Disposition": f'attachment; filename="{name}"',
        "X-Content-Type-Options": "nosniff",
    }
    return Response(text, media_type=kind, headers=headers)


def missing(path: str) -> Response:
    """What a browser sees at an address where no page is."""
    shown = path if len(path) <= _LONGEST_SHOWN else path[:_LONGEST_SHOWN] + "..."
    return rendered("missing.html", {"place": None, "path": shown}, status=404)
