"""The pages: server-rendered HTML over the same jobs. First of them, the coats."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from showthrough.jobs.predict import predict
from showthrough.say.words import trust
from showthrough.web import answer as words
from showthrough.web.curve import grey_curve
from showthrough.web.forms.form import Form
from showthrough.web.forms.job_form import job_of
from showthrough.web.pages import beside as pages_beside
from showthrough.web.pages import photos as photo_pages
from showthrough.web.pages import soften as pages_soften
from showthrough.web.pages import sweep as pages_sweep
from showthrough.web.pages.job_page import JobPage, router_of
from showthrough.web.shell import LONGEST_LINK, mount_assets

__all__ = ["LONGEST_LINK", "mount_assets", "router"]


def _shown(form: Form) -> dict[str, Any]:
    answer = predict(job_of(form))
    plain = [patch.critical_um for patch in answer.patches]
    hardest = None if None in plain else max(um for um in plain if um is not None)
    return {
        "answer": answer,
        "say": answer.headline,
        "sureness": words.sureness(answer),
        "evenness": words.evenness(answer),
        "job_line": words.job_line(answer),
        "figures_line": words.figures_line(answer),
        "evidence": trust(answer.hiding),
        "film_line": words.film_line(answer.film),
        "ladders": words.ladders(answer),
        "curve": grey_curve(answer.grey_curve, hardest),
    }


COATS = JobPage(
    "/",
    "/answer",
    heading="Will it cover, and in how many coats?",
    verb="Count the coats",
    wanting="Give a topcoat and at least one patch of the surface, then count the coats.",
    parts="answer/coats.html",
    shown=_shown,
)

router = APIRouter(include_in_schema=False)
router.include_router(router_of(COATS))
router.include_router(pages_soften.router)
router.include_router(pages_beside.router)
router.include_router(pages_sweep.router)
router.include_router(photo_pages.router)
