"""The JSON service: one body for every refusal, limits, and a document that is true."""

from __future__ import annotations

import importlib
import json
import pkgutil

import pytest

from doors.doors import JSON, client, refusal
from jobs.small_jobs import GREYISH_GREEN, patch, small_job
from showthrough import web
from showthrough.jobs.answers.prediction import Prediction
from showthrough.web.api import jobs as api

JOB = small_job()
ROUTES = ("predict", "plan", "sheet", "palette", "soften", "sweep")


@pytest.fixture(scope="module")
def http():
    return client()


@pytest.fixture(scope="module")
def document(http):
    return http.get("/openapi.json").json()


def body_of(route, job):
    return job if route in {"predict", "plan", "sheet", "palette"} else {"job": job}


# --- refusals --------------------------------------------------------------------------


def test_an_answer_is_what_the_library_calls_a_prediction(http):
    response = http.post("/api/predict", json=JOB)
    assert response.headers["content-type"] == "application/json"
    assert Prediction.model_validate_json(response.content).coats.likely == 4


@pytest.mark.parametrize("route", ROUTES)
def test_a_wrong_job_is_refused_with_422_and_fields_as_in_a_job_file(route, http):
    response = http.post(f"/api/{route}", json=body_of(route, small_job("#12", typo=1)))
    assert response.status_code == 422
    assert {p["field"] for p in refusal(response)} == {"typo", "topcoat.colour"}


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize(
    "content", [b"", b"{", b"\xff\xfe", b"[1", b'{"a":' + b"[" * 100_000, b"9" * 5000]
)
def test_what_is_not_json_is_refused_as_the_body(route, content, http):
    response = http.post(f"/api/{route}", content=content, headers=JSON)
    assert response.status_code == 422
    (problem,) = refusal(response)
    assert problem["field"] == "body"
    assert problem["message"].startswith("not JSON")


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("body", [None, [], 3, "job", [[]]])
def test_json_that_is_no_table_is_refused(route, body, http):
    response = http.post(f"/api/{route}", content=json.dumps(body), headers=JSON)
    assert response.status_code == 422
    assert "must be a table" in refusal(response)[0]["message"]


@pytest.mark.parametrize("route", ["soften", "sweep"])
def test_a_request_without_a_job_asks_for_it(route, http):
    for body in ({}, {"job": 3}, {"job": None}):
        response = http.post(f"/api/{route}", json=body)
        assert response.status_code == 422
        assert [p["field"] for p in refusal(response)] == ["job"]


@pytest.mark.parametrize(
    ("route", "more", "fields"),
    [
        ("soften", {"budget": 99}, ["budget"]),
        ("soften", {"budget": "many"}, ["budget"]),
        ("soften", {"budget": 2.5}, ["budget"]),
        ("soften", {"sort": "name"}, ["sort"]),
        ("sweep", {"sort": "price"}, ["sort"]),
        ("sweep", {"sort": 3}, ["sort"]),
        ("sweep", {"swatches_csv": "name,L,a,b\nx,50,a,4\n"}, ["swatches_csv.row 2.a"]),
        ("sweep", {"swatches_csv": 3}, ["swatches_csv"]),
    ],
)
def test_the_faults_of_a_request_and_of_its_job_are_told_together(route, more, fields, http):
    alone = http.post(f"/api/{route}", json={"job": JOB, **more})
    assert alone.status_code == 422
    assert [p["field"] for p in refusal(alone)] == fields
    bad = small_job(application={"wet_film_um": -4})
    both = http.post(f"/api/{route}", json={"job": bad, **more})
    assert both.status_code == 422
    # In any order: the job stands before a table, whose many faults would crowd it out.
    told = sorted(p["field"] for p in refusal(both))
    assert told == sorted([*fields, "application.wet_film_um"])


def test_a_budget_written_as_a_text_is_refused_beside_the_jobs_problems(http):
    response = http.post("/api/soften", json={"job": JOB, "budget": "2"})
    assert response.status_code == 422
    (problem,) = refusal(response)
    assert (problem["field"], "write 2 without quotes" in problem["message"]) == ("budget", True)
    assert http.post("/api/soften", json={"job": JOB, "budget": 2.0}).status_code == 200


@pytest.mark.parametrize("size", [1_000_001, 40_000_000])
def test_a_body_that_is_far_too_large_is_refused_with_413(size, http):
    response = http.post("/api/predict", content=b" " * size, headers=JSON)
    assert response.status_code == 413
    (problem,) = refusal(response)
    assert problem["code"] == "too_large"
    assert "at most 1 MB" in problem["message"]


def test_a_body_that_never_ends_is_read_no_further_than_it_may_be(http):
    read = 0

    def chunks():
        nonlocal read
        for _ in range(400):
            read += 100_000
            yield b" " * 100_000

    response = http.post("/api/predict", content=chunks(), headers=JSON)
    assert response.status_code == 413
    refusal(response)


def test_no_file_can_be_named_over_http(http):
    for name in ("x.csv", "/etc/hostname", "../x.csv"):
        job = small_job({"spectrum_file": name}, patch({"spectrum_file": name}))
        response = http.post("/api/predict", json=job)
        assert response.status_code == 422
        assert {p["code"] for p in refusal(response)} == {"file_refused"}


def test_half_a_surrogate_pair_is_told_back_and_breaks_nothing(http):
    half = '{"topcoat": {"colour": "\\ud800"}, "surface": [{"colour": "#333", "\\udfff": 1}]}'
    response = http.post("/api/predict", content=half, headers=JSON)
    assert response.status_code == 422
    assert len(refusal(response)) == 2


# --- errors of other kinds -------------------------------------------------------------


def test_an_address_that_is_none_is_404_in_the_same_body(http):
    response = http.get("/api/nothing")
    assert response.status_code == 404
    (problem,) = refusal(response)
    assert problem["code"] == "http_404"


@pytest.mark.parametrize("route", ROUTES)
def test_a_wrong_method_is_405_in_the_same_body_and_names_the_right_one(route, http):
    response = http.get(f"/api/{route}")
    assert response.status_code == 405
    assert response.headers["allow"] == "POST"
    (problem,) = refusal(response)
    assert problem["code"] == "http_405"


def test_a_fault_of_our_own_is_500_in_the_same_body_and_shows_nothing_of_the_inside(
    http, monkeypatch, caplog
):
    def broken(_job):
        inside = "the cellar of line 12"
        raise RuntimeError(inside)

    monkeypatch.setattr(api, "predict", broken)
    response = http.post("/api/predict", json=JOB)
    assert response.status_code == 500
    (problem,) = refusal(response)
    assert problem["code"] == "internal"
    assert "cellar" not in response.text
    assert "Error" not in response.text
    assert "the cellar of line 12" in caplog.text, "the log has the details"


# --- the document ----------------------------------------------------------------------


def operations(document):
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            yield f"{method.upper()} {path}", operation


def routers():
    """Every router of the service whose addresses begin with /api."""
    for found in pkgutil.walk_packages(web.__path__, "showthrough.web."):
        router = getattr(importlib.import_module(found.name), "router", None)
        if router is not None and router.prefix.startswith("/api"):
            yield router


def test_every_route_of_the_service_is_in_the_document(document):
    served = {
        f"{method} {route.path}"
        for router in routers()
        for route in router.routes
        for method in route.methods
    }
    assert {f"POST /api/{route}" for route in ROUTES} <= served
    assert {name for name, _ in operations(document)} == served


def test_every_operation_says_what_it_is_and_has_an_example(document):
    for name, operation in operations(document):
        assert operation["summary"], name
        has_body = not name.startswith(("GET ", "DELETE "))
        assert has_body == ("requestBody" in operation), name
        if has_body:
            content = operation["requestBody"]["content"]
            assert all("example" in one for one in content.values()), name
        assert {"200", "413", "422"} <= set(operation["responses"]), name


def test_every_reference_in_the_document_leads_somewhere(document):
    found = []

    def walk(value):
        if isinstance(value, dict):
            if "$ref" in value:
                found.append(value["$ref"])
            for inner in value.values():
                walk(inner)
        elif isinstance(value, list):
            for inner in value:
                walk(inner)

    walk(document)
    assert len(found) > 20
    for reference in set(found):
        target = document
        assert reference.startswith("#/")
        for step in reference[2:].split("/"):
            target = target[step.replace("~1", "/").replace("~0", "~")]
        assert target


def test_examples_of_the_document_work_when_they_are_posted(document, http):
    posted = 0
    for name, operation in operations(document):
        if "/records/" in name:
            continue  # these need a record to be there: tested where records are
        for kind, content in operation["requestBody"]["content"].items():
            if kind != "application/json":
                continue  # pictures are tested where pictures are
            response = http.post(name.partition(" ")[2], json=content["example"])
            assert response.status_code == 200, (name, response.text)
            posted += 1
    assert posted >= len(ROUTES)


def test_answers_have_the_fields_that_the_document_promises(document, http):
    schema = document["components"]["schemas"]["Prediction"]
    answer = http.post("/api/predict", json=JOB).json()
    assert set(answer) == set(schema["properties"])
    assert set(schema["required"]) <= set(answer)


def test_the_document_tells_bounds_and_what_a_field_means(document):
    schemas = document["components"]["schemas"]
    film, _ = schemas["Application"]["properties"]["wet_film_um"]["anyOf"]
    assert (film["minimum"], film["maximum"]) == (1.0, 1000.0)
    radius = schemas["ColourInput"]["anyOf"][0]["properties"]["radius"]
    assert "uncertainty" in radius["description"]
    assert schemas["Job"]["additionalProperties"] is False


def test_no_page_of_the_service_loads_from_another_host(http):
    for path in ("/docs", "/redoc"):
        assert http.get(path).status_code == 404


def test_a_job_and_its_sibling_do_not_disturb_each_other(http):
    first = http.post("/api/predict", json=JOB).json()
    http.post("/api/predict", json=small_job(GREYISH_GREEN, patch((90, 0, 0), skin="bare")))
    assert http.post("/api/predict", json=JOB).json() == first
