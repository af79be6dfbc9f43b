"""What painters usually need beside what is reckoned here for the same."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response

from showthrough.colour.space import hex_of_lab
from showthrough.jobs.practice import practice_rows
from showthrough.say.chances import count_words
from showthrough.web.pages.asked import AskedBy, surroundings
from showthrough.web.shell import PLACES, rendered

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get("/practice")
@router.post("/practice")
def practice(asked: AskedBy) -> Response:
    """The table of common practice; the job that was left for it is carried along."""
    rows = practice_rows()
    shown = []
    for row in rows:
        low, high = row.low or "over 12", row.high or "over 12"
        here = f"{count_words(row.likely)} ({low} to {high})"
        shown.append({"row": row, "hex": hex_of_lab(row.lab), "here": here})
    context = {"rows": shown, "hits": sum(row.hit for row in rows), "own_place": True}
    return rendered("practice.html", surroundings(asked, PLACES[0]) | context)
