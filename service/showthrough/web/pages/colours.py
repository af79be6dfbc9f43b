"""What goes with the colour: handles, second colours, woods, softer ones, greys, every swatch."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from showthrough.colour.space import hex_of_lab
from showthrough.errors import InputError
from showthrough.jobs.answers.softening import PathAnswer, Softening
from showthrough.jobs.case.readings import notations as in_every_notation
from showthrough.jobs.palette import palette
from showthrough.jobs.predict import predict
from showthrough.jobs.requests import SoftenRequest, SweepRequest, checked_request
from showthrough.jobs.soften.soften import soften
from showthrough.jobs.sweep.sweep import SORT_KEYS, Sweep, sweep, sweep_csv
from showthrough.say.chances import count_words
from showthrough.say.greys import grey_words
from showthrough.web.forms.paths import colour_text, number_of
from showthrough.web.pages.asked import Asked, AskedBy, surroundings
from showthrough.web.pages.bench import begun, mend_context
from showthrough.web.shell import PLACES, as_file, rendered

_PLACE = PLACES[2]
_FEW_ROWS = 40
_SORT_WORDS = {
    "coats": "coats",
    "total": "coats with an undercoat",
    "difference": "difference",
    "harmony": "handles",
    "name": "name",
}

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get("/colours")
@router.post("/colours")
def colours(asked: AskedBy) -> Response:
    """What goes with the topcoat, and what would cover sooner."""
    return _answered(asked, "colours.html", _shown)


@router.get("/colours/every")
@router.post("/colours/every")
def every(asked: AskedBy) -> Response:
    """A whole file of swatches over the surface."""
    return _answered(asked, "every.html", _every)


@router.get("/colours/notations")
@router.post("/colours/notations")
def notations(asked: AskedBy) -> Response:
    """The job's colours as a fan deck, a shop's instrument or a screen would state them."""
    return _answered(asked, "notations.html", _notations)


@router.get("/colours/every.csv")
@router.post("/colours/every.csv")
@router.get("/colours/every.json")
@router.post("/colours/every.json")
def saved(request: Request, asked: AskedBy) -> Response:
    """All rows as a file to keep; the page with what is to mend where there are none."""
    kind = request.url.path.rpartition(".")[2]
    try:
        answer = _swept(asked)
    except InputError:
        return _answered(asked, "every.html", _every)
    text = sweep_csv(answer) if kind == "csv" else answer.model_dump_json(indent=1)
    return as_file(text, _KINDS[kind], f"swatches.{kind}")


def _answered(asked: Asked, template: str, shown: Callable[[Asked], dict[str, Any]]) -> Response:
    context = surroundings(asked, _PLACE) | {"own_place": True}
    if not begun(asked.fields):
        return rendered("nothing_yet.html", context | {"heading": "Colours"})
    try:
        return rendered(template, context | shown(asked))
    except InputError as error:
        page = template.removesuffix(".html")
        address = "/colours" if page == "colours" else f"/colours/{page}"
        return rendered("mend.html", context | mend_context(asked, error, address))


def _notations(asked: Asked) -> dict[str, Any]:
    answer = predict(asked.job)
    named = [(answer.topcoat_name, answer.topcoat), *((p.name, p) for p in answer.patches)]
    return {
        "colours": [
            (name, colour.hex, in_every_notation(colour_text({"lab": list(colour.lab)})[0] or ""))
            for name, colour in named
        ]
    }


def _request(asked: Asked, *names: str) -> dict[str, Any]:
    """The job with what the page asks beside it, in the words of a request."""
    out: dict[str, Any] = {"job": asked.job}
    for name in names:
        text = asked.page.get(name, "")
        if text:
            key = "swatches_csv" if name == "swatches" else name
            out[key] = number_of(text) if name == "budget" else text
    return out


def _shown(asked: Asked) -> dict[str, Any]:
    job, options = checked_request(SoftenRequest, _request(asked, "budget", "swatches"))
    answer = soften(job, budget=options.get("budget"), swatches=options["swatches"])
    beside = palette(job)
    more = predict(job)
    return {
        "beside": beside,
        "softening": answer,
        "goals": [(goal, *_parted(goal.answers)) for goal in answer.goals],
        "say": soften_words(answer),
        "curve": more.grey_curve,
        # A grey of each whole value, light to dark as they stand in a row.
        "greys": [p for p in more.grey_curve.points if p.munsell_value.is_integer()][-7:],
        "grey_words": grey_words,
        "topcoat": more.topcoat,
        "lab_text": lambda colour: colour_text({"lab": list(colour.lab)})[0],
        "lamps": [
            (pair.beside, [f"{x.words}: {x.difference:.1f}" for x in pair.under], pair.remark)
            for pair in beside.lamps
        ],
        "budget": asked.page.get("budget", ""),
        "swatches": asked.page.get("swatches", ""),
    }


def _parted(answers: list[PathAnswer]) -> tuple[list[PathAnswer], list[PathAnswer]]:
    """Ways that lead there, smallest change first, and those that do not."""
    there = [a for a in answers if a.difference is not None]
    rest = [a for a in answers if a.difference is None]
    return sorted(there, key=lambda a: a.difference or 0.0), rest


def soften_words(answer: Softening) -> str:
    """What softening does, in one line."""
    best = next((g for g in answer.goals if g.best is not None), None)
    if best is None:
        return "Nothing useful in softening: keep the colour, use the undercoat."
    now = count_words(answer.coats, "topcoat")
    return f"A softer colour may do with {count_words(best.coats, 'topcoat')}, not {now}."


def _swept(asked: Asked) -> Sweep:
    job, options = checked_request(SweepRequest, _request(asked, "sort", "swatches"))
    return sweep(job, options["swatches"], sort=options.get("sort", "coats"))


def _every(asked: Asked) -> dict[str, Any]:
    answer = _swept(asked)
    rows = answer.rows if asked.page.get("rows") == "all" else answer.rows[:_FEW_ROWS]
    return {
        "answer": answer,
        "say": sweep_words(answer),
        "rows": rows,
        "wished_hex": hex_of_lab(answer.wished),
        "sorts": [(key, _SORT_WORDS[key]) for key in SORT_KEYS],
        "sort": asked.page.get("sort", "coats"),
        "swatches": asked.page.get("swatches", ""),
        "lab_text": lambda colour: colour_text({"lab": list(colour.lab)})[0],
    }


def sweep_words(answer: Sweep) -> str:
    """All rows in one line."""
    count = len(answer.rows)
    known = [row.coats for row in answer.rows if row.coats is not None]
    many = "1 swatch" if count == 1 else f"{count:,} swatches"
    if not known:
        return f"{many}: each needs {count_words(None)}"
    if count == 1:
        return f"{many}: {count_words(known[0])}"
    most = None if len(known) < count else max(known)
    if most == min(known):
        return f"{many}: {count_words(most)} each"
    return f"{many}: from {min(known)} to {count_words(most)}"


_KINDS = {"csv": "text/csv; charset=utf-8", "json": "application/json"}
