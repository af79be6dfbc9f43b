"""The service at its edges: fields of a photo form, HEAD, headers, clients that go away."""

from __future__ import annotations

import io
import json
import re
import signal
import socket
import time
from contextlib import closing

import pytest
from PIL import Image

from doors.doors import JSON, client, refusal
from doors.test_serve import started  # noqa: F401 - a fixture
from jobs.small_jobs import small_job
from showthrough.web.api import jobs as api
from showthrough.web.shell import PLACES

PHOTO_ROUTES = ("chip", "surface", "drawdown", "preview")
EXAMPLES = {
    "chip": {},
    "surface": {"cards": []},
    "drawdown": {"wet_film_um": 100, "volume_solids": 0.4, "regions": {}},
    "preview": {"job": small_job(), "areas": [{"region": [0.1, 0.1, 0.9, 0.9]}]},
}


@pytest.fixture(scope="module")
def http():
    return client()


def picture():
    stream = io.BytesIO()
    Image.new("RGB", (64, 64), (120, 90, 60)).save(stream, "PNG")
    return stream.getvalue()


def posted(http, route, request, name="my \x1b photo.png", content=None, **more):
    files = {"photo": (name, picture() if content is None else content)}
    return http.post(f"/api/{route}", data={"request": request, **more}, files=files)


# --- the form of a photo ---------------------------------------------------------------


@pytest.mark.parametrize("route", ["chip", "surface", "preview"])
def test_a_fault_of_the_picture_is_told_at_the_forms_own_field(route, http):
    response = posted(http, route, json.dumps(EXAMPLES[route]), content=b"no picture")
    assert response.status_code == 422
    assert [p["field"] for p in refusal(response)] == ["photo"]


@pytest.mark.parametrize("route", PHOTO_ROUTES)
@pytest.mark.parametrize("request_", ["[]", "0", '""', "null", "false", "[1]", "3"])
def test_a_request_that_is_no_table_is_refused_by_every_photo_route(route, request_, http):
    response = posted(http, route, request_)
    assert response.status_code == 422
    (problem,) = refusal(response)
    assert (problem["field"], "must be a table" in problem["message"]) == ("request", True)


@pytest.mark.parametrize("route", PHOTO_ROUTES)
def test_a_part_that_nobody_knows_is_refused_by_every_photo_route(route, http):
    response = posted(http, route, json.dumps(EXAMPLES[route]), requst="{}")
    assert response.status_code == 422
    assert [p["field"] for p in refusal(response)] == ["requst"]


def test_what_the_routes_take_is_what_their_description_says(http):
    paths = http.get("/openapi.json").json()["paths"]
    for route in PHOTO_ROUTES:
        content = paths[f"/api/{route}"]["post"]["requestBody"]["content"]
        # A drawdown may be read by an instrument: a request alone, and no picture.
        assert ("application/json" in content) is (route == "drawdown")
        assert content["multipart/form-data"]["schema"]["additionalProperties"] is False
    example = paths["/api/drawdown"]["post"]["requestBody"]["content"]["application/json"]
    assert http.post("/api/drawdown", json=example["example"]).status_code == 200


def test_the_short_forms_of_a_colour_and_of_a_place_are_described(http):
    schemas = http.get("/openapi.json").json()["components"]["schemas"]
    kinds = [each.get("type") for each in schemas["ColourInput"]["anyOf"]]
    assert kinds == ["object", "string", "array"]
    region = schemas["CardInput"]["properties"]["region"]["anyOf"]
    assert {"type": "number"} in region[0]["prefixItems"]


def test_an_empty_shortlist_of_finishes_stops_no_route(http):
    job = small_job(finishes=[])
    for route, body in (("predict", job), ("palette", job), ("sweep", {"job": job})):
        assert http.post(f"/api/{route}", json=body).status_code == 200


# --- what holds for every address ------------------------------------------------------

ASSETS = ("/assets/page.css", "/assets/page.js", "/assets/mark.svg")


@pytest.mark.parametrize(
    "path", [*(place.address for place in PLACES), *ASSETS, "/openapi.json", "/nothing"]
)
def test_head_is_get_without_its_body(path, http):
    # RFC 9110, 9.3.2: the same header fields as GET, and no content.
    get, head = http.get(path), http.head(path)
    assert head.status_code == get.status_code
    assert head.content == b""
    assert head.headers == get.headers
    assert (get.status_code == 200) is (path != "/nothing")


def test_head_of_a_route_that_takes_a_post_is_still_405(http):
    response = http.head("/api/predict")
    assert (response.status_code, response.headers["allow"]) == (405, "POST")


@pytest.mark.parametrize(
    ("method", "path", "body", "status"),
    [
        ("POST", "/api/predict", small_job(), 200),
        ("POST", "/api/predict", {}, 422),
        ("GET", "/api/predict", None, 405),
        ("GET", "/api/nothing", None, 404),
        ("POST", "/api/predict", " " * 1_000_001, 413),
        ("GET", "/openapi.json", None, 200),
        ("GET", "/", None, 200),
        ("GET", "/assets/none", None, 404),
        ("POST", "/", None, 200),
    ],
)
def test_no_browser_guesses_what_an_answer_is(method, path, body, status, http):
    content = None if body is None else json.dumps(body)
    response = http.request(method, path, content=content, headers=JSON if content else None)
    assert (response.status_code, response.headers["x-content-type-options"]) == (status, "nosniff")


def test_not_even_what_a_fault_is(http, monkeypatch):
    monkeypatch.setattr(api, "predict", lambda _job: 1 / 0)
    response = http.post("/api/predict", json=small_job())
    assert (response.status_code, response.headers["x-content-type-options"]) == (500, "nosniff")


# --- clients that go away --------------------------------------------------------------

FORM = "multipart/form-data; boundary=x"
UPLOADS = (
    ("/api/predict", "application/json"),
    ("/api/chip", FORM),
    ("/", "application/x-www-form-urlencoded"),
    ("/jobs/open", FORM),
    ("/photo/chip", FORM),
)


def half_sent(port, path, kind):
    sender = socket.create_connection(("127.0.0.1", port))
    lines = (f"POST {path} HTTP/1.1", "Host: localhost", f"Content-Type: {kind}")
    head = "\r\n".join((*lines, "Content-Length: 9999", "", ""))
    sender.sendall(head.encode() + b"--x")
    return sender


def answered(port):
    """Whether the service answers a whole request; it has then seen what came before it."""
    with closing(socket.create_connection(("127.0.0.1", port), timeout=20)) as asking:
        asking.sendall(b"HEAD / HTTP/1.0\r\nHost: localhost\r\n\r\n")
        return asking.recv(12) == b"HTTP/1.1 200"


def test_clients_that_go_and_a_half_sent_body_at_the_end_leave_a_line_at_most(started):  # noqa: F811 - a fixture
    process, line = started()
    port = int(re.search(r":(\d+)/", line)[1])
    for path, kind in UPLOADS:
        with closing(half_sent(port, path, kind)):
            time.sleep(0.1)  # so that the head is read before the client goes
        assert answered(port)
    with closing(half_sent(port, *UPLOADS[0])):
        assert answered(port)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=20)
    assert (process.returncode, out) == (0, "")
    assert "Traceback" not in err
    assert len(err.splitlines()) <= 1
