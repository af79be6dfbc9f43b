"""The sheet as a real Chromium prints it: both sizes of paper, few pages, cautions on each."""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Iterator
from typing import Any

import pytest

from sheets.sheet_jobs import GROUPS, JOBS, LINEN, NOW
from showthrough import plan
from showthrough.sheets.sheet import sheet

pytestmark = pytest.mark.browser

POINTS = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}
"""210 x 297 mm (ISO 216) and 8.5 x 11 in (ANSI/ASME Y14.1), 72 points to the inch."""


@pytest.fixture(scope="module")
def paged(chromium: Any) -> Iterator[Any]:
    """A page for all sheets, which may ask for nothing."""
    page = chromium.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    yield page
    page.close()
    assert asked == []


def printed(paged: Any, html: str, **options: Any) -> Any:
    """The PDF that a user gets, read by another library."""
    from pypdf import PdfReader

    paged.set_content(html)
    return PdfReader(io.BytesIO(paged.pdf(prefer_css_page_size=True, **options)))


def letters(text: str) -> str:
    """Letters and digits: breaks of lines stand anywhere, and fonts join f and i into one sign."""
    return "".join(c for c in unicodedata.normalize("NFKC", text) if c.isalnum())


@pytest.mark.parametrize("paper", POINTS)
@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_each_printed_page_has_the_right_size_the_title_and_the_cautions(job, paper, paged):
    pdf = printed(paged, sheet(job, now=NOW, paper=paper))
    shorts = plan(job, now=NOW).cautions_short
    for page in pdf.pages:
        width, height = POINTS[paper]
        assert float(page.mediabox.width) == pytest.approx(width, abs=1.0)
        assert float(page.mediabox.height) == pytest.approx(height, abs=1.0)
        text = letters(page.extract_text())
        assert letters(job.get("title", "") or "Job sheet") in text
        for caution in shorts:
            assert letters(caution) in text


@pytest.mark.parametrize("paper", POINTS)
def test_the_linen_cupboard_takes_two_pages_at_the_bench_and_one_each_for_others(paper, paged):
    for pages, most in (("bench", 2), ("customer", 1), ("shopping", 1), ("all", 4)):
        pdf = printed(paged, sheet(LINEN, now=NOW, paper=paper, pages=pages, money=True))
        assert len(pdf.pages) <= most, pages


def test_each_part_begins_on_a_page_of_its_own(paged):
    pdf = printed(paged, sheet(GROUPS, now=NOW))
    kinds = ["benchpage", "forthecustomer", "shoppinglist"]
    for page in pdf.pages:
        text = letters(page.extract_text())
        assert sum(kind in text for kind in kinds) == 1


def test_colours_are_printed_though_backgrounds_are_off(paged):
    # The browser's own switch for backgrounds is off unless a user finds it.
    answer = plan(LINEN, now=NOW)
    pdf = printed(paged, sheet(LINEN, now=NOW, pages="bench"), print_background=False)
    content = pdf.pages[0].get_contents().get_data().decode("latin-1")
    red, green, blue = (int(answer.topcoat.hex[i : i + 2], 16) / 255 for i in (1, 3, 5))
    fills = [
        tuple(map(float, fill))
        for fill in re.findall(r"(\d?\.?\d+) (\d?\.?\d+) (\d?\.?\d+) rg\b", content)
    ]
    assert any(fill == pytest.approx((red, green, blue), abs=0.003) for fill in fills)


@pytest.mark.parametrize("width", [320, 390])
@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_on_a_phone_nothing_runs_off_the_side(job, width, paged):
    paged.set_viewport_size({"width": width, "height": 800})
    paged.set_content(sheet(job, now=NOW, money=True))
    assert paged.evaluate("document.documentElement.scrollWidth") <= width
    small = paged.evaluate(
        "Math.min(...[...document.querySelectorAll('p, li, b, h3')]"
        ".map(e => parseFloat(getComputedStyle(e).fontSize)))"
    )
    assert small >= 11.0
