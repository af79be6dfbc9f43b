"""Jobs whose sheets the tests read, and readers of single pages. All of it is invented."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from jobs.small_jobs import BROWN_FINISH, RED, VIVID_YELLOW, WHITE, patch, small_job
from showthrough.sheets.sheet import sheet
from web.tree import Element, read_html

NOW = datetime(2027, 3, 1, 6, tzinfo=UTC)
"""A Monday, before work."""

ROOT = Path(__file__).parents[2]
LINEN = tomllib.loads((ROOT / "examples" / "linen-cupboard.toml").read_text(encoding="utf-8"))

UNSOUND = small_job(
    (66, -24, 55),
    patch(
        ground="paint",
        condition="flaking",
        lead_test={"by": "laboratory", "result": "lead", "date": "2027-02-03"},
    ),
    title="Chair",
)
GROUPS = small_job(
    RED,
    patch((40, 11, 19), "laminate", ground="laminate"),
    title="Sideboard",
    paint={"name": "red", "chemistry": "alkyd"},
    group=[
        {"name": "carcass", "area_m2": 2.2},
        {
            "name": "doors",
            "area_m2": 1.4,
            "topcoat": {"name": "ivory", "colour": {"lab": [90, 0, 8]}},
            "application": {"tool": "spray", "flips": True},
        },
        {
            "name": "legs",
            "area_m2": 0.3,
            "surface": [patch((60, 8, 30), "oak", ground="oak")],
            "finish": {"kind": "wax"},
        },
    ],
    product=[{"step": "bond", "shelf_ml": [300]}],
)
US = small_job(
    WHITE,
    patch((28, 9, 12), "walnut", share=0.7, ground="walnut"),
    patch(
        BROWN_FINISH,
        "varnish",
        share=0.3,
        ground="varnish",
        lead_test={"by": "kit", "result": "clear", "date": "2026-05-31"},
    ),
    units="us",
    title="Blanket chest",
    area_ft2=38,
    application={"tool": "brush"},
    finish={"kind": "clear", "coats": 2},
    child=True,
    money={"currency": "USD", "labour_per_hour": "30"},
)
MANY = small_job(
    WHITE,
    *[patch((20 + 5 * i, 9, 12), f"board {i}", share=1 / 9, ground="varnish") for i in range(9)],
    application={"tool": "aerosol"},
    area_m2=2,
)
JOBS: dict[str, dict[str, Any]] = {
    "linen cupboard": LINEN,
    "unsound": UNSOUND,
    "groups": GROUPS,
    "us": US,
    "many coats": MANY,
    "never enough": small_job(
        VIVID_YELLOW, patch((18, 0, 0)), application={"tool": "spray", "wet_film_um": 4}
    ),
    "own can": small_job(
        WHITE,
        undercoat=[{"name": "half a tin of grey", "colour": "N 7", "shelf_ml": 900}],
        area_m2=1.0,
    ),
}


def pages_of(job: dict[str, Any], **options: Any) -> dict[str, Element]:
    """The pages of a job's sheet by whom they are for."""
    html = sheet(job, now=NOW, **options)
    sections = read_html(html).all("section", lambda each: each.has_class("page"))
    return {page.attrs["class"].split()[1]: page for page in sections}


def squeezed(text: str) -> str:
    """The text with single spaces, as a reader of elements gives it."""
    return " ".join(text.split())
