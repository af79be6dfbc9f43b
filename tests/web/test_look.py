"""The look, as far as a machine can judge it: neutral, legible, square, nobody else's."""

from __future__ import annotations

import re
from importlib import resources
from typing import Any

import pytest

from showthrough.colour.space import srgb_to_lab
from showthrough.jobs.schema.job import EXAMPLE_JOB
from showthrough.web.forms.paths import fields_of_job, query_of

_ASSETS = resources.files("showthrough.web") / "assets"
_CSS = (_ASSETS / "page.css").read_text("utf-8")
_PHOTO = (_ASSETS / "photo.css").read_text("utf-8")
_VARIABLES = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", _CSS))


def _rgb(hex_: str) -> list[float]:
    return [int(hex_[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]


def _contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2 definition."""

    def luminance(hex_: str) -> float:
        linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in _rgb(hex_)]
        return sum(w * v for w, v in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_meets_known_values() -> None:
    # WCAG 2.2: black on white is 21:1; #767676 is the lightest grey that passes 4.5:1 on white.
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert _contrast("#767676", "#ffffff") >= 4.5 > _contrast("#777777", "#ffffff")


@pytest.mark.parametrize(
    ("text", "ground"),
    [
        ("ink", "ground"),
        ("quiet", "ground"),
        ("quiet", "panel"),
        ("quiet", "raise"),
        ("ink", "raise"),
        ("white", "ink"),
        ("on-bar", "bar"),
        ("off-bar", "bar"),
        ("off-bar", "ink"),
    ],
)
def test_words_can_be_read_on_their_grey(text: str, ground: str) -> None:
    assert _contrast(_VARIABLES[text], _VARIABLES[ground]) >= 4.5


def test_edges_of_controls_can_be_seen() -> None:
    # WCAG 2.2, 1.4.11: 3:1 for the edges of controls.
    for ground in ("ground", "panel", "raise"):
        assert _contrast(_VARIABLES["edge"], _VARIABLES[ground]) >= 3.0


def test_the_ground_is_a_light_neutral_grey() -> None:
    # ISO 3668: colours are compared on a neutral surround; L* 65 to 80 is the house's choice.
    for name in ("ground", "panel"):
        lab = srgb_to_lab(_rgb(_VARIABLES[name]))
        assert 65.0 <= lab[0] <= 80.0
        assert abs(lab[1]) < 0.1
        assert abs(lab[2]) < 0.1


@pytest.mark.parametrize("css", [_CSS, _PHOTO])
def test_only_paint_has_a_colour(css: str) -> None:
    for hex_ in re.findall(r"#[0-9a-fA-F]{3,8}\b", css):
        digits = hex_[1:]
        assert len(digits) in {6, 8}, hex_
        assert digits[:2] == digits[2:4] == digits[4:6], hex_
    named = re.findall(r"(?:color|background|fill|stroke)\s*:\s*([^;}]+)", css)
    for value in named:
        assert re.fullmatch(
            r"(var\(--[a-z-]+\)|#[0-9a-f]{6}|none|transparent|inherit|currentColor)", value.strip()
        ), value


@pytest.mark.parametrize("css", [_CSS, _PHOTO])
def test_fields_are_square_and_flat(css: str) -> None:
    # Knobs and bars of hardware alone are round and throw a shadow; focus is ringed.
    rules = [r for r in re.findall(r"[^{}]+\{[^{}]*\}", css) if not re.match(r"\s*\.(kn|br) ", r)]
    plain = "".join(rules)
    assert not re.search(r"border-radius:(?!\s*0\s*[;}])", plain)
    assert "gradient" not in plain
    assert "drop-shadow" not in plain
    shadows = re.findall(r"box-shadow: ([^;}]+)", plain)
    assert all(
        re.fullmatch(r"(0 0 0 \d+px var\(--[a-z]+\)(, )?)+|none", s.strip()) for s in shadows
    )


def test_letters_are_the_systems_own() -> None:
    assert "@font-face" not in _CSS + _PHOTO
    assert "@import" not in _CSS + _PHOTO
    assert "--serif: ui-serif, serif; --sans: system-ui, sans-serif" in _CSS
    assert "tabular-nums" in _CSS


def test_printed_colours_are_exact_and_controls_stay_away() -> None:
    printed = _CSS.partition("@media print")[2]
    assert "print-color-adjust: exact" in printed
    hidden = re.search(r"([^{}]*)\{ display: none; \}", printed)
    assert hidden is not None
    assert {".nav", ".bar", ".btns"} <= {part.strip() for part in hidden[1].split(",")}


def test_motion_is_nowhere() -> None:
    assert not re.search(r"\b(transition|animation)\b", _CSS + _PHOTO)


_HOST = re.compile(r"(?:https?:|wss?:)?//[\w.\[]+", re.IGNORECASE)
_NAMESPACE = "http://www.w3.org/2000/svg"


def test_the_search_for_hosts_finds_one() -> None:
    assert _HOST.findall('<script src="//host.example/x.js">') == ["//host.example"]


def test_no_host_but_our_own_is_named_anywhere(client: Any) -> None:
    example = query_of(fields_of_job(EXAMPLE_JOB))
    pages = ("/", "/colours", "/colours/every", "/sheet", "/jobs", "/photo", "/photo/chip")
    texts = {page: client.get(f"{page}?{example}").text for page in pages}
    texts["first"] = client.get("/").text
    texts["problems"] = client.get("/?topcoat.colour=x&surface.1.colour=y").text
    texts["paper"] = client.get(f"/sheet/paper?{example}").text
    for file in _ASSETS.iterdir():
        texts[file.name] = file.read_text("utf-8")
    assert len(texts) >= 12
    for name, text in texts.items():
        assert _HOST.findall(text.replace(_NAMESPACE, "")) == [], name
