"""The pages beside the first in a real browser: without script and with it."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from showthrough.colour.files.swatches import shipped_swatches

pytestmark = pytest.mark.browser

Open = Callable[..., Any]

_OWN = "name,L,a,b\npale grey 80,80,0,0\nblue 40,40,-5,-35\n"
_FILE = {"name": "own.csv", "mimeType": "text/csv", "buffer": _OWN.encode()}


def test_the_pages_work_without_script(open_page: Open) -> None:
    page = open_page("/soften", java_script_enabled=False)
    page.fill("#budget", "1")
    page.press("#budget", "Enter")
    assert "budget=1" in page.url
    page.locator("#goal-1").wait_for()  # a form without script is a whole new page
    page.click("nav >> text=Every swatch")
    assert "/sweep?title=Linen" in page.url
    page.click("#own-swatches > summary")
    page.set_input_files("#swatches_file", _FILE)
    page.click("[name=by][value=name]")
    assert "sort=name" in page.url
    names = page.locator("table.every tbody th").all_inner_texts()
    assert [name.split("#")[0].strip() for name in names] == ["Blue 40", "Pale grey 80"]
    assert page.locator("#swatches").input_value() == _OWN.strip()


def test_the_answers_follow_the_form_in_place(open_page: Open) -> None:
    from playwright.sync_api import expect

    page = open_page("/sweep")
    page.evaluate("window.sameDocument = true")
    page.click("[name=by][value=difference]")
    page.wait_for_selector("[name=by][value=difference][aria-pressed=true]")
    assert page.evaluate("document.activeElement.value") == "difference"
    assert page.locator("#sort").input_value() == "difference"
    assert "sort=difference" in page.url
    page.click("[name=show][value=all]")
    expect(page.locator("table.every tbody tr")).to_have_count(len(shipped_swatches("topcoats")))
    page.click("#own-swatches > summary")
    page.set_input_files("#swatches_file", _FILE)
    expect(page.locator("table.every tbody tr")).to_have_count(2)
    assert page.locator("#swatches").input_value() == _OWN
    with page.expect_download() as saved:
        page.click("a[href^='/sweep.csv']")
    assert saved.value.suggested_filename == "swatches.csv"
    page.fill("#topcoat", "N 5")
    page.press("#topcoat", "Tab")
    page.wait_for_selector("nav a[href*='/beside?title=Linen'][href*='topcoat=N+5']")
    page.click("nav >> text=Save a coat")
    assert page.locator("#topcoat").input_value() == "N 5"
    assert page.locator("#swatches").input_value() == _OWN.strip()
    page.fill("#budget", "99")
    page.press("#budget", "Tab")
    page.wait_for_selector("#budget-mend:not([hidden])")
    page.fill("#budget", "2")
    page.press("#budget", "Tab")
    page.wait_for_selector("#budget-mend", state="hidden")
    assert page.evaluate("window.sameDocument") is None


def test_more_swatches_than_a_link_holds_can_be_saved_with_script(open_page: Open) -> None:
    page = open_page("/sweep")
    lines = ["name,L,a,b", *(f"grey {n},{20 + n % 70}.{n:03d},0,0" for n in range(300))]
    page.click("#own-swatches > summary")
    page.fill("#swatches", "\n".join(lines))
    page.press("#swatches", "Tab")
    page.wait_for_selector("#say:has-text('300 swatches')", state="attached")
    with page.expect_download() as saved:
        page.click("button[formaction='/sweep.csv']")
    assert saved.value.suggested_filename == "swatches.csv"


@pytest.mark.parametrize("path", ["/soften", "/beside", "/sweep"])
def test_each_prints_as_a_few_sheets_of_answers(open_page: Open, path: str) -> None:
    page = open_page(path)
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", page.pdf(format="A4"))) <= 5
    page.emulate_media(media="print")
    for hidden in ("#job", "nav"):
        assert not page.locator(hidden).is_visible()
    assert page.locator(".headline h2").is_visible()
    if path == "/sweep":
        assert page.locator("table.every thead").bounding_box()["height"] > 10
        assert not page.locator("[name=by] >> nth=0").is_visible()
