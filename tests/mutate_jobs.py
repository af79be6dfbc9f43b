"""Sound jobs spoilt in one to three places, sent through every door.

    .venv/bin/python tests/mutate_jobs.py [JOBS] [SEED]

For each job the library answers or raises the project's InputError; it warns of nothing, takes
no more than ``MOST_SECONDS`` of processor time and ``MOST_BYTES`` of memory, and no number of an
answer is NaN. One job in ``SHARE`` goes through the command line and the service as well.
"""

from __future__ import annotations

import contextlib
import copy
import io
import json
import math
import random
import resource
import sys
import tempfile
import time
import warnings
from collections import Counter
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from starlette.testclient import TestClient

from doors.doors import HERE, JSON
from jobs.small_jobs import toml_of
from reference.random_whole_jobs import random_whole_jobs
from showthrough import InputError, palette_for, plan, predict, soften, sweep
from showthrough.cli.main import main as command_line
from showthrough.errors import UNSAFE, shown
from showthrough.film.drawdown.table import paint_to_table
from showthrough.film.hiding import paint_from_colour
from showthrough.jobs.schema.job import EXAMPLE_JOB
from showthrough.web.app import create_app

MOST_SECONDS = 2.0
MOST_BYTES = 1_000_000_000
SHARE = 10
USES = {
    "predict": predict, "soften": soften, "palette": palette_for, "sweep": sweep, "plan": plan,
}  # fmt: skip

GREY_PAINT = paint_to_table(paint_from_colour([0.3] * 31), "grey")
SOUND = (
    EXAMPLE_JOB,
    {"topcoat": {"colour": "lab(66 -24 55)"}, "surface": [{"colour": "brown laminate"}]},
    {
        "title": "drawers",
        "topcoat": {
            "name": "greyish green",
            "colour": {"lch": [65, 14, 135], "illuminant": "D50", "radius": 1.5},
            "label": {"contrast_ratio": 0.97, "spreading_rate_m2_l": 10, "tested": "base"},
            "sheen": "satin",
        },
        "surface": [
            {"name": "a", "colour": {"munsell": "5YR 4/4"}, "share": 0.5, "bleeds": True},
            {"name": "b", "colour": {"lrv": 40}, "share": 0.5, "sanded_through": True},
        ],
        "application": {
            "tool": "brush",
            "paint_used": {"g": 140, "area_m2": 1.2, "density_g_ml": 1.3, "coats": 1},
            "sanding_loss": 0.1,
            "evenness_cv": 0.2,
        },
        "undercoat": [{"name": "grey can", "colour": "N 6", "wet_film_um": 80, "blocks": True}],
        "finishes": ["606", "613"],
        "second_colour": [{"name": "legs", "colour": "#445566", "kind": "paint"}],
    },
    {
        "topcoat": {"paint": GREY_PAINT, "volume_solids": 0.4},
        "surface": [{"colour": {"spectrum": {"values": [0.2 + i / 100 for i in range(31)]}}}],
        "application": {"tool": "roller", "transfer_efficiency": 0.9},
    },
    *random_whole_jobs(8, 3, 2),
)

TEXTS = ("", " ", "x" * 300, "x\x1b[2J\x9b", "\u202egnp", "\ud800", "\0", "nan", "45", "true", "é")
NUMBERS = (0, -1, 1, 2, 0.05, 1e-300, 1e-9, 5e-324, 1e9, 1e300, -1e300, 10**400, 10**5000)
ODD = (math.nan, math.inf, -math.inf, -0.0, True, False, None)


def nested(depth, wrap):
    """Something inside something, so many times."""
    out = 1
    for _ in range(depth):
        out = wrap(out)
    return out


def absurd(rng):  # noqa: PLR0911 - a table of cases reads best flat
    """A value that hardly any field takes."""
    kind = rng.randrange(8)
    if kind == 0:
        return rng.choice(TEXTS)
    if kind in {1, 2}:
        return rng.choice(NUMBERS)
    if kind == 3:
        return rng.choice(ODD)
    if kind == 4:
        return nested(rng.choice((1, 5, 200, 900)), rng.choice((lambda v: [v], lambda v: {"a": v})))
    if kind == 5:
        return [rng.choice((*TEXTS, *NUMBERS, *ODD))] * rng.choice((1, 3, 31, 2000, 20_000))
    if kind == 6:
        return {f"k{i}": i for i in range(rng.choice((0, 1, 5000)))}
    return rng.uniform(-2, 120)


def places(value, path=()):
    """The path of everything in a job."""
    if path:
        yield path
    if isinstance(value, dict | list) and len(path) < 8:
        items = value.items() if isinstance(value, dict) else enumerate(value[:40])
        for key, inner in list(items)[:40]:
            yield from places(inner, (*path, key))


def spoil(job, rng):
    """One change of a job, in place."""
    path = rng.choice(list(places(job)))
    holder = job
    for key in path[:-1]:
        holder = holder[key]
    last, kind = path[-1], rng.randrange(9)
    value = holder[last]
    if kind == 0:
        del holder[last]
    elif kind == 1 and isinstance(value, list) and value:
        holder[last] = (value * 3000)[: rng.choice((2, 25, 61, 3000))]
    elif kind == 2 and isinstance(value, dict):
        value[rng.choice((*TEXTS, "colour", "name", "share", "label", "lab"))] = absurd(rng)
    elif kind == 3 and isinstance(value, int | float) and not isinstance(value, bool):
        holder[last] = value * rng.choice((-1, 0, 0.01, 0.5, 2, 10, 1e6))
    elif kind == 4:
        holder[last] = shown(value)
    elif kind == 5 and isinstance(value, dict | list):
        holder[last] = copy.deepcopy(job)
    elif kind == 6 and isinstance(value, list):
        rng.shuffle(value)
    else:
        holder[last] = absurd(rng)


def bend(job, rng):
    """One change that may well leave a sound job: a number or two moved, in place."""
    paths = list(places(job))
    for path in rng.sample(paths, min(len(paths), 4)):
        holder = job
        for key in path[:-1]:
            holder = holder[key]
        value = holder[path[-1]]
        if isinstance(value, float) or (type(value) is int and abs(value) < 1e6):
            holder[path[-1]] = value * rng.choice((0.2, 0.5, 0.9, 1.1, 1.5, 3.0))


def spoilt(rng):
    """A sound job with one to three changes, some of them mild."""
    job = copy.deepcopy(rng.choice(SOUND))
    for _ in range(rng.randint(1, 3)):
        if job:
            (bend if rng.random() < 0.7 else spoil)(job, rng)
    return job


@dataclass
class Account:
    """What was tried and what came of it."""

    outcomes: Counter = field(default_factory=Counter)
    faults: dict = field(default_factory=dict)
    slowest: float = 0.0

    def wrong(self, what, job):
        self.faults.setdefault(what, job)


def numbers(value):
    """Every number of an answer."""
    if isinstance(value, dict):
        for inner in value.values():
            yield from numbers(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from numbers(inner)
    elif isinstance(value, float):
        yield value


def by_library(account, use, job):
    """The answer's own dump, or the error; every fault is noted."""
    began = time.process_time()
    try:
        answer = USES[use](job).model_dump()
        account.outcomes[use, "answered"] += 1
        if not all(math.isfinite(n) for n in numbers(answer)):
            account.wrong(f"{use}: a number of the answer is not finite", job)
    except InputError as error:
        answer = error
        account.outcomes[use, "refused"] += 1
        if any(UNSAFE.search(p.value + p.field) for p in error.problems):
            account.wrong(f"{use}: an unsafe sign in a problem", job)
    except BaseException as error:  # noqa: BLE001 - whatever else comes is what is looked for
        answer = None
        account.wrong(f"{use}: {type(error).__name__}: {str(error)[:200]}", job)
    took = time.process_time() - began
    account.slowest = max(account.slowest, took)
    if took > MOST_SECONDS:
        account.wrong(f"{use}: took {took:.1f} s", job)
    return answer


def by_command(account, use, job, expected, folder):
    """The same through the command line; TOML has no null and no half of a surrogate pair."""
    path = folder / "job.toml"
    with contextlib.suppress(ValueError, RecursionError):
        text = toml_of(job)
        if "null" in text:
            return
        path.write_text(text, encoding="utf-8", errors="replace")
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = command_line([use, str(path)])
        said = out.getvalue() + err.getvalue()
        if code not in {0, 2} or "Traceback" in said or UNSAFE.search(said.replace("\n", "")):
            account.wrong(f"{use} on the line: code {code}", job)
        if code == 0 and isinstance(expected, InputError):
            account.wrong(f"{use} on the line: takes what the library refuses", job)
        account.outcomes[f"line {use}", code] += 1


def by_http(account, use, job, expected, client):
    """The same through the service."""
    with contextlib.suppress(ValueError, RecursionError):
        body = json.dumps(job if use in {"predict", "palette", "plan"} else {"job": job})
        response = client.post(f"/api/{use}", content=body, headers=JSON)
        allowed = {200} if not isinstance(expected, InputError) else {413, 422}
        if response.status_code not in allowed | {413}:
            account.wrong(f"{use} over HTTP: status {response.status_code}", job)
        account.outcomes[f"http {use}", response.status_code] += 1


def mutate(jobs, seed=1, watched=None):
    """Try so many spoilt jobs, the same ones for the same seed."""
    rng, account = random.Random(seed), Account()  # noqa: S311 - a repeatable choice is wanted
    client = TestClient(create_app(), base_url=HERE, raise_server_exceptions=False)
    with tempfile.TemporaryDirectory() as name, warnings.catch_warnings():
        warnings.simplefilter("error")
        for number in range(jobs):
            job = spoilt(rng)
            use = list(USES)[number % len(USES)]
            expected = by_library(account, use, job)
            if number // len(USES) % SHARE == 0 and expected is not None:
                by_command(account, use, job, expected, Path(name))
                by_http(account, use, job, expected, client)
            if watched is not None:
                watched(account, job)
    return account


def memory_watch():
    """Notes a job after which the process held too much."""

    def look(before, account, job):
        now = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
        if now - before > MOST_BYTES:
            account.wrong(f"took {(now - before) / 1e6:.0f} MB", job)

    return partial(look, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024)


def main():
    jobs, seed = (int(a) for a in (*sys.argv[1:], *("3000", "1")[len(sys.argv) - 1 :]))
    account = mutate(jobs, seed, memory_watch())
    for (use, outcome), count in sorted(account.outcomes.items(), key=str):
        sys.stdout.write(f"{use:<14} {outcome!s:<10} {count:>6}\n")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    sys.stdout.write(f"slowest {account.slowest:.2f} s, peak {peak:.0f} MB\n")
    sys.stdout.write(f"{jobs} jobs, {len(account.faults)} kinds of fault\n")
    for fault, job in account.faults.items():
        sys.stdout.write(f"\n{fault}\n  {shown(job, 2000)}\n")
    return 1 if account.faults else 0


if __name__ == "__main__":
    sys.exit(main())
