"""The bench and its sheets as HTML: what they show, what they ask, what they refuse."""

from __future__ import annotations

import itertools
import json
import re
from decimal import Decimal
from typing import Any
from urllib.parse import parse_qsl, urlencode

import pytest

from jobs.small_jobs import small_job
from showthrough import plan, predict
from showthrough.colour.names import describe_colour
from showthrough.errors import InputError
from showthrough.jobs.case.prepared import prepare
from showthrough.say.chances import short_chance
from showthrough.say.sentence import way_tab
from showthrough.say.whole import bought_short, can_words
from showthrough.web.forms.paths import fields_of_job, job_of, pairs_of, query_of
from showthrough.web.forms.words import WORDS
from showthrough.web.pages import bench
from showthrough.web.pages.asked import SAMPLE_JOB
from showthrough.web.pages.bench import field_at
from showthrough.web.shell import LONGEST_LINK, PLACES
from web.tree import Element, read_html

_QUERY = query_of(fields_of_job(SAMPLE_JOB))
_HOME = f"/?{_QUERY}"
_SHEETS = [*WORDS, "surface.1", "surface.2", "surface.3", "part.1"]
_FAULTY = {
    "topcoat.colour": "lab(66 -200 55)",
    "topcoat.volume_solids": "380",
    "application.tool": "mop",
    "application.wet_film_um": "-3",
    "surface.1.name": "a",
    "surface.1.colour": "nonsense",
    "surface.1.share": "90",
    "surface.2.name": "A",
    "surface.2.colour": "#d8c39a",
    "surface.2.share": "x",
    "surface.2.ground": "cheese",
    "topcoat.label.contrast_ratio": "98",
    "finishes": "619,no such finish",
    "money.margin": "3",
}
_FAULTS = f"/?{urlencode(_FAULTY)}"
_LONG_JOB = small_job(
    undercoat=[{"name": f"can {n} " + "x" * 70, "colour": "N 7"} for n in range(1, 24)],
    days={"days_off": [f"2027-01-{d:02}" for d in range(1, 29)] * 14},
)
_PAGES = [
    "/",
    _HOME,
    _FAULTS,
    *(f"{_HOME}&word={word}" for word in _SHEETS),
    *(f"{_FAULTS}&word={word}" for word in _SHEETS),
    *(f"{place.address}?{_QUERY}" for place in PLACES[1:]),
    *(place.address for place in PLACES[1:]),
    f"/colours/every?{_QUERY}",
]


def _tree(client: Any, path: str, status: int = 200) -> Element:
    reply = client.get(path)
    assert reply.status_code == status, reply.text[:300]
    assert reply.headers["content-type"] == "text/html; charset=utf-8"
    return read_html(reply.text)


def _sent(form: Element, **changes: str) -> str:
    """The address that a form sends itself to, as a browser without script makes it."""
    pairs = []
    for each in form.walk():
        name = each.attrs.get("name")
        if each.tag == "input" and name:
            kind = each.attrs.get("type", "text")
            if kind not in {"radio", "checkbox"} or "checked" in each.attrs:
                pairs.append((name, each.attrs.get("value", "")))
        elif each.tag == "select" and name:
            chosen = each.all("option", lambda o: "selected" in o.attrs) or each.all("option")
            pairs.append((name, chosen[0].attrs["value"]))
    told = {key.replace("__", "."): value for key, value in changes.items()}
    pairs = [p for p in pairs if p[0] not in told] + list(told.items())
    return f"{form.attrs['action']}?{urlencode(pairs)}"


# --- the first run -----------------------------------------------------------------------


def test_a_first_visitor_is_asked_what_is_painted_and_the_example_is_one_tap_away(
    client: Any,
) -> None:
    tree = _tree(client, "/")
    assert tree.all("h1")[0].text == "What are you painting?"
    (link,) = tree.all("a", lambda a: a.text == "See an example")
    there = _tree(client, link.attrs["href"])
    assert "An invented example" in there.one("main").text
    assert there.one("headline").text == predict(SAMPLE_JOB).headline
    touched = _tree(client, link.attrs["href"].replace("area_m2=2.4", "area_m2=2.5"))
    assert "invented" not in touched.one("main").text.lower()


def test_a_colour_from_a_photo_is_told_in_words_from_the_first(client: Any) -> None:
    # The same words that its plan has once all is said.
    words = describe_colour((66, -24, 55))
    first = _tree(client, "/?topcoat.colour=lab(66+-24+55)&topcoat.colour.radius=10")
    assert first.one("main").all("a")[0].text == words.capitalize()
    assert words in _tree(client, f"/photo/preview?{_QUERY}").one("main").text
    typed = _tree(client, "/?topcoat.colour=brown+laminate")
    assert typed.one("main").all("a")[0].text == "Brown laminate"


def test_a_new_job_is_asked_its_three_words_one_after_the_other(client: Any) -> None:
    tree = _tree(client, "/")
    steps = [a for a in tree.all("a") if "first=yes" in a.attrs["href"] and a.all("small")]
    assert len(steps) == 3
    sheet = _tree(client, steps[0].attrs["href"]).one("sheet")
    (go,) = sheet.all("button")
    address = _sent(sheet, topcoat__sample="white 96", **{go.attrs["name"]: go.attrs["value"]})
    sheet = _tree(client, address).one("sheet")
    assert sheet.all("h1")[0].text == "What is there now?"
    (go,) = sheet.all("button")
    address = _sent(sheet, surface__1__sample="oak wood", **{go.attrs["name"]: go.attrs["value"]})
    sheet = _tree(client, address).one("sheet")
    assert sheet.all("h1")[0].text == "How do you put it on?"
    answer = _tree(client, _sent(sheet, application__tool="roller"))
    job = {
        "topcoat": {"colour": "white 96"},
        "surface": [
            {
                "name": "oak wood",
                "colour": "oak wood",
                "skin": "bare",
                "ground": "wood",
                "porous": True,
                "bleeds": True,
            }
        ],
        "application": {"tool": "roller"},
    }
    assert answer.one("headline").text == predict(job).headline
    assert "foam roller" in answer.one("sentence").text


def test_colours_still_to_be_said_are_no_faults(client: Any) -> None:
    tree = _tree(client, "/?topcoat.colour=white+96")
    assert tree.all("h1")[0].text == "What are you painting?"
    assert "White 96" in tree.one("sentence").text


# --- the plan ----------------------------------------------------------------------------


def test_the_sentence_says_the_job_and_each_word_opens_its_sheet(client: Any) -> None:
    tree = _tree(client, _HOME)
    said = tree.one("sentence")
    assert said.text.replace(" ,", ",") == (
        "Vivid yellow-green over brown finish and filled ring mark, with a spray gun, about 2.4 m²"
    )
    words = [dict(parse_qsl(a.attrs["href"][2:]))["word"] for a in said.all("a")]
    assert words == ["topcoat", "surface.1", "surface.2", "tool", "area"]
    for link in said.all("a"):
        assert _tree(client, link.attrs["href"]).one("sheet")


def test_the_board_shows_the_leading_ways_thin_spots_and_the_wanted_colour(client: Any) -> None:
    answer = plan(SAMPLE_JOB)
    tree = _tree(client, _HOME)
    (board,) = tree.all("div", lambda e: e.has_class("board"))
    fills = [
        [rect.attrs["fill"] for rect in row.all("rect")]
        for row in board.all("div", lambda e: e.has_class("row"))
    ]
    lead = answer.ways[0]
    steps = [step for step in lead.ladder if step.coat <= (lead.topcoats or 12)]
    assert fills == [
        [patch.hex for patch in answer.patches],
        *([patch.thin.hex for patch in step.patches] for step in steps),
    ]
    (wanted,) = board.all("div", lambda e: e.has_class("want"))
    assert wanted.all("rect")[0].attrs["fill"] == answer.topcoat.hex


def test_other_ways_are_at_most_three_tabs_and_change_everything_together(client: Any) -> None:
    tree = _tree(client, _HOME)
    (tabs,) = [n for n in tree.all("nav") if n.has_class("ways")]
    links = tabs.all("a")
    assert 2 <= len(links) <= 3
    assert [a.attrs.get("aria-current") for a in links].count("true") == 1
    ways = {way.key: way for way in plan(SAMPLE_JOB).ways}
    for link in links[1:]:
        key = dict(parse_qsl(link.attrs["href"][2:]))["way"]
        there = _tree(client, link.attrs["href"])
        own = plan(SAMPLE_JOB, way=key)
        assert own.ways[0] == ways[key].model_copy(update={})
        assert there.one("headline").text == own.headline
        names = [li.all("b")[0].text for li in there.one("plan").all("li")]
        assert len(names) == len(own.steps)
        (chosen,) = [
            a for n in there.all("nav") for a in n.all("a") if a.attrs.get("aria-current") == "true"
        ]
        assert chosen.text == link.text


def test_a_way_nobody_knows_is_the_leading_one(client: Any) -> None:
    assert _tree(client, f"{_HOME}&way=gold").one("headline").text == plan(SAMPLE_JOB).headline


def test_the_answers_of_the_telling_question_are_one_tap_away(client: Any) -> None:
    tree = _tree(client, _HOME)
    found = predict(SAMPLE_JOB).hiding.would_narrow
    assert found is not None
    links = tree.one("sure").all("a", lambda a: a.has_class("btn"))
    assert len(links) == len(found.answers)
    for link, each in zip(links, found.answers, strict=True):
        assert dict(parse_qsl(link.attrs["href"][2:]))[f"topcoat.{found.fact}"] == each.answer
        assert _tree(client, link.attrs["href"]).one("headline").text


def test_groups_have_a_sentence_a_board_and_sheets(client: Any) -> None:
    job = small_job(
        group=[
            {"name": "carcass", "area_m2": 2.0},
            {"name": "doors", "area_m2": 1.0, "topcoat": {"colour": "white 96"}},
        ]
    )
    query = query_of(fields_of_job(job))
    tree = _tree(client, f"/?{query}")
    assert "about 3 m²" in tree.one("sentence").text
    assert "2 parts" in tree.one("sentence").text
    assert "Board of: carcass" in tree.one("answer").text
    parts = _tree(client, f"/?{query}&word=parts")
    assert [b.text for b in parts.one("sheet").all("b") if b.text in {"carcass", "doors"}]
    # Each part's topcoat step and each product stands beside its own colour.
    hexes = {group.topcoat_name: group.topcoat.hex for group in plan(job).groups}
    assert len(set(hexes.values())) == 2
    steps = tree.one("plan").all("details", lambda e: "Topcoat" in e.text)
    cans = tree.one("paint").all("div", lambda e: e.has_class("can"))
    for rows in (steps, cans):
        beside = {
            name: row.all("rect")[0].attrs["fill"]
            for row in rows
            for name in hexes
            if name in row.text.lower()
        }
        assert beside == hexes
    sheet = _tree(client, f"/?{query}&word=part.2").one("sheet")
    held = {i.attrs["name"]: i.attrs.get("value") for i in sheet.all("input")}
    assert held["group.2.topcoat.colour"] == "white 96"


def _parted(*colours: str) -> dict[str, Any]:
    """A job whose parts each have a paint of their own, the first the job's own; largest first."""
    own = [{"topcoat": {"colour": colour}} if n else {} for n, colour in enumerate(colours)]
    parts = [{"name": f"part {chr(97 + n)}", "area_m2": 9.0 - n} | o for n, o in enumerate(own)]
    return small_job(colours[0], group=parts)


def test_the_sentence_names_the_paint_of_each_part(client: Any) -> None:
    query = query_of(fields_of_job(_parted("white 96", "dark blue 30")))
    said = _tree(client, f"/?{query}").one("sentence")
    assert said.text.startswith("White on part a and dark blue on part b over ")
    words = {a.text: dict(parse_qsl(a.attrs["href"][2:]))["word"] for a in said.all("a")}
    assert (words["White"], words["dark blue"]) == ("topcoat", "part.2")
    # Parts that share a paint are one paint.
    job = _parted("white 96", "dark blue 30")
    job["group"].append({"name": "part c", "area_m2": 0.5})
    said = _tree(client, f"/?{query_of(fields_of_job(job))}").one("sentence").text
    assert said.startswith("White on part a and part c and dark blue on part b over ")
    del job["group"][1]["topcoat"]
    said = _tree(client, f"/?{query_of(fields_of_job(job))}").one("sentence").text
    assert said.startswith("White over ")


def test_of_many_paints_three_are_named_and_the_rest_counted(client: Any) -> None:
    job = _parted("white 96", "dark blue 30", "dark red 30", "black 20", "grey 45")
    said = _tree(client, f"/?{query_of(fields_of_job(job))}").one("sentence")
    assert "dark red on part c and 2 more over " in said.text
    (more,) = said.all("a", lambda a: a.text == "2 more")
    assert dict(parse_qsl(more.attrs["href"][2:]))["word"] == "parts"


def test_the_board_shows_the_paint_of_each_part_and_says_whose_it_is(client: Any) -> None:
    job = _parted("white 96", "dark blue 30", "dark red 30")
    answer = plan(job)
    tree = _tree(client, f"/?{query_of(fields_of_job(job))}").one("answer")
    boards = tree.all("div", lambda e: e.has_class("board"))
    assert len(boards) == 3
    for board, group in zip(boards, answer.groups, strict=True):
        (want,) = board.all("div", lambda e: e.has_class("want"))
        assert want.all("rect")[0].attrs["fill"] == group.topcoat.hex
        fills = {r.attrs["fill"] for r in board.all("rect")}
        way = group.ways[0]
        thin = way.ladder[way.topcoats or 0].patches[0].thin.hex
        assert thin in fills
    for group in answer.groups[1:]:
        table = tree.one(f"board-{answer.groups.index(group) + 1}")
        assert f"then the same for {group.name}" in table.text.lower()


def _closed(tree: Element, row: str) -> str:
    """What a row tells while it is closed."""
    return tree.one(row).all("summary")[0].all("span")[0].text


def test_the_closed_row_of_paint_names_each_paint_with_its_cans(client: Any) -> None:
    job = _parted("white 96", "dark blue 30", "dark red 30")
    answer = plan(job)
    bought = [product for product in answer.paint if product.cans]
    assert len(bought) > 3
    told = _closed(_tree(client, f"/?{query_of(fields_of_job(job))}"), "paint")
    for product in bought[:2]:
        assert f"{product.product} {product.cans[0].count} x " in told.replace(
            f"{product.product} {product.cans[0].ml} ml", f"{product.product} 1 x "
        )
    assert told.endswith(f" and {len(bought) - 2} more")
    assert bought[2].product not in told


def test_paints_of_one_name_are_told_as_one() -> None:
    product = plan(small_job(area_m2=2)).paint[-1]
    twice = [product, product.model_copy()]
    ml, count = product.cans[0].ml, product.cans[0].count
    told = bought_short(twice, "metric")
    assert told.count(product.product) == 1
    assert f"{2 * count} x {can_words(ml, 'metric')}" in told
    assert bought_short([], "metric") == "nothing"


def test_a_missing_price_is_told_in_the_row_of_money(client: Any) -> None:
    answer = plan(small_job())
    (why,) = answer.why_not
    tree = _tree(client, f"/?{query_of(fields_of_job(small_job()))}")
    assert why in tree.one("money").text
    assert tree.one("main").text.count(why) == 1


def test_of_many_patches_each_can_be_reached(client: Any) -> None:
    names = [f"part {n} of it" for n in range(1, 8)]
    surface = [{"name": name, "colour": f"N {n}"} for n, name in enumerate(names, 1)]
    query = query_of(fields_of_job(small_job() | {"surface": surface}))
    said = _tree(client, f"/?{query}").one("sentence")
    (more,) = said.all("a", lambda a: a.text == "4 more")
    sheet = _tree(client, more.attrs["href"]).one("sheet")
    reached = [a.text for a in sheet.all("a") if a.text in names]
    assert reached == [name for name in names if name != names[3]]


def test_more_coats_than_are_reckoned_is_said_and_not_a_number(client: Any) -> None:
    job = small_job((82, 6, 80), application={"tool": "aerosol"}) | {
        "surface": [{"colour": {"lab": [18, 0, 0]}, "ground": "laminate"}]
    }
    job["topcoat"]["pigment"] = "transparent"
    tree = _tree(client, f"/?{query_of(fields_of_job(job))}")
    assert "None" not in tree.one("main").text


def test_an_unsound_finish_is_told_and_no_number_is_shown(client: Any) -> None:
    job = small_job() | {
        "surface": [{"colour": "76523a", "ground": "paint", "condition": "flaking"}]
    }
    tree = _tree(client, f"/?{query_of(fields_of_job(job))}")
    assert tree.one("headline").text.startswith("No count yet")
    assert not tree.all("p", lambda p: p.has_class("n"))


# --- sheets ------------------------------------------------------------------------------


@pytest.mark.parametrize("word", _SHEETS)
def test_a_sheet_that_is_sent_as_it_stands_changes_nothing(client: Any, word: str) -> None:
    sheet = _tree(client, f"{_HOME}&word={word}").one("sheet")
    sent = _sent(sheet)
    there = _tree(client, sent)
    assert there.one("headline").text == plan(SAMPLE_JOB).headline
    back = there.one("sentence").all("a")[0].attrs["href"]
    kept = dict(parse_qsl(back[2:]))
    kept.pop("word")
    assert kept == fields_of_job(SAMPLE_JOB)


def test_a_fact_of_the_surface_is_a_chip_that_tells_what_it_adds(client: Any) -> None:
    sheet = _tree(client, f"{_HOME}&word=surface.1").one("sheet")
    there = _tree(client, _sent(sheet, surface__1__ground="waxed", word="surface.1"))
    assert "the wax comes off before any sanding" in there.one("sheet").text
    steps = _tree(client, _sent(there.one("sheet"))).one("plan").text
    assert "Wax off" in steps


def test_each_tool_tells_its_coats(client: Any) -> None:
    sheet = _tree(client, f"{_HOME}&word=tool").one("sheet")
    told = {
        label.all("input")[0].attrs["value"]: label.all("em")[0].text
        for label in sheet.all("label")
        if label.all("em")
    }
    brushed = SAMPLE_JOB | {"application": {"tool": "brush"}}
    assert told["brush"] == f"{plan(brushed).ways[0].total} coats"
    assert told["spray"] == f"{plan(SAMPLE_JOB).ways[0].total} coats"


def test_a_patch_can_be_added_and_taken_away(client: Any) -> None:
    sheet = _tree(client, f"{_HOME}&word=surface.2").one("sheet")
    (more,) = sheet.all("a", lambda a: a.text == "Another part looks different")
    third = _tree(client, more.attrs["href"]).one("sheet")
    there = _tree(client, _sent(third, surface__3__sample="white melamine"))
    assert "white melamine" in there.one("sentence").text
    (away,) = sheet.all("a", lambda a: a.text == "It is not there")
    left = _tree(client, away.attrs["href"])
    assert "ring" not in left.one("sentence").text
    assert left.one("headline").text


# --- what is to be put right -------------------------------------------------------------


def test_all_problems_stand_at_once_each_at_its_field_and_what_was_typed_stays(
    client: Any,
) -> None:
    tree = _tree(client, _FAULTS)
    assert "things to put right" in tree.all("h1")[0].text
    with pytest.raises(InputError) as caught:
        prepare(job_of(_FAULTY))
    told = [(field_at(p.field), p.message) for p in caught.value.problems]
    assert {"application.tool", "surface.2.share", "surface.2.ground"} <= dict(told).keys()
    for path, message in told:
        if not path:
            assert message[1:] in tree.one("mends").text
            continue
        field = tree.one(f"f-{path}")
        assert field.attrs["aria-invalid"] == "true", path
        said = [tree.one(i).text for i in field.attrs["aria-describedby"].split()]
        assert any(message[1:] in text for text in said)
        chosen = [o.attrs["value"] for o in field.all("option") if "selected" in o.attrs]
        assert field.attrs.get("value", "".join(chosen)) == _FAULTY.get(path, "")
    form = tree.all("form")[0]
    kept = dict(pairs_of(_sent(form).partition("?")[2]))
    assert {k: v for k, v in kept.items() if v} == _FAULTY


def test_an_unknown_colour_offers_three_of_ours_as_fields(client: Any) -> None:
    tree = _tree(client, "/?topcoat.colour=white+96&surface.1.colour=oak+wod")
    near = [a for d in tree.all("div") if d.has_class("near") for a in d.all("a")]
    assert len(near) == 3
    assert near[0].text == "oak wood"
    assert _tree(client, near[0].attrs["href"]).one("headline")


@pytest.mark.parametrize("word", ["surface.2", "tool", "paint"])
def test_a_sheet_tells_its_problems_at_its_fields(client: Any, word: str) -> None:
    sheet = _tree(client, f"{_FAULTS}&word={word}").one("sheet")
    marked = [
        e for e in sheet.walk() if e.attrs.get("aria-invalid") == "true" or e.has_class("bad")
    ]
    assert marked
    kept = dict(pairs_of(_sent(sheet).partition("?")[2]))
    assert {k: v for k, v in kept.items() if v and k in _FAULTY} == _FAULTY


_REFUSED = [
    ("cans", {"topcoat.cans.1.ml": "750", "topcoat.cans.1.price": "21"}, "money.currency"),
    ("finish", {"finish.kind": "clear", "finish.cans.1.price": "21"}, "finish.cans.1.ml"),
    ("finish", {"finish.cans.1.ml": "750", "finish.cans.1.price": "21"}, "money.currency"),
    ("money", {"money.labour_per_hour": "30"}, "money.currency"),
    ("money", {"money.currency": "EUR", "money.labour_per_hour": "x"}, "money.labour_per_hour"),
    ("days", {"days.start": "31.5.26"}, "days.start"),
    ("days", {"days.days_off": "x"}, "days.days_off"),
    ("area", {"area_m2": "some"}, "area_m2"),
    ("tool", {"application.wet_film_um": "-3"}, "application.wet_film_um"),
    ("paint", {"topcoat.volume_solids": "380"}, "topcoat.volume_solids"),
    ("surface.1", {"surface.1.colour.radius": "x"}, "surface.1.colour.radius"),
    ("part.1", {"group.1.name": "doors", "group.1.area_m2": "x"}, "group.1.area_m2"),
    ("piece", {"test_piece.coats": "2.5"}, "test_piece.coats"),
]


@pytest.mark.parametrize(("word", "typed", "path"), _REFUSED)
def test_what_a_sheet_was_told_wrong_is_told_on_that_sheet(
    client: Any, word: str, typed: dict[str, str], path: str
) -> None:
    job = small_job() | {"surface": [{"colour": "oak wood"}]}
    start = f"/?{query_of(fields_of_job(job))}"
    sent = {key.replace(".", "__"): text for key, text in typed.items()}
    if word == "finish":
        sent.setdefault("finish__kind", "clear")
    tree = _tree(client, _sent(_tree(client, f"{start}&word={word}").one("sheet"), **sent))
    sheet = tree.one("sheet")
    assert sheet.attrs["data-word"] == word
    field = tree.one(f"f-{path}")
    assert field.attrs["aria-invalid"] == "true"
    assert "to put right" in tree.one("mends").text
    assert [a.attrs["href"] for a in tree.one("mends").all("a")].count(f"#f-{path}") == 1
    kept = dict(pairs_of(_sent(sheet).partition("?")[2]))
    assert {key: kept.get(key) for key in typed} == typed
    # What stood there before comes back where the sheet is left.
    (cancel, _) = tree.all("a", lambda a: "data-cancel" in a.attrs)
    assert _tree(client, cancel.attrs["href"]).one("headline").text == plan(job).headline


def test_a_missing_currency_has_its_field_wherever_it_is_told(client: Any) -> None:
    fields = fields_of_job(small_job()) | {"topcoat.cans.1.ml": "750", "topcoat.cans.1.price": "9"}
    tree = _tree(client, f"/?{query_of(fields | {'topcoat.cans.2.price': '9'})}")
    assert "to put right" in tree.all("h1")[0].text
    assert tree.one("f-money.currency").attrs["aria-invalid"] == "true"


# --- hostile texts -----------------------------------------------------------------------

_HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>&amp;{{ 7*7 }}"


@pytest.mark.parametrize("colour", ["76523a", _HOSTILE])
@pytest.mark.parametrize(
    "address",
    ["/", "/colours", "/colours/every", "/sheet", "/jobs", "/photo", "/photo/preview",
     *(f"/?word={word}" for word in _SHEETS)],
)  # fmt: skip
def test_a_hostile_name_is_only_text(client: Any, colour: str, address: str) -> None:
    fields = {
        "title": _HOSTILE,
        "topcoat.colour": "a3b84c",
        "topcoat.name": _HOSTILE[:80],
        "surface.1.name": _HOSTILE[:80],
        "surface.1.colour": colour,
        "undercoat.1.name": _HOSTILE[:80],
        "undercoat.1.colour": "888",
        "second_colour.1.name": _HOSTILE[:80],
        "second_colour.1.colour": "888",
        "group.1.name": _HOSTILE[:80],
        "application.tool": "brush" if colour == "76523a" else _HOSTILE,
        _HOSTILE: _HOSTILE,
        "way": _HOSTILE,
        "was": _HOSTILE,
        "budget": "" if colour == "76523a" else _HOSTILE,
        "sort": "coats" if colour == "76523a" else _HOSTILE,
    }
    joint = "&" if "?" in address else "?"
    reply = client.get(f"{address}{joint}{urlencode(fields)}")
    assert reply.status_code == 200
    assert "<script>alert" not in reply.text
    tree = read_html(reply.text)
    assert not tree.all("img", lambda i: i.attrs.get("src") == "x")
    assert {s.attrs["src"][:15] for s in tree.all("script")} <= {
        "/assets/page.js",
        "/assets/photo.j",
    }
    assert tree.text.count(" ".join(_HOSTILE.split())[:30]) or address in {"/jobs", "/photo"}


@pytest.mark.parametrize("pages", ["bench", "customer", "shopping", "all"])
def test_a_hostile_name_is_only_text_on_paper(client: Any, pages: str) -> None:
    fields = {
        "title": _HOSTILE,
        "topcoat.colour": "a3b84c",
        "topcoat.name": _HOSTILE[:80],
        "surface.1.name": _HOSTILE[:80],
        "surface.1.colour": "76523a",
        "pages": pages,
    }
    reply = client.get(f"/sheet/paper?{urlencode(fields)}")
    assert reply.status_code == 200
    assert "<script" not in reply.text
    assert "<img" not in reply.text
    policy = reply.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script" not in policy


# --- what holds for every page -----------------------------------------------------------


@pytest.mark.parametrize("path", _PAGES)
def test_nothing_is_inline_so_that_the_policy_can_forbid_it(client: Any, path: str) -> None:
    reply = client.get(path)
    assert reply.status_code == 200
    policy = reply.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    for each in read_html(reply.text).walk():
        assert each.tag != "style"
        assert "style" not in each.attrs
        assert not [name for name in each.attrs if name.startswith("on")]
        assert each.tag != "script" or not each.text


@pytest.mark.parametrize("path", _PAGES)
def test_the_page_can_be_heard_and_walked_through(client: Any, path: str) -> None:
    tree = read_html(client.get(path).text)
    assert tree.all("html")[0].attrs["lang"] == "en-GB"
    ids = [each.attrs["id"] for each in tree.walk() if "id" in each.attrs]
    assert len(ids) == len(set(ids)), [i for i in ids if ids.count(i) > 1]
    labelled = {label.attrs.get("for") for label in tree.all("label")}
    inside = {id(i) for label in tree.all("label") for i in label.all("input")}
    for tag in ("input", "select", "textarea"):
        for each in tree.all(tag):
            if each.attrs.get("type") != "hidden":
                assert each.attrs.get("id") in labelled or id(each) in inside, each
    for each in tree.walk():
        for name in ("aria-describedby", "aria-labelledby", "list", "for"):
            for target in each.attrs.get(name, "").split():
                assert target in ids, (each.tag, name, target)
    for link in tree.all("a"):
        href = link.attrs["href"]
        assert not href.startswith("#") or href[1:] in ids
    levels = [int(h.tag[1]) for h in tree.walk() if h.tag in {"h1", "h2", "h3", "h4"}]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b <= a + 1 for a, b in itertools.pairwise(levels))
    assert tree.one("say").attrs["aria-live"] == "polite"


@pytest.mark.parametrize("path", ["/", "/colours", "/sheet", "/jobs", "/photo"])
def test_a_job_too_long_for_an_address_is_posted_from_place_to_place(
    client: Any, path: str
) -> None:
    fields = fields_of_job(_LONG_JOB)
    assert len(query_of(fields)) > LONGEST_LINK
    reply = client.post(path, data=fields)
    assert reply.status_code == 200
    tree = read_html(reply.text)
    held = {i.attrs["name"]: i.attrs["value"] for i in tree.one("job").all("input")}
    assert held == fields
    for link in tree.all("a"):
        assert len(link.attrs["href"]) < LONGEST_LINK
    places = tree.all("nav")[0].all("button")
    assert [b.attrs["formaction"] for b in places] == [place.address for place in PLACES]
    if path == "/":
        words = tree.one("sentence").all("button")
        sheet = read_html(client.post(words[0].attrs["formaction"], data=held).text).one("sheet")
        assert sheet.attrs["method"] == "post"
        assert tree.one("headline").text == predict(_LONG_JOB).headline


def test_a_colour_that_was_used_can_be_put_back(client: Any) -> None:
    tree = _tree(client, f"/colours?{_QUERY}")
    uses = [a for a in tree.one("soften").all("a") if "was=" in a.attrs["href"]]
    assert uses
    there = _tree(client, uses[0].attrs["href"])
    assert there.one("headline").text != plan(SAMPLE_JOB).headline
    (undo,) = there.all("a", lambda a: a.text == "Undo")
    back = _tree(client, undo.attrs["href"])
    assert back.one("headline").text == plan(SAMPLE_JOB).headline
    assert "An invented example" in back.one("main").text


def test_a_handle_that_was_taken_is_told_as_a_handle(client: Any) -> None:
    tree = _tree(client, f"/colours?{_QUERY}")
    uses = [a for a in tree.one("main").all("a") if "finishes=" in a.attrs["href"]]
    taken = _tree(client, uses[0].attrs["href"]).one("main").text
    assert "The handle was chosen" in taken
    assert "colour was changed" not in taken


def test_a_reading_out_of_range_stands_at_the_field_where_it_was_typed(client: Any) -> None:
    tree = _tree(client, "/?topcoat.colour=lab(660+-24+55)&surface.1.colour=oak+wood")
    (field,) = tree.one("main").all("input", lambda e: e.attrs.get("name") == "topcoat.colour")
    assert field.attrs["value"] == "lab(660 -24 55)"
    assert "CIELAB" not in tree.one("main").text


def test_the_size_of_a_job_in_parts_opens_its_parts(client: Any) -> None:
    query = query_of(fields_of_job(small_job(group=[{"name": "frame", "area_m2": 3.0}])))
    links = _tree(client, f"/?{query}").one("sentence").all("a", lambda a: "m²" in a.text)
    assert [dict(parse_qsl(a.attrs["href"][2:]))["word"] for a in links] == ["parts"]


def test_no_key_of_a_job_file_stands_on_the_page(client: Any) -> None:
    """A painter sees words, a program sees keys."""
    query = query_of(fields_of_job(small_job()))
    shown = [_tree(client, f"/?{query}"), _tree(client, f"/?{query}&money.labour_per_hour=24")]
    shown += [_tree(client, f"/?{query}&word={word}") for word in ("part.1", "money", "days")]
    for tree in shown:
        assert not re.findall(r"\b[a-z]+_[a-z_]+\b|\bmoney\.\w+", tree.one("main").text)


@pytest.mark.parametrize(
    ("method", "path", "body", "status"),
    [
        ("GET", "/no<such>", b"", 404),
        ("GET", "/assets2", b"", 404),
        ("DELETE", "/", b"", 405),
        ("POST", "/", b"x=" + b"y" * 4_100_000, 413),
        ("POST", "/", b"&".join([b"a=b"] * 2100), 422),
    ],
)
def test_what_cannot_be_answered_is_told_in_words(
    client: Any, method: str, path: str, body: bytes, status: int
) -> None:
    headers = {"Accept": "text/html,*/*", "Content-Type": "application/x-www-form-urlencoded"}
    reply = client.request(method, path, content=body, headers=headers)
    assert reply.status_code == status
    tree = read_html(reply.text)
    assert tree.all("h1")[0].text
    assert tree.all("a", lambda a: a.attrs["href"] == "/")


def test_a_fault_of_ours_is_told_in_the_same_voice(monkeypatch: pytest.MonkeyPatch) -> None:
    from fastapi.testclient import TestClient

    from showthrough.web.app import create_app

    monkeypatch.setattr(bench, "plan", lambda *_args, **_more: 1 / 0)
    with TestClient(
        create_app(), base_url="http://127.0.0.1", raise_server_exceptions=False
    ) as client:
        reply = client.get(_HOME, headers={"Accept": "text/html"})
    assert reply.status_code == 500
    assert read_html(reply.text).all("h1")[0].text == "Something went wrong inside"
    assert "ZeroDivisionError" not in reply.text


def test_an_address_without_a_page_tells_a_program_in_json(client: Any) -> None:
    reply = client.get("/none", headers={"Accept": "application/json"})
    assert reply.status_code == 404
    assert json.loads(reply.text)["problems"][0]["value"] == "/none"


def test_assets_are_kept_as_long_as_they_stay_the_same(client: Any) -> None:
    tree = _tree(client, "/")
    links = [each.attrs["href"] for each in tree.all("link")]
    links += [each.attrs["src"] for each in tree.all("script")]
    assert len(links) == 3
    for link in links:
        reply = client.get(link)
        assert reply.status_code == 200
        assert "immutable" in reply.headers["cache-control"]
        plain = client.get(link.split("?")[0])
        assert plain.headers["cache-control"] == "no-cache"
    for wrong in ("/assets/page.py", "/assets/..%2Fpage.py", "/assets/"):
        assert client.get(wrong).status_code == 404


# --- a colour that stands for none -------------------------------------------------------


def test_an_unknown_colour_is_told_on_its_own_sheet_before_the_next_is_asked(client: Any) -> None:
    sheet = _tree(client, "/?word=topcoat&first=yes").one("sheet")
    address = _sent(sheet, topcoat__colour="dark blurple", word="surface.1")
    tree = _tree(client, address)
    assert tree.all("h1")[0].text == "Which new colour?"
    told = tree.one("e-topcoat.colour").text
    assert told.startswith("'dark blurple' is no colour here")
    assert tree.one("f-topcoat.colour").attrs["value"] == "dark blurple"
    (near,) = [each for each in tree.walk() if each.has_class("near")]
    first = near.all("a")[0]
    there = _tree(client, first.attrs["href"])
    assert there.all("h1")[0].text == "What is there now?"
    cancel = tree.all("a", lambda a: "data-cancel" in a.attrs)[0]
    assert _tree(client, cancel.attrs["href"]).all("h1")[0].text == "What are you painting?"


def test_an_unknown_colour_of_a_job_in_hand_is_told_on_its_sheet_and_left_by_cancel(
    client: Any,
) -> None:
    sheet = _tree(client, f"{_HOME}&word=surface.1").one("sheet")
    tree = _tree(client, _sent(sheet, surface__1__colour="blurple"))
    assert "e-surface.1.colour" in {each.attrs.get("id") for each in tree.one("sheet").walk()}
    cancel = tree.all("a", lambda a: "data-cancel" in a.attrs)[0]
    assert _tree(client, cancel.attrs["href"]).one("headline").text == predict(SAMPLE_JOB).headline


def test_a_typed_colour_may_stand_in_its_parts(client: Any) -> None:
    sheet = _tree(client, f"{_HOME}&word=topcoat").one("sheet")
    tree = _tree(client, _sent(sheet, topcoat__colour="Dark blue"))
    dark = SAMPLE_JOB | {"topcoat": {"colour": "#00008b"}}
    assert tree.one("headline").text == predict(dark).headline


# --- money -------------------------------------------------------------------------------


def test_the_parts_of_the_bill_add_up_to_what_stands_below_them(client: Any) -> None:
    cans = [{"ml": 750, "price": "21.00"}]
    job = SAMPLE_JOB | {"topcoat": SAMPLE_JOB["topcoat"] | {"cans": cans}}
    row = _tree(client, f"/?{query_of(fields_of_job(job))}").one("money")
    amounts = [Decimal(each.text) for each in row.all("dd")]
    assert len(amounts) > 2
    assert sum(amounts[:-1]) == amounts[-1]
    answer = plan(job)
    likely = answer.ways[0].topcoats
    assert amounts[-1] == Decimal(answer.money.by_count[likely])
    assert f"At {likely} topcoats, the likely count" in row.text


def test_the_currency_is_asked_before_any_amount_of_money(client: Any) -> None:
    for word in ("money", "cans"):
        sheet = _tree(client, f"{_HOME}&word={word}").one("sheet")
        names = [e.attrs["name"] for e in sheet.walk() if e.attrs.get("type") == "text"]
        amounts = [n for n in names if n.endswith(".price") or n == "money.labour_per_hour"]
        assert names.index("money.currency") < min(map(names.index, amounts))


def test_what_is_owned_is_asked_before_what_the_shop_has(client: Any) -> None:
    sheet = _tree(client, f"{_HOME}&word=cans").one("sheet")
    names = [e.attrs["name"] for e in sheet.walk() if e.attrs.get("type") == "text"]
    assert names[0] == "topcoat.shelf_ml"


def test_undo_comes_before_every_other_note(client: Any) -> None:
    was = urlencode({"was": urlencode({"topcoat.colour": "white 96"})})
    main = _tree(client, f"{_HOME}&{was}").one("main")
    (undo,) = main.all("a", lambda a: a.text == "Undo")
    white = SAMPLE_JOB | {"topcoat": SAMPLE_JOB["topcoat"] | {"colour": "white 96"}}
    assert _tree(client, undo.attrs["href"]).one("headline").text == predict(white).headline


def test_each_way_stands_with_its_count_and_its_chance(client: Any) -> None:
    (tabs,) = _tree(client, _HOME).all("nav", lambda n: n.has_class("ways"))
    ways = {way_tab(way): way for way in plan(SAMPLE_JOB).ways}
    assert len(tabs.all("a")) == 3
    for tab in tabs.all("a"):
        way = next(w for name, w in ways.items() if tab.text.endswith(name))
        assert tab.text.startswith(f"{way.total} {short_chance(way.chance)}")


def test_how_an_area_is_reckoned_stands_at_its_field(client: Any) -> None:
    hint = _tree(client, f"{_HOME}&word=area").one("h-area_m2").text
    assert "width times height" in hint
    # By geometry: 2 x 1 and twice 2 x 0.6 and 1 x 0.6.
    assert "front 2, two sides 2.4, top 0.6: 5" in hint
    assert round(2 * 1 + 2 * (2 * 0.6) + 1 * 0.6, 9) == 5.0


def test_amounts_of_a_job_without_an_area_say_above_the_steps_what_they_are_for(client):
    job = {key: value for key, value in SAMPLE_JOB.items() if key != "area_m2"}
    page = client.get(f"/?{query_of(fields_of_job(job))}").text
    assert (
        "No area was said: amounts, minutes and money are for 1 m²."
        in read_html(page).one("no-area").text
    )
    assert page.index('id="no-area"') < page.index("Lead test")
    sized = client.get(f"/?{query_of(fields_of_job({**job, 'area_m2': 2.4}))}").text
    assert 'id="no-area"' not in sized
