"""The bench: the job as a sentence, its plan, and the sheets that its words open."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response

from showthrough.errors import MORE, InputError, Problem, to_put_right
from showthrough.jobs.answers.halfway import HalfWay
from showthrough.jobs.answers.prediction import Prediction, WayShown
from showthrough.jobs.answers.whole import ProductShown, WholeJob
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.predict import outlined, predict
from showthrough.jobs.whole import plan
from showthrough.say.chances import chance_words, count_words, short_chance
from showthrough.say.halfway import amount_left
from showthrough.say.plan import step_parts
from showthrough.say.sentence import (
    FACTS,
    TOOL_SAYS,
    TOOLS,
    number_line,
    sentence,
    unsaid,
    way_tab,
)
from showthrough.say.whole import (
    NO_AREA_SAID,
    amount_words,
    area_doubt,
    area_hint,
    bill_words,
    bought_short,
    buy_line,
    can_words,
    day_words,
    days_lines,
    hours_words,
    is_waxed,
    money_lines,
    shelf_alone,
    stop_lines,
)
from showthrough.say.words import trust
from showthrough.sheets.bench import STOP_RULE, stays_by_step
from showthrough.sheets.board import board_of
from showthrough.web import answer as shown
from showthrough.web import samples
from showthrough.web.forms.edits import BEFORE, FILM_PATHS
from showthrough.web.forms.labels import label_of
from showthrough.web.forms.paths import TYPED, Fields, leaf, path_of
from showthrough.web.forms.words import (
    Word,
    count_of,
    kept_beside,
    paths_on,
    sections,
    word_at,
    word_of,
)
from showthrough.web.pages.asked import SENT, Asked, AskedBy, surroundings
from showthrough.web.shell import PLACES, rendered

_PLACE = PLACES[0]
_MOST_TABS = 3
_NEXT = {"topcoat": "surface.1", "surface.1": "tool"}
"""What a new job is asked after a word."""

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get("/")
@router.post("/")
def page_of(asked: AskedBy) -> Response:
    """The bench as a job finds it: a sheet, the first run, the plan, or what is to mend."""
    context = surroundings(asked, _PLACE)
    unread = _unread(asked)
    word = word_of(word_at(next(iter(unread))) if unread else asked.page.get("word", ""))
    if word is not None:
        return rendered("word.html", _word_context(asked, word, unread))
    if not begun(asked.fields):
        said = {"parts": _unsaid(asked.fields), "next_word": _next(asked.fields)}
        return rendered("first.html", context | said)
    try:
        return rendered("bench.html", context | plan_context(asked))
    except InputError as error:
        sent = word_of(asked.page.get(SENT, ""))
        here = [] if sent is None else _mends_on(sent, asked.fields, error)
        if sent is not None and here:
            once = list({(mend.path, mend.message): mend for mend in here}.values())
            told = {"mends": once, "say": to_put_right(len(once))}
            return rendered("word.html", _word_context(asked, sent, {}) | told)
        return rendered("mend.html", context | mend_context(asked, error))


def _mends_on(word: Word, fields: Fields, error: InputError) -> list[Mend]:
    """Those problems that a sheet can put right."""
    shown_there = set(paths_on(word, fields))
    mends = [_mend(problem, fields) for problem in error.problems if problem.code != MORE]
    return [m for m in mends if m.path in shown_there or (not m.path and m.word == word.key)]


def begun(fields: Mapping[str, str]) -> bool:
    """Whether a job says enough to be answered: a new colour, and what is there now."""
    new = any(k == "topcoat.paint" or k.startswith("topcoat.colour") for k in fields)
    return new and any(k.startswith("surface.1.colour") for k in fields)


def _unread(asked: Asked) -> dict[str, list[str]]:
    """Colours that stand for none, with why: of the sheet that sends the job, or of a new job.

    Each is told on its own sheet, before anything else is asked.
    """
    sent = [n.removeprefix(BEFORE) for n, _ in asked.pairs if n.startswith(BEFORE)]
    new = () if begun(asked.fields) else tuple(asked.fields)
    paths = (p for p in dict.fromkeys((*sent, *new)) if p.endswith(".colour"))
    wrong = {path: samples.unread(asked.fields.get(path, "")) for path in paths if leaf(path)}
    return {path: messages for path, messages in wrong.items() if messages}


HELD = "held."
"""What stood in the fields of a sheet when it was opened: where Cancel leads back to."""


def _to_tap(message: str) -> str:
    """The same message where the nearest names stand below it, to be tapped."""
    head, near, rest = message.partition("; the nearest names are: ")
    return f"{head}: tap one of these,{rest.partition(';')[2]}" if near else message


def _unsaid(fields: Mapping[str, str]) -> Any:
    tool = fields.get("application.tool", "brush")
    return unsaid(
        _colour_words(fields, "topcoat"),
        _colour_words(fields, "surface.1"),
        tool if tool in TOOLS else "brush",
    )


def _colour_words(fields: Mapping[str, str], place: str) -> tuple[str, str]:
    text = fields.get(f"{place}.colour", "")
    hex_ = samples.seen_colour(text) or ""
    if not text:
        return "", ""
    return fields.get(f"{place}.name") or samples.spoken_colour(text), hex_


def _next(fields: Mapping[str, str]) -> str:
    """What is still to be said before there is an answer."""
    if not any(k.startswith(("topcoat.colour", "topcoat.paint")) for k in fields):
        return "topcoat"
    return "" if begun(fields) else "surface.1"


def answer_context(asked: Asked) -> dict[str, Any]:
    """The job as a sentence, its number, ways and board.

    Raises:
        InputError: with every problem of the job, by field.
    """
    job = prepare(asked.job)
    lead = plan(job)
    key = asked.page.get("way", "")
    keys = [way.key for way in lead.ways]
    other = key in keys[1:]
    answer = plan(job, way=key) if other else lead
    main = max((g for g in answer.groups if g.ways == answer.ways), key=lambda g: g.area_m2)
    single = len(answer.groups) == 1
    found = (re.match(r"group\.(\d+)\.topcoat\.", path) for path in asked.fields)
    own = {int(each[1]) for each in found if each is not None}
    count, line, rest = number_line(answer.headline if single else main.headline)
    return {
        "job": job,
        "answer": answer,
        "parts": sentence(answer, job.film.tool, own),
        "doubt": area_doubt(answer.area, answer.units),
        "count": count,
        "line": line,
        "rest": rest,
        "tabs": _tabs(lead, key if other else (keys[0] if keys else "")),
        "way": key if other else "",
        "board": board_of(answer, "" if single else main.name),
    }


def plan_context(asked: Asked) -> dict[str, Any]:
    """Everything that the bench shows.

    Raises:
        InputError: with every problem of the job, by field.
    """
    context = answer_context(asked)
    answer: WholeJob = context["answer"]
    more = predict(context["job"])
    waxed = is_waxed(answer)
    days = answer.days
    hexes = {group.topcoat_name: group.topcoat.hex for group in answer.groups}
    return context | {
        "more_answer": more,
        "steps": steps_of(answer, hexes),
        "no_area": "" if answer.area.stated else NO_AREA_SAID,
        "stop_rule": STOP_RULE if days is not None else "",
        "odds": _odds(answer),
        "narrow": _narrow(more),
        "trust": trust(more.hiding),
        "film_line": shown.film_line(more.film),
        "sureness": shown.sureness(answer),
        "to_buy": bought_short(answer.paint, answer.units),
        "products": [_product(p, answer, hexes) for p in answer.paint],
        "days_lines": [] if days is None else [*stop_lines(days), *days_lines(days, waxed=waxed)],
        "days_short": "" if days is None else f"done {day_words(days.hand_over.likely)}",
        "money_lines": [] if answer.money is None else money_lines(answer.money),
        "bill": bill_words(answer),
        "figures_line": shown.figures_line(more),
        "evenness": shown.evenness(more),
    }


def _tabs(lead: WholeJob, chosen: str) -> list[dict[str, Any]]:
    """At most three ways: the leading one, the next, and one without undercoat."""
    if len(lead.ways) < 2:
        return []
    picked = [lead.ways[0]]
    bare = next((w for w in lead.ways[1:] if w.kind in {"plain", "spots", "sealer"}), None)
    own = next((w for w in lead.ways if w.key == chosen), lead.ways[0])
    for way in (own, lead.ways[1], bare, *lead.ways[2:]):
        if way is not None and way not in picked and len(picked) < _MOST_TABS:
            picked.append(way)
    picked.sort(key=lead.ways.index)
    return [
        {
            "key": w.key,
            "count": _total(w),
            "name": way_tab(w),
            "chance": short_chance(w.chance),
            "chosen": w.key == chosen,
        }
        for w in picked
    ]


def _total(way: WayShown) -> str:
    return "over 12" if way.total is None else str(way.total)


def steps_of(answer: WholeJob | HalfWay, topcoats: Mapping[str, str]) -> list[dict[str, Any]]:
    """The steps with their amounts, times and colours; ``topcoats`` has hexes by name."""
    stays = stays_by_step(answer)
    out = []
    for step in answer.steps:
        groups = ", ".join(step.groups)
        name, what = step_parts(step, groups)
        amount = (
            amount_left(step, answer)
            if isinstance(answer, HalfWay)
            else amount_words(step, answer.units)
        )
        minutes = sum(stay.minutes for stay in stays[step.number])
        colour = topcoats.get(step.product, "") if step.kind == "topcoat" else step.colour or ""
        out.append(
            {
                "number": step.number,
                "name": name,
                "what": f"{what}, {amount}" if amount else what,
                "why": step.why,
                "time": hours_words(minutes) if minutes else "",
                "hex": colour if colour.startswith("#") else "",
                "coat": step.coats is not None and step.kind != "test piece",
            }
        )
    return out


def _odds(answer: WholeJob) -> list[dict[str, Any]]:
    """How sure each count of topcoats about the likely one is."""
    if not answer.ways or not answer.enough:
        return []
    likely = answer.ways[0].topcoats or len(answer.enough)
    counts = [n for n in answer.enough if likely - 1 <= n <= likely + 2]
    return [
        {"name": count_words(n, "topcoat"), "chance": answer.enough[n], "this": n == likely}
        for n in counts
    ]


def _narrow(more: Prediction) -> dict[str, Any] | None:
    """The one question that tells most, with its answers as links."""
    found = more.hiding.would_narrow
    if found is None:
        return None
    path = f"topcoat.{found.fact}"
    answers = [
        (f"{a.answer:g}" if isinstance(a.answer, float) else a.answer, count_words(a.likely))
        for a in found.answers
    ]
    return {"path": path, "label": label_of(path).name, "answers": answers}


def _product(
    product: ProductShown, answer: WholeJob, topcoats: Mapping[str, str]
) -> dict[str, Any]:
    """A product with the chance that cans of each size suffice, about what is bought."""
    bought = {can.ml: can.count for can in product.cans}
    rows: list[dict[str, Any]] = []
    if shelf_alone(product):
        rows.append({"name": "shelf alone", "chance": product.shelf_chance, "this": False})
    for size, chances in product.chances.items():
        for n, chance in chances.items():
            if n <= max(bought.get(size, 1), 1) + 1 and chance >= _WORTH:
                name = can_words(size, answer.units)
                this = bought == {size: n}
                rows.append(
                    {"name": f"{n} x {name}" if n > 1 else name, "chance": chance, "this": this}
                )
    colour = topcoats.get(product.product) if product.colour == "topcoat" else product.colour
    currency = answer.money.currency if answer.money else ""
    return {
        "name": product.product,
        "line": buy_line(product, answer.units, currency).removeprefix(f"{product.product}: "),
        "hex": colour if colour and colour.startswith("#") else "",
        "odds": rows[:5],
        "advice": product.advice,
    }


_WORTH = 0.05


def _word_context(asked: Asked, word: Word, unread: dict[str, list[str]]) -> dict[str, Any]:
    fields, was = asked.fields, dict(asked.pairs)
    shown_there = list(paths_on(word, fields))
    sent = asked.page.get(SENT) == word.key
    stood = {p: was.get(HELD + p, "") if sent else fields.get(p, "") for p in shown_there}
    held = {p: was.get(BEFORE + p, "") for p in unread}
    first = asked.page.get("first") == "yes"
    context = surroundings(asked, _PLACE) | {
        "word": word,
        "wrong": {path: [_to_tap(m) for m in told] for path, told in unread.items()},
        "near": {path: _near(path, fields) for path in unread},
        "held": {HELD + path: text for path, text in stood.items() if text},
        "cancel": (stood if sent else {})
        | {p: "" if samples.unread(text) else text for p, text in held.items()},
        "mends": [],
        "kept": kept_beside(word, fields),
        "sections": sections(word, fields),
        "first": first,
        "after": _NEXT.get(word.key, "") if first else "",
        "before": _before(word, fields),
        "answer": None,
        "parts": _unsaid(fields),
        "count_words": "",
        "doubt": "",
    }
    if word.key == "topcoat":
        context |= {"wall": samples.topcoat_wall(), "others": samples.more_topcoats()}
    if word.key.startswith("surface."):
        context |= {
            "wall": samples.surface_wall(),
            "others": samples.more_surfaces(),
            "facts": FACTS,
            "patches": max(count_of(fields, "surface"), int(word.key.partition(".")[2])),
        }
    if word.key == "area":
        context |= {"area_hint": area_hint(fields.get("units", ""))}
    if word.key == "parts":
        context |= {"groups": count_of(fields, "group")}
    if word.key == "tool":
        context |= {"tools": _tools(asked)}
    if begun(fields):
        try:
            found = answer_context(asked)
        except InputError as error:
            return context | {"wrong": by_path(error) | context["wrong"]}
        lead = found["answer"].ways
        sure = f", {chance_words(lead[0].chance)}" if lead else ""
        context |= found | {
            "count_words": f"{count_words(lead[0].total) if lead else 'no count yet'}{sure}"
        }
    return context


def _before(word: Word, fields: Fields) -> dict[str, str]:
    """What stood in those fields whose change changes others."""
    if word.key == "topcoat":
        return {"topcoat.colour": fields.get("topcoat.colour", "")}
    if word.key == "tool":
        paths = ("application.tool", *FILM_PATHS)
        return {path: fields.get(path, "") for path in paths}
    if word.key.startswith("surface."):
        return {f"{word.key}.{key}": fields.get(f"{word.key}.{key}", "") for key in _OF_PATCH}
    return {}


_OF_PATCH = ("colour", "share", "ground")


def _tools(asked: Asked) -> list[tuple[str, str, str, str]]:
    """Each tool with the coats that it would take."""
    now = asked.fields.get("application.tool", "brush")
    free = {k: v for k, v in asked.fields.items() if k not in FILM_PATHS}
    out = []
    for key, name in TOOLS.items():
        fields = asked.fields if key == now else free | {"application.tool": key}
        out.append((key, name, TOOL_SAYS[key], _coats_of(Asked(fields, asked.page))))
    return out


def _coats_of(asked: Asked) -> str:
    """Coats in all of the largest group; "" where there is no answer yet."""
    if not begun(asked.fields):
        return ""
    try:
        every = outlined(prepare(asked.job)).every_way
    except InputError:
        return ""
    return _total(every[0]) if every else ""


@dataclass(frozen=True, slots=True)
class Mend:
    """One problem, where a painter finds it."""

    path: str
    """Field that it belongs to; "" where it has none of its own."""
    label: str
    message: str
    word: str
    near: tuple[samples.Sample, ...] = ()
    option: str = ""
    """What the page asks beside the job, where the problem is of that."""


_OPTIONS = {
    "budget": "Coats that you want to spend",
    "swatches": "Your own swatches",
    "sort": "Sorted by",
    "pages": "Pages",
    "paper": "Paper",
    "after": "Topcoats that are on",
    "test_piece": "Topcoats on the test piece",
    "left_ml": "Topcoat left in your tins, ml",
    "way": "The way that you took",
    "group": "Part of the piece",
}


def mend_context(asked: Asked, error: InputError, action: str = "/") -> dict[str, Any]:
    """What is wrong with a job, field by field, to be put right in place.

    Args:
        asked: the request.
        error: with its problems.
        action: where it is asked anew.
    """
    mends = [_mend(p, asked.fields) for p in error.problems if p.code != MORE]
    wrong_options = list(dict.fromkeys(m.option for m in mends if m.option))
    more = sum(int(p.value) for p in error.problems if p.code == MORE)
    count = len(mends) + more
    shown_paths = list(dict.fromkeys(m.path for m in mends if m.path))
    return {
        "mends": mends,
        "wrong": by_path(error),
        "shown_paths": shown_paths,
        "kept": {k: v for k, v in asked.fields.items() if k not in shown_paths}
        | {k: v for k, v in asked.page.items() if k in _OPTIONS and k not in wrong_options},
        "action": action,
        "options": [
            {
                "name": name,
                "label": _OPTIONS[name],
                "value": asked.page.get(name, ""),
                "lines": name == "swatches",
                "messages": [m.message for m in mends if m.option == name],
            }
            for name in wrong_options
        ],
        "more": [p.message for p in error.problems if p.code == MORE],
        "say": to_put_right(count),
    }


def _mend(problem: Problem, fields: Fields) -> Mend:
    option = problem.field.partition("[")[0].partition(".")[0].removesuffix("_csv")
    if option in _OPTIONS and not field_at(problem.field):
        place = problem.field.partition("[")[2].partition("]")[0]
        where = f"Swatch {place}: " if option == "swatches" and place.isdecimal() else ""
        inner = problem.field.partition(".")[2].replace(".", ", ")
        where += f"{inner[:1].upper()}{inner[1:]}: " if inner else ""
        return Mend("", _OPTIONS[option], f"{where}{problem.message}", "", option=option)
    path = _place_of(problem)
    label = label_of(path).name if path else ""
    known = leaf(path) if path else None
    if known is not None and known.kind == "colour":
        label = {"topcoat.colour": "The new colour"}.get(path, "What is there now")
        return Mend(path, label, problem.message, word_at(path), _near(path, fields))
    return Mend(path, label, problem.message, word_at(path_of(problem.field)))


def _near(path: str, fields: Fields) -> tuple[samples.Sample, ...]:
    """Samples that may have been meant in the field of a colour."""
    kind = "topcoats" if path == "topcoat.colour" else "surfaces"
    return samples.near_samples(fields[path], kind) if fields.get(path) else ()


def field_at(field: str) -> str:
    """The field of the page that a problem belongs to; "" where it has none."""
    path = path_of(field)
    whole, _, notation = path.rpartition(".")
    if notation in TYPED and (known := leaf(whole)) is not None and known.kind == "colour":
        return whole  # however it was written, it was typed into the field of the colour
    while path:
        if (known := leaf(whole)) is not None and known.kind in {"texts", "numbers"}:
            return whole  # a list that one field takes
        if leaf(path) is not None:
            return path
        inner = f"{path}.colour"
        if leaf(inner) is not None:
            return inner
        path = path.rpartition(".")[0]
    return ""


def by_path(error: InputError) -> dict[str, list[str]]:
    """Messages by the field that each belongs to; those of none under ""."""
    out: dict[str, list[str]] = {}
    for problem in error.problems:
        told = out.setdefault(_place_of(problem), [])
        if problem.message not in told:
            told.append(problem.message)
    return out


def _place_of(problem: Problem) -> str:
    """The field where a problem is put right: one currency serves every amount."""
    return "money.currency" if problem.code == "no_currency" else field_at(problem.field)
