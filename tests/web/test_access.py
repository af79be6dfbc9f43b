"""The access code: who needs it, how it is typed, how slowly it can be guessed."""

from __future__ import annotations

import re
from typing import Any

import pytest
from starlette.testclient import TestClient

from doors.doors import refusal
from jobs.small_jobs import small_job
from showthrough.web.app import create_app
from showthrough.web.gate.access import Access, Tries, new_code
from web.tree import read_html

SERVICE = "http://192.0.2.7:8000"
"""Addresses of RFC 5737 and RFC 3849, which are kept for documentation."""
PHONE = "192.0.2.40"
PAGE = {"accept": "text/html"}
CODE = "acdf-3479"


class Clock:
    now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def app(clock: Clock) -> Any:
    return create_app(access=Access(CODE, Tries(clock)))


def client_at(app: Any, address: str = PHONE, base_url: str = SERVICE) -> TestClient:
    return TestClient(app, base_url=base_url, client=(address, 50000), follow_redirects=False)


@pytest.fixture
def phone(app: Any) -> TestClient:
    return client_at(app)


def typed(client: TestClient, code: str, to: str = "/", **headers: str) -> Any:
    return client.post("/access", data={"code": code, "to": to}, headers=PAGE | headers)


def assert_right(answer: Any) -> None:
    assert answer.status_code == 303
    assert "set-cookie" in answer.headers


def assert_wrong(answer: Any) -> None:
    assert answer.status_code == 303
    assert "wrong=" in answer.headers["location"]
    assert "set-cookie" not in answer.headers


def asked_for(client: TestClient, path: str) -> Any:
    """The page that a browser is led to in place of another."""
    led = client.get(path, headers=PAGE)
    assert led.status_code == 303
    assert led.headers["location"].startswith("/access?to=")
    return client.get(led.headers["location"], headers=PAGE)


# --- who needs it ----------------------------------------------------------------------


@pytest.mark.parametrize("address", ["127.0.0.1", "127.9.9.9", "::1", "::ffff:127.0.0.1"])
def test_this_machine_needs_no_code(app, address):
    assert client_at(app, address, "http://localhost:8000").get("/").status_code == 200


def test_nor_does_it_under_its_address_in_the_network(app):
    assert client_at(app, "192.0.2.7").get("/").status_code == 200


@pytest.mark.parametrize(
    "address", [PHONE, "2001:db8::5", "::ffff:192.0.2.40", "testclient", "10.0.0.1"]
)
def test_every_other_machine_does_on_every_address(app, address):
    client = client_at(app, address)
    for path in (
        "/",
        "/?topcoat.colour=a3b84c",
        "/colours",
        "/assets/page.js",
        "/openapi.json",
        "/nothing",
    ):
        led = client.get(path, headers=PAGE)
        assert (led.status_code, led.headers["location"][:12]) == (303, "/access?to=%"), path
        assert client.get(path).status_code == 401, path
    assert client.post("/api/predict", json=small_job()).status_code == 401
    assert client.put("/api/later", json={}).status_code == 401


def test_forwarded_addresses_are_not_believed(phone):
    for name in ("x-forwarded-for", "forwarded", "x-real-ip"):
        assert phone.get("/", headers={name: "127.0.0.1"}).status_code == 401


def test_without_a_code_to_know_nobody_is_asked():
    assert client_at(create_app()).get("/").status_code == 200


# --- how it is asked for and typed -----------------------------------------------------


def test_a_browser_gets_a_page_that_works_without_script(phone):
    seen = asked_for(phone, "/colours?topcoat.colour=a3b84c&surface.1.colour=6b4a2a")
    tree = read_html(seen.text)
    (form,) = tree.all("form")
    assert (form.attrs["method"], form.attrs["action"]) == ("post", "/access")
    assert tree.all("script") == []
    assert "in clear" in tree.text
    for link in tree.all("link"):
        assert phone.get(link.attrs["href"]).status_code == 200, "its style and icon need no code"
    fields = {each.attrs.get("name"): each.attrs for each in form.all("input")}
    opened = typed(phone, CODE, fields["to"]["value"])
    assert_right(opened)
    assert opened.headers["location"] == "/colours?topcoat.colour=a3b84c&surface.1.colour=6b4a2a"
    assert phone.get(opened.headers["location"], headers=PAGE).status_code == 200


def test_a_program_gets_the_one_body_and_how_to_ask(phone):
    asked = phone.post("/api/predict", json=small_job())
    (problem,) = refusal(asked)
    assert (asked.status_code, problem["code"]) == (401, "http_401")
    assert "Bearer" in problem["message"]
    assert asked.headers["www-authenticate"].startswith("Bearer")  # RFC 9110, 15.5.2
    for code in (CODE, "ACDF3479"):
        given = {"authorization": f"Bearer {code}"}
        assert phone.post("/api/predict", json=small_job(), headers=given).status_code == 200
    assert phone.get("/", headers={"authorization": f"Basic {CODE}"}).status_code == 401
    assert "set-cookie" not in asked.headers


@pytest.mark.parametrize("code", [CODE, "ACDF-3479", "acdf3479", " acdf 3479 ", "AcDf–3479"])
def test_the_code_may_be_typed_as_phones_type(phone, code):
    assert_right(typed(phone, code))
    assert phone.get("/").status_code == 200


@pytest.mark.parametrize("code", ["", "acdf-347", "acdf-34799", "acdf-3478", "é", "\0", "a" * 5000])
def test_another_code_opens_nothing(phone, code):
    led = typed(phone, code, "/colours")
    assert_wrong(led)
    assert "set-cookie" not in led.headers
    tree = read_html(phone.get(led.headers["location"]).text)
    (said,) = [each.text for each in tree.all("p") if each.attrs.get("role") == "alert"]
    assert "not the code" in said
    assert tree.all("input")[0].attrs["value"] == "/colours", "it leads on to the same page"
    assert phone.get("/").status_code == 401


def test_the_cookie_is_kept_from_scripts_and_other_sites_and_ends_with_the_browser(phone):
    cookie = typed(phone, CODE).headers["set-cookie"].lower()
    parts = {part.strip() for part in cookie.split(";")}
    assert {"httponly", "samesite=strict", "path=/"} <= parts
    assert not re.search("expires|max-age|domain", cookie)
    assert "acdf" not in cookie


def test_a_session_ends_with_the_service_and_cannot_be_made_up(phone):
    typed(phone, CODE)
    again = client_at(create_app(access=Access(CODE)))
    again.cookies = phone.cookies
    assert again.get("/").status_code == 401
    for value in ("", "x", CODE, "acdf3479"):
        assert phone.get("/", headers={"cookie": f"showthrough={value}"}).status_code == 401


@pytest.mark.parametrize(
    "to",
    [
        "//example.org/",
        "/\\example.org",
        "http://example.org/",
        "x",
        "",
        "/a\r\nb: c",
        "\t//x.org",
        "/access",
    ],
)
def test_the_code_leads_to_no_other_site(phone, to):
    assert typed(phone, CODE, to).headers["location"] == "/"


def test_where_it_leads_is_written_into_the_page_as_text(phone):
    seen = asked_for(phone, '/"><script>x</script>')
    assert seen.status_code == 200
    assert "<script" not in seen.text


def test_the_page_that_asks_has_an_address_of_its_own(phone):
    assert phone.get("/access", headers=PAGE).status_code == 200
    assert "role" not in phone.get("/access").text
    typed(phone, CODE)
    assert phone.get("/access", headers=PAGE).headers["location"] == "/"


def test_another_sites_page_cannot_try_codes(phone):
    assert typed(phone, CODE, origin="http://example.org").status_code == 403


def test_a_code_is_readable_and_another_each_time():
    codes = {new_code() for _ in range(400)}
    assert len(codes) == 400
    letters = set("".join(codes)) - {"-"}
    assert all(re.fullmatch(r"[a-z0-9]{4}-[a-z0-9]{4}", code) for code in codes)
    # Pairs that are taken for each other on a screen or in a hand (from memory).
    for alike in ("0o", "1il", "2z", "5s", "8b", "uv", "gq"):
        assert len(letters & set(alike)) <= 0, alike
    assert len(letters) ** 8 > 2**32


# --- how slowly it can be guessed ------------------------------------------------------


def test_each_wrong_code_makes_the_wait_longer_and_even_the_right_one_waits(phone, clock):
    waits = []
    for _ in range(14):
        while (seen := typed(phone, "wrong")).status_code == 303:
            pass
        assert seen.status_code == 429
        waits.append(int(seen.headers["retry-after"]))
        assert f"in {waits[-1]} seconds" in seen.text
        assert typed(phone, CODE).status_code == 429
        given = {"authorization": f"Bearer {CODE}"}
        assert phone.get("/", headers=given).status_code == 429
        clock.now += waits[-1]
    assert waits == sorted(waits)
    assert waits[0] <= 2
    assert waits[4] >= 10 * waits[0]
    assert waits[-1] == waits[-2] >= 300
    assert_right(typed(phone, CODE))
    assert_wrong(typed(phone, "wrong"))  # who knows the code starts anew


def test_few_slips_cost_nothing(phone):
    for code in ("wrong", "worng"):
        assert_wrong(typed(phone, code))
    assert_right(typed(phone, CODE))


def test_wrong_bearer_codes_count_as_well(phone):
    given = {"authorization": "Bearer wrong"}
    statuses = [phone.get("/", headers=given).status_code for _ in range(5)]
    assert statuses == [401, 401, 401, 429, 429]


def test_one_machines_waits_are_not_anothers(app, phone):
    for _ in range(5):
        typed(phone, "wrong")
    assert_right(typed(client_at(app, "192.0.2.41"), CODE))


def test_all_addresses_that_one_machine_has_in_ipv6_wait_together(app):
    # A subnet of 64 bits is one machine's to choose from (RFC 4291, RFC 8981).
    seen = [typed(client_at(app, f"2001:db8::{n}"), "wrong").status_code for n in range(1, 6)]
    assert seen == [303, 303, 303, 429, 429]
    assert_right(typed(client_at(app, "2001:db8:0:1::1"), CODE))


def test_a_browser_that_knows_the_code_is_not_stopped_by_the_slips_of_its_neighbour(app, phone):
    typed(phone, CODE)
    for _ in range(5):
        typed(client_at(app), "wrong")
    assert phone.get("/").status_code == 200


def test_what_is_kept_of_wrong_codes_and_of_sessions_stays_small():
    tries, access = Tries(Clock()), Access(CODE)
    for n in range(10_000):
        tries.failed(f"10.0.{n // 256}.{n % 256}")
        access.new_session()
    assert len(tries._wrong) < 5000
    assert len(access._sessions) < 500
