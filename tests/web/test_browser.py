"""The page in a real browser: thumb, keyboard, back, two windows, no script, slow network, axe."""

from __future__ import annotations

import gzip
import io
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from showthrough import plan, predict
from showthrough.records.store.kept.jobs import add
from showthrough.records.store.kept.outcomes import log
from showthrough.records.store.kept.paints import add_paint, edit_paint
from showthrough.records.store.opening.opened import open_store
from showthrough.web.forms.paths import fields_of_job, query_of
from showthrough.web.pages.asked import SAMPLE_JOB

pytestmark = pytest.mark.browser

Open = Callable[..., Any]

_QUERY = query_of(fields_of_job(SAMPLE_JOB))
_HOME = f"/?{_QUERY}"
_FAULTS = "/?topcoat.colour=brwn&surface.1.colour=oak+wood&area_m2=-3"
_HEADLINE = predict(SAMPLE_JOB).headline
_SIZES = {"small": (360, 740), "phone": (390, 844), "desk": (1280, 800)}
_STATES = {
    "first": "/",
    "home": _HOME,
    "topcoat": f"{_HOME}&word=topcoat",
    "surface": f"{_HOME}&word=surface.1",
    "tool": f"{_HOME}&word=tool",
    "area": f"{_HOME}&word=area",
    "paint": f"{_HOME}&word=paint",
    "cans": f"{_HOME}&word=cans",
    "under": f"{_HOME}&word=under",
    "part": f"{_HOME}&word=part.1",
    "days": f"{_HOME}&word=days",
    "money": f"{_HOME}&word=money",
    "mend": _FAULTS,
    "photo": f"/photo?{_QUERY}",
    "chip": f"/photo/chip?{_QUERY}",
    "read": f"/photo/surface?{_QUERY}",
    "drawdown": f"/photo/drawdown?{_QUERY}",
    "preview": f"/photo/preview?{_QUERY}",
    "half": f"/half?{_QUERY}&after=2&seen=no",
    "colours": f"/colours?{_QUERY}",
    "every": f"/colours/every?{_QUERY}",
    "notations": f"/colours/notations?{_QUERY}",
    "practice": f"/practice?{_QUERY}",
    "sheet": f"/sheet?{_QUERY}",
    "jobs": f"/jobs?{_QUERY}",
    "shelf": f"/jobs/shelf?{_QUERY}",
    "saved": f"/jobs?{_QUERY}&kept=1.1&saved=kept",
    "kept": "/jobs/one?job=1",
    "told": "/jobs/one?job=2&saved=told",
    "customers": "/jobs/customers",
    "erase": "/jobs/customers/erase?customer=1",
    "nothing": "/colours",
}


def _keep_some() -> None:
    """A kept job, a finished one and paints, one put away: the records of a test are its own."""
    with open_store() as store:
        add(store, SAMPLE_JOB, customer="Ida Invented")
        log(store, add(store, SAMPLE_JOB).number, after=5, result="enough", used_ml=400)
        for _ in range(2):
            paint = add_paint(
                store,
                SAMPLE_JOB["topcoat"],
                batch="B 7",
                left_ml=400,
                size_ml=750,
                price="21.00 EUR",
            )
        edit_paint(store, paint.number, made_from=1, archived=True)


_OPEN_ALL = "document.querySelectorAll('details').forEach((d) => { d.open = true; })"


_SQUEEZED = """() => [...document.querySelectorAll('main *')].filter((e) => {
    const texts = [...e.childNodes].filter((n) => n.nodeType === 3).map((n) => n.data);
    const own = texts.join('').trim();
    const box = e.getBoundingClientRect();
    return own.length > 12 && box.width > 0 && box.width < 60 && box.height > 60;
}).map((e) => e.textContent.slice(0, 40))"""
"""Texts that stand in a column too narrow for their words."""


def _headline(page: Any) -> str:
    return " ".join(page.locator("#headline").text_content().split())


def _wait_for(page: Any, words: str) -> None:
    page.wait_for_function(
        "(words) => document.getElementById('headline')"
        "?.textContent.replace(/\\s+/g, ' ').trim() === words",
        arg=words,
    )


# --- by thumb and by keyboard ------------------------------------------------------------


def test_from_nothing_to_an_answer_in_eight_taps(open_page: Open) -> None:
    page = open_page("/", 390, 844, has_touch=True)
    taps = 0

    def tap(what: str) -> None:
        nonlocal taps
        page.locator(what).tap()
        taps += 1

    tap(".todo .next")
    tap(".hw label:has([value='white 96'])")
    tap(".bar .go")
    page.wait_for_selector("h1:text('What is there now?')")
    tap(".wall label:has([value='brown laminate'])")
    tap(".bar .go")
    page.wait_for_selector("h1:text('How do you put it on?')")
    tap(".tools label:has([value='roller'])")
    tap(".bar .go")
    page.wait_for_selector("#headline")
    assert taps <= 8
    job = {
        "topcoat": {"colour": "white 96"},
        "surface": [{"colour": "brown laminate", "name": "brown laminate", "ground": "laminate"}],
        "application": {"tool": "roller"},
    }
    assert _headline(page) == predict(job).headline
    page.locator(".w", has_text="how big?").tap()
    page.fill("#f-area_m2", "2,4")
    page.locator(".bar .go").tap()
    page.wait_for_selector(".w:text('2.4 m²')")


def test_an_answer_follows_each_change_in_a_sheet_and_back_closes_it(open_page: Open) -> None:
    page = open_page(_HOME)
    page.evaluate("window.sameDocument = true")
    page.click(".w:has-text('spray gun')")
    page.wait_for_selector("#sheet")
    assert "word=tool" in page.url
    count = page.locator("#count").text_content()
    page.check("#t-aerosol", force=True)
    page.wait_for_function(
        "(was) => document.getElementById('count').textContent !== was", arg=count
    )
    assert page.evaluate("document.activeElement.id") == "t-aerosol"
    assert _headline(page) != _HEADLINE
    page.go_back()
    page.wait_for_selector("#sheet", state="detached")
    assert _headline(page) == _HEADLINE
    page.go_forward()
    page.wait_for_selector("#sheet")
    assert page.evaluate("window.sameDocument")


def test_a_press_that_lasts_longer_than_the_answer_is_not_lost(open_page: Open) -> None:
    """A mouse held down on "Use this" while the answer to what was typed comes in."""
    page = open_page(f"{_HOME}&word=area", 1280, 800)
    page.fill("[name=area_m2]", "3")
    box = page.locator(".bar .go").bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    with page.expect_response(lambda reply: "word=area" in reply.url) as came:
        page.mouse.down()
    came.value.finished()
    # Twice a frame: what the page does with the answer is done.
    for _ in range(2):
        page.evaluate("() => new Promise((done) => requestAnimationFrame(() => done()))")
    page.mouse.up()
    page.wait_for_function("() => !document.getElementById('sheet')")
    assert "area_m2=3" in page.url


def test_escape_cancels_and_focus_returns_to_the_word(open_page: Open) -> None:
    page = open_page(_HOME)
    page.focus(".w:has-text('brown finish')")
    page.keyboard.press("Enter")
    page.wait_for_selector("#sheet")
    page.locator("label:has(#c-waxy)").click()
    page.wait_for_selector("text=the wax comes off")
    page.keyboard.press("Escape")
    page.wait_for_selector("#sheet", state="detached")
    assert _headline(page) == _HEADLINE
    assert page.evaluate("document.activeElement.textContent").strip() == "brown finish"


def test_the_keyboard_alone_is_enough(open_page: Open) -> None:
    page = open_page(f"{_HOME}&word=surface.1")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert page.evaluate("document.activeElement.getBoundingClientRect().width") > 50
    page.focus("#s-oak\\ wood")
    page.keyboard.press("Space")
    page.wait_for_function("() => document.activeElement.id === 's-oak wood'")
    page.wait_for_function("() => document.getElementById('f-surface.1.name').value === 'oak wood'")
    page.keyboard.press("ArrowRight")
    page.wait_for_function(
        "() => document.getElementById('f-surface.1.name').value === 'pine wood knot'"
    )
    outline = page.evaluate(
        "getComputedStyle(document.activeElement.closest('label')).outlineWidth"
    )
    assert outline == "3px"
    page.focus(".bar .go")
    page.keyboard.press("Enter")
    page.wait_for_selector(".w:has-text('pine wood knot')")


# --- manners -----------------------------------------------------------------------------


def test_everything_works_without_script(open_page: Open) -> None:
    page = open_page("/", 390, 844, java_script_enabled=False)
    page.click("text=See an example")
    assert _headline(page) == _HEADLINE
    page.click(".w:has-text('brown finish')")
    page.locator("label:has([value='white melamine'])").first.click()
    page.click(".bar .go")
    assert page.locator(".w", has_text="white melamine").is_visible()
    page.click(".ways a >> nth=1")
    assert "way=" in page.url
    page.click("#sure > summary")
    assert page.locator("#sure .odds").is_visible()
    page.click(".nav >> text=Colours")
    page.click("#soften .soft a >> nth=0")
    assert page.locator("text=Undo").is_visible()
    page.click(".nav >> text=Sheet")
    page.click("text=Print the bench page")
    assert page.locator(".page.bench").is_visible()


def test_what_was_typed_survives_an_error_and_the_cure_is_a_tap_away(open_page: Open) -> None:
    page = open_page(_FAULTS, 390, 844)
    assert page.locator("#f-area_m2").input_value() == "-3"
    assert page.locator("#f-topcoat\\.colour").input_value() == "brwn"
    page.fill("#f-area_m2", "3")
    page.click("text=Show the plan")
    page.wait_for_selector("#f-area_m2", state="detached")
    page.click(".near a >> nth=0")
    page.wait_for_selector("#headline")
    assert "about 3 m²" in page.locator("#sentence").text_content()


def test_an_error_in_a_sheet_keeps_the_last_good_plan_beside_it(open_page: Open) -> None:
    page = open_page(f"{_HOME}&word=tool")
    page.evaluate(_OPEN_ALL)
    page.fill("#f-application\\.wet_film_um", "thick")
    page.press("#f-application\\.wet_film_um", "Tab")
    page.wait_for_selector("#f-application\\.wet_film_um[aria-invalid=true]")
    assert page.locator("#f-application\\.wet_film_um").input_value() == "thick"
    assert _headline(page) == _HEADLINE


def test_two_windows_do_not_know_of_each_other(open_page: Open) -> None:
    one = open_page(_HOME)
    other = one.context.new_page()
    other.goto(one.url)
    one.click(".w:has-text('spray gun')")
    one.wait_for_selector("#sheet")
    other.click(".w:has-text('2.4 m')")
    other.wait_for_selector("#sheet")
    other.fill("#f-area_m2", "9")
    other.press("#f-area_m2", "Enter")
    other.wait_for_selector(".w:has-text('9 m²')")
    one.check("#t-brush", force=True)
    one.wait_for_function("() => document.querySelector('#t-brush').checked")
    one.click(".bar .go")
    one.wait_for_selector(".w:has-text('brush')")
    assert "2.4 m²" in one.locator("#sentence").text_content()
    assert "spray gun" in other.locator("#sentence").text_content()


def test_a_slow_answer_is_told_and_a_lost_one_keeps_what_was_chosen(open_page: Open) -> None:
    page = open_page(f"{_HOME}&word=tool", 390, 844)
    held: list[Any] = []
    page.route("**/?*", lambda route: held.extend([route]))
    page.check("#t-aerosol", force=True)
    page.wait_for_selector("body.busy")
    held.pop().continue_()
    page.wait_for_selector("body:not(.busy)")
    page.wait_for_function("() => document.activeElement.id === 't-aerosol'")
    page.check("#t-roller", force=True)
    page.wait_for_selector("body.busy")
    # The network is gone: a browser says so in its console, and so must the page in words.
    page.context.close()


def test_rows_that_were_open_stay_open(open_page: Open) -> None:
    page = open_page(_HOME)
    page.click("#days > summary")
    page.click(".ways a >> nth=1")
    page.wait_for_function("() => location.search.includes('way=')")
    assert page.locator("#days").get_attribute("open") is not None


def test_a_colour_is_used_and_put_back(open_page: Open) -> None:
    page = open_page(f"/colours?{_QUERY}", 390, 844)
    page.click("#soften .soft a >> nth=0")
    page.wait_for_selector("text=Undo")
    assert _headline(page) != _HEADLINE
    page.click("text=Undo")
    _wait_for(page, _HEADLINE)


def test_the_plan_becomes_a_printed_sheet(open_page: Open) -> None:
    page = open_page(f"/sheet?{_QUERY}", 390, 844)
    page.click("text=Print the bench page")
    page.wait_for_selector(".page.bench")
    for paper in ("A4", "Letter"):
        pdf = page.pdf(format=paper)
        assert len(re.findall(rb"/Type\s*/Page\b", pdf)) >= 1
    text = page.locator("body").inner_text()
    for line in plan(SAMPLE_JOB).cautions_short:
        assert line in text


# --- what holds for every state ----------------------------------------------------------


_SMALL = """() => [...document.querySelectorAll("a, button, input, select, textarea, summary")]
    .filter((e) => e.checkVisibility() && e.type !== "hidden" && e.className !== "skip")
    .map((e) => [e, (e.tagName === "INPUT" && e.closest("label") || e)])
    .filter(([e, box]) => {
        const one = box.getBoundingClientRect();
        const inline = e.tagName === "A" && getComputedStyle(e).display === "inline";
        return !inline && (one.height < 43.9 || one.width < 43.9);
    }).map(([e]) => e.outerHTML.slice(0, 120))"""
"""WCAG 2.2, 2.5.5: 44 px, links inside a sentence apart."""


@pytest.mark.parametrize("state", _STATES)
def test_no_state_breaks_a_rule_of_access_or_runs_out_of_the_page(
    open_page: Open, state: str
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    def keeps_the_rules(**rules: dict[str, bool]) -> None:
        found = Axe().run(page, options={"resultTypes": ["violations"], "rules": rules})
        told = [(v["id"], v["nodes"][0]["html"][:200]) for v in found.response["violations"]]
        assert told == []

    if _STATES[state].startswith("/jobs"):
        _keep_some()
    page = open_page(_STATES[state], *_SIZES["phone"])
    # Contrast, which takes longest, is looked at below, where all of this is seen as well.
    keeps_the_rules(**{"color-contrast": {"enabled": False}})
    for opened in (False, True):
        if opened:
            page.evaluate(_OPEN_ALL)
        for size, (width, height) in _SIZES.items():
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth") == width
            assert page.evaluate(_SQUEEZED) == []
            assert page.evaluate(_SMALL) == []
            if opened and size != "small":
                keeps_the_rules()  # what is opened holds what is closed as well


@pytest.mark.parametrize("options", [{}, {"java_script_enabled": False}])
def test_a_tick_is_taken_back_with_and_without_a_script(
    open_page: Open, options: dict[str, Any]
) -> None:
    _keep_some()
    page = open_page("/jobs/one?job=1", 390, 844, **options)
    steps = page.locator("#steps")
    most = steps.get_by_text("Tick off").count()
    steps.get_by_text("Tick off").first.click()
    undo = steps.get_by_text("Undo")
    undo.wait_for()
    assert undo.count() == 1
    assert steps.get_by_text("Tick off").count() == most - 1
    undo.click()
    undo.wait_for(state="detached")
    assert steps.get_by_text("Tick off").count() == most


def test_the_sample_job_stands_on_three_screens_of_a_phone(open_page: Open) -> None:
    page = open_page(_HOME, 390, 844)
    assert page.evaluate("document.documentElement.scrollHeight") <= 3 * 844
    nav = page.locator(".nav").bounding_box()
    for what in (".ans .n", ".board"):
        box = page.locator(what).bounding_box()
        assert box["y"] + box["height"] <= nav["y"]


def test_the_first_load_is_small_and_comes_from_here_alone(open_page: Open) -> None:
    sent: dict[str, bytes] = {}
    page = open_page("/jobs", 390, 844)
    page.on("response", lambda r: sent.setdefault(r.url, r.body()))
    page.goto(page.url.replace("/jobs", _HOME))
    page.wait_for_load_state("networkidle")
    assert len(sent) >= 3
    # As sent, compressed; the service compresses nothing better than the plain method would.
    assert sum(len(gzip.compress(body)) for body in sent.values()) <= 120_000


@pytest.mark.parametrize(("width", "scale"), [(391, 1.0), (1277, 1.25)])
def test_fields_of_the_board_touch_without_a_seam(
    open_page: Open, width: int, scale: float
) -> None:
    from PIL import Image

    page = open_page(_HOME, width, device_scale_factor=scale)
    box = page.locator(".board").bounding_box()
    clip = {
        "x": box["x"] + 1,
        "y": box["y"] + 1,
        "width": box["width"] - 2,
        "height": box["height"] - 2,
    }
    shot = page.screenshot(clip=clip, full_page=True)
    pixels = np.asarray(Image.open(io.BytesIO(shot)).convert("RGB"), dtype=int)
    # The ground is bluer than every field here; between them it would show as a line of blue.
    fills = [r.get_attribute("fill") for r in page.locator(".board rect").all()]
    most = max(int(fill[5:7], 16) for fill in fills)
    assert most < 0xBD - 20
    lines = (
        (pixels[..., 2] > most + 20).mean(axis=1).max(),
        (pixels[..., 2] > most + 20).mean(axis=0).max(),
    )
    assert max(lines) < 0.5


def test_it_prints_as_a_sheet_of_answers(open_page: Open) -> None:
    page = open_page(_HOME)
    page.emulate_media(media="print")
    assert not page.locator(".nav").is_visible()
    assert page.locator("#headline").is_visible()
    assert page.locator(".board").is_visible()
    assert (
        page.evaluate("getComputedStyle(document.querySelector('.board')).printColorAdjust")
        == "exact"
    )


# --- what stands open, and slow networks -------------------------------------------------


def test_open_rows_are_in_the_address_for_back_and_for_a_copy(open_page: Open) -> None:
    page = open_page(_HOME, 390, 844)
    page.click("#days > summary")
    page.click("#step-1 > summary")
    page.wait_for_function("() => location.search.includes('open=days,step-1')")
    assert page.locator("#step-1 p").is_visible()
    copied = page.context.new_page()
    copied.goto(page.url)
    assert copied.locator("#days .in").is_visible()
    assert copied.locator("#step-1 p").is_visible()
    page.click(".w:has-text('spray gun')")
    page.wait_for_selector("#sheet")
    page.go_back()
    page.wait_for_selector("#rows")
    assert page.locator("#days .in").is_visible()
    page.click("#days > summary")
    page.wait_for_function("() => !location.search.includes('days')")
    page.click("#step-1 > summary")
    page.wait_for_function("() => !location.search.includes('open')")


def test_open_rows_of_an_address_stand_open_without_script(open_page: Open) -> None:
    page = open_page(f"{_HOME}&open=money,step-2", java_script_enabled=False)
    assert page.locator("#money .in").is_visible()
    assert page.locator("#step-2 p").is_visible()
    assert not page.locator("#days .in").is_visible()


def test_each_step_is_one_short_row_that_opens(open_page: Open) -> None:
    page = open_page(_HOME, 390, 844)
    count = page.locator("#plan > li").count()
    assert page.locator("#plan > li > details").count() == count == len(plan(SAMPLE_JOB).steps)
    last = page.locator("#plan summary").nth(count - 1)
    last.focus()
    page.keyboard.press("Enter")
    why = plan(SAMPLE_JOB).steps[-1].why
    assert why[1:] in page.locator("#plan > li").nth(count - 1).inner_text()


_NOTE_BUSY = """() => { window.seenBusy = false; new MutationObserver(() => {
    if (document.body.classList.contains("busy")) window.seenBusy = true;
}).observe(document.body, { attributes: true }); }"""
"""Whether it was told that something goes on, however short that was."""


def _slow(page: Any) -> Any:
    """400 kbit/s each way and 400 ms until the first byte."""
    network = page.context.new_cdp_session(page)
    network.send("Network.enable")
    bytes_a_second = 400_000 / 8
    network.send(
        "Network.emulateNetworkConditions",
        {
            "offline": False,
            "latency": 400,
            "downloadThroughput": bytes_a_second,
            "uploadThroughput": bytes_a_second,
        },
    )
    return network


def test_on_a_slow_network_the_bench_can_be_used(open_page: Open, served: str) -> None:
    page = open_page("/photo", 390, 844, has_touch=True)
    _slow(page)
    page.goto(served + _HOME)
    assert _headline(page) == _HEADLINE
    page.evaluate(_NOTE_BUSY)
    page.locator(".w", has_text="2.4 m²").tap()
    page.wait_for_selector("#sheet")
    assert page.evaluate("window.seenBusy")
    page.evaluate(_NOTE_BUSY)
    # What is typed while an answer is on its way is not lost when that answer comes.
    page.fill("#f-area_m2", "3")
    page.press("#f-area_m2", "Tab")
    page.fill("#f-pieces", "2")
    page.wait_for_function("() => window.seenBusy && !document.body.classList.contains('busy')")
    assert page.input_value("#f-pieces") == "2"
    assert page.input_value("#f-area_m2") == "3"


def test_a_second_tap_on_a_slow_network_sends_nothing_more(open_page: Open, served: str) -> None:
    page = open_page(f"{_HOME}&word=area", 390, 844, has_touch=True)
    _slow(page)
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url))
    page.locator(".bar .go").tap()
    page.locator(".bar .go").tap()
    page.wait_for_selector("#rows")
    assert len([url for url in sent if "/assets/" not in url]) == 1
    # The same of a form that changes the records, which is sent whole.
    page.goto(f"{served}/jobs?{_QUERY}")
    keep = page.locator("main form[method=post] button").first
    sent.clear()
    keep.dispatch_event("click")
    keep.dispatch_event("click")
    page.wait_for_url("**/jobs?*saved=kept")
    posted = [url for url in sent if "/jobs/add" in url or "/jobs/keep" in url]
    assert len(posted) == 1
