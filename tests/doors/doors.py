"""One job through each of the three doors, and what comes out of each."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stderr, redirect_stdout

from starlette.testclient import TestClient

from jobs.small_jobs import toml_of
from showthrough import InputError
from showthrough.cli import main
from showthrough.web.app import create_app


def client():
    """A client of a fresh service; faults come back as responses."""
    return TestClient(create_app(), raise_server_exceptions=False)


def by_library(use_case, job, *args, **kwargs):
    """``("answer", JSON)`` or ``("problems", list of dicts)``."""
    try:
        answer = use_case(job, *args, **kwargs)
    except InputError as error:
        return "problems", [p.as_dict() for p in error.problems]
    return "answer", json.loads(answer.model_dump_json())


def by_http(http, route, body):
    """The same from the service."""
    response = http.post(f"/api/{route}", content=json.dumps(body))
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
    assert "to mend" in head
    return "problems", lines


def lines_of(problems):
    """How the command line says these problems."""
    return [
        f"  {p['field']}: {p['message']}" if p["field"] else f"  {p['message']}" for p in problems
    ]
