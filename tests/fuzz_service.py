"""Requests made from the service's own description, sent to the service, answers held against it.

    .venv/bin/python tests/fuzz_service.py [CASES] [SEED]

Schemathesis (an independent reader of OpenAPI) makes requests that the description allows, ones
that it forbids, and ours: the description's example with some of its parts taken from those. A
photo is one of the example photos, whole or damaged, or what the generator made up. For every
answer: no server error, a declared status, a declared content type, a body that the declared
schema allows, and nothing that the description forbids may be taken.
"""

from __future__ import annotations

import io
import json
import os
import sys
import tempfile
import warnings
from collections import Counter
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import jsonschema_rs
import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from PIL import Image
from schemathesis import checks as known
from schemathesis.core.failures import FailureGroup
from starlette.testclient import TestClient

from showthrough.web.app import create_app

PHOTOS = Path(__file__).parents[1] / "examples" / "photos"
HOLDS = (
    known.not_a_server_error,
    known.status_code_conformance,
    known.content_type_conformance,
    known.response_schema_conformance,
)


@dataclass
class Account:
    """What was sent and what came of it."""

    statuses: Counter = field(default_factory=Counter)
    faults: dict = field(default_factory=dict)

    @property
    def sent(self):
        return sum(self.statuses.values())


@cache
def photos():
    """The example photos, small enough that thousands can be read."""
    out = []
    for path in sorted(PHOTOS.glob("*.*g")):
        with Image.open(path) as image:
            image.thumbnail((160, 160))
            stream = io.BytesIO()
            image.convert("RGB").save(stream, "JPEG" if path.suffix == ".jpg" else "PNG")
        out.append(stream.getvalue())
    return out


@st.composite
def pictures(draw, made):
    """Mostly a real photo; now and then one cut short or with a byte changed, or no photo."""
    kind = draw(st.sampled_from(["real"] * 6 + ["cut", "changed", "made"]))
    photo = draw(st.sampled_from(photos()))
    if kind == "cut":
        return photo[: draw(st.integers(0, len(photo)))]
    if kind == "changed":
        at = draw(st.integers(0, len(photo) - 1))
        return photo[:at] + bytes([draw(st.integers(0, 255))]) + photo[at + 1 :]
    if kind == "made" and isinstance(made, str | bytes):
        return made.encode("utf-8", "replace") if isinstance(made, str) else made
    return photo


def grafted(draw, example, made):
    """The example with a few of its parts replaced by those of the same place that were made."""
    if isinstance(example, list) and isinstance(made, list) and len(example) == len(made):
        return [grafted(draw, *pair) for pair in zip(example, made, strict=True)]
    if not (isinstance(example, dict) and isinstance(made, dict)):
        return made if draw(st.integers(0, 9)) == 0 else example
    out = dict(example)
    for key, value in made.items():
        if key in example:
            out[key] = grafted(draw, example[key], value)
        elif draw(st.integers(0, 9)) == 0:
            out[key] = value
    return out


VARIANTS = 6
"""Requests for each made body: itself, and the example with parts of it; making is slow."""


def bodies(draw, operation, media, mode):
    """Bodies for one operation."""
    made = draw(operation.as_strategy(generation_mode=mode, media_type=media)).body
    example = operation.definition.raw["requestBody"]["content"][media]["example"]
    return [made, *(grafted(draw, example, made) for _ in range(1, VARIANTS))]


def multipart(draw, body):
    """The parts of a form: the picture as a file, the request as JSON."""
    body = body if isinstance(body, dict) else {}
    parts = {}
    for name, value in body.items():
        if name != "photo":
            text = value if isinstance(value, str) else json.dumps(value)
            parts[str(name)] = (None, text.encode("utf-8", "replace"), "application/json")
    if "photo" in body or draw(st.integers(0, 9)):
        parts["photo"] = ("photo.jpg", draw(pictures(body.get("photo"))), "image/jpeg")
    return parts or {"": (None, b"", "text/plain")}


def operations():
    """Every operation of the service with each media type that it takes, and a client."""
    app = create_app()
    schema = schemathesis.openapi.from_asgi("/openapi.json", app, headers={"host": "127.0.0.1"})
    client = TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False)
    found = [result.ok() for result in schema.get_all_operations()]
    return [(o, m.media_type, client) for o in found for m in o.body]


def allowed(operation, media, body):
    """Whether the description allows a body; a picture itself it cannot describe."""
    document = operation.schema.raw_schema
    schema = operation.definition.raw["requestBody"]["content"][media]["schema"]
    if media == "multipart/form-data":
        schema = schema["properties"]["request"]
        body = body.get("request", {}) if isinstance(body, dict) else {}
    whole = {**schema, "components": document["components"]}
    return jsonschema_rs.validator_for(whole).is_valid(body)


def judged(operation, case, response):
    """The first thing wrong with an answer, or None."""
    if response.status_code == 200 and not allowed(operation, case.media_type, case.body):
        return f"{operation.path}: takes what its description forbids"
    try:
        case.validate_response(response, checks=HOLDS)
    except FailureGroup as group:
        first = group.exceptions[0]
        return f"{operation.path}: {type(first).__name__}: {str(first)[:300]}"
    return None


def fuzz(cases, start=1):
    """Send about so many requests; the same ones for the same seed."""
    account = Account()
    todo = [
        (*each, mode)
        for each in operations()
        for mode in (schemathesis.GenerationMode.POSITIVE, schemathesis.GenerationMode.NEGATIVE)
    ]
    for each in todo:
        _send_some(account, max(cases // len(todo) // VARIANTS, 1), start, *each)
    return account


def _send_some(account, count, start, operation, media, client, mode):
    @seed(start)
    @settings(
        max_examples=count,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def one(data):
        for body in bodies(data.draw, operation, media, mode):
            if media == "multipart/form-data":
                sent = {"files": multipart(data.draw, body)}
            else:
                raw = body if isinstance(body, bytes) else json.dumps(body).encode()
                sent = {"content": raw, "headers": {"content-type": media}}
            response = client.request(operation.method, operation.path, **sent)
            account.statuses[operation.path, response.status_code] += 1
            case = operation.Case(body=body, media_type=media)
            fault = judged(operation, case, schemathesis.Response.from_any(response))
            if fault is not None:
                account.faults.setdefault(fault, body)

    one()


def main():
    warnings.simplefilter("error")
    # What is sent to the records is kept: never among somebody's own.
    os.environ["SHOWTHROUGH_DATABASE"] = f"{tempfile.mkdtemp()}/records.db"
    cases, start = (int(a) for a in (*sys.argv[1:], *("5000", "1")[len(sys.argv) - 1 :]))
    account = fuzz(cases, start)
    for (path, status), count in sorted(account.statuses.items()):
        sys.stdout.write(f"{path:<16} {status} {count:>6}\n")
    sys.stdout.write(f"{account.sent} requests, {len(account.faults)} kinds of fault\n")
    for fault, body in account.faults.items():
        sys.stdout.write(f"\n{fault}\n  sent: {str(body)[:600]}\n")
    return 1 if account.faults else 0


if __name__ == "__main__":
    sys.exit(main())
