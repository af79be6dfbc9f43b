"""What stands before every route: whose page asks, in which form; how the service says no."""

from __future__ import annotations

import gzip
import json
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from starlette.testclient import TestClient

from doors.doors import HERE, JSON, refusal
from jobs.small_jobs import small_job
from showthrough.web.api import jobs as api
from showthrough.web.app import create_app
from web.tree import read_html

PAGE = {"accept": "text/html,application/xhtml+xml"}
FIELDS = {"content-type": "application/x-www-form-urlencoded"}


def client_of(app: Any, base_url: str = HERE, **options: Any) -> TestClient:
    return TestClient(app, base_url=base_url, follow_redirects=False, **options)


def later_route(app: FastAPI) -> None:
    """Routes that nobody has thought of yet; they read nothing and check nothing."""

    for method in ("POST", "PUT", "PATCH", "DELETE"):

        @app.api_route("/api/later", methods=[method], operation_id=f"later {method}")
        def later() -> str:
            return "done"

    @app.post("/later")
    def page() -> str:
        return "done"


@pytest.fixture(scope="module")
def app() -> FastAPI:
    made = create_app()
    later_route(made)
    return made


@pytest.fixture(scope="module")
def http(app: FastAPI) -> TestClient:
    return client_of(app)


def writing(app: FastAPI) -> list[tuple[str, str]]:
    """Method and address of every route that may change or compute something for a body."""
    found = [
        (method, route.path)
        for route in iter_route_contexts(app.routes)
        for method in sorted(route.methods or ())
        if method not in {"GET", "HEAD", "OPTIONS"}
    ]
    assert len(found) > 20
    assert {"/api/predict", "/api/chip", "/", "/colours", "/api/later"} <= {p for _, p in found}
    return found


# --- a law for every route -------------------------------------------------------------


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://example.org"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:81"},  # another service of this machine
        {"origin": "http://127.0.0.1.example.org"},
        {"origin": "http://localhost"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"origin": "http://127.0.0.1", "sec-fetch-site": "cross-site"},
    ],
)
def test_no_route_takes_what_another_sites_page_sends(app, http, headers):
    for method, path in writing(app):
        for kind in (JSON, FIELDS):
            response = http.request(method, path, content=b"{}", headers=kind | headers)
            assert (path, response.status_code) == (path, 403)
            assert refusal(response)[0]["field"].lower() in headers


@pytest.mark.parametrize(
    "host",
    [
        "example.org",
        "example.org:80",
        "127.0.0.1.example.org",
        "127.0.0.2",
        "192.0.2.1",
        "[2001:db8::1]",
        "localhost.",
        "testserver",
        "127.0.0.1:80:80",
        "",
    ],
)
def test_no_address_is_served_under_another_name(app, http, host):
    # A name of an attacker that leads to this machine would make its pages ours: DNS rebinding.
    for method, path in [*writing(app), ("GET", "/"), ("GET", "/openapi.json"), ("PUT", "/none")]:
        response = http.request(method, path, content=b"{}", headers=JSON | {"host": host})
        assert (path, response.status_code) == (path, 421)
        assert refusal(response)[0]["field"] == "Host"


@pytest.mark.parametrize("kind", ["text/plain", "text/json", "application/jsonx", "json", None])
def test_no_route_takes_a_body_that_does_not_call_itself_what_it_is(app, http, kind):
    headers = {} if kind is None else {"content-type": kind}
    for method, path in writing(app):
        response = http.request(method, path, content=b"{}", headers=headers)
        assert (path, response.status_code) == (path, 415)
        (problem,) = refusal(response)
        assert problem["field"] == "Content-Type"
        takes = "application/json" if path.startswith("/api/") else "multipart/form-data"
        assert takes in problem["message"]
        assert takes in response.headers["accept"]


def test_the_api_takes_no_form_but_where_its_description_says_so(app, http):
    paths = http.get("/openapi.json").json()["paths"]
    for method, path in writing(app):
        if not path.startswith("/api/"):
            assert http.request(method, path, content=b"{}", headers=JSON).status_code == 415
            continue
        described = paths[path][method.lower()].get("requestBody", {"content": {}})["content"]
        headers = {"content-type": "multipart/form-data; boundary=x"}
        refused = http.request(method, path, content=b"--x--", headers=headers).status_code == 415
        assert (path, refused) == (path, "multipart/form-data" not in described)


def test_every_refusal_of_the_gate_is_in_the_description(http):
    for path, methods in http.get("/openapi.json").json()["paths"].items():
        for operation in methods.values():
            told = {"401", "403", "408", "415", "421", "429", "503"} - set(operation["responses"])
            assert (path, told) == (path, set())


# --- what is let in --------------------------------------------------------------------


@pytest.mark.parametrize(
    "headers",
    [
        {},  # a program
        {"origin": "http://127.0.0.1", "sec-fetch-site": "same-origin"},
        {"origin": "http://127.0.0.1"},  # a page over a network: no Sec-Fetch-Site there
        {"sec-fetch-site": "none"},
        {"host": "localhost:8000", "origin": "http://localhost:8000"},
        {"host": "LOCALHOST:8000", "origin": "http://localhost:8000"},
        {"host": "[::1]:8000", "origin": "http://[::1]:8000"},
        {"content-type": "application/json; charset=utf-8"},
        {"content-type": "application/vnd.some.thing+json"},
    ],
)
def test_our_own_pages_and_programs_are_served(http, headers):
    body = json.dumps(small_job())
    assert http.post("/api/predict", content=body, headers=JSON | headers).status_code == 200


def test_links_from_other_sites_lead_here(http):
    headers = {"sec-fetch-site": "cross-site", "origin": "http://example.org"}
    assert http.get("/", headers=headers).status_code == 200


def test_it_is_served_under_the_address_that_a_connection_came_to_and_under_a_name_given():
    app = create_app(["Bench.example"])
    for base in ("http://192.0.2.7:8000", "http://[2001:db8::7]"):
        with client_of(app, base) as there:
            assert there.get("/api/x").status_code == 404
            assert there.get("/api/x", headers={"host": "192.0.2.8"}).status_code == 421
            assert there.get("/api/x", headers={"host": "bench.example:1"}).status_code == 404


def test_a_request_without_a_body_needs_no_kind(http):
    assert http.delete("/api/later").status_code == 200
    assert http.delete("/api/later", headers={"content-type": "text/plain"}).status_code == 415


# --- how it says no --------------------------------------------------------------------

REFUSED = [
    ("GET", "/api/nothing", {}, b"", 404),
    ("GET", "/assets/nothing", {}, b"", 404),
    ("GET", "/nothing", {}, b"", 404),
    ("GET", "/api/predict", {}, b"", 405),
    ("PUT", "/", FIELDS, b"", 405),
    ("POST", "/api/predict", JSON, b" " * 1_000_001, 413),
    ("POST", "/api/predict", JSON, b" " * 5_000_000, 413),
    ("POST", "/colours", FIELDS, b"a=" + b" " * 5_000_000, 413),
    ("POST", "/api/predict", {"content-type": "text/plain"}, b"x", 415),
    ("POST", "/", {"content-type": "text/plain"}, b"x", 415),
    ("POST", "/api/predict", JSON, b"{", 422),
    ("POST", "/", {"content-type": "multipart/form-data; boundary=x"}, b"y", 422),
    ("POST", "/", FIELDS | {"origin": "http://example.org"}, b"y", 403),
    ("GET", "/", {"host": "example.org"}, b"", 421),
]


@pytest.mark.parametrize(("method", "path", "headers", "body", "status"), REFUSED)
def test_a_program_gets_a_body_and_a_browser_a_page(http, method, path, headers, body, status):
    plain = http.request(method, path, content=body, headers=headers)
    assert plain.status_code == status
    assert refusal(plain)
    assert plain.headers["cache-control"] == "no-store"
    seen = http.request(method, path, content=body, headers=headers | PAGE)
    assert seen.status_code == status
    check_page(seen)


def check_page(seen: Any) -> None:
    assert seen.headers["content-type"] == "text/html; charset=utf-8"
    tree = read_html(seen.text)
    (heading,) = tree.all("h1")
    assert heading.text
    assert len(tree.all("p")[-1].text) > 10
    assert any(link.attrs.get("href") == "/" for link in tree.all("a"))
    check_headers(seen)


def check_headers(seen: Any) -> None:
    policy = dict(
        each.strip().partition(" ")[::2]
        for each in seen.headers["content-security-policy"].split(";")
    )
    assert policy["default-src"] == "'none'"
    assert policy["base-uri"] == policy["frame-ancestors"] == "'none'"
    assert policy["style-src"] == policy["script-src"] == policy["form-action"] == "'self'"
    assert "unsafe" not in seen.headers["content-security-policy"]
    assert seen.headers["referrer-policy"] == "same-origin"
    assert seen.headers["x-content-type-options"] == "nosniff"
    assert "cache-control" in seen.headers


def test_a_refusal_shows_what_was_sent_as_text_only(http):
    kind = {"content-type": "<script>alert(1)</script>"}
    seen = http.post("/api/predict", content=b"x", headers=kind | PAGE)
    assert "<script" not in seen.text
    assert "<b>" not in http.get("/<b>x</b>", headers=PAGE).text


@pytest.mark.parametrize("accept", [{}, PAGE])
def test_a_fault_of_our_own_is_told_like_any_other_and_shows_nothing_inside(
    http, monkeypatch, caplog, accept
):
    monkeypatch.setattr(api, "predict", lambda _job: {}["the cellar"])
    seen = http.post("/api/predict", json=small_job(), headers=accept)
    assert seen.status_code == 500
    assert seen.headers["x-content-type-options"] == "nosniff"
    assert "cellar" not in seen.text
    assert "the cellar" in caplog.text
    if accept:
        check_page(seen)
    else:
        assert refusal(seen)[0]["code"] == "internal"


# --- headers of answers ----------------------------------------------------------------


def test_every_page_that_comes_is_bound_by_the_strict_policy(app, http):
    pages = 0
    for route in iter_route_contexts(app.routes):
        if "GET" not in (route.methods or ()) or "{" in route.path:
            continue
        seen = http.get(route.path, headers=PAGE)
        assert seen.status_code in {200, 422}, route.path  # an empty question is to put right
        assert seen.headers["x-content-type-options"] == "nosniff"
        assert "cache-control" in seen.headers
        if seen.headers["content-type"].startswith("text/html"):
            check_headers(seen)
            pages += 1
    assert pages >= 8


def test_the_sheet_has_its_own_policy_which_lets_nothing_load_or_run(http):
    policy = http.post("/api/sheet", json=small_job()).headers["content-security-policy"]
    assert policy.startswith("default-src 'none'; style-src 'unsafe-inline'; ")
    assert "script-src" not in policy
    for rule in ("form-action", "base-uri", "frame-ancestors"):
        assert f"{rule} 'none'" in policy


def test_answers_to_programs_are_kept_by_nobody_and_pages_asked_for_anew(http):
    assert http.post("/api/predict", json=small_job()).headers["cache-control"] == "no-store"
    assert http.get("/").headers["cache-control"] == "private, no-cache"


def test_large_answers_are_packed_for_who_can_unpack_them(http):
    job = small_job()

    def asked(packing: str) -> Any:
        headers = JSON | {"accept-encoding": packing}
        request = http.build_request("POST", "/api/predict", json=job, headers=headers)
        response = http.send(request, stream=True)
        return response, b"".join(response.iter_raw())

    plain, whole = asked("identity")
    packed, small = asked("gzip")
    assert "content-encoding" not in plain.headers
    assert packed.headers["content-encoding"] == "gzip"
    assert gzip.decompress(small) == whole
    assert len(small) < len(whole) / 2
    assert plain.headers["vary"] == packed.headers["vary"] == "Accept-Encoding"


def test_small_answers_and_pictures_are_not_packed(http):
    small = http.get("/api/nothing", headers={"accept-encoding": "gzip"})
    assert "content-encoding" not in small.headers
    app = create_app()

    @app.get("/api/picture")
    def picture() -> Any:
        return api.Response(bytes(5000), media_type="image/png")

    seen = client_of(app).get("/api/picture", headers={"accept-encoding": "gzip"})
    assert (len(seen.content), "content-encoding" in seen.headers) == (5000, False)


def test_a_browser_that_looks_for_an_icon_finds_one(http):
    seen = http.get("/favicon.ico")
    assert seen.status_code == 200
    assert seen.headers["content-type"] == "image/svg+xml"
    assert seen.content.startswith(b"<svg")
