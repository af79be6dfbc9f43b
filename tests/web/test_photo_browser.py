"""The pages with a photo in a real browser: by mouse, touch and keys, with and without script."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from jobs import small_photos as photos

pytestmark = pytest.mark.browser

Open = Callable[..., Any]


@pytest.fixture
def chip_file(tmp_path: Path) -> str:
    path = tmp_path / "chip.png"
    path.write_bytes(photos.chip_photo())
    return str(path)


def point(page: Any, x: float, y: float) -> tuple[float, float]:
    """A place of the shown photo, in fractions, on the screen."""
    marks = page.locator("#stage-marks")
    marks.scroll_into_view_if_needed()
    box = marks.bounding_box()
    return box["x"] + x * box["width"], box["y"] + y * box["height"]


def drag(page: Any, left: float, top: float, right: float, bottom: float) -> None:
    page.mouse.move(*point(page, left, top))
    page.mouse.down()
    page.mouse.move(*point(page, (left + right) / 2, (top + bottom) / 2))
    page.mouse.move(*point(page, right, bottom))
    page.mouse.up()


def marked(page: Any, name: str) -> list[float]:
    sides = ("left", "top", "right", "bottom")
    return [float(page.input_value(f"#{name}_{side}")) / 100 for side in sides]


def by_number(page: Any, **boxes: list[float]) -> None:
    """Type places, their rows opened as a reader without a pointer opens them."""
    for name, box in boxes.items():
        row = page.locator(f"#{name} .by-number")
        if row.get_attribute("open") is None:
            row.locator("summary").press("Enter")
        for side, value in zip(("left", "top", "right", "bottom"), box, strict=True):
            page.fill(f"#{name}_{side}", f"{100 * value:g}")


def answered(page: Any) -> None:
    page.click("#photo-form button.main")
    page.wait_for_selector("#answer .reading, #answer .pv, #answer .mends", timeout=60_000)


@pytest.mark.parametrize("width", [390, 1280])
def test_a_chip_is_marked_by_dragging_read_and_used(
    open_page: Open, chip_file: str, width: int
) -> None:
    page = open_page("/photo/chip", width)
    assert page.evaluate("document.documentElement.scrollWidth") == width
    assert not page.locator("#stage").is_visible()
    page.set_input_files("#photo", chip_file)
    assert "Chip or lid smear" in page.locator("#stage-now").inner_text()
    drag(page, *photos.CHIP)
    page.click("#stage-bar .go")
    assert "Card" in page.locator("#stage-now").inner_text()
    drag(page, *reversed_box(photos.CARD))
    # A pixel of a phone's narrow picture is about 0.3 %.
    assert marked(page, "chip") == pytest.approx(photos.CHIP, abs=0.01)
    assert marked(page, "card1") == pytest.approx(photos.CARD, abs=0.01)
    page.click("#stage-bar .go")
    page.wait_for_selector("#answer .reading", timeout=60_000)
    assert "colour difference" in page.locator("#say").inner_text()
    assert page.locator("#stage-picture img").is_visible(), "the photo stays in the browser"
    assert page.evaluate("document.documentElement.scrollWidth") == width
    page.click("text=Use as topcoat")
    page.wait_for_url("**/?topcoat.colour=*&topcoat.colour.radius=*")
    assert "What is there now" in page.locator(".todo .next").inner_text()


def reversed_box(box: list[float]) -> tuple[float, float, float, float]:
    """The same rectangle, dragged from its last corner to its first."""
    return box[2], box[3], box[0], box[1]


def middle(box: list[float]) -> tuple[float, float]:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def test_a_thumb_sets_moves_and_sizes_a_mark_and_the_page_scrolls_again(
    open_page: Open, chip_file: str
) -> None:
    page = open_page("/photo/chip", 390, 844, has_touch=True, is_mobile=True)
    page.set_input_files("#photo", chip_file)
    bar = page.locator("#stage-bar")
    assert bar.is_visible()
    assert not page.locator(".nav").is_visible()
    assert "Leave it out" in bar.inner_text()
    page.touchscreen.tap(*point(page, *middle(photos.CHIP)))
    assert "Next" in bar.inner_text()
    left, top, right, bottom = marked(page, "chip")
    assert middle([left, top, right, bottom]) == pytest.approx(middle(photos.CHIP), abs=0.01)
    assert right - left == pytest.approx(0.16, abs=0.01)
    page.click("text=larger")
    wider = marked(page, "chip")
    assert wider[2] - wider[0] == pytest.approx(0.2, abs=0.01)
    page.click("text=smaller")
    # The mark alone holds the thumb; anywhere else it moves the page.
    holds = page.evaluate(
        """() => [document.getElementById("stage-picture"), document.querySelector(".now polygon")]
        .map((e) => getComputedStyle(e).touchAction)"""
    )
    assert holds == ["pan-y pinch-zoom", "none"]
    bar.locator("button").first.tap()
    assert page.input_value("#chip_left") == ""
    page.touchscreen.tap(*point(page, *middle(photos.CHIP)))
    bar.locator(".go").tap()
    page.touchscreen.tap(*point(page, *middle(photos.CARD)))
    bar.locator(".go").tap()
    page.wait_for_selector("#answer .reading", timeout=60_000)
    assert "Right to within" in page.locator("#answer").inner_text()


def test_a_mark_is_dragged_where_it_belongs(open_page: Open, chip_file: str) -> None:
    page = open_page("/photo/chip", 1280)
    page.set_input_files("#photo", chip_file)
    page.mouse.click(*point(page, 0.3, 0.3))
    before = marked(page, "chip")
    page.mouse.move(*point(page, 0.3, 0.3))
    page.mouse.down()
    page.mouse.move(*point(page, 0.5, 0.4))
    page.mouse.up()
    after = marked(page, "chip")
    moved = [b - a for a, b in zip(before, after, strict=True)]
    assert moved == pytest.approx([0.2, 0.1, 0.2, 0.1], abs=0.01)


def test_a_chart_is_marked_by_its_corners(open_page: Open, chip_file: str) -> None:
    page = open_page("/photo/chip", 390, has_touch=True)
    page.set_input_files("#photo", chip_file)
    page.click("#chart-part > summary")
    page.click("[aria-label='Mark 24-patch chart on the photo']")
    corners = ((0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9))
    for x, y in corners:
        page.touchscreen.tap(*point(page, x, y))
    for n, (x, y) in enumerate(corners, 1):
        assert float(page.input_value(f"#chart_x{n}")) == pytest.approx(100 * x, abs=1.0)
        assert float(page.input_value(f"#chart_y{n}")) == pytest.approx(100 * y, abs=1.0)


def test_marks_that_lie_the_wrong_way_round_are_swapped(open_page: Open, chip_file: str) -> None:
    page = open_page("/photo/chip")
    page.set_input_files("#photo", chip_file)
    by_number(page, chip=photos.CARD, card1=photos.CHIP)
    page.fill("#card1_colour", "nonsense")
    answered(page)
    assert page.locator("#swap").count() == 0, "it mends nothing but marks that look swapped"
    page.fill("#card1_colour", "")
    page.click("#photo-form button.main")
    page.click("#swap")
    page.wait_for_selector("#answer .reading", timeout=60_000)
    assert marked(page, "chip") == pytest.approx(photos.CHIP, abs=0.01)


def test_a_chip_is_marked_by_keys(open_page: Open, chip_file: str) -> None:
    page = open_page("/photo/chip")
    page.set_input_files("#photo", chip_file)
    page.focus("#stage-marks")
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Space")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    page.keyboard.press("Enter")
    assert marked(page, "chip") == pytest.approx([0.4, 0.49, 0.5, 0.59])


def test_problems_stand_at_their_places_and_the_photo_stays(
    open_page: Open, chip_file: str
) -> None:
    page = open_page("/photo/chip")
    page.set_input_files("#photo", chip_file)
    page.click("#chip .by-number > summary")
    page.fill("#chip_left", "ten")
    page.click("#chip .by-number > summary")
    answered(page)
    assert page.locator("#chip-mend").is_visible()
    assert page.locator("#chip_left").is_visible()
    assert not page.locator("#card1_left").is_visible()
    assert page.locator("#chip_left").get_attribute("aria-invalid") == "true"
    assert page.evaluate("document.getElementById('photo').files.length") == 1
    assert page.locator("text=choose it again").count() == 0
    for side in ("left", "top", "right", "bottom"):
        page.fill(f"#chip_{side}", "")
    page.click("#photo-form button.main")
    page.wait_for_selector("#answer .reading")
    assert not page.locator("#chip-mend").is_visible()


def test_without_script_two_taps_mark_an_area(open_page: Open, chip_file: str) -> None:
    page = open_page("/photo/chip", 390, java_script_enabled=False, has_touch=True)
    page.set_input_files("#photo", chip_file)
    with page.expect_navigation():
        page.click("button[name=show]")

    def tap(x: float, y: float) -> None:
        picture = page.locator(".tap-picture input")
        box = picture.bounding_box()
        assert box["x"] + box["width"] <= 390
        with page.expect_navigation():
            picture.tap(position={"x": x * box["width"], "y": y * box["height"]})

    for name, (left, top, right, bottom) in (("chip", photos.CHIP), ("card1", photos.CARD)):
        assert page.input_value("#marking") == name
        tap(right, top)  # any corner comes first
        assert page.locator("#tap .hint").first.inner_text() == "Now tap the opposite corner."
        tap(left, bottom)
        assert marked(page, name) == pytest.approx([left, top, right, bottom], abs=0.01)
    assert page.locator(".tap-picture polygon.edge").count() == 2
    page.set_input_files("#photo", chip_file)
    page.click("#photo-form button.main")
    assert page.locator("#answer .reading").is_visible()
    # A key on a field reads, as it did: it is no tap on the photo.
    page.press("#chip_left", "Enter")
    assert page.locator("#answer .mends").is_visible()


def test_without_script_a_photo_is_asked_for_before_it_is_shown(open_page: Open) -> None:
    page = open_page("/photo/surface", 390, java_script_enabled=False)
    page.click("button[name=show]")
    assert "choose the photo first" in page.locator("#photo-mend").inner_text()


def test_without_script_the_fields_are_enough(open_page: Open, chip_file: str) -> None:
    page = open_page("/photo/chip", 390, java_script_enabled=False)
    page.set_input_files("#photo", chip_file)
    for name, box in (("chip", photos.CHIP), ("card1", photos.CARD)):
        for side, value in zip(("left", "top", "right", "bottom"), box, strict=True):
            page.fill(f"#{name}_{side}", f"{100 * value:g}")
    page.click("#photo-form button.main")
    assert page.locator("#answer .reading").is_visible()
    assert page.locator("text=choose it again").is_visible()


@pytest.mark.parametrize("width", [390, 1280])
def test_a_preview_is_shown_in_the_page(open_page: Open, tmp_path: Path, width: int) -> None:
    path = tmp_path / "surface.png"
    path.write_bytes(photos.surface_photo())
    page = open_page("/photo/preview", width)
    page.set_input_files("#photo", str(path))
    drag(page, *photos.CHIP)
    page.fill("#coats", "3")
    page.select_option("#ground_coat", "plain")
    answered(page)
    shown = "() => [...document.querySelectorAll('.pv img')].filter((i) => i.checkVisibility())"
    page.wait_for_function(f"() => ({shown})().every((i) => i.naturalWidth > 0)")
    assert page.evaluate(f"({shown})().length") == 1, "one large picture"
    assert page.evaluate(f"({shown})()[0].alt") == "The piece, 3 coats"
    page.click(".pv label >> nth=1")
    assert page.evaluate(f"({shown})()[0].alt") == "The piece, 1 coat"
    page.keyboard.press("ArrowRight")
    assert page.evaluate(f"({shown})()[0].alt") == "The piece, 2 coats"
    assert page.evaluate("document.documentElement.scrollWidth") == width


@pytest.mark.parametrize("path", ["/photo/surface", "/photo/drawdown"])
@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_runs_out_of_the_other_pages(open_page: Open, path: str, width: int) -> None:
    page = open_page(path, width)
    page.evaluate("document.querySelectorAll('details').forEach((part) => { part.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") == width


def rules_kept(page: Any) -> None:
    """axe-core finds nothing, and every control is as large as a thumb."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    assert [(v["id"], v["nodes"][0]["html"][:160]) for v in found] == []
    small = page.evaluate(
        """() => [...document.querySelectorAll("button, select, input, summary, a.btn")]
        .filter((e) => e.checkVisibility() && e.type !== "hidden" && !e.closest(".pv > input"))
        .map((e) => (e.tagName === "INPUT" && e.closest("label")) || e)
        .filter((e) => e.getBoundingClientRect().height < 43.9)
        .map((e) => e.outerHTML.slice(0, 100))"""
    )
    assert small == []


@pytest.mark.parametrize("width", [390, 1280])
def test_from_a_photo_to_a_printed_sheet(open_page: Open, chip_file: str, width: int) -> None:
    page = open_page("/photo?surface.1.colour=brown+laminate&surface.1.ground=laminate", width)
    page.click("text=Read a chip or a lid")
    page.set_input_files("#photo", chip_file)
    page.mouse.click(*point(page, *middle(photos.CHIP)))
    rules_kept(page)
    page.click("#stage-bar .go")
    page.mouse.click(*point(page, *middle(photos.CARD)))
    page.click("#stage-bar .go")
    page.wait_for_selector("#answer .reading", timeout=60_000)
    rules_kept(page)
    page.click("text=Use as topcoat")
    page.wait_for_selector("#headline")
    assert "dark brown" in page.locator("#sentence").inner_text()
    page.click(".nav >> text=Sheet")
    page.click("text=Print the bench page")
    page.wait_for_selector(".page.bench")
    assert page.pdf(format="A4").startswith(b"%PDF")


def test_a_photo_chosen_before_the_script_has_come_is_shown_once_it_has(
    open_page: Open, chip_file: str
) -> None:
    page = open_page("/photo")
    held: list[Any] = []
    page.route("**/photo.js*", lambda route: held.append(route))  # noqa: PLW0108 - needs a function that takes a name
    page.click("text=Read a chip or a lid")
    while not held:
        page.wait_for_timeout(20)
    page.set_input_files("#photo", chip_file)
    for route in held:
        route.continue_()
    page.wait_for_selector("#stage-marks", state="visible", timeout=10_000)
    page.mouse.click(*point(page, *middle(photos.CHIP)))
    assert all(0 < side < 1 for side in marked(page, "chip"))


def test_a_drawn_preview_keeps_the_rules(open_page: Open, tmp_path: Path) -> None:
    path = tmp_path / "surface.png"
    path.write_bytes(photos.surface_photo())
    page = open_page("/photo/preview", 390)
    page.set_input_files("#photo", str(path))
    page.mouse.click(*point(page, 0.5, 0.5))
    answered(page)
    rules_kept(page)


def thumb(session: Any, kind: str, *at: tuple[float, float]) -> None:
    """A thumb on the glass, as the browser gets it from the device."""
    held = [{"x": x, "y": y} for x, y in at]
    session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": held})


SEEN_UNDER = """() => {
    const near = document.getElementById("stage-near");
    const [box, all] = [near, document.querySelector("#stage-picture img")]
        .map((e) => e.getBoundingClientRect());
    const style = getComputedStyle(near);
    const [wide, high] = style.backgroundSize.split(" ").map(parseFloat);
    const [x, y] = style.backgroundPosition.split(" ").map(parseFloat);
    return {
        picture: style.backgroundImage.slice(5, -2)
            === document.querySelector("#stage-picture img").src,
        times: [wide / all.width, high / all.height],
        middle: [(near.clientWidth / 2 - x) / wide, (near.clientHeight / 2 - y) / high],
        size: [box.width, box.height],
        left: box.left - all.left,
        right: all.right - box.right,
        top: box.top - all.top,
    };
}"""


def test_what_a_thumb_covers_is_shown_large_in_the_other_corner(
    open_page: Open, chip_file: str
) -> None:
    page = open_page("/photo/chip", 390, 844, has_touch=True, is_mobile=True)
    page.set_input_files("#photo", chip_file)
    near = page.locator("#stage-near")
    glass = page.context.new_cdp_session(page)
    assert not near.is_visible()
    for x, y, side in ((0.3, 0.4, "right"), (0.7, 0.6, "left")):
        thumb(glass, "touchStart", point(page, x, y))
        near.wait_for(state="visible")
        seen = page.evaluate(SEEN_UNDER)
        assert seen["picture"]
        assert seen["size"] == [96, 96]
        assert seen["times"] == pytest.approx([3, 3], abs=0.01)
        assert seen["middle"] == pytest.approx([x, y], abs=0.01)
        assert (seen[side], seen["top"]) == pytest.approx((0, 0), abs=1)
        thumb(glass, "touchEnd")
        near.wait_for(state="hidden")
    # A mark that is dragged is followed, over to the other half.
    thumb(glass, "touchStart", point(page, 0.7, 0.6))
    thumb(glass, "touchMove", point(page, 0.4, 0.5))
    page.wait_for_selector("#stage-near.right")
    assert page.evaluate(SEEN_UNDER)["middle"] == pytest.approx([0.4, 0.5], abs=0.01)
    thumb(glass, "touchEnd")
    near.wait_for(state="hidden")
    assert middle(marked(page, "chip")) == pytest.approx((0.4, 0.5), abs=0.02)


def test_a_mouse_covers_nothing_and_is_shown_nothing(open_page: Open, chip_file: str) -> None:
    page = open_page("/photo/chip")
    page.set_input_files("#photo", chip_file)
    page.mouse.move(*point(page, 0.3, 0.3))
    page.mouse.down()
    assert not page.locator("#stage-near").is_visible()


def test_a_drawdown_is_read_without_a_card_being_asked_for(open_page: Open, tmp_path: Path) -> None:
    path = tmp_path / "drawdown.png"
    path.write_bytes(photos.draw_photo())
    page = open_page("/photo/drawdown", 390, 844, has_touch=True)
    assert "Not needed" in page.locator("#reference-part > .hint").inner_text()
    page.fill("#wet", "80")
    page.fill("#wet_solids", "38")
    page.set_input_files("#photo", str(path))
    for box in photos.DRAW.values():
        assert "Card." not in page.locator("#stage-now").inner_text()
        page.touchscreen.tap(*point(page, *middle(box)))
        page.click("#stage-bar .go")
    page.wait_for_selector("#answer table, #answer .mends", timeout=60_000)
    assert page.locator("#answer .mends").count() == 0
    assert page.input_value("#card1_left") == ""
    assert "Hides black against white" in page.locator("#answer").inner_text()


def test_places_by_number_are_a_closed_row_until_they_are_wanted(open_page: Open) -> None:
    page = open_page("/photo/chip", 390)
    assert not page.locator("#chip_left").is_visible()
    by_number(page, chip=photos.CHIP)
    assert page.locator("#chip_left").is_visible()
    plain = open_page("/photo/chip", 390, java_script_enabled=False)
    assert plain.locator("#chip_left").is_visible()
    assert plain.locator("#card1_left").is_visible()


def test_a_picture_that_the_browser_cannot_show_is_marked_by_number(
    open_page: Open, tmp_path: Path
) -> None:
    path = tmp_path / "photo.heic"
    path.write_bytes(b"no picture that a browser knows")
    page = open_page("/photo/chip", 390)
    page.set_input_files("#photo", str(path))
    page.wait_for_selector("#chip_left", state="visible")
    assert "in percent" in page.locator("#stage-now").inner_text()
