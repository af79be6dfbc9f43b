"""The page of what sits beside a topcoat: hardware, a second colour, wood, and lamps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from showthrough.jobs.answers.palette import PairShown, Palette
from showthrough.jobs.palette import palette
from showthrough.web.forms.form import Form
from showthrough.web.forms.job_form import job_of
from showthrough.web.pages.job_page import JobPage, router_of


@dataclass(frozen=True, slots=True)
class PairRow:
    """A pair under lamps, with the colour beside the topcoat where it is known."""

    pair: PairShown
    hex: str | None


def _shown(form: Form) -> dict[str, Any]:
    answer = palette(job_of(form))
    return {
        "answer": answer,
        "say": say(answer),
        "pairs": lamp_rows(answer),
        "remarks": list(dict.fromkeys(p.remark for p in answer.lamps if p.remark)),
        "parting": [p.beside for p in answer.lamps if any(u.parts for u in p.under)],
    }


def lamp_rows(answer: Palette) -> list[PairRow]:
    """Pairs in the order of the answer."""
    colours = {second.name: second.hex for second in answer.second_colours}
    for finish in answer.finishes:
        codes = ", ".join(code for code in (finish.code, finish.us_code) if code)
        colours[f"{finish.name} ({codes})" if codes else finish.name] = finish.hex
    return [PairRow(pair, colours.get(pair.beside)) for pair in answer.lamps]


def say(answer: Palette) -> str:
    """The answer in one line."""
    fitting = (s.name for s in answer.second_colours if not s.too_near)
    second = next(fitting, None)
    if answer.finishes_level > 1:
        handles = "No clear winner among the handles"
        return f"{handles}; second colour: {second}" if second else handles
    first = [answer.finishes[0].name] if answer.finishes else []
    text = " with ".join([*first, *([second] if second else [])]) or "nothing to choose from"
    return f"First choice: {text}"


BESIDE = JobPage(
    "/beside",
    "/beside/answer",
    heading="Which handles, second colour and wood go beside it?",
    verb="Choose what goes beside it",
    wanting="Give a topcoat and at least one patch of the surface.",
    parts="answer/beside.html",
    shown=_shown,
)
router = router_of(BESIDE)
