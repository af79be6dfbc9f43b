"""What all pages share: assets, the templates' surroundings, headers, navigation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from importlib import resources
from typing import Any

from fastapi import FastAPI, HTTPException
from fastapi.responses import HTMLResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined

from showthrough.jobs.schema.job import MOST_PATCHES, MOST_UNDERCOATS
from showthrough.say.chances import chance_words, change_words, count_words
from showthrough.say.plan import MOVED, step_line, way_line
from showthrough.say.words import off, parts_words
from showthrough.web import answer as words
from showthrough.web import samples
from showthrough.web.forms import fields

LONGEST_LINK = 6000
"""Longer queries are posted: some proxies refuse a request line of 8 kB."""

MOST_SECONDS = 24
"""Second colours that the form offers rows for."""


@dataclass(frozen=True, slots=True)
class Place:
    """A page in the navigation."""

    address: str
    name: str
    takes_job: bool = True
    """Whether a link to it carries the job."""
    options: tuple[str, ...] = ()
    """What it asks beside the job, by the fields' names."""


PLACES = (
    Place("/", "Coats"),
    Place("/soften", "Save a coat", options=("budget", "swatches")),
    Place("/beside", "Beside it"),
    Place("/sweep", "Every swatch", options=("sort", "rows", "swatches")),
    Place("/chip", "Read a chip"),
    Place("/surface", "Read a surface"),
    Place("/drawdown", "Drawdown"),
    Place("/preview", "Preview"),
)

PAGES = tuple((place.address, place.name) for place in PLACES)
"""Address and name of each page, for the navigation."""

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
_ASSETS = {
    "page.css": "text/css; charset=utf-8",
    "print.css": "text/css; charset=utf-8",
    "page.js": "text/javascript; charset=utf-8",
    "photo.css": "text/css; charset=utf-8",
    "photo.js": "text/javascript; charset=utf-8",
    "mark.svg": "image/svg+xml",
}
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
    """Serve the pages' own style and script."""

    @app.get("/assets/{name}", include_in_schema=False)
    def get_asset(name: str, v: str = "") -> Response:
        if name not in _ASSETS:
            raise HTTPException(404, "there is no such file")
        content, version = _asset(name)
        cache_for = _A_YEAR if v == version else "no-cache"
        headers = {"Cache-Control": cache_for, "X-Content-Type-Options": "nosniff"}
        return Response(content, media_type=_ASSETS[name], headers=headers)


@cache
def _environment() -> Environment:
    env = Environment(
        loader=PackageLoader("showthrough.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters["chance"] = chance_words
    env.filters["change"] = change_words
    env.filters["coats"] = count_words
    env.filters["capital"] = words.capital
    env.filters["signed"] = words.signed
    env.filters["off"] = off
    env.filters["mix"] = parts_words
    env.filters["step"] = step_line
    env.filters["way"] = way_line
    env.filters["ladder_rows"] = words.ladder_rows
    env.globals.update(
        asset=asset_link,
        moved=MOVED,
        spec=fields.BY_NAME,
        few_rows=fields.FEW_ROWS,
        topcoat_groups=samples.topcoat_groups,
        surface_groups=samples.surface_groups,
        finish_samples=samples.finish_samples,
        seen_colour=samples.seen_colour,
        most_patches=MOST_PATCHES,
        most_undercoats=MOST_UNDERCOATS,
        most_seconds=MOST_SECONDS,
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


def missing(path: str) -> Response:
    """What a browser sees at an address where no page is."""
    nav = [(place.address, place.name, place.address) for place in PLACES]
    shown = path if len(path) <= _LONGEST_SHOWN else path[:_LONGEST_SHOWN] + "..."
    return rendered("missing.html", {"nav": nav, "page": Place("", ""), "path": shown}, status=404)
