"""Colours: handles, second colours, woods, softer ones, greys and every swatch."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from typing import Any
from urllib.parse import parse_qsl, urlencode

import pytest

from showthrough import plan
from showthrough.colour.files.swatches import parse_swatches
from showthrough.colour.space import hex_of_lab
from showthrough.jobs.case.readings import notations
from showthrough.jobs.palette import palette
from showthrough.jobs.practice import practice_rows
from showthrough.jobs.predict import predict
from showthrough.jobs.schema.job import EXAMPLE_JOB
from showthrough.jobs.soften.soften import soften
from showthrough.jobs.sweep.sweep import sweep
from showthrough.say.chances import change_words, count_words
from showthrough.web.forms.paths import fields_of, fields_of_job, job_of, pairs_of, query_of
from showthrough.web.pages.asked import file_text
from showthrough.web.shell import signed
from web.tree import Element, read_html

_QUERY = query_of(fields_of_job(EXAMPLE_JOB))
_FIELDS = fields_of_job(EXAMPLE_JOB)
_OWN = "name,L,a,b\npale grey 80,80,0,0\nblue 40,40,-5,-35\nyellow 84,84,4,80"
_FORM = {"Content-Type": "application/x-www-form-urlencoded"}


def _tree(client: Any, path: str) -> Element:
    reply = client.get(path)
    assert reply.status_code == 200, (reply.headers.get("location"), reply.text[:300])
    return read_html(reply.text)


def _job_at(link: str) -> dict[str, Any]:
    return job_of(fields_of(pairs_of(link.partition("?")[2])))


def _uses(part: Element) -> list[Element]:
    return [a for a in part.all("a") if "was=" in a.attrs["href"]]


def test_handles_lie_on_the_topcoat_in_the_librarys_order(client: Any) -> None:
    answer = palette(EXAMPLE_JOB)
    tree = _tree(client, f"/colours?{_QUERY}")
    drawn = [a for d in tree.all("div") if d.has_class("fin") for a in d.all("a")]
    assert [a.all("rect")[0].attrs["fill"] for a in drawn] == [f.hex for f in answer.finishes]
    for link, finish in zip(drawn, answer.finishes, strict=True):
        assert finish.name in link.text
        assert _job_at(link.attrs["href"])["finishes"] == [finish.code or finish.name]
    figures = tree.one("why-beside").text
    for finish in answer.finishes:
        assert f"harmony {signed(finish.harmony)}, {signed(finish.advantage)}" in figures
        assert finish.why in figures


def test_second_colours_and_woods_touch_the_topcoat_and_can_be_used(client: Any) -> None:
    answer = palette(EXAMPLE_JOB)
    tree = _tree(client, f"/colours?{_QUERY}")
    seconds, woods = (d for d in tree.all("div") if d.has_class("sec"))
    for part, entries in ((seconds, answer.second_colours[:5]), (woods, answer.woods[:4])):
        uses = _uses(part)
        assert len(uses) == len(entries)
        for use, entry in zip(uses, entries, strict=True):
            assert use.all("rect")[0].attrs["fill"] == entry.hex
            second = palette(_job_at(use.attrs["href"]))
            (own,) = second.second_colours or second.woods
            assert (own.name, own.hex) == (entry.name, entry.hex)
            assert _tree(client, use.attrs["href"]).one("headline").text


def test_triples_and_lamps_are_there(client: Any) -> None:
    answer = palette(EXAMPLE_JOB)
    tree = _tree(client, f"/colours?{_QUERY}")
    for triple in answer.triples:
        assert triple.why in tree.one("triples").text
    for pair in answer.lamps:
        assert pair.beside.casefold() in tree.one("lamps").text.casefold()


@pytest.mark.parametrize("budget", [None, 1, 2])
def test_softer_colours_are_those_of_the_library_smallest_change_first(
    client: Any, budget: int | None
) -> None:
    answer = soften(EXAMPLE_JOB, budget=budget)
    asked = f"&budget={budget}" if budget else ""
    part = _tree(client, f"/colours?{_QUERY}{asked}").one("soften")
    rows = part.all("div", lambda d: d.has_class("soft"))
    reached = [g for g in answer.goals if any(a.difference is not None for a in g.answers)]
    assert len(rows) == len(reached)
    for row, goal in zip(rows, reached, strict=True):
        there = sorted(
            (a for a in goal.answers if a.difference is not None), key=lambda a: a.difference or 0.0
        )
        uses = _uses(row)
        assert [u.all("rect")[0].attrs["fill"] for u in uses] == [a.hex for a in there[:3]]
        for use, way in zip(uses, there, strict=False):
            assert change_words(way.difference or 0.0) in use.text
            assert use.has_class("this") == (way.path == goal.best)
            there_now = _job_at(use.attrs["href"])
            assert predict(there_now).topcoat.hex == way.hex
    for goal in answer.goals:
        for way in goal.answers:
            assert way.why in part.text


def test_greys_tell_their_topcoats_and_go_among_the_cans(client: Any) -> None:
    curve = predict(EXAMPLE_JOB).grey_curve
    tree = _tree(client, f"/colours?{_QUERY}")
    (greys,) = tree.all("div", lambda d: d.has_class("greys"))
    by_hex = {point.hex: point for point in curve.points}
    uses = _uses(greys)
    assert len(uses) >= 5
    for use in uses:
        point = by_hex[use.all("rect")[0].attrs["fill"]]
        assert use.all("b")[0].text == str(point.topcoats)
        job = _job_at(use.attrs["href"])
        assert job["undercoat"][0]["colour"] == f"N {point.munsell_value:g}"
    assert plan(_job_at(uses[0].attrs["href"])).ways


@pytest.mark.parametrize("sort", ["coats", "total", "difference", "harmony", "name"])
def test_every_swatch_is_there_in_the_order_asked(client: Any, sort: str) -> None:
    answer = sweep(EXAMPLE_JOB, sort=sort)
    tree = _tree(client, f"/colours/every?{_QUERY}&sort={sort}&rows=all")
    rows = tree.one("every").all("li")
    assert len(rows) == len(answer.rows)
    assert len(_tree(client, f"/colours/every?{_QUERY}").one("every").all("li")) == 40
    for shown, row in zip(rows, answer.rows, strict=True):
        fills = [r.attrs["fill"] for r in shown.all("rect")]
        assert fills == [row.hex, hex_of_lab(answer.wished)]
        assert shown.all("b")[0].text.casefold() == row.name.casefold()
        assert f"{count_words(row.total)} in all" in shown.text


def test_own_swatches_come_as_text_or_as_a_file(client: Any) -> None:
    names = [row.name for row in sweep(EXAMPLE_JOB, parse_swatches(_OWN)).rows]

    def shown(reply: Any) -> list[str]:
        assert reply.status_code == 200
        items = read_html(reply.text).one("every").all("li")
        return [item.all("b")[0].text.casefold() for item in items]

    empty = {"swatches_file": ("", b"")}
    typed = client.post("/colours/every", data={**_FIELDS, "swatches": _OWN}, files=empty)
    assert shown(typed) == names
    assert read_html(typed.text).one("swatches").text == " ".join(_OWN.split())
    file = {"swatches_file": ("own.csv", _OWN.replace("\n", "\r\n").encode("utf-8-sig"))}
    data = {**_FIELDS, "swatches": ""}
    assert shown(client.post("/colours/every", data=data, files=file)) == names


def test_rows_are_saved_as_csv_and_json_with_the_same_figures(client: Any) -> None:
    answer = sweep(EXAMPLE_JOB, sort="name")
    table = client.get(f"/colours/every.csv?{_QUERY}&sort=name")
    assert table.headers["content-type"].startswith("text/csv")
    assert table.headers["content-disposition"] == 'attachment; filename="swatches.csv"'
    rows = list(csv.DictReader(io.StringIO(table.text)))
    assert [r["name"] for r in rows] == [row.name for row in answer.rows]
    program = client.post("/colours/every.json", data={**_FIELDS, "sort": "name"})
    assert json.loads(program.text) == json.loads(answer.model_dump_json())


def test_problems_of_job_and_page_stand_at_once_each_at_its_field(client: Any) -> None:
    faulty = {
        "topcoat.colour": "nonsense",
        "surface.1.colour": "76523a",
        "budget": "99",
        "swatches": "name,L,a,b\none,x,0,0\ntwo,50,0",
    }
    tree = _tree(client, f"/colours?{urlencode(faulty)}")
    for name in ("topcoat.colour", "budget", "swatches"):
        field = tree.one(f"f-{name}")
        assert field.attrs["aria-invalid"] == "true"
        assert tree.one(field.attrs["aria-describedby"].split()[0]).text
    assert "not 99" in tree.one("e-budget").text
    assert "Row 2, L: 'x' is not a number" in tree.one("e-swatches").text
    assert tree.one("f-swatches").text == " ".join(faulty["swatches"].split())
    form = tree.all("form")[0]
    assert form.attrs["action"] == "/colours"
    sort = _tree(client, f"/colours/every?{_QUERY}&sort=price")
    assert "price" in sort.one("e-sort").text


@pytest.mark.parametrize(
    ("text", "words"), [("2.5", "whole number"), ("much", "whole number"), ("0", "1 to 12")]
)
def test_a_budget_is_a_whole_number_of_coats(client: Any, text: str, words: str) -> None:
    tree = _tree(client, f"/colours?{_QUERY}&budget={text}")
    assert words in tree.one("e-budget").text
    assert tree.one("f-budget").attrs["value"] == text


def test_a_sweep_leaves_out_what_no_paint_can_be_and_says_so(client: Any) -> None:
    text = urlencode({"swatches": "name,L,a,b\nfine,50,0,0\nwild,50,-160,120\nodd,x,0,0"})
    tree = _tree(client, f"/colours/every?{_QUERY}&{text}")
    assert len(tree.one("every").all("li")) == 1
    assert "odd: row 4.L: 'x' is not a number" in tree.one("main").text
    assert "wild: chroma 200" in tree.one("main").text


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        (b"\xef\xbb\xbfname,L", "name,L"),
        ("crème,L".encode("cp1252"), "crème,L"),
        (b"PK\x03\x04\x00\x00", "This file is no plain text: save the table as CSV."),
    ],
)
def test_a_file_is_read_as_spreadsheets_save_it(raw: bytes, text: str) -> None:
    assert file_text(raw) == text


@pytest.mark.parametrize("path", ["/colours", "/colours/every", "/sheet"])
def test_a_place_without_a_job_says_how_to_begin(client: Any, path: str) -> None:
    tree = _tree(client, path)
    links = [a.attrs["href"] for a in tree.one("main").all("a")]
    assert "/" in links
    assert dict(parse_qsl(links[-1].partition("?")[2]))["title"] == "Linen cupboard"


def test_a_form_that_is_none_is_refused(client: Any) -> None:
    headers = {"Content-Type": "multipart/form-data"}
    reply = client.post("/colours/every", content=b"x", headers=headers)
    assert reply.status_code == 422
    assert "not a multipart form" in reply.json()["problems"][0]["message"]


def test_the_colours_stand_in_every_notation_as_the_command_line_has_them(client):
    answer = predict(EXAMPLE_JOB)
    tree = _tree(client, f"/colours/notations?{_QUERY}")
    for place, colour in enumerate((answer.topcoat, *answer.patches)):
        said = tree.one(f"colour-{place}").text
        for _, text in notations(f"lab({' '.join(f'{v:g}' for v in colour.lab)})"):
            assert text in said
    assert "/colours/notations?" in client.get(f"/colours?{_QUERY}").text


def test_common_practice_stands_beside_what_is_reckoned_and_a_miss_is_told(client, monkeypatch):
    rows = practice_rows()
    items = _tree(client, f"/practice?{_QUERY}").one("practice").all("li")
    assert len(items) == len(rows)
    for row, item in zip(rows, items, strict=True):
        span = f"({row.low or 'over 12'} to {row.high or 'over 12'})"
        assert f"{count_words(row.likely)} {span}" in item.text
        assert row.ground in item.text
        assert ("a miss" in item.text) is not row.hit
    spoilt = [replace(rows[0], fewest=11, most=12), *rows[1:]]
    monkeypatch.setattr("showthrough.web.pages.practice.practice_rows", lambda: spoilt)
    page = client.get(f"/practice?{_QUERY}").text
    assert "a miss" in page
    assert f"{sum(row.hit for row in rows) - rows[0].hit} of {len(rows)}" in page
    assert "/practice?" in client.get(f"/?{_QUERY}").text
