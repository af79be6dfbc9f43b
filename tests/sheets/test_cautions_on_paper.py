"""No page of a sheet is without the job's cautions; the reminder is the last of them."""

from __future__ import annotations

import pytest

from jobs.small_jobs import BROWN_FINISH, WHITE, patch, small_job
from sheets.sheet_jobs import GROUPS, JOBS, NOW, UNSOUND, US, pages_of, squeezed
from showthrough import plan
from web.tree import Element

DANGERS = {
    # A fact of the job, and a word of what it brings: common practice and the sources that the
    # cautions name themselves.
    "an old finish": (small_job(), "lead"),
    "plating": (small_job(WHITE, patch(ground="galvanised")), "chromate"),
    "a loose finish": (small_job(WHITE, patch(ground="paint", condition="soft")), "lead"),
    "shellac over knots": (small_job(WHITE, patch(ground="knots", skin="bare")), "flame"),
    "a spray can": (small_job(application={"tool": "aerosol"}), "burst"),
    "an oily paint": (small_job(paint={"chemistry": "alkyd"}), "by themselves"),
    "a spray gun": (small_job(), "lungs"),
    "two parts": (small_job(paint={"chemistry": "two-pack"}), "isocyanates"),
    "board": (small_job(WHITE, patch(ground="mdf")), "formaldehyde"),
    "bare wood": (small_job(WHITE, patch(ground="wood")), "cancer"),
    "a child's piece": (small_job(child=True), "toys"),
    "an antique": (small_job(antique=True), "value"),
}


def foot(page: Element) -> list[str]:
    (care,) = page.all("footer")
    return [item.text for item in care.all("li")]


@pytest.mark.parametrize(("job", "word"), DANGERS.values(), ids=DANGERS)
def test_each_danger_stands_on_every_page(job, word):
    pages = pages_of(job)
    assert list(pages) == ["bench", "customer", "shopping"]
    for page in pages.values():
        assert word in " ".join(foot(page))


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_every_caution_is_on_every_page_and_whole_on_the_bench_page(job):
    answer = plan(job, now=NOW)
    pages = pages_of(job)
    for page in pages.values():
        assert foot(page) == [squeezed(line) for line in answer.cautions_short]
    (whole,) = pages["bench"].all("section", lambda each: each.has_class("cautions"))
    assert [p.text for p in whole.all("p")] == [squeezed(line) for line in answer.cautions]


@pytest.mark.parametrize("pages", ["bench", "customer", "shopping"])
def test_a_page_alone_has_its_cautions_too(pages):
    (page,) = pages_of(UNSOUND, pages=pages).values()
    assert foot(page)


def test_the_reminder_is_last_whatever_the_groups_bring():
    answer = plan(GROUPS, now=NOW)
    assert answer.cautions_short[-1].startswith("Reminders, not instructions")
    assert answer.cautions[-1].startswith("These are reminders, not instructions")
    # Fire before lungs, lungs before the piece: the order of poison, fire, lungs, skin, piece.
    words = " ".join(answer.cautions_short)
    assert words.index("catch fire") < words.index("cancer of the nose") < words.index("skin")


@pytest.mark.parametrize(
    ("job", "told"),
    [
        (UNSOUND, "Lead test by a laboratory, 3 February 2027: lead was found."),
        (US, "Lead test by a home kit, 31 May 2026: no lead was found."),
        (
            small_job(WHITE, patch(BROWN_FINISH, lead_test={"by": "kit", "result": "lead"})),
            "Lead test by a home kit, date not given: lead was found.",
        ),
    ],
)
def test_a_recorded_lead_test_is_on_the_bench_page_with_kit_date_and_result(job, told):
    assert told in pages_of(job)["bench"].text


def test_without_a_lead_test_the_bench_page_has_blanks_for_it():
    text = pages_of(JOBS["linen cupboard"])["bench"].text
    assert "Lead test by" not in text
    assert "kit date clear lead" in text
