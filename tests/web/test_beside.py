"""The pages beside the first: softening, what goes beside it, every swatch."""

from __future__ import annotations

import csv
import io
import json
from typing import Any
from urllib.parse import urlencode

import pytest

from showthrough.colour.files.swatches import parse_swatches
from showthrough.colour.space import hex_of_lab
from showthrough.jobs.palette import palette
from showthrough.jobs.schema.job import EXAMPLE_JOB
from showthrough.jobs.soften.soften import soften
from showthrough.jobs.sweep.sweep import sweep
from showthrough.say.chances import chance_words, change_words
from showthrough.web.answer import signed
from showthrough.web.forms.fields import FEW_ROWS
from showthrough.web.forms.form import Form, link_of, pairs_of, read_form
from showthrough.web.forms.job_form import form_of, job_of, mends_of
from showthrough.web.pages.beside import BESIDE
from showthrough.web.pages.job_page import file_text
from showthrough.web.pages.soften import SOFTEN
from showthrough.web.pages.sweep import SWEEP
from showthrough.web.shell import LONGEST_LINK, PLACES
from web.tree import Element, read_html

_EXAMPLE = link_of(form_of(EXAMPLE_JOB))
_PAGES = (SOFTEN, BESIDE, SWEEP)
_ADDRESSES = [page.address for page in _PAGES]
_OWN = "name,L,a,b\npale grey 80,80,0,0\nblue 40,40,-5,-35\nyellow 84,84,4,80"
_FORM = {"Content-Type": "application/x-www-form-urlencoded"}
_HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>&amp;{{ 7*7 }}"


def _tree(client: Any, path: str, status: int = 200) -> Element:
    reply = client.get(path)
    assert reply.status_code == status, (reply.headers.get("location"), reply.text[:300])
    return read_html(reply.text)


def _fills(element: Element) -> list[str]:
    return [rect.attrs["fill"] for rect in element.all("rect")]


def _own_classes(tree: Element, tag: str, name: str) -> Element:
    (found,) = tree.all(tag, lambda each: each.has_class(name))
    return found


def test_every_page_takes_the_job_of_the_others(client: Any) -> None:
    for page in ["/", *_ADDRESSES]:
        tree = _tree(client, f"{page}?{_EXAMPLE}")
        links = [a.attrs["href"] for a in tree.all("nav")[0].all("a")]
        assert links == [f"{place.address}?{_EXAMPLE}" for place in PLACES]
        current = tree.all("nav")[0].all("a", lambda a: "aria-current" in a.attrs)
        assert [a.attrs["data-page"] for a in current] == [page]
        assert tree.one("colour2").attrs["value"] == "#d8c39a"
        bare = _tree(client, page)
        assert bare.one("answer").text == tree.one("answer").text
        assert "invented example" in bare.all("main")[0].text


def test_what_a_page_asks_beside_the_job_goes_only_where_it_is_asked(client: Any) -> None:
    own = urlencode({"swatches": _OWN, "sort": "name"}, safe="(),:/")
    tree = _tree(client, f"/sweep?{_EXAMPLE}&{own}")
    links = {a.attrs["data-page"]: a.attrs["href"] for a in tree.all("nav")[0].all("a")}
    assert links["/sweep"] == f"/sweep?{_EXAMPLE}&{own}"
    assert "swatches=name,L,a,b" in links["/soften"]
    assert "sort" not in links["/soften"]
    assert links["/"] == f"/?{_EXAMPLE}"
    assert "Not known here" not in tree.one("answer").text
    assert client.get(f"/?{_EXAMPLE}&budget=2").headers["location"] == f"/?{_EXAMPLE}"


def test_a_job_too_long_for_a_link_is_posted_to_the_other_pages(client: Any) -> None:
    fields = {"topcoat": "a3b84c"}
    for n in range(1, 25):
        fields |= {f"patch{n}": f"{n} {'é' * 70}", f"colour{n}": "76523a"}
    reply = client.post("/", content=urlencode(fields), headers=_FORM)
    buttons = read_html(reply.text).all("nav")[0].all("button")
    assert [b.attrs["formaction"] for b in buttons] == [place.address for place in PLACES]
    assert {b.attrs["formmethod"] for b in buttons} == {"post"}
    there = client.post("/beside", content=urlencode(fields), headers=_FORM)
    assert there.status_code == 200
    assert read_html(there.text).one("patch24").attrs["value"] == fields["patch24"]


@pytest.mark.parametrize("address", _ADDRESSES)
def test_the_answer_by_itself_is_the_pages_own_part(client: Any, address: str) -> None:
    page = client.get(f"{address}?{_EXAMPLE}").text
    part = page[page.index('<section id="answer"') :].partition('<div class="standing">')[0]
    alone = client.get(f"{address}/answer?{_EXAMPLE}").text.strip()
    assert part.startswith(alone)
    assert client.post(f"{address}/answer", content=_EXAMPLE, headers=_FORM).text.strip() == alone


@pytest.mark.parametrize("budget", [None, 1])
def test_softer_colours_are_those_of_the_library_smallest_change_first(
    client: Any, budget: int | None
) -> None:
    answer = soften(EXAMPLE_JOB, budget=budget)
    asked = f"&budget={budget}" if budget else ""
    tree = _tree(client, f"/soften?{_EXAMPLE}{asked}")
    goals = tree.all("section", lambda each: each.has_class("goal"))
    assert [g.attrs["id"] for g in goals] == [f"goal-{goal.coats}" for goal in answer.goals]
    for shown, goal in zip(goals, answer.goals, strict=True):
        there = sorted(
            (a for a in goal.answers if a.difference is not None), key=lambda a: a.difference or 0.0
        )
        items = shown.all("ol")[0].all("li")
        assert len(items) == len(there)
        for item, way in zip(items, there, strict=True):
            assert _fills(item)[:2] == [answer.wished.hex, way.hex]
            assert f"Beside the wished colour: {change_words(way.difference)}" in item.text
            assert f"chance of {chance_words(way.chance or 0.0)}" in item.text
            assert way.why in item.text
            assert (way.path == goal.best) == ("the smallest" in item.text)
            ladder = _own_classes(item, "table", "ladder")
            steps = [[p.thin.hex for p in step.patches] for step in way.ladder]
            chip = way.hex
            rows = [_fills(row) for row in ladder.all("tr")[1:]]
            assert rows == [[*hexes, chip] for hexes in steps] + [[chip] * 3]
        for way in goal.answers:
            if way.difference is None:
                assert way.why[1:] in shown.text


def test_the_more_vivid_colour_touches_the_wished_one(client: Any) -> None:
    answer = soften(EXAMPLE_JOB)
    assert answer.vivid is not None
    shown = _tree(client, "/soften").one("vivid")
    assert _fills(shown) == [answer.wished.hex, answer.vivid.hex]
    more = 100.0 * (answer.vivid.chroma_to / answer.vivid.chroma_from - 1.0)
    assert f"{more:.0f}% more vivid" in shown.text
    assert f"from {answer.vivid.chroma_from:.1f} to {answer.vivid.chroma_to:.1f}" in shown.text


@pytest.mark.parametrize(
    ("fields", "say"),
    [
        ({"topcoat": "N 3", "colour1": "N 3"}, "One coat is enough already"),
        (
            {"topcoat": "lab(84 5 95)", "colour1": "lab(12 0 0)", "tool": "aerosol"},
            "A softer colour may do with 12 coats, not more than 12",
        ),
    ],
)
def test_softening_says_when_there_is_nothing_or_much_to_save(
    client: Any, fields: dict[str, str], say: str
) -> None:
    tree = _tree(client, f"/soften?{link_of(read_form(fields.items())[0])}")
    assert tree.one("say").text == say
    assert "None" not in tree.one("answer").text


def test_everything_beside_the_topcoat_is_there_with_both_figures(client: Any) -> None:
    answer = palette(EXAMPLE_JOB)
    tree = _tree(client, f"/beside?{_EXAMPLE}")
    chip = answer.topcoat.hex
    for id_, entries in (
        ("finishes-beside", answer.finishes),
        ("seconds-beside", answer.second_colours),
        ("woods-beside", answer.woods),
    ):
        items = tree.one(id_).all("li")
        assert [item.attrs["value"] for item in items] == [str(e.rank) for e in entries]
        for item, entry in zip(items, entries, strict=True):
            assert _fills(item) == [entry.hex, chip]
            assert f"{signed(entry.advantage)} against most colours" in item.text
            assert f"harmony by itself {signed(entry.harmony)}" in item.text
            assert entry.why in item.text
            assert entry.caution is None or entry.caution in item.text
    triples = tree.one("triples-beside").all("li")
    assert len(triples) == len(answer.triples)
    for item, triple in zip(triples, answer.triples, strict=True):
        assert _fills(item) == [chip, triple.second_colour.hex, triple.finish_colour.hex]
        assert triple.why in item.text
    rows = tree.one("lamps").all("tr")[1:]
    assert len(rows) == len(answer.lamps)
    for row, pair in zip(rows, answer.lamps, strict=True):
        assert pair.beside.casefold() in row.text.casefold()
        figures = [c.text for c in row.all("td", lambda c: c.has_class("figures"))]
        assert figures == [f"{u.difference:.1f} {signed(u.harmony)}" for u in pair.under]
        assert _fills(row)[1] == chip
        for warning in pair.warnings:
            assert warning in row.text


def test_a_second_colour_too_near_reads_as_a_bad_match(client: Any) -> None:
    job = {**EXAMPLE_JOB, "second_colour": [{"name": "near", "colour": {"lab": [66, -24, 55]}}]}
    assert palette(job).second_colours[0].too_near
    tree = _tree(client, f"/beside?{link_of(form_of(job))}")
    assert "reads as a bad match" in tree.one("seconds-beside").text
    assert tree.one("second1").attrs["value"] == "near"
    assert "woods-beside" not in [e.attrs.get("id") for e in tree.walk()]


def test_a_pair_that_parts_in_the_evening_is_warned_of(
    client: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = palette(EXAMPLE_JOB)
    first = found.lamps[0]
    lamp = first.under[1].model_copy(update={"parts": True})
    pair = first.model_copy(
        update={
            "under": [first.under[0], lamp, first.under[2]],
            "warnings": ["They part in the evening."],
        }
    )
    answer = found.model_copy(update={"lamps": [pair, *found.lamps[1:]]})
    monkeypatch.setattr("showthrough.web.pages.beside.palette", lambda _: answer)
    shown = _tree(client, f"/beside?{_EXAMPLE}").one("lamps")
    assert f"parts under a lamp: {first.beside}." in shown.text
    row = shown.all("tr")[1]
    assert [b.text for b in row.all("b")] == ["They part in the evening.", "parts"]


def test_second_colours_are_rows_of_the_form_on_every_page(client: Any) -> None:
    added = client.get(f"/?{_EXAMPLE}&second_colour1=N+9&add=second")
    assert added.headers["location"] == (
        f"/?{_EXAMPLE}&second_colour1=N+9&second_colour2=#second_colour2"
    )
    form, _ = read_form(pairs_of(f"{_EXAMPLE}&second_colour1=N+9&second_kind2=wood"))
    assert job_of(form)["second_colour"] == [{"name": "N 9", "colour": "N 9"}]
    tree = _tree(client, f"/beside?{_EXAMPLE}&second_colour1=nonsense", 422)
    assert "hidden" not in tree.one("second_colour1-mend").attrs
    (item,) = tree.one("answer").all("li")
    assert item.text.startswith("Second colour 1, colour")


def _rows(tree: Element) -> list[Element]:
    return _own_classes(tree, "table", "every").all("tr")[1:]


@pytest.mark.parametrize("sort", ["coats", "total", "difference", "harmony", "name"])
def test_the_table_holds_the_librarys_rows_in_the_order_asked(client: Any, sort: str) -> None:
    answer = sweep(EXAMPLE_JOB, sort=sort)
    query = _EXAMPLE if sort == "coats" else f"{_EXAMPLE}&sort={sort}"
    tree = _tree(client, f"/sweep?{query}")
    rows = _rows(tree)
    assert len(rows) == FEW_ROWS < len(answer.rows)
    for shown, row in zip(rows, answer.rows, strict=False):
        assert _fills(shown) == [row.hex, hex_of_lab(answer.wished)]
        text = shown.text.casefold()
        assert row.name in text
        figures = [b.text for b in shown.all("b")]
        assert figures == [str(row.coats or "over 12"), str(row.total or "over 13")]
        assert f" {change_words(row.difference)} " in text
        assert f"{signed(row.advantage)} against most colours" in text
        assert f"by itself {signed(row.harmony)}" in text
    pressed = tree.all(
        "button", lambda b: b.attrs.get("name") == "by" and "aria-pressed" in b.attrs
    )
    assert [b.attrs["value"] for b in pressed] == [sort]
    ordered = tree.all("th", lambda th: "aria-sort" in th.attrs)
    assert len(ordered) == 1


def test_buttons_sort_anew_and_show_all_without_script(client: Any) -> None:
    tree = _tree(client, "/sweep")
    button = tree.all("button", lambda b: b.attrs.get("value") == "difference")[0]
    assert button.attrs["form"] == "job"
    assert tree.one("job").attrs["method"] == "post"
    sent = [*pairs_of(_EXAMPLE), ("sort", "coats"), ("rows", ""), ("by", "difference")]
    files = {"swatches_file": ("", b"")}
    reply = client.post("/sweep", data=dict(sent), files=files)
    assert reply.status_code == 303
    assert reply.headers["location"] == f"/sweep?{_EXAMPLE}&sort=difference"
    more = client.get(f"/sweep?{_EXAMPLE}&show=all")
    assert more.headers["location"] == f"/sweep?{_EXAMPLE}&rows=all"
    assert len(_rows(_tree(client, more.headers["location"]))) == len(sweep(EXAMPLE_JOB).rows)


def test_own_swatches_come_as_text_or_as_a_file(client: Any) -> None:
    own = parse_swatches(_OWN)
    names = [row.name for row in sweep(EXAMPLE_JOB, own).rows]
    text = urlencode({"swatches": _OWN}, safe="(),:/")
    by_link = _tree(client, f"/sweep?{_EXAMPLE}&{text}")
    assert [
        row.all("th")[0].text.casefold()[: len(n)]
        for row, n in zip(_rows(by_link), names, strict=True)
    ] == names
    files = {"swatches_file": ("own.csv", _OWN.replace("\n", "\r\n").encode("utf-8-sig"))}
    reply = client.post("/sweep", data={**dict(pairs_of(_EXAMPLE)), "swatches": ""}, files=files)
    assert reply.headers["location"] == f"/sweep?{_EXAMPLE}&{text}"
    softened = _tree(client, f"/soften?{_EXAMPLE}&{text}")
    for goal in soften(EXAMPLE_JOB, swatches=own).goals:
        nearest = next(a for a in goal.answers if a.path == "swatch")
        assert (nearest.swatch or "Nothing on the way"[1:]).casefold() in softened.one(
            f"goal-{goal.coats}"
        ).text.casefold()


def test_many_swatches_are_posted_and_stay_in_the_form(client: Any) -> None:
    lines = [f"grey {n},{20 + n % 70}.{n:03d},0,0" for n in range(400)]
    long = "\n".join(["name,L,a,b", *lines])
    assert len(long) > LONGEST_LINK
    data = {**dict(pairs_of(_EXAMPLE)), "swatches": long}
    reply = client.post("/sweep", data=data, files={"swatches_file": ("", b"")})
    assert reply.status_code == 200
    tree = read_html(reply.text)
    assert tree.one("swatches").text == " ".join(long.split())
    assert "400 swatches" in tree.one("say").text
    links = {a.attrs["data-page"]: a.attrs["href"] for a in tree.all("nav")[0].all("a")}
    assert links["/soften"] == f"/soften?{_EXAMPLE}"
    (save,) = tree.all("button", lambda b: b.attrs.get("formaction") == "/sweep.csv")
    assert save.attrs["form"] == "job"
    saved = client.post("/sweep.csv", content=urlencode(data), headers=_FORM)
    assert len(list(csv.reader(io.StringIO(saved.text)))) == 401


def test_rows_are_saved_as_csv_and_json_with_the_same_figures(client: Any) -> None:
    answer = sweep(EXAMPLE_JOB, sort="name")
    tree = _tree(client, f"/sweep?{_EXAMPLE}&sort=name")
    links = [a.attrs["href"] for a in tree.all("a") if "download" in a.attrs]
    table, program = (client.get(link) for link in links)
    assert table.headers["content-type"].startswith("text/csv")
    assert table.headers["content-disposition"] == 'attachment; filename="swatches.csv"'
    rows = list(csv.DictReader(io.StringIO(table.text)))
    assert [r["name"] for r in rows] == [row.name for row in answer.rows]
    assert [r["difference"] for r in rows] == [str(row.difference) for row in answer.rows]
    assert json.loads(program.text) == json.loads(answer.model_dump_json())
    asked = client.post(
        "/api/sweep", json={"job": EXAMPLE_JOB, "sort": "name"}, headers={"accept": "text/csv"}
    )
    assert table.text == asked.text
    wrong = client.get("/sweep.csv?topcoat=&colour1=76523a")
    assert wrong.status_code == 422
    assert read_html(wrong.text).one("topcoat-mend").text


def test_all_problems_of_job_and_page_stand_at_once_beside_their_fields(client: Any) -> None:
    faulty = {
        "topcoat": "nonsense",
        "colour1": "76523a",
        "share1": "x",
        "budget": "99",
        "swatches": "name,L,a,b\none,x,0,0\ntwo,50,0",
    }
    form, _ = SOFTEN.read(faulty.items())
    tree = _tree(client, f"/soften?{link_of(form)}", 422)
    places = [li.attrs["data-for"] for li in tree.one("answer").all("li")]
    assert set(places) == {"topcoat", "share1", "budget", "swatches"}
    assert tree.one("say").text == f"{len(places)} things to put right"
    for place in places:
        assert "hidden" not in tree.one(f"{place}-mend").attrs
        assert tree.one(place).attrs["aria-invalid"] == "true"
    assert "not 99" in tree.one("budget-mend").text
    assert "Row 2, L: 'x' is not a number" in tree.one("swatches-mend").text
    assert tree.one("swatches").text == " ".join(faulty["swatches"].split())
    sort = _tree(client, f"/sweep?{_EXAMPLE}&sort=price", 422)
    assert "price" in sort.one("sort-mend").text


def test_a_budget_is_a_whole_number_of_coats(client: Any) -> None:
    for text, words in (("2.5", "whole number"), ("much", "whole number"), ("0", "1 to 12")):
        tree = _tree(client, f"/soften?{_EXAMPLE}&budget={text}", 422)
        assert words in tree.one("budget-mend").text
        assert tree.one("budget").attrs["value"] == text


def test_of_very_many_faulty_swatches_the_first_are_listed(client: Any) -> None:
    text = "\n".join(["name,L,a,b", *(f"s{n},x,0,0" for n in range(60))])
    reply = client.post("/sweep", content=urlencode({"swatches": text}), headers=_FORM)
    assert reply.status_code == 422
    tree = read_html(reply.text)
    items = [li.text for li in tree.one("answer").all("li")]
    assert sum("Row" in item for item in items) == 12
    assert "And 48 more faults like these." in items[-1]
    assert tree.one("say").text == "62 things to put right"


def test_a_colour_that_no_paint_can_be_is_told_by_its_place() -> None:
    form, _ = SOFTEN.read([("swatches", "name,L,a,b\nfine,50,0,0\nwild,50,-160,120")])
    form = Form(form_of(EXAMPLE_JOB).values, form_of(EXAMPLE_JOB).patches, options=form.options)
    with pytest.raises(ValueError, match="chroma") as caught:
        SOFTEN.shown(form)
    (mend,) = mends_of(caught.value, form)  # type: ignore[arg-type]
    assert (mend.field, mend.message[:9]) == ("swatches", "Swatch 2:")


def test_a_sweep_leaves_such_a_colour_out_and_says_so(client: Any) -> None:
    text = urlencode({"swatches": "name,L,a,b\nfine,50,0,0\nwild,50,-160,120\nodd,x,0,0"})
    tree = _tree(client, f"/sweep?{_EXAMPLE}&{text}")
    assert len(_rows(tree)) == 1
    told = [li.text for li in tree.one("every").all("li")]
    assert len(told) == 2
    assert "odd: row 4.L: 'x' is not a number" in told[0]
    assert "wild: chroma 200" in told[1]


def test_more_faults_than_are_listed_are_counted_in_full(client: Any) -> None:
    text = "\n".join(["name,L,a,b", *(f"s{n},x,0,0" for n in range(900))])
    data = {**dict(pairs_of(_EXAMPLE)), "swatches": text}
    tree = read_html(client.post("/sweep", content=urlencode(data), headers=_FORM).text)
    assert "And 888 more faults like these." in tree.one("answer").all("li")[-1].text
    assert tree.one("say").text == "900 things to put right"


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


@pytest.mark.parametrize("address", _ADDRESSES)
@pytest.mark.parametrize("kind", ["answered", "faulty"])
def test_a_hostile_name_is_only_text(client: Any, address: str, kind: str) -> None:
    fields = {
        "title": _HOSTILE,
        "topcoat": "a3b84c" if kind == "answered" else _HOSTILE,
        "called": _HOSTILE[:80],
        "patch1": _HOSTILE[:80],
        "colour1": "76523a",
        "second1": _HOSTILE[:80],
        "second_colour1": "N 9",
        "swatches": f"name,L,a,b\n{_HOSTILE[:30]},50,0,0",
    }
    page = next(each for each in _PAGES if each.address == address)
    query = link_of(page.read(fields.items())[0])
    for path in (address, f"{address}/answer"):
        reply = client.get(f"{path}?{query}")
        assert reply.status_code == (200 if kind == "answered" else 422)
        assert "<script>alert" not in reply.text
        tree = read_html(reply.text)
        assert not tree.all("img")
        assert "<script>alert(1)</script>" in tree.one("answer").text
        if path == address:
            assert tree.one("title").attrs["value"] == _HOSTILE
            assert tree.one("second1").attrs["value"] == _HOSTILE[:80]


@pytest.mark.parametrize(
    ("address", "error"),
    [
        ("/sweep", "too_large"),
        ("/beside", "too_large"),
    ],
)
def test_a_form_that_is_too_large_is_refused(client: Any, address: str, error: str) -> None:
    reply = client.post(address, content=b"swatches=" + b"x" * 4_000_001, headers=_FORM)
    assert reply.status_code == 413
    assert reply.json()["problems"][0]["code"] == error


def test_a_form_that_is_none_is_refused(client: Any) -> None:
    headers = {"Content-Type": "multipart/form-data"}
    reply = client.post("/sweep", content=b"x", headers=headers)
    assert reply.status_code == 422
    assert "not a multipart form" in reply.json()["problems"][0]["message"]
