"""One job through each of the four doors, and what comes out of each."""

from __future__ import annotations

import io
import json
import re
from contextlib import redirect_stderr, redirect_stdout
from functools import cache

from starlette.testclient import TestClient

from jobs.small_jobs import toml_of
from showthrough import InputError
from showthrough.cli.main import main
from showthrough.jobs.answers.prediction import PlanStep, UndercoatOption, WayShown
from showthrough.say.chances import capital
from showthrough.say.plan import step_line, step_parts, way_line
from showthrough.say.undercoats import option_line
from showthrough.say.whole import buy_line, days_lines, is_waxed, money_lines, stop_lines
from showthrough.web.app import create_app
from showthrough.web.forms.paths import fields_of_job, query_of
from web.tree import read_html

HERE = "http://127.0.0.1"
"""The name under which the tests call the service: production knows no other for them."""
JSON = {"content-type": "application/json"}


service = cache(create_app)
"""One service for all clients: it keeps nothing between requests, and its first one takes long."""


def client():
    """A new client of the service; faults come back as responses."""
    return TestClient(service(), base_url=HERE, raise_server_exceptions=False)


def by_library(use_case, job, *args, **kwargs):
    """``("answer", JSON)`` or ``("problems", list of dicts)``."""
    try:
        answer = use_case(job, *args, **kwargs)
    except InputError as error:
        return "problems", [p.as_dict() for p in error.problems]
    return "answer", json.loads(answer.model_dump_json())


def by_http(http, route, body):
    """The same from the service."""
    response = http.post(f"/api/{route}", content=json.dumps(body), headers=JSON)
    if response.status_code == 200:
        return "answer", response.json()
    assert response.status_code in {413, 422}, response.text
    return "problems", refusal(response)


def refusal(response):
    """The problems of the one body that every refusal has."""
    assert response.headers["content-type"] == "application/json"
    body = response.json()
    assert set(body) == {"error", "problems"}
    assert isinstance(body["error"], str)
    assert body["problems"]
    for problem in body["problems"]:
        assert set(problem) == {"field", "value", "message", "code"}
        assert all(isinstance(value, str) for value in problem.values())
    return body["problems"]


def run(*argv):
    """Exit code, standard output and standard error of a command."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        try:
            code = main([str(a) for a in argv])
        except SystemExit as stop:  # argparse's own refusals and --help
            code = stop.code
    return code, out.getvalue(), err.getvalue()


def by_command(command, job, folder, *options):
    """The same from the command line; problems as the lines that a painter reads."""
    path = folder / "job.toml"
    path.write_text(toml_of(job), encoding="utf-8")
    code, out, err = run(command, path, "--json", *options)
    if code == 0:
        assert err == ""
        return "answer", json.loads(out)
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    head, *lines = err.splitlines()
    assert "to put right" in head
    return "problems", lines


def lines_of(problems):
    """How the command line says these problems."""
    return [
        f"  {p['field']}: {p['message']}" if p["field"] else f"  {p['message']}" for p in problems
    ]


def page_of(http, job):
    """The page of a job, as its own script posts it however long it is; None without a field."""
    try:
        fields = fields_of_job(job)
    except InputError:
        return None
    response = http.post("/", content=query_of(fields), headers=_FORM)
    # A job with faults is a page that shows them: a browser logs no error for it.
    assert response.status_code == 200, response.text[:400]
    return read_html(response.text)


def _list(tree, id_):
    return [_SPACED.sub(r"\1", item.text) for item in tree.one(id_).all("li")]


def by_page(http, job):
    """What the bench shows of a job: ``("answer", shown)`` or ``("problems", messages)``.

    ``None`` where a job holds what the page has no field for.
    """
    tree = page_of(http, job)
    if tree is None:
        return None
    if tree.all("div", lambda e: e.attrs.get("id") == "mends"):
        told = [e.text for e in tree.walk() if e.has_class("em")]
        return "problems", sorted(told)
    rows = tree.one("straight").all("tr")[1:]
    ways = tree.all("ul", lambda e: e.attrs.get("id") == "ways")
    return "answer", {
        "headline": tree.one("headline").text,
        "steps": _list(tree, "whys"),
        "ways": [item.text for part in ways for item in part.all("li")],
        "enough": [row.all("td")[0].text for row in rows],
        "likely": [i + 1 for i, row in enumerate(rows) if row.has_class("likely")],
        "undercoats": [
            (item.all("b")[0].text, item.all("span")[0].text)
            for item in tree.one("undercoats").all("li")
        ],
        "reasons": _list(tree, "reasons"),
    }


def whole_by_page(http, job):
    """What the bench shows of the whole job; days only where the job states its start."""
    tree = page_of(http, job)
    if tree is None or tree.all("div", lambda e: e.attrs.get("id") == "mends"):
        return None
    steps = tree.one("plan").all("li")
    return {
        "steps": [step.all("b")[0].text for step in steps],
        "careful": _list(tree, "short"),
        "cautions": _list(tree, "cautions"),
        "assumptions": _list(tree, "assumptions"),
        "paint": [
            f"{can.all('b')[0].text}: {can.all('span')[0].text}"
            for can in tree.one("paint").all("div", lambda e: e.has_class("can"))
        ],
        "days": [i.text for i in tree.one("days").all("li")],
        "money": [i.text for u in tree.one("money").all("ul") for i in u.all("li")],
    }


_SPACED = re.compile(r"\s+([;:,])")
_FORM = {"content-type": "application/x-www-form-urlencoded"}


def plain(texts):
    """Texts as a reader of HTML sees them."""
    return [" ".join(text.split()) for text in texts]


def shown_problems(problems):
    """Messages as the page shows them."""
    return sorted(plain(capital(p["message"]) for p in problems))


def shown_of(answer):
    """The same of a prediction in JSON: what the bench must show of it."""

    def _step(step):
        return " ".join(f"{step_line(PlanStep(**step))}. {capital(step['why'])}.".split())

    coats = answer["coats"]
    return {
        "headline": " ".join(answer["headline"].split()),
        "steps": [_step(step) for step in answer["plan"]],
        "ways": plain(way_line(WayShown(**way)) for way in answer["ways"][1:]),
        "enough": [f"{100 * chance:.2f}%" for chance in coats["enough"].values()],
        "likely": [coats["likely"]] if coats["likely"] else [],
        "undercoats": [
            (capital(" ".join(o["name"].split())), option_line(UndercoatOption(**o)))
            for o in answer["undercoats"]
        ],
        "reasons": plain(answer["reasons"]),
    }


def whole_shown_of(answer):
    """What the bench must show of a whole job, a ``WholeJob``."""
    currency = answer.money.currency if answer.money else ""
    days = answer.days
    return {
        "steps": plain(step_parts(s, ", ".join(s.groups))[0] for s in answer.steps),
        "careful": plain(answer.cautions_short),
        "cautions": plain(answer.cautions),
        "assumptions": plain(answer.assumptions),
        "paint": plain(capital(buy_line(p, answer.units, currency)) for p in answer.paint),
        "days": []
        if days is None
        else plain([*stop_lines(days), *days_lines(days, waxed=is_waxed(answer))]),
        "money": [] if answer.money is None else plain(money_lines(answer.money)),
    }
