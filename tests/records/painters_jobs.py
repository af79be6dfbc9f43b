"""Invented finished jobs for the tests of learning."""

from __future__ import annotations

import math
from typing import Any

from jobs.small_jobs import small_job
from showthrough.records.learning.likelihood import JobCount
from showthrough.records.store.kept import lessons
from showthrough.records.store.kept.reads import finished_rows

PAINT, TOOL = math.log(1.4), math.log(1.25)
"""Standard deviations of a paint's and of a tool's effect."""


def count(coats: int, outcome: str = "enough", **more: Any) -> JobCount:
    """A job of "green" with "gun" that was expected to need the film of 2.5 coats."""
    given = {"paint": "green", "tool": "gun", "need": 2.5, "paint_sigma": PAINT, "tool_sigma": TOOL}
    given |= more
    need = math.log(given.pop("need"))
    return JobCount(coats=coats, outcome=outcome, log_need=need, **given)  # type: ignore[arg-type] # any


OLIVE = small_job(paint={"name": "Invented Olive"}, title="Bench, invented")
"""A job whose paint has a name; lightly sprayed at a stated 45 µm."""


def entry(coats: int | None = 4, **more: Any) -> dict[str, Any]:
    """A finished job of that paint, laid alike, expected to need the film of 2.5 coats."""
    row = {
        "paint": "invented olive",
        "tool": "spray",
        "coat": "light",
        "film_from": "stated",
        "film_coats": 2.5,
        "coats": coats,
        "wet_film_um": 45.0,
        **more,
    }
    return {key: value for key, value in row.items() if value is not None}


def finished(store: Any) -> list[Any]:
    """Every outcome of a store that was not taken back, with its job and answer."""
    with store.reading() as connection:
        return [lessons._finished(connection, row) for row in finished_rows(connection)]
