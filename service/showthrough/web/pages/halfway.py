"""Half way: some coats are on, or a test piece was tried, and the question is what is left."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response

from showthrough.errors import InputError, StoreError, UnknownError
from showthrough.jobs.halfway import half_way
from showthrough.jobs.whole import plan
from showthrough.records import store as records
from showthrough.records.store.opening.there import is_there
from showthrough.say.halfway import foretold_line
from showthrough.say.whole import (
    bought_short,
    buy_line,
    day_words,
    days_lines,
    is_waxed,
    stop_lines,
)
from showthrough.web.forms.paths import number_of
from showthrough.web.pages.asked import Asked, AskedBy, surroundings
from showthrough.web.pages.bench import begun, mend_context, steps_of
from showthrough.web.shell import PLACES, rendered

_MOST_ODDS = 4

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get("/half")
@router.post("/half")
def half(asked: AskedBy) -> Response:
    """What is left of the job, once some coats were seen."""
    context = surroundings(asked, PLACES[0])
    if not begun(asked.fields):
        return rendered("nothing_yet.html", context | {"heading": "Half way"})
    said = {key: asked.page.get(key, "") for key in ("after", "seen", "left_ml", "tried")}
    try:
        whole = plan(asked.job)
        context |= {
            "said": said,
            "answer": None,
            "groups": [g.name for g in whole.groups],
            "ways": whole.ways,
        }
        hexes = {group.topcoat_name: group.topcoat.hex for group in whole.groups}
        if said["after"] and said["seen"]:
            context |= _answered(asked, said, hexes) | {"running": _running(asked)}
    except InputError as error:
        return rendered("mend.html", context | mend_context(asked, error, "/half"))
    return rendered("half.html", context)


def _running(asked: Asked) -> int | None:
    """The kept job that takes what was seen of its coats; None where none does, or it is done."""
    if asked.kept is None or asked.page.get("tried") == "yes" or not is_there():
        return None
    with suppress(UnknownError, StoreError), records.opened.open_store() as store:
        line = records.jobs.opened(store, asked.kept[0]).line
        return line.number if line.state == "open" else None
    return None


def _answered(asked: Asked, said: dict[str, str], topcoats: dict[str, str]) -> dict[str, Any]:
    count = number_of(said["after"])
    left = number_of(said["left_ml"]) if said["left_ml"] else None
    tried = said["tried"] == "yes"
    answer = half_way(
        asked.job,
        enough=said["seen"] == "yes",
        way=asked.page.get("way") or None,
        group=asked.page.get("group") or None,
        left_ml=left,  # type: ignore[arg-type] # what is no number is refused by field
        **{"test_piece" if tried else "after": count},  # type: ignore[arg-type] # likewise
    )
    first = max((answer.likely or 1) - 1, 1)
    rows = [row for row in answer.more.items() if row[0] >= first][:_MOST_ODDS]
    return {
        "answer": answer,
        "foretold": foretold_line(answer),
        "odds": [{"name": f"{n} more", "chance": p, "this": n == answer.likely} for n, p in rows],
        "steps": steps_of(answer, topcoats),
        "buy": [buy_line(product, answer.units, "") for product in answer.paint],
        "cans": bought_short(answer.paint, answer.units),
        "days_short": ""
        if answer.days is None
        else f"done {day_words(answer.days.hand_over.likely)}",
        "days_lines": []
        if answer.days is None
        else [*stop_lines(answer.days), *days_lines(answer.days, waxed=is_waxed(answer))],
    }
