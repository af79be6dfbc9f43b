"""The first screen reads as plain English: no symbol, no code, no figure of the laboratory."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from doors.doors import client
from jobs.small_jobs import (
    BROWN_FINISH,
    BROWN_LAMINATE,
    GREYISH_GREEN,
    RED,
    VIVID_YELLOW,
    WHITE,
    YELLOW_GREEN,
    patch,
    small_job,
)
from reference.random_jobs import random_jobs
from showthrough import InputError, palette_for, plan, predict, soften
from showthrough.cli.text.more import palette_text, softening_text
from showthrough.cli.text.prediction import prediction_text
from showthrough.cli.text.whole import whole_text
from showthrough.web.forms.paths import fields_of_job, query_of
from web.tree import read_html

EXAMPLE = Path(__file__).parents[2] / "examples" / "linen-cupboard.toml"
JOBS = {
    "linen cupboard": tomllib.loads(EXAMPLE.read_text(encoding="utf-8")),
    "white over knotty pine, water-borne": small_job(
        WHITE,
        patch((70, 8, 30), "pine", share=0.9, ground="wood"),
        patch((40, 14, 24), "knots", share=0.1, ground="knots"),
        paint={"chemistry": "water-borne", "sheen": "matt"},
        child=True,
    ),
    "red alkyd over laminate": small_job(
        RED,
        patch(BROWN_LAMINATE, ground="laminate"),
        paint={"chemistry": "alkyd", "sheen": "gloss"},
    ),
    "grey-green over MDF and its edges": small_job(
        GREYISH_GREEN,
        patch((70, 5, 20), "faces", share=0.9, ground="mdf"),
        patch((60, 6, 20), "edges", share=0.1, ground="mdf edge"),
        application={"tool": "roller"},
    ),
    "two-pack over galvanised steel": small_job(
        (24, 3, -22),
        patch((65, 0, 0), ground="galvanised"),
        paint={"chemistry": "two-pack"},
        application={"tool": "spray"},
    ),
    "flaking old paint": small_job(
        YELLOW_GREEN,
        patch(
            BROWN_FINISH,
            ground="paint",
            condition="flaking",
            lead_test={"by": "kit", "result": "clear"},
        ),
        antique=True,
    ),
    "yellow from a can, over nobody knows what": small_job(
        VIVID_YELLOW, patch((18, 0, 0)), application={"tool": "aerosol"}
    ),
    "smoked varnish": small_job(
        WHITE,
        patch(BROWN_FINISH, ground="varnish", stain="nicotine"),
        paint={"chemistry": "shellac", "sheen": "satin"},
    ),
    "silicone polish, own can": small_job(
        GREYISH_GREEN,
        patch(ground="polished"),
        undercoat=[{"name": "left-over grey", "colour": "N 7", "blocks": True, "bonds": True}],
    ),
}

ALLOWED = {
    r"P\d{2,3}(-\d{2,3})*(-P?\d{2,3})?": "grits stand like this on the back of the paper",
    "HEPA": "what is written on the vacuum cleaner",
    "MDF": "what the board is called in the shop",
    r"\d+": "counts, hours and days",
    "EUR": "the currency as the job states it and a bill shows it",
    r"\d+ to \d+": "a range of hours or days",
}
"""What is no plain word but stands on what a painter buys or counts; each with its reason."""

_SYMBOL = re.compile(r"[^\w\s.,;:?()“”’'-]")
_CODE = re.compile(r"\b(?=\w*\d)(?=\w*[A-Za-z])[\w-]+\b|\b[A-Z]{2,}\b|\bN \d|#\w+")
_UNPLAIN = re.compile(
    r"CIEDE|Munsell|\bL\*|percent|\bas it is\b|\bmends?\b|\bapart\b|parted by|thin spots?"
    r"|[µμ]m\b|\boff the chip\b|100 in 100|10 in 10|\bNone\b|\bnan\b"
)


def unplain(line):
    """What of a line is no plain English and not among what is allowed."""
    found = [m for m in _CODE.findall(line) if not any(re.fullmatch(a, m) for a in ALLOWED)]
    return found + _SYMBOL.findall(line) + _UNPLAIN.findall(line)


def page_lines(job):
    """Headline, plan, ways and short cautions of the bench."""
    reply = client().get(f"/?{query_of(fields_of_job(job))}")
    assert reply.status_code == 200
    tree = read_html(reply.text)
    yield tree.one("headline").text
    # Amounts and minutes stand apart from the sentences of a step.
    yield from (item.all("b")[0].text for item in tree.one("plan").all("li"))
    ways = tree.all("ul", lambda e: e.attrs.get("id") == "ways")
    yield from (item.text for part in ways for item in part.all("li"))
    yield from (item.text for item in tree.one("short").all("li"))


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_the_first_screen_is_plain_english(job):
    lines = prediction_text(predict(job), colour=False, width=80).splitlines()
    # What "--full" is called is a word of the command line.
    lines = [line.replace("--full", "") for line in lines]
    lines = [re.sub(r"^ *(\d+\.|-) ", "", line) for line in lines]
    lines += page_lines(job)
    assert {line: found for line in lines if (found := unplain(line))} == {}


@pytest.mark.parametrize("job", random_jobs(12, 11), ids=range(12))
def test_so_is_that_of_any_job(job):
    for each in job["surface"]:
        each.pop("name", None)  # a painter's own words may hold any sign
    named = [{**each, "name": f"part {i}"} for i, each in enumerate(job["surface"], 1)]
    job = {**job, "surface": named, "title": "", "undercoat": []}
    job["topcoat"].pop("name", None)
    try:
        answer = predict(job)
    except InputError:  # a colour that no paint can be
        return
    text = prediction_text(answer, colour=False, width=80).replace("--full", "")
    lines = [re.sub(r"^ *(\d+\.|-) ", "", line) for line in text.splitlines()]
    assert {line: found for line in lines if (found := unplain(line))} == {}


@pytest.mark.parametrize(
    "line",
    [
        "enough with a chance of 68 %",
        "leaves 17 µm of dry film",
        "a difference of 2.1 (CIEDE2000)",
        "grey undercoat N 7/ or #adadad",
        "wear an A2P3 mask",
        "see 16 CFR 1303",
        "straight onto the surface as it is",
        "the counts lie apart",
        "10 in 10 sure",
    ],
)
def test_the_reading_finds_what_is_not(line):
    assert unplain(line)


def said(text):
    """Lines of a text without the hex of a colour, which is there to be copied."""
    rows = (re.sub(r"#[0-9a-f]{6}", "", line) for line in text.splitlines())
    return [line.replace("--full", "").replace("->", "") for line in rows]


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_softening_palette_and_the_whole_job_are_plain_too(job):
    softer = said(softening_text(soften(job), colour=False, width=80))
    # Rows of finishes hold numbers of an open standard and names; the sentences hold none.
    beside = palette_text(palette_for(job), colour=False, width=80).splitlines()
    beside = said("\n".join(line for line in beside if not line.startswith("  #")))
    whole = said(whole_text(plan(job), colour=False, width=80))
    lines = [re.sub(r"^ *(-|\d+(-\d+)?\.) ", "", line) for line in softer + beside + whole]
    assert {line: found for line in lines if (found := unplain(line))} == {}
