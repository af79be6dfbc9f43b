"""The access code in a real browser, as on a phone: typed once, and nothing goes wrong unseen."""

from __future__ import annotations

import pytest

from showthrough.web.app import create_app
from showthrough.web.gate.access import Access
from web.serving import served_at

CODE = "acdf-3479"


@pytest.mark.browser
@pytest.mark.parametrize("script", [True, False])
def test_the_code_is_typed_once_and_opens_what_was_asked_for(chromium, script):
    app = create_app(access=Access(CODE))

    async def from_a_phone(scope, receive, send):
        # Every browser of a test is on this machine, which needs no code.
        await app({**scope, "client": ("192.0.2.40", 50000)}, receive, send)

    faults = []
    with served_at(from_a_phone) as port:
        context = chromium.new_context(
            java_script_enabled=script, viewport={"width": 390, "height": 800}
        )
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda line: faults.append(line.text))
        page.goto(f"http://127.0.0.1:{port}/colours?topcoat.colour=a3b84c&surface.1.colour=6b4a2a")
        assert page.get_by_label("terminal").bounding_box()["width"] > 100, "the style is there"
        wide, shown = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide <= shown
        page.get_by_label("terminal").fill("wrong")
        page.get_by_role("button").click()
        assert "not the code" in page.get_by_role("alert").inner_text()
        page.get_by_label("terminal").fill("ACDF 3479")
        page.get_by_label("terminal").press("Enter")
        page.wait_for_url("**/colours?topcoat.colour=a3b84c*")
        page.goto(f"http://127.0.0.1:{port}/")
        assert "/access" not in page.url
        context.close()
    assert faults == []
