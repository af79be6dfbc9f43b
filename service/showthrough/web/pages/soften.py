"""The page that saves a coat: how little the colour must soften."""

from __future__ import annotations

from typing import Any

from showthrough.jobs.answers.softening import PathAnswer, Softening, SofteningGoal
from showthrough.jobs.requests import SoftenRequest, checked_request
from showthrough.jobs.soften.soften import soften
from showthrough.say.chances import count_words
from showthrough.web.forms.form import Form
from showthrough.web.forms.job_form import request_of
from showthrough.web.pages.job_page import JobPage, router_of


def _shown(form: Form) -> dict[str, Any]:
    job, options = checked_request(SoftenRequest, request_of(form))
    answer = soften(job, budget=options.get("budget"), swatches=options["swatches"])
    return {"answer": answer, "say": say(answer), "goals": [(g, *ways(g)) for g in answer.goals]}


def ways(goal: SofteningGoal) -> tuple[list[PathAnswer], list[PathAnswer]]:
    """Ways that lead there, smallest change first, and those that do not."""
    there = [a for a in goal.answers if a.difference is not None]
    return sorted(there, key=lambda a: a.difference or 0.0), [
        a for a in goal.answers if a.difference is None
    ]


def say(answer: Softening) -> str:
    """The answer in one line."""
    if answer.coats == 1:
        return "One coat is enough already"
    best = next((g for g in answer.goals if g.best is not None), None)
    if best is None:
        return "Nothing useful in softening: keep the colour, use the undercoat"
    now = count_words(answer.coats).removesuffix(" coats")
    return f"A softer colour may do with {count_words(best.coats)}, not {now}"


SOFTEN = JobPage(
    "/soften",
    "/soften/answer",
    heading="How little must the colour soften to save a coat?",
    verb="Soften the colour",
    wanting="Give the colour that you wish for and at least one patch of the surface.",
    parts="answer/soften.html",
    shown=_shown,
    ask_part="form/ask_soften.html",
    takes_files=True,
)
router = router_of(SOFTEN)
