from __future__ import annotations

import itertools
import json
import re
from typing import Any
from urllib.parse import urlencode

import pytest

from showthrough.errors import InputError
from showthrough.jobs.predict import predict
from showthrough.jobs.schema.job import EXAMPLE_JOB
from showthrough.say.chances import chance_words
from showthrough.web.forms.form import Form, link_of, read_form
from showthrough.web.forms.job_form import form_of, job_of
from showthrough.web.pages.coats import LONGEST_LINK
from web.tree import Element, read_html

_EXAMPLE = f"/?{link_of(form_of(EXAMPLE_JOB))}"

_FAULTY = {
    "topcoat": "lab(66 -200 55)",
    "solids": "380",
    "tool": "mop",
    "film": "-3",
    "patch1": "a",
    "colour1": "nonsense",
    "share1": "90",
    "patch2": "A",
    "colour2": "#d8c39a",
    "share2": "x",
    "ground2": "cheese",
    "ratio": "98",
    "finishes": "619,no such finish",
}


def _tree(client: Any, path: str, status: int = 200) -> Element:
    reply = client.get(path)
    assert reply.status_code == status, reply.text[:300]
    assert reply.headers["content-type"] == "text/html; charset=utf-8"
    return read_html(reply.text)


def _link(fields: dict[str, str]) -> str:
    """The shortest link, so that it is not redirected."""
    return f"/?{link_of(read_form(fields.items())[0])}"


def _ladder(tree: Element, film: str, place: int = 0) -> list[list[str]]:
    """Colours of a ladder's fields, row by row."""
    table = [t for t in tree.all("table") if t.has_class("ladder") and t.has_class(film)][place]
    return [
        [cell.all("rect")[0].attrs["fill"] for cell in row.all("td") if cell.has_class("shade")]
        for row in table.all("tr")[1:]
    ]


def test_the_first_page_answers_an_invented_example_and_says_so(client: Any) -> None:
    tree = _tree(client, "/")
    assert "invented example" in tree.all("main")[0].text
    assert tree.one("say").text == predict(EXAMPLE_JOB).headline
    assert tree.one("answer").text == _tree(client, _EXAMPLE).one("answer").text


def test_figures_on_the_page_are_those_of_the_library(client: Any) -> None:
    tree = _tree(client, _EXAMPLE)
    answer = predict(EXAMPLE_JOB)
    bars = next(t for t in tree.all("table") if t.has_class("bars"))
    widths = [r.attrs["width"] for r in bars.all("rect") if r.has_class("part")]
    assert widths == [f"{chance * 100:.2f}%" for chance in answer.coats.enough.values()]
    chip = answer.topcoat.hex
    for film in ("thin", "mean"):
        shown = _ladder(tree, film)
        steps = [[getattr(p, film).hex for p in step.patches] for step in answer.ladder]
        assert shown == [[*hexes, chip] for hexes in steps] + [[chip] * 3]
    assert answer.undercoat_ladder is not None
    under = [[p.thin.hex for p in step.patches] for step in answer.undercoat_ladder]
    ground = [p.thin.hex for p in answer.ladder[0].patches]
    assert _ladder(tree, "thin", 1) == [[*h, chip] for h in (ground, *under)] + [[chip] * 3]
    headline = tree.one("answer").text
    for text in (
        chance_words(answer.ways[0].chance),
        f"{answer.film.dry_film_um:.3g} µm dry",
        f"more than {answer.hiding.spread:.1f} times thinner or thicker (a factor of one standard",
    ):
        assert text in headline
    off = max(p.thin.difference for p in answer.ladder[2].patches)
    row = next(r for r in tree.all("tr") if r.text.startswith("2 coats"))
    assert [c.text for c in row.all("td") if c.has_class("figures")] == [
        f"{off:.1f}",
        f"{answer.ladder[2].show_through:.1f}",
    ]


def test_every_undercoat_finish_need_and_sentence_is_there(client: Any) -> None:
    answer = predict(EXAMPLE_JOB)
    tree = _tree(client, _EXAMPLE)
    undercoats = tree.one("undercoats").all("li")
    assert len(undercoats) == len(answer.undercoats)
    for shown, option in zip(undercoats, answer.undercoats, strict=True):
        assert option.name.casefold() in shown.text.casefold()
        assert option.why in shown.text
        fills = [r.attrs["fill"] for r in shown.all("rect")]
        assert fills[-1] == answer.topcoat.hex
        assert fills[0] == (option.hex or answer.patches[0].hex)
    text = tree.one("answer").text
    for sentences in (answer.reasons, answer.cautions, answer.assumptions):
        for sentence in sentences:
            assert " ".join(sentence.split()) in text
    for need in answer.needs:
        assert need.sentence in tree.one("needs").text
    for finish in answer.finishes:
        assert finish.why in text
    ids = [each.attrs.get("id") for each in tree.one("answer").walk()]
    assert ids.index("needs") < ids.index("undercoats")


def test_a_mixed_tint_tells_its_parts(client: Any) -> None:
    tint = next(o for o in predict(EXAMPLE_JOB).undercoats if o.parts)
    assert tint.parts is not None
    text = _tree(client, _EXAMPLE).one("undercoats").text
    told = {w: int(n) for n, w in re.findall(r"(\d+) parts? (topcoat|white|black)", text)}
    for name, part in tint.parts.items():
        # To the nearest twentieth: more would claim to know the painter's white and black.
        assert told.get(name, 0) / sum(told.values()) == pytest.approx(part, abs=0.026)


def test_the_bars_of_the_curve_are_its_points(client: Any) -> None:
    curve = predict(EXAMPLE_JOB).grey_curve
    tree = _tree(client, _EXAMPLE).one("curve")
    bars = [r for r in tree.all("rect") if not r.has_class("run")]
    known = [p.critical_um for p in curve.points if p.critical_um is not None]
    heights = [float(b.attrs["height"]) for b in bars]
    assert len(bars) == len(known)
    scale = heights[0] / known[0]
    assert heights == pytest.approx([um * scale for um in known], abs=0.02)
    lefts = [float(b.attrs["x"]) for b in bars]
    rights = [float(b.attrs["x"]) + float(b.attrs["width"]) for b in bars]
    assert rights[:-1] == pytest.approx(lefts[1:], abs=0.02)
    greys = [b.attrs["fill"] for b in bars]
    assert greys == sorted(greys)
    # ASTM D1535: Munsell value 5 has Y 19.27, which sRGB (IEC 61966-2-1) writes as 7a or 7b.
    middle = greys[[p.munsell_value for p in curve.points].index(5.0)]
    assert middle in {"#797979", "#7a7a7a", "#7b7b7b"}


@pytest.mark.parametrize("path", [_EXAMPLE, _link(_FAULTY), "/?start=empty", "/"])
def test_the_fragment_is_the_pages_own_part(client: Any, path: str) -> None:
    page = client.get(path).text
    begin, end = page.index('<section id="answer"'), page.rindex("</section>")
    part = page[begin:end] + "</section>"
    if path == "/?start=empty":
        assert "Give a topcoat" in part
        return
    query = _EXAMPLE[2:] if path == "/" else path[2:]
    assert client.get(f"/answer?{query}").text.strip() == part


def test_all_problems_stand_at_once_in_a_list_and_beside_their_fields(client: Any) -> None:
    tree = _tree(client, _link(_FAULTY), 422)
    with pytest.raises(InputError) as caught:
        predict(job_of(read_form(_FAULTY.items())[0]))
    problems = caught.value.problems
    assert len(problems) >= 9
    items = tree.one("answer").all("li")
    assert len(items) == len(problems)
    for item, problem in zip(items, problems, strict=True):
        assert " ".join(problem.message.split()) in item.text
        place = item.attrs["data-for"]
        assert item.all("a")[0].attrs["href"] == f"#{place}"
        beside = tree.one(f"{place}-mend")
        assert "hidden" not in beside.attrs
        assert " ".join(problem.message.split()) in beside.text
        assert tree.one(place).tag in {"input", "select", "div"}
    assert tree.one("say").text == f"{len(problems)} things to put right"


def test_what_was_typed_stays_in_the_form(client: Any) -> None:
    tree = _tree(client, _link(_FAULTY), 422)
    for name, text in _FAULTY.items():
        if name == "finishes":
            assert tree.one("finishes").attrs["value"] == "no such finish"
            assert "checked" in tree.one("finish-619").attrs
            continue
        field = tree.one(name)
        if field.tag == "select":
            chosen = [o.attrs["value"] for o in field.all("option") if "selected" in o.attrs]
            assert chosen == [text]
        else:
            assert field.attrs["value"] == text


def test_percent_that_was_typed_is_told_beside_the_part(client: Any) -> None:
    tree = _tree(client, _link({"topcoat": "fff", "solids": "380", "colour1": "000"}), 422)
    assert tree.one("solids-mend").text == "must be at most 1, not 3.8 (380% is 3.8)"


_HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>&amp;{{ 7*7 }}"


@pytest.mark.parametrize("colour", ["76523a", _HOSTILE])
def test_a_hostile_name_is_only_text(client: Any, colour: str) -> None:
    fields = {
        "title": _HOSTILE,
        "topcoat": "a3b84c",
        "called": _HOSTILE,
        "tool": "brush" if colour == "76523a" else _HOSTILE,
        "patch1": _HOSTILE,
        "colour1": colour,
        "under1": _HOSTILE,
        "under_colour1": "888",
        _HOSTILE: _HOSTILE,
    }
    for path in (_link(fields), _link(fields).replace("/?", "/answer?")):
        reply = client.get(path)
        assert reply.status_code == (200 if colour == "76523a" else 422)
        assert "<script>alert" not in reply.text
        tree = read_html(reply.text)
        assert not tree.all("img")
        assert [s.attrs["src"][:15] for s in tree.all("script")] in ([], ["/assets/page.js"])
        if "/answer" not in path:
            assert tree.one("title").attrs["value"] == _HOSTILE
            assert tree.one("patch1").attrs["value"] == _HOSTILE
        assert " ".join(_HOSTILE.split()) in tree.one("answer").text


_MORE = [
    f"{page}{query}"
    for page in ("/soften", "/beside", "/sweep")
    for query in ("", _link(_FAULTY)[1:], "?start=empty")
]


@pytest.mark.parametrize("path", ["/", _link(_FAULTY), "/?start=empty", *_MORE])
def test_nothing_is_inline_so_that_the_policy_can_forbid_it(client: Any, path: str) -> None:
    reply = client.get(path)
    policy = reply.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    for each in read_html(reply.text).walk():
        assert each.tag != "style"
        assert "style" not in each.attrs
        assert not [name for name in each.attrs if name.startswith("on")]
        assert each.tag != "script" or not each.text


@pytest.mark.parametrize("path", ["/", _link(_FAULTY), "/?start=empty", *_MORE])
def test_the_page_can_be_heard_and_walked_through(client: Any, path: str) -> None:
    tree = read_html(client.get(path).text)
    assert tree.all("html")[0].attrs["lang"] == "en-GB"
    viewport = tree.all("meta", lambda m: m.attrs.get("name") == "viewport")[0]
    assert viewport.attrs["content"] == "width=device-width, initial-scale=1"
    ids = [each.attrs["id"] for each in tree.walk() if "id" in each.attrs]
    assert len(ids) == len(set(ids))
    labelled = {label.attrs.get("for") for label in tree.all("label")}
    inside = {id(i) for label in tree.all("label") for i in label.all("input")}
    for tag in ("input", "select", "textarea"):
        for each in tree.all(tag):
            assert each.attrs["id"] in labelled or id(each) in inside, each
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


def test_each_default_says_that_it_is_one(client: Any) -> None:
    tree = _tree(client, "/?start=empty")
    for name in ("tool", "coat", "sheen", "tested", "skin1", "ground1", "porous1", "bleeds1"):
        page = client.get("/?start=empty").text
        first = page.index("<option", page.index(f'name="{name}"'))
        assert "default" in page[first : page.index("</option>", first)]
    for name in ("solids", "film", "used_coats", "density", "stays", "sanding", "uneven"):
        assert "default" in tree.one(f"{name}-hint").text


def test_an_empty_start_asks_nothing_and_blames_nothing(client: Any) -> None:
    tree = _tree(client, "/?start=empty")
    assert tree.one("topcoat").attrs["value"] == ""
    assert not tree.all("li", lambda li: "data-for" in li.attrs)


_EMPTY = "title=&topcoat=&solids=&tool=brush&patch1=&colour1=&skin1=&ground1="


@pytest.mark.parametrize("answer", ["/answer", "/soften/answer", "/beside/answer", "/sweep/answer"])
@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("", set()),
        ("&title=a chest", set()),
        ("&solids=380", {"solids"}),
        ("&colour2=nonsense", {"colour2"}),
        ("&topcoat=nonsense", {"topcoat"}),
        ("&topcoat=a3b84c", set()),
        ("&colour1=a3b84c&colour2=", set()),
    ],
)
def test_colours_still_to_be_typed_are_no_faults_before_somebody_asks(
    client: Any, answer: str, typed: str, told: set[str]
) -> None:
    reply = client.get(f"{answer}?{_EMPTY}{typed}&filling=yes")
    assert reply.status_code == (422 if told else 200)
    tree = read_html(reply.text)
    assert {
        li.attrs["data-for"] for li in tree.all("li", lambda li: "data-for" in li.attrs)
    } == told
    assert told or tree.one("answer").attrs["data-say"] == ""
    if not told:
        # The address that the script shows stays as silent when it is loaded again.
        assert client.get(tree.one("answer").attrs["data-link"]).status_code == 200
    asked = client.get(f"{answer}?{_EMPTY}{typed}")
    assert asked.status_code == 422
    assert told < {
        li.attrs["data-for"]
        for li in read_html(asked.text).all("li", lambda li: "data-for" in li.attrs)
    }


@pytest.mark.parametrize(
    "button",
    ["add=patch", "add=second", "surface_sample=brown+laminate", "topcoat_sample=white+96"],
)
def test_a_button_of_the_form_asks_nothing(client: Any, button: str) -> None:
    reply = client.get(f"/?topcoat=&colour1=&{button}")
    assert reply.status_code == 303
    shown = client.get(reply.headers["location"].split("#")[0])
    assert shown.status_code == 200
    assert not read_html(shown.text).all("li", lambda li: "data-for" in li.attrs)
    posted = client.post(
        "/", data=dict([("topcoat", ""), ("colour1", ""), button.replace("+", " ").split("=")])
    )
    assert posted.status_code == 200
    assert client.get("/?topcoat=&colour1=").status_code == 422


def test_a_form_as_a_browser_sends_it_is_brought_to_its_shortest_link(client: Any) -> None:
    sent = [
        ("title", ""),
        ("topcoat", "a3b84c"),
        ("solids", ""),
        ("tool", "brush"),
        ("patch1", ""),
        ("colour1", " 76523a "),
        ("skin1", ""),
        ("ground1", ""),
        ("finish", "619"),
        ("finish", "606"),
        ("finishes", ""),
    ]
    reply = client.get(f"/?{urlencode(sent)}")
    assert reply.status_code == 303
    assert reply.headers["location"] == "/?topcoat=a3b84c&colour1=76523a&finishes=619,606"
    tree = _tree(client, reply.headers["location"])
    listed = [li.text for li in tree.one("finishes-beside").all("h4")]
    assert {text[:3] for text in listed} == {"619", "606"}


def test_buttons_work_without_script(client: Any) -> None:
    base = "topcoat=a3b84c&colour1=76523a"
    added = client.get(f"/?{base}&add=patch")
    assert (
        added.headers["location"] == "/?topcoat=a3b84c&colour1=76523a&colour2=&filling=yes#colour2"
    )
    assert _tree(client, added.headers["location"].split("#")[0]).one("colour2")
    sample = client.get(f"/?{base}&surface_sample=white+melamine")
    assert (
        "colour2=white+melamine&skin2=coated&ground2=melamine&porous2=no&bleeds2=no"
        in sample.headers["location"]
    )
    removed = client.get(f"/?{base}&colour2=fff&remove=patch1")
    assert removed.headers["location"] == "/?topcoat=a3b84c&colour1=fff"
    picked = client.get(f"/?{base}&topcoat_sample=white+96")
    assert picked.headers["location"].startswith("/?topcoat=white+96&")


def test_a_posted_form_gives_the_same_answer(client: Any) -> None:
    query = _EXAMPLE[2:]
    headers = {"Content-Type": "application/x-www-form-urlencoded"}
    for path in ("/", "/answer"):
        posted = client.post(path, content=query, headers=headers)
        assert posted.status_code == 200
        got = client.get(f"{path}?{query}").text
        assert posted.text.strip() == got.strip()


def test_a_form_too_long_for_a_link_is_sent_by_post(client: Any) -> None:
    fields = {"topcoat": "a3b84c"}
    for n in range(1, 25):
        fields |= {f"patch{n}": f"{n} {'é' * 70}", f"colour{n}": "76523a"}
    link = _link(fields)
    assert len(link) > LONGEST_LINK
    tree = _tree(client, link)
    assert tree.one("job").attrs["method"] == "post"
    assert _tree(client, "/").one("job").attrs["method"] == "get"
    # No room for one more, so no button offers it.
    assert not tree.all("button", lambda b: b.attrs.get("value") == "patch")


def test_a_body_that_is_too_large_is_refused_in_the_words_of_the_service(client: Any) -> None:
    headers = {"Content-Type": "application/x-www-form-urlencoded"}
    reply = client.post("/", content=b"title=" + b"x" * 1_000_001, headers=headers)
    assert reply.status_code == 413
    assert reply.json()["problems"][0]["code"] == "too_large"


def test_a_field_nobody_knows_is_named_and_left_out(client: Any) -> None:
    tree = _tree(client, "/?topcoat=a3b84c&colour1=76523a&tpocoat=000")
    assert "Not known here, and left out: tpocoat." in tree.one("answer").text


def test_samples_are_squares_by_hue_and_the_chosen_one_is_marked(client: Any) -> None:
    tree = _tree(client, _link({"topcoat": "white 96", "colour1": "brown laminate"}))
    buttons = tree.all("button", lambda b: b.attrs.get("name") == "topcoat_sample")
    assert len(buttons) >= 60
    assert all(b.all("rect")[0].attrs["fill"].startswith("#") for b in buttons)
    pressed = [b.attrs["value"] for b in buttons if b.attrs.get("aria-pressed") == "true"]
    assert pressed == ["white 96"]
    surfaces = tree.all("button", lambda b: b.attrs.get("name") == "surface_sample")
    assert len(surfaces) >= 12


def test_the_seen_colours_go_with_the_answer_for_the_script(client: Any) -> None:
    tree = _tree(client, _EXAMPLE.replace("/?", "/answer?"))
    seen = json.loads(tree.one("answer").attrs["data-seen"])
    assert seen == {"topcoat": "#94aa35", "colour1": "#76523a", "colour2": "#d8c39a"}


def test_more_coats_than_are_reckoned_is_said_and_not_a_number(client: Any) -> None:
    path = _link({"topcoat": "lab(84 5 95)", "colour1": "lab(12 0 0)", "tool": "aerosol"})
    tree = _tree(client, path)
    assert tree.one("say").text.startswith("More than 12 coats: ")
    assert "None" not in tree.one("answer").text


def test_assets_are_kept_as_long_as_they_stay_the_same(client: Any) -> None:
    tree = _tree(client, "/")
    links = [each.attrs["href"] for each in tree.all("link")]
    links += [each.attrs["src"] for each in tree.all("script")]
    assert len(links) == 4
    for link in links:
        reply = client.get(link)
        assert reply.status_code == 200
        assert "immutable" in reply.headers["cache-control"]
        plain = client.get(link.split("?")[0])
        assert plain.headers["cache-control"] == "no-cache"
    for wrong in ("/assets/page.py", "/assets/..%2Fpage.py", "/assets/"):
        assert client.get(wrong).status_code == 404


def test_an_unsaid_form_has_a_row_to_fill_in() -> None:
    assert Form().rows("patch") == ({},)


def test_an_address_without_a_page_tells_a_browser_in_words(client: Any) -> None:
    reply = client.get("/no<such>", headers={"Accept": "text/html,*/*"})
    assert reply.status_code == 404
    tree = read_html(reply.text)
    assert tree.all("h1")[0].text == "There is no page at /no<such>"
    assert [a.attrs["href"] for a in tree.all("nav")[0].all("a")][:2] == ["/", "/soften"]


def test_an_address_without_a_page_tells_a_program_in_json(client: Any) -> None:
    reply = client.get("/none", headers={"Accept": "application/json"})
    assert reply.status_code == 404
    assert reply.json()["problems"][0]["value"] == "/none"
