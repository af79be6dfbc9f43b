"""What a painter sees in a real browser where a page or a photo is refused, late or lost."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from jobs import small_photos as photos
from showthrough.web.app import create_app
from showthrough.web.forms import photo_form
from showthrough.web.pages import photo_answers
from web.serving import served_at

pytestmark = pytest.mark.browser

Open = Callable[..., Any]
ANSWERED = "#answer .reading, #answer .mends"


@pytest.fixture
def chip_file(tmp_path: Path) -> str:
    path = tmp_path / "chip.png"
    path.write_bytes(photos.chip_photo())
    return str(path)


@pytest.fixture
def chip_page(chromium: Any, served: str, chip_file: str) -> Any:
    """The chip's page with a photo chosen, and every line of its console."""
    with chromium.new_context(viewport={"width": 390, "height": 844}) as context:
        page = context.new_page()
        page.lines = []
        page.on("console", lambda line: page.lines.append(line.text))
        page.on("pageerror", lambda error: page.lines.append(str(error)))
        page.goto(f"{served}/photo/chip")
        page.set_input_files("#photo", chip_file)
        yield page


def network_lines(status: int) -> Any:
    """The browser's own line for an answer with a status, and no other line."""
    return re.compile(rf"Failed to load resource: the server responded with a status of {status}")


def test_a_photo_that_is_too_large_is_told_and_what_was_typed_stays(
    chip_page: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photo_form, "MOST_BODY_BYTES", 20_000)
    chip_page.fill("#card1_colour", "N 9")
    chip_page.click("#photo-form button.main")
    chip_page.wait_for_selector(ANSWERED)
    assert chip_page.locator("#answer .reading").count() == 0
    assert "at most 0.02 MB" in chip_page.locator("#photo-mend").inner_text()
    assert chip_page.input_value("#card1_colour") == "N 9"
    (line,) = chip_page.lines
    assert network_lines(413).match(line)


def test_a_file_that_is_no_picture_is_told_without_a_fault(open_page: Open, tmp_path: Path) -> None:
    path = tmp_path / "photo.png"
    path.write_bytes(b"no picture")
    page = open_page("/photo/chip", 390)
    page.set_input_files("#photo", str(path))
    page.click("#photo-form button.main")
    page.wait_for_selector(ANSWERED)
    assert page.locator("#answer .reading").count() == 0
    assert page.locator("#photo-mend").is_visible()


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("status", [404, 500])
def test_a_page_that_fails_says_so_and_leads_on(
    chromium: Any, monkeypatch: pytest.MonkeyPatch, status: int, width: int
) -> None:
    def broken(*_: Any) -> None:
        raise RuntimeError("a secret of the inside")

    lines: list[str] = []
    if status == 500:
        monkeypatch.setattr("showthrough.web.pages.photos._context", broken)
    path = "/no-such-page" if status == 404 else "/photo/chip"
    with (
        served_at(create_app()) as port,
        chromium.new_context(viewport={"width": width, "height": 844}) as context,
    ):
        page = context.new_page()
        page.on("console", lambda line: lines.append(line.text))
        page.on("pageerror", lambda error: lines.append(str(error)))
        reply = page.goto(f"http://127.0.0.1:{port}{path}")
        assert reply.status == status
        assert page.locator("h1").is_visible()
        assert "secret" not in page.content()
        assert page.evaluate("document.documentElement.scrollWidth") == width
        page.wait_for_load_state("networkidle")
    assert all(network_lines(status).match(line) for line in lines)
    assert len(lines) <= 1


def test_a_slow_answer_is_waited_for_in_sight(chip_page: Any) -> None:
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    chip_page.route("**/photo/chip", hold)
    main = chip_page.locator("#photo-form button.main")
    main.click()
    chip_page.wait_for_selector("#answer[aria-busy=true]")
    assert main.inner_text().startswith("Reading")
    assert main.is_disabled()
    assert chip_page.locator("#say").inner_text().startswith("Reading")
    held[0].continue_()
    chip_page.wait_for_selector(ANSWERED, timeout=60_000)
    assert main.inner_text() == photo_answers.CHIP.verb
    assert main.is_enabled()
    assert chip_page.lines == []


def test_a_lost_network_is_told_in_sight_and_keeps_what_was_typed(chip_page: Any) -> None:
    chip_page.fill("#card1_colour", "N 9")
    chip_page.route("**/photo/chip", lambda route: route.abort("internetdisconnected"))
    chip_page.click("#photo-form button.main")
    chip_page.wait_for_selector("#answer >> text=No answer")
    assert "No answer" in chip_page.locator("#say").inner_text()
    assert chip_page.input_value("#card1_colour") == "N 9"
    assert chip_page.evaluate("document.getElementById('photo').files.length") == 1
    assert [line for line in chip_page.lines if "ERR_INTERNET_DISCONNECTED" not in line] == []
    chip_page.unroute("**/photo/chip")
    chip_page.fill("#card1_colour", "")
    chip_page.click("#photo-form button.main")
    chip_page.wait_for_selector(ANSWERED, timeout=60_000)
