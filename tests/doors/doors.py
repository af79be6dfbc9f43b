"""One job through each of the four doors, and what comes out of each."""

from __future__ import annotations

import io
import json
import re
from contextlib import redirect_stderr, redirect_stdout

from starlette.testclient import TestClient

from jobs.small_jobs import toml_of
from showthrough import InputError
from showthrough.cli.main import main
from showthrough.jobs.answers.prediction import PlanStep, WayShown
from showthrough.jobs.schema.bench import BenchFields, Supply
from showthrough.say.chances import chance_words
from showthrough.say.chances import count_words as coats_words
from showthrough.say.plan import step_line, way_line
from showthrough.web.answer import capital
from showthrough.web.app import create_app
from showthrough.web.forms.form import link_of
from showthrough.web.forms.job_form import form_of
from web.tree import read_html

HERE = "http://127.0.0.1"
"""The name under which the tests call the service: production knows no other for them."""
JSON = {"content-type": "application/json"}


def client():
    """A client of a fresh service; faults come back as responses."""
    return TestClient(create_app(), base_url=HERE, raise_server_exceptions=False)


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


def for_page(job):
    """A job without what the page does not ask yet: areas, cans, room, days and money.

    None of it changes a count or a colour; groups that say something of their own do.
    """
    if any({"topcoat", "surface", "finish"} & set(group) for group in job.get("group", ())):
        return job
    left = {k: v for k, v in job.items() if k not in {*BenchFields.model_fields, "group"}}
    for key, extra in (("topcoat", Supply.model_fields), ("application", {"openness": 0})):
        if isinstance(left.get(key), dict):
            left[key] = {k: v for k, v in left[key].items() if k not in extra}
    return left


def by_page(http, job):
    """What the first page shows of a job: ``("answer", shown)`` or ``("problems", messages)``.

    ``None`` where a job holds what the page has no field for.
    """
    try:
        form = form_of(for_page(job))
    except InputError:
        return None
    # The very form as the page's own script posts it, however long it is.
    response = http.post("/answer", content=link_of(form), headers=_FORM)
    tree = read_html(response.text)
    if response.status_code == 422:
        mends = [item.all("span")[0].text for item in tree.all("li") if "data-for" in item.attrs]
        return "problems", mends
    assert response.status_code == 200, response.text[:400]
    rows = next(t for t in tree.all("table") if t.has_class("bars")).all("tr")
    options = next(o for o in tree.all("ol") if o.has_class("options")).all("li")
    return "answer", {
        "headline": tree.all("h2")[0].text,
        "steps": [
            _SPACED.sub(r"\1", step.text) for step in tree.one("plan").all("ol")[0].all("li")
        ],
        "ways": [
            i.text
            for part in tree.all("section")
            if part.attrs.get("id") == "ways"
            for i in part.all("li")
        ],
        "careful": [i.text for i in tree.one("careful").all("ul")[0].all("li")],
        "enough": [row.all("rect")[1].attrs["width"] for row in rows],
        "likely": [i + 1 for i, row in enumerate(rows) if row.has_class("likely")],
        "undercoats": [
            (o.all("h4")[0].text, _SPACED.sub(r"\1", o.all("p")[0].text)) for o in options
        ],
        **{
            part: [i.text for i in tree.one(part).all("li")]
            for part in ("reasons", "assumptions", "cautions")
        },
    }


_SPACED = re.compile(r"\s+([;:,])")
_FORM = {"content-type": "application/x-www-form-urlencoded"}


def shown_of(answer):
    """The same of an answer in JSON: what a page must show of it."""

    def told(option):
        text = f"{coats_words(option['total'])} in all"
        if option["undercoats"] and option["topcoats"] is not None:
            under = coats_words(option["undercoats"], "undercoat")
            text += f": {under} and {coats_words(option['topcoats'], 'topcoat')}"
        if option["saved"]:
            saved = option["saved"]
            text += f", saves {saved}" if saved > 0 else f", costs {-saved} more"
        if option["topcoats"] is not None:
            text += f"; enough with a chance of {chance_words(option['chance'])}"
        return text + ("; a tie with the one above" if option["tie"] else "")

    def _step(step):
        return " ".join(f"{step_line(PlanStep(**step))} {capital(step['why'])}.".split())

    def plain(texts):
        return [" ".join(text.split()) for text in texts]

    coats = answer["coats"]
    return {
        "headline": answer["headline"],
        "steps": [_step(step) for step in answer["plan"]],
        "ways": [way_line(WayShown(**way)) for way in answer["ways"][1:]],
        "careful": plain(answer["cautions_short"]),
        "enough": [f"{100 * chance:.2f}%" for chance in coats["enough"].values()],
        "likely": [coats["likely"]] if coats["likely"] else [],
        "undercoats": [
            (capital(" ".join(o["name"].split())), told(o)) for o in answer["undercoats"]
        ],
        **{part: plain(answer[part]) for part in ("reasons", "assumptions", "cautions")},
    }
