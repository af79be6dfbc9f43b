"""The page in a real browser: without script, with it, by keyboard, narrow, wide and on paper."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from showthrough import predict
from showthrough.jobs.schema.job import EXAMPLE_JOB

pytestmark = pytest.mark.browser

Open = Callable[..., Any]

_HEADLINE = predict(EXAMPLE_JOB).headline
"""Of the example that the page answers before anything is typed."""

_SAY = "document.getElementById('say').textContent"


def _wait_for_another_answer(page: Any) -> None:
    from playwright.sync_api import expect

    expect(page.locator("#say")).not_to_have_text(_HEADLINE)


def _tab_to(page: Any, script: str, most: int = 60) -> None:
    """Press Tab until the focused element fits."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate(f"(() => {{ const e = document.activeElement; return {script}; }})()"):
            return
    msg = f"not reached by {most} tabs: {script}"
    raise AssertionError(msg)


def test_the_form_works_without_script(open_page: Open) -> None:
    page = open_page("/", java_script_enabled=False)
    page.fill("#topcoat", "white 96")
    page.select_option("#tool", "brush")
    page.fill("#film", "")
    page.press("#film", "Enter")
    assert "topcoat=white+96" in page.url
    assert "tool" not in page.url
    assert page.locator(".headline h2").inner_text() != _HEADLINE
    page.click("text=Add a patch")
    assert page.locator("#colour3").input_value() == ""
    page.click("[name=remove][value=patch2]")
    page.fill("#share1", "100")
    page.click("button.main >> nth=-1")
    assert "share1=100" in page.url
    page.fill("#colour1", "nonsense")
    page.click("button.main >> nth=-1")
    assert page.locator("#colour1-mend").is_visible()
    assert page.locator("#colour1").input_value() == "nonsense"


def test_the_answer_follows_the_form_in_place(open_page: Open) -> None:
    page = open_page("/")
    page.evaluate("window.sameDocument = true")
    page.fill("#topcoat", "#202a44")
    fill = "document.querySelector('#topcoat').parentElement.querySelector('rect')"
    assert page.evaluate(f"{fill}.getAttribute('fill')") == "#202a44"
    page.press("#topcoat", "Tab")
    _wait_for_another_answer(page)
    assert "topcoat=%23202a44" in page.url
    page.click("#film-mean")
    columns = page.locator(".ladder.mean >> nth=0").locator("thead th").count()
    page.click("[name=add][value=patch]")
    page.wait_for_selector("#colour3")
    assert page.evaluate("document.activeElement.id") == "colour3"
    page.keyboard.type("laminate, as it were")
    page.keyboard.press("Tab")
    page.wait_for_selector("#colour3-mend:not([hidden])")
    assert "to put right" in page.evaluate(_SAY)
    page.fill("#colour3", "black laminate")
    for n, share in enumerate(("60", "10", "30"), start=1):
        page.fill(f"#share{n}", share)
    page.press("#share3", "Tab")
    page.wait_for_selector(".ladder.thin")
    page.wait_for_selector("#colour3-mend", state="hidden")
    page.click("#film-mean")
    page.fill("#title", "Chest")
    page.press("#title", "Tab")
    page.wait_for_selector("text=Chest")
    assert page.locator(".ladder.mean >> nth=0").is_visible()
    assert not page.locator(".ladder.thin >> nth=0").is_visible()
    assert page.locator(".ladder.mean >> nth=0").locator("thead th").count() == columns + 1
    assert page.evaluate("window.sameDocument")
    page.reload()
    assert page.locator("#colour3").input_value() == "black laminate"


def test_an_empty_form_is_blamed_only_when_somebody_asks(open_page: Open) -> None:
    page = open_page("/?start=empty")
    with page.expect_response("**/answer?*"):
        page.fill("#title", "Chest")
        page.press("#title", "Tab")
    page.wait_for_function("document.title.startsWith('Chest')")
    assert page.locator(".mend:visible").count() == 0
    assert page.evaluate(_SAY) == ""
    page.press("#title", "Enter")
    page.wait_for_selector("#topcoat-mend:not([hidden])")
    assert "2 things to put right" in page.evaluate(_SAY)
    page.fill("#topcoat", "a3b84c")
    page.press("#topcoat", "Tab")
    page.wait_for_selector("#topcoat-mend", state="hidden")
    assert page.locator("#colour1-mend").is_visible()


def test_a_sample_is_picked_with_one_press(open_page: Open) -> None:
    page = open_page("/")
    page.click("#topcoat-samples > summary")
    page.click("[name=topcoat_sample][value='white 96']")
    page.wait_for_selector("[name=topcoat_sample][aria-pressed=true]")
    assert page.locator("#topcoat-samples").get_attribute("open") is not None
    page.click("#surface-samples > summary")
    page.click("[name=surface_sample][value='pine wood knot']")
    page.wait_for_selector("#colour3")
    assert page.locator("#bleeds3").input_value() == "yes"


def test_the_keyboard_alone_is_enough(open_page: Open) -> None:
    page = open_page("/")
    page.keyboard.press("Tab")
    skip = page.evaluate("document.activeElement.getBoundingClientRect().width")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert skip > 50
    _tab_to(page, "e.id === 'topcoat'")
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert outline == "3px"
    page.keyboard.press("Control+A")
    page.keyboard.type("N 5")
    page.keyboard.press("Enter")
    _wait_for_another_answer(page)
    assert "topcoat=N+5" in page.url
    page.evaluate("document.getElementById('share2').focus()")
    _tab_to(page, "e.name === 'add' && e.value === 'patch'")
    page.keyboard.press("Space")
    page.wait_for_selector("#colour3")
    assert page.evaluate("document.activeElement.id") == "colour3"


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("path", ["/", "/soften", "/beside", "/sweep"])
def test_nothing_runs_out_of_the_page_and_every_word_can_be_read(
    open_page: Open, width: int, path: str
) -> None:
    page = open_page(path, width)
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") == width
    # WCAG 2.2, 1.4.3: at least 4.5:1, for each text as it is laid out.
    low = page.evaluate(
        """() => {
        const lum = (c) => c.map((v) => v / 255)
            .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
            .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
        const rgb = (text) => text.match(/[\\d.]+/g).map(Number);
        const ground = (e) => {
            for (; e; e = e.parentElement) {
                const c = rgb(getComputedStyle(e).backgroundColor);
                if (c.length < 4 || c[3] > 0) return c.slice(0, 3);
            }
            return [255, 255, 255];
        };
        const out = [];
        let seen = 0;
        for (const e of document.querySelectorAll("body *")) {
            const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
            if (!own && !["INPUT", "SELECT", "TEXTAREA"].includes(e.tagName)) continue;
            if (!e.getClientRects().length) continue;
            seen += 1;
            const style = getComputedStyle(e);
            const ink = e.tagName === "text" ? style.fill : style.color;
            const a = lum(rgb(ink).slice(0, 3)), b = lum(ground(e));
            const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
            if (ratio < 4.5) out.push([e.tagName, e.textContent.slice(0, 30), ratio]);
        }
        return [seen, out];
    }"""
    )
    assert low[0] > 200
    assert low[1] == []


@pytest.mark.parametrize(("width", "scale"), [(391, 1.0), (1277, 1.25)])
def test_fields_of_the_ladder_touch_without_a_seam(
    open_page: Open, width: int, scale: float
) -> None:
    from PIL import Image

    page = open_page("/", width, device_scale_factor=scale)
    table = page.locator(".ladder.thin >> nth=0")
    table.scroll_into_view_if_needed()
    boxes = [cell.bounding_box() for cell in table.locator("td.shade").all()]
    left, top = min(b["x"] for b in boxes), min(b["y"] for b in boxes)
    right = max(b["x"] + b["width"] for b in boxes)
    bottom = max(b["y"] + b["height"] for b in boxes)
    clip = {"x": left + 1, "y": top + 1, "width": right - left - 2, "height": bottom - top - 2}
    shot = page.screenshot(clip=clip, full_page=False)
    pixels = np.asarray(Image.open(io.BytesIO(shot)).convert("RGB"), dtype=int)
    fills = [rect.get_attribute("fill") for rect in table.locator("rect").all()]
    shades = np.array([[int(fill[i : i + 2], 16) for i in (1, 3, 5)] for fill in fills])
    assert len(np.unique(pixels.reshape(-1, 3), axis=0)) > 5
    # The ground is bluer than every field here; between them it would show as blue.
    assert shades[:, 2].max() < 0xC0 - 30
    assert pixels[..., 2].max() <= shades[:, 2].max()


def test_it_prints_as_a_sheet_of_answers(open_page: Open) -> None:
    page = open_page("/")
    for paper in ("A4", "Letter"):
        pdf = page.pdf(format=paper)
        assert pdf.startswith(b"%PDF")
        assert 1 <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 4
    page.emulate_media(media="print")
    assert not page.locator("#job").is_visible()
    assert not page.locator("nav").is_visible()
    assert page.locator(".headline h2").is_visible()
    for line in page.locator("#cautions li").all() + page.locator("#reasons li").all():
        assert line.is_visible()
    assert page.locator(".ladder.thin >> nth=0").is_visible()
    adjust = "getComputedStyle(document.querySelector('.ladder')).printColorAdjust"
    assert page.evaluate(adjust) == "exact"
