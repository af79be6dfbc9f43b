"""The pages that take a photo: the same answers as elsewhere, and a way on from each."""

from __future__ import annotations

import base64
import io
import re
from html import unescape
from typing import Any
from urllib.parse import unquote

import numpy as np
import pytest
from PIL import Image

from jobs import small_photos as photos
from jobs.small_jobs import small_job
from showthrough import predict
from showthrough.colour.difference import ciede2000
from showthrough.colour.space import srgb_to_lab
from showthrough.jobs.photos.photos import paint_toml, read_chip, read_drawdown, read_surface
from showthrough.jobs.photos.preview import draw_preview
from showthrough.say.chances import short_chance
from showthrough.say.reading import radius_words
from showthrough.web.forms import photo_form
from showthrough.web.forms.paths import fields_of_job, query_of
from web.tree import Element, read_html


def srgb_hex_to_lab(hex_: str) -> Any:
    return srgb_to_lab([int(hex_[i : i + 2], 16) / 255.0 for i in (1, 3, 5)])


PATHS = ("/photo/chip", "/photo/surface", "/photo/drawdown", "/photo/preview")
CARD = {"region": photos.CARD}
JOB = small_job()
LINK = query_of(fields_of_job(JOB))


def spot(name: str, box: list[float]) -> dict[str, str]:
    """The fields of a marked rectangle, in percent."""
    sides = zip(("left", "top", "right", "bottom"), box, strict=True)
    return {f"{name}_{side}": f"{100 * value:g}" for side, value in sides}


WITH_CARD = spot("card1", photos.CARD)
CHIP = spot("chip", photos.CHIP) | WITH_CARD
FILM = {"wet": "80", "wet_solids": "38"}
READINGS = {
    name: f"lab({' '.join(f'{v:g}' for v in reading['lab'])})"
    for name, reading in photos.READINGS.items()
}


def post(
    client: Any,
    path: str,
    fields: dict[str, str],
    photo: bytes | None = None,
    status: int = 200,
    name: str = "photo.png",
) -> Element:
    """The page that answers a sent form, as a browser without script sends it."""
    file = ("", b"") if photo is None else (name, photo)
    reply = client.post(path, data={"job": "", **fields}, files={"photo": file})
    assert reply.status_code == status, reply.text[:300]
    assert reply.headers["content-type"] == "text/html; charset=utf-8"
    assert "img-src 'self' blob: data:" in reply.headers["content-security-policy"]
    assert "unsafe" not in reply.headers["content-security-policy"]
    return read_html(reply.text)


def follow(client: Any, link: str) -> Element:
    """Where a link or a sent form leads, through the redirect to its shortest form."""
    reply = client.get(link)
    while reply.status_code == 303:
        reply = client.get(reply.headers["location"])
    assert reply.status_code == 200, reply.text[:200]
    return read_html(reply.text)


def sheet_values(client: Any, page: Element, word: str) -> dict[str, str]:
    """What the sheet of a word holds in its fields, those that it carries along included."""
    link = page.all("a", lambda a: f"word={word}" in a.attrs["href"])[0]
    form = follow(client, link.attrs["href"]).one("sheet")
    inputs = form.all("input", lambda i: i.attrs.get("type") not in {"radio", "checkbox"})
    areas = {t.attrs["name"]: t.text for t in form.all("textarea")}
    return {i.attrs["name"]: i.attrs.get("value", "") for i in inputs} | areas


def link_named(tree: Element, words: str) -> str:
    (found,) = tree.all("a", lambda a: a.text == words)
    return found.attrs["href"]


# --- the pages as they open --------------------------------------------------------------


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize(
    "query", ["", "?start=empty", f"?{LINK}", "?nonsense=1&surface.1.colour=x"]
)
def test_each_page_opens_with_and_without_a_job(client: Any, path: str, query: str) -> None:
    reply = client.get(path + query)
    assert reply.status_code == 200
    assert not re.search(r"\sstyle=|<style|\son[a-z]+=|<script>", reply.text)
    tree = read_html(reply.text)
    here = tree.all("a", lambda a: a.attrs.get("aria-current") == "page")
    assert [a.text for a in here] == ["Photo"]
    file = tree.one("photo")
    assert (file.attrs["type"], file.attrs["accept"][:7]) == ("file", "image/*")
    assert "capture" not in file.attrs, "a phone offers its camera and its album"
    form = tree.one("photo-form")
    assert (form.attrs["method"], form.attrs["enctype"]) == ("post", "multipart/form-data")
    labels = {label.attrs["for"] for label in tree.all("label") if "for" in label.attrs}
    for tag in ("input", "select"):
        for each in form.all(tag):
            if each.attrs.get("type") != "hidden":
                assert each.attrs["id"] in labels, each.attrs
    ids = [each.attrs["id"] for each in tree.walk() if "id" in each.attrs]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("path", PATHS)
def test_a_job_goes_along_to_each_page_and_on(client: Any, path: str) -> None:
    place = follow(client, f"/photo?{LINK}")
    (away,) = place.all("a", lambda a: a.attrs["href"].startswith(f"{path}?"))
    there = follow(client, away.attrs["href"])
    (held,) = there.all("input", lambda i: i.attrs.get("name") == "job")
    assert held.attrs["value"] == LINK


@pytest.mark.parametrize("path", PATHS)
def test_a_job_too_long_for_a_link_is_posted_and_goes_along(client: Any, path: str) -> None:
    cans = [{"name": f"can {n} " + "x" * 70, "colour": "N 7"} for n in range(1, 24)]
    job = JOB | {"undercoat": cans, "title": "y" * 190, "days": {"days_off": ["2027-01-01"] * 300}}
    fields = fields_of_job(job)
    place = read_html(client.post("/photo", data=fields).text)
    (button,) = place.all("button", lambda b: b.attrs.get("formaction") == path)
    assert button.attrs["form"] == "job"
    there = read_html(client.post(path, data=fields).text)
    (held,) = there.all("input", lambda i: i.attrs.get("name") == "job")
    assert held.attrs["value"] == query_of(fields)
    assert len(held.attrs["value"]) > 6000


# --- answers -----------------------------------------------------------------------------


def test_a_chip_is_read_and_used_as_topcoat(client: Any) -> None:
    answer = read_chip(
        photos.chip_photo(), {"region": photos.CHIP, "cards": [CARD]}, name="photo.png"
    )
    tree = post(client, "/photo/chip", CHIP | {"job": LINK}, photos.chip_photo())
    shown = tree.one("answer")
    darkest, read, lightest = (r.attrs["fill"] for r in shown.all("rect")[:3])
    assert read == answer.colour.hex
    lightness = [srgb_hex_to_lab(h)[0] for h in (darkest, read, lightest)]
    assert lightness == sorted(lightness)
    for edge in (darkest, lightest):
        off = float(ciede2000(srgb_hex_to_lab(edge), srgb_hex_to_lab(read)))
        # A screen has whole levels, and stops at black and at white.
        assert off <= answer.colour.radius + 0.6
    assert f"differs from this by at most {answer.colour.radius:.1f}" in shown.text
    step, seen = radius_words(answer.colour.radius)
    assert f"Right to within {step} : {seen}" in shown.text
    for note in answer.colour.notes:
        assert " ".join(note.split()) in shown.text
    page = follow(client, link_named(tree, "Use as topcoat"))
    held = sheet_values(client, page, "topcoat")
    lab = " ".join(f"{v:g}" for v in answer.colour.lab)
    assert held["topcoat.colour"] == f"lab({lab})"
    assert float(held["topcoat.colour.radius"]) == answer.colour.radius
    assert held["surface.1.colour"].startswith("lab(38")
    assert "coats" in page.one("headline").text


def test_what_was_typed_and_marked_stays_and_the_photo_is_said_to_be_gone(client: Any) -> None:
    tree = post(client, "/photo/chip", CHIP | {"light": "cloud"}, photos.chip_photo())
    for name, value in CHIP.items():
        assert tree.one(name).attrs["value"] == value
    chosen = tree.one("light").all("option", lambda o: "selected" in o.attrs)
    assert [o.attrs["value"] for o in chosen] == ["cloud"]
    assert "not kept" in tree.one("answer").text


def test_a_plain_file_is_read_as_the_library_reads_it(client: Any) -> None:
    request = {"region": photos.CHIP, "cards": [CARD], "processing": "plain"}
    plain = read_chip(photos.chip_photo(), request, name="photo.png").colour
    usual = read_chip(photos.chip_photo(), request | {"processing": "unknown"}, name="photo.png")
    tree = post(client, "/photo/chip", CHIP | {"processing": "plain"}, photos.chip_photo())
    assert plain.radius < usual.colour.radius
    assert f"at most {plain.radius:.1f} " in tree.one("answer").text


def test_a_surface_asks_what_no_picture_tells(client: Any) -> None:
    answer = read_surface(photos.surface_photo(), {"cards": [CARD]}, name="photo.png")
    tree = post(client, "/photo/surface", WITH_CARD, photos.surface_photo())
    assert answer.asks
    for question in answer.asks:
        assert question in tree.one("answer").text


def test_a_surface_is_read_renamed_and_used(client: Any) -> None:
    answer = read_surface(photos.surface_photo(), {"cards": [CARD]}, name="photo.png")
    tree = post(client, "/photo/surface", WITH_CARD | {"job": LINK}, photos.surface_photo())
    strip = tree.one("answer").all("svg", lambda s: s.has_class("strip"))[0]
    assert [r.attrs["fill"] for r in strip.all("rect")] == [p.hex for p in answer.patches]
    form = tree.one("proposed")
    fields = [(i.attrs["name"], i.attrs["value"]) for i in form.all("input")]
    renamed = [(n, "my own name") if n == "surface.1.name" else (n, v) for n, v in fields]
    query = "&".join(f"{n}={re.sub('[^a-zA-Z0-9.()-]', '+', v)}" for n, v in renamed)
    page = follow(client, f"/?{query}")
    held = sheet_values(client, page, "topcoat")
    assert held["surface.1.name"] == "my own name"
    for n, patch in enumerate(answer.patches, 1):
        lab = " ".join(f"{v:g}" for v in patch.lab)
        assert held[f"surface.{n}.colour"] == f"lab({lab})"
        assert float(held[f"surface.{n}.colour.radius"]) == patch.radius
    assert held["topcoat.colour"] == "lab(66 -24 55)"
    assert "coats" in page.one("headline").text


def test_the_most_patches_that_are_chosen_reach_the_reading_as_a_number(client: Any) -> None:
    post(client, "/photo/surface", WITH_CARD | {"most": "3"}, photos.surface_photo())
    post(client, "/photo/surface", WITH_CARD | {"most": "many"}, photos.surface_photo())


def test_a_drawdown_is_measured_kept_and_used(client: Any) -> None:
    request = photos.FILM | READINGS | {"name": "my green"}
    answer = read_drawdown(request)
    fields = FILM | READINGS | {"paint_name": "my green", "job": LINK}
    tree = post(client, "/photo/drawdown", fields)
    shown = tree.one("answer")
    assert f"{answer.contrast_ratio:.3f}" in shown.text
    assert f"{answer.hiding_um:.0f} µm of dry film" in shown.text
    assert f"factor of {answer.spread:.2f}" in shown.text
    strip = shown.all("svg", lambda s: s.has_class("strip"))[0]
    assert strip.all("rect")[-1].attrs["fill"] == answer.opaque.hex
    (saved,) = shown.all("a", lambda a: "download" in a.attrs)
    assert saved.attrs["download"] == "my-green.toml"
    head, _, text = saved.attrs["href"].partition(",")
    assert head == "data:application/toml;charset=utf-8"
    assert unquote(text) == paint_toml(answer.paint)
    page = follow(client, link_named(tree, "Use as topcoat"))
    held = sheet_values(client, page, "topcoat")
    assert held["topcoat.colour"] == ""
    assert held["topcoat.name"] == "my green"
    assert held["topcoat.volume_solids"] == "0.38"
    assert "(a drawdown), measured" in page.one("sure").text
    assert f"{answer.opaque.hex}" in page.one("figures").text


def test_the_curve_shows_k_and_s_and_their_doubt(client: Any) -> None:
    answer = read_drawdown(photos.FILM | photos.READINGS)
    svg = post(client, "/photo/drawdown", FILM | READINGS).one("constants").all("svg")[0]
    lines = {
        line.attrs["class"]: np.array(
            [[float(v) for v in p.split(",")] for p in line.attrs["points"].split()]
        )
        for line in svg.all("polyline")
    }
    values = {"K": np.array(answer.absorption), "S": np.array(answer.scattering)}
    levels = [(float(t.text), float(t.attrs["y"]) - 3.5) for t in svg.all("text") if _number(t)]
    (one, y_one), (ten, y_ten) = sorted(levels)[:2]
    slope = (y_ten - y_one) / np.log10(ten / one)
    for name, value in values.items():
        assert lines[name].shape == (31, 2)
        expected = y_one + slope * np.log10(np.maximum(value, one) / one)
        assert np.abs(lines[name][:, 1] - expected).max() < 0.05
    assert len(svg.all("polygon")) == 2


def _number(text: Element) -> bool:
    return text.has_class("end") and re.fullmatch(r"[\d.e-]+", text.text) is not None


def test_a_drawdown_is_read_from_a_photo(client: Any) -> None:
    fields = FILM | WITH_CARD
    for name, box in photos.DRAW.items():
        fields |= spot(f"on_{name}", box)
    tree = post(client, "/photo/drawdown", fields, photos.draw_photo())
    request = photos.FILM | {"regions": photos.DRAW, "photo": {"cards": [CARD]}}
    answer = read_drawdown(request, photos.draw_photo())
    assert f"{answer.contrast_ratio:.3f}" in tree.one("answer").text


def test_that_the_drawdown_cards_own_white_served_is_said_on_the_page(client: Any) -> None:
    fields = dict(FILM)
    for name, box in photos.DRAW.items():
        fields |= spot(f"on_{name}", box)
    answer = post(client, "/photo/drawdown", fields, photos.draw_photo()).one("answer")
    note = "the drawdown card's own white served as one"
    assert answer.text.count(note) == 1
    with_card = post(client, "/photo/drawdown", fields | WITH_CARD, photos.draw_photo())
    assert note not in with_card.one("answer").text


def test_a_film_that_hides_is_advice_and_nothing_to_mend(client: Any) -> None:
    fields = FILM | READINGS | {"over_black": "lab(66 -24 55)", "over_white": "lab(66 -24 55)"}
    tree = post(client, "/photo/drawdown", fields)
    assert "draw it thinner" in tree.one("answer").text
    assert tree.one("answer").attrs["data-say"] == "This film cannot be measured"


def pictures(tree: Element) -> list[np.ndarray]:
    out = []
    for image in tree.one("answer").all("img"):
        kind, _, data = image.attrs["src"].partition(",")
        assert kind == "data:image/jpeg;base64"
        out.append(np.asarray(Image.open(io.BytesIO(base64.b64decode(data)))))
    return out


def test_a_preview_stands_in_the_page_with_and_without_undercoat(client: Any) -> None:
    fields = spot("painted1", photos.CHIP) | {"job": LINK, "coats": "2"}
    tree = post(client, "/photo/preview", fields, photos.surface_photo())
    shown = pictures(tree)
    request = {"job": JOB, "areas": [{"region": photos.CHIP}], "coats": 2}
    drawn = [
        frame.image
        for undercoat in (False, True)
        for frame in draw_preview(
            photos.surface_photo(), request | {"undercoat": undercoat}
        ).frames()
    ]
    assert len(shown) == len(drawn) == 6
    for one, other in zip(shown, drawn, strict=True):
        # A JPEG of quality 92 is within two levels on average.
        assert np.abs(one.astype(float) - other).mean() < 2.0
    steps = [d for d in tree.one("answer").all("div") if d.has_class("pv")]
    words = [label.all("small")[0].text for label in steps[0].all("label")[1:]]
    enough = predict(JOB).coats.enough
    assert words == [short_chance(enough[n]) for n in (1, 2)]
    chosen = [i for i in steps[0].all("input") if "checked" in i.attrs]
    assert [i.attrs["aria-label"] for i in chosen] == ["2 coats"], "it opens at the last coat"
    alone = post(
        client, "/photo/preview", fields | {"ground_coat": "plain"}, photos.surface_photo()
    )
    assert len(pictures(alone)) == 3


def test_a_named_patch_is_painted_from_its_own_colour(client: Any) -> None:
    fields = spot("painted1", photos.CHIP) | {"job": LINK, "coats": "1", "ground_coat": "plain"}
    free = pictures(post(client, "/photo/preview", fields, photos.surface_photo()))[-1]
    fields |= {"painted1_patch": "surface", "painted1_face": "front"}
    named = pictures(post(client, "/photo/preview", fields, photos.surface_photo()))[-1]
    assert not np.array_equal(free, named)


def test_nothing_of_where_or_by_whom_a_photo_was_taken_comes_back(client: Any) -> None:
    photo = photos.located_photo()
    assert b"Invented" in photo
    fields = spot("painted1", photos.CHIP) | {"job": LINK, "coats": "1"}
    for path, more in (("/photo/surface", WITH_CARD), ("/photo/preview", fields)):
        tree = post(client, path, more, photo, name="photo.jpg")
        assert "Invented" not in tree.text
        for image in tree.all("img", lambda i: "src" in i.attrs):
            data = base64.b64decode(image.attrs["src"].partition(",")[2])
            assert b"Invented" not in data
            assert not Image.open(io.BytesIO(data)).getexif()


# --- problems ----------------------------------------------------------------------------


def told(tree: Element) -> dict[str, str]:
    """Message by field; each stands in the list and beside its field."""
    out: dict[str, str] = {}
    for item in tree.one("answer").all("li", lambda li: "data-for" in li.attrs):
        name = item.attrs["data-for"]
        beside = tree.one(f"{name}-mend")
        assert "hidden" not in beside.attrs
        assert item.all("span")[0].text in beside.text
        assert item.all("a")[0].attrs["href"] == f"#{name}"
        assert tree.one(name).tag in {"input", "select", "fieldset", "textarea"}
        out[name] = beside.text
    return out


def test_every_problem_of_a_form_is_told_at_once(client: Any) -> None:
    fields = {
        "chip_left": "10",
        "chip_top": "a tenth",
        "chip_right": "130",
        "card1_colour": "nonsense",
        **spot("card2", photos.CARD),
        "card2_kind": "known",
        **spot("sheet1", [0.2, 0.2, 0.2, 0.4]),
        "chart_x1": "3",
    }
    mends = told(post(client, "/photo/chip", fields))
    assert set(mends) == {"photo", "chip", "card1", "card2_colour", "sheet1", "chart"}
    assert "a tenth" in mends["chip"]
    assert "130" in mends["chip"]
    assert "bottom missing" in mends["chip"]


def test_problems_that_only_the_photo_shows_stand_at_their_places(client: Any) -> None:
    fields = spot("chip", photos.OVERLAPPING) | WITH_CARD | spot("sheet2", photos.TINY)
    mends = told(post(client, "/photo/chip", fields, photos.chip_photo()))
    assert set(mends) == {"chip", "sheet2"}
    mends = told(
        post(client, "/photo/chip", CHIP | spot("card2", photos.TINY), photos.chip_photo())
    )
    assert set(mends) == {"card2"}
    mends = told(post(client, "/photo/chip", CHIP, b"no picture"))
    assert set(mends) == {"photo"}


def test_a_drawdown_asks_for_all_that_is_missing(client: Any) -> None:
    tree = post(client, "/photo/drawdown", {"wet": "thick", "wet_solids": "380"})
    mends = told(tree)
    assert set(mends) == {"wet", "wet_solids", *photos.READINGS}
    assert "thick" in mends["wet"]
    assert tree.one("wet").attrs["value"] == "thick"
    half = spot("on_bare_black", photos.DRAW["bare_black"])
    mends = told(post(client, "/photo/drawdown", FILM | half))
    assert {"photo", "on_bare_white", "on_over_black", "on_over_white"} <= set(mends)


def test_a_previews_job_is_mended_where_jobs_are(client: Any) -> None:
    bad = "topcoat.colour=nonsense&surface.1.colour=fff&application.wet_film_um=-3"
    mends = told(post(client, "/photo/preview", {"job": bad, "coats": "40"}))
    assert {"photo", "painted1", "coats", "job-part"} == set(mends)
    assert "nonsense" in mends["job-part"]
    assert "-3" in mends["job-part"]


def test_a_photo_that_is_too_large_is_told_on_the_page(
    client: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photo_form, "MOST_BODY_BYTES", 200_000)
    tree = post(client, "/photo/chip", CHIP, bytes(300_000), 413)
    assert told(tree)["photo"].startswith("a picture or file sent here has at most 0.2 MB")


def test_what_is_too_large_elsewhere_is_told_in_the_same_words(client: Any) -> None:
    headers = {"content-type": "application/x-www-form-urlencoded", "accept": "text/html"}
    reply = client.post("/colours", content=b"a=" + b"x" * 5_000_000, headers=headers)
    assert reply.status_code == 413
    main = read_html(reply.text).all("main")[0]
    assert "A picture or file sent here has at most 4 MB" in main.text
    assert "ody" not in main.text


@pytest.mark.parametrize("path", PATHS)
def test_what_is_no_form_is_told_on_the_page(client: Any, path: str) -> None:
    for kind, status in (("text/plain", 415), ("multipart/form-data; boundary=x", 422)):
        headers = {"content-type": kind, "accept": "text/html"}
        reply = client.post(path, content=b"x", headers=headers)
        assert reply.status_code == status
        assert "multipart" in unescape(reply.text)
    empty = post(client, path, {})
    assert told(empty)


@pytest.mark.parametrize(
    "text",
    ["nonsense", "format=1", "a=1979-05-27", "format=nan", "[[[[", "x=[" * 3000],
)
@pytest.mark.parametrize("path", ["/", "/colours", "/colours/every", "/sheet"])
def test_a_measured_paint_that_is_none_is_told_beside_its_field(
    client: Any, path: str, text: str
) -> None:
    reply = client.post(path, data={"topcoat.paint": text, "surface.1.colour": "76523a"})
    tree = read_html(reply.text)
    field = tree.one("f-topcoat.paint")
    assert field.attrs["aria-invalid"] == "true"
    assert tree.one(field.attrs["aria-describedby"].split()[0]).text


@pytest.mark.parametrize("path", ["/colours", "/colours/every", "/sheet"])
def test_every_page_takes_a_measured_paint(client: Any, path: str) -> None:
    tree = post(client, "/photo/drawdown", FILM | READINGS | {"job": LINK})
    link = link_named(tree, "Use as topcoat").removeprefix("/")
    reply = client.get(path + link)
    assert reply.status_code == 200
    held = read_html(reply.text).all("input", lambda i: i.attrs.get("name") == "topcoat.paint")
    assert held[0].attrs["value"].startswith("format=1")


# --- marks the wrong way round -----------------------------------------------------------

SWAPPED = spot("chip", photos.CARD) | spot("card1", photos.CHIP)


def swap_offered(page: Element) -> str | None:
    """The marks that a button offers to exchange."""
    found = page.all("button", lambda b: b.attrs.get("name") == "swap")
    assert all(b.attrs["form"] == "photo-form" for b in found)
    return found[0].attrs["value"] if found else None


def test_a_swap_of_card_and_chip_is_offered_and_comes_back_exchanged(client: Any) -> None:
    offer = swap_offered(post(client, "/photo/chip", SWAPPED, photos.chip_photo()))
    assert offer == "chip card1"
    again = post(client, "/photo/chip", SWAPPED | {"swap": offer})
    held = {name: again.one(name).attrs["value"] for name in SWAPPED}
    assert held == CHIP
    read = post(client, "/photo/chip", SWAPPED | {"swap": offer}, photos.chip_photo())
    assert "Right to within" in read.one("answer").text


def test_a_second_card_alone_is_the_one_that_is_swapped(client: Any) -> None:
    marks = spot("chip", photos.CARD) | spot("card2", photos.CHIP)
    assert swap_offered(post(client, "/photo/chip", marks, photos.chip_photo())) == "chip card2"


def test_a_swap_is_offered_in_a_drawdown_for_the_mark_that_is_refused(client: Any) -> None:
    fields = {k: v for n, box in photos.DRAW.items() for k, v in spot(f"on_{n}", box).items()}
    fields |= FILM | spot("card1", photos.DRAW["over_black"])
    page = post(client, "/photo/drawdown", fields, photos.draw_photo())
    assert swap_offered(page) == "on_bare_white card1"


@pytest.mark.parametrize(
    "fields",
    [
        CHIP | {"card1_colour": "nonsense"},
        spot("chip", photos.OVERLAPPING) | WITH_CARD,
        spot("chip", photos.TINY) | WITH_CARD,
        CHIP,
    ],
)
def test_a_swap_is_offered_for_nothing_else(client: Any, fields: dict[str, str]) -> None:
    assert swap_offered(post(client, "/photo/chip", fields, photos.chip_photo())) is None


@pytest.mark.parametrize("names", ["chip", "chip chip", "a b c", "no such"])
def test_an_odd_wish_to_swap_changes_no_mark(client: Any, names: str) -> None:
    page = post(client, "/photo/chip", CHIP | {"swap": names})
    assert {name: page.one(name).attrs["value"] for name in CHIP} == CHIP
