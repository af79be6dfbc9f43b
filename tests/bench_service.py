"""Memory and waits of the service under load. Run by hand.

    .venv/bin/python tests/bench_service.py

Starts a service of its own. Eight 95 MB uploads at once: peak memory beside that of one. Photos
beside 32 connections that ask for the example job without a pause: how many times as long as alone
a photo takes, and a request for a job beside eight photos.
"""

# ruff: noqa: T201 - prints its table

from __future__ import annotations

import http.client
import io
import json
import re
import statistics
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import contextmanager, suppress
from pathlib import Path

import numpy as np
from PIL import Image

from showthrough.jobs.schema.job import EXAMPLE_JOB

SERVE = (sys.executable, "-m", "showthrough.cli", "serve", "--port", "0")
JSON = {"Content-Type": "application/json"}
FORM = {"Content-Type": "multipart/form-data; boundary=x"}
JOB = json.dumps(EXAMPLE_JOB).encode()
BESIDE = 32
LARGE = 95_000_000


@contextmanager
def service():
    """Process and port of a service."""
    process = subprocess.Popen(SERVE, stdout=subprocess.PIPE, text=True)
    try:
        yield process, int(re.search(r":(\d+)/", process.stdout.readline())[1])
    finally:
        process.kill()
        process.communicate()


def peak_mb(process):
    """Greatest memory so far (Linux)."""
    text = Path(f"/proc/{process.pid}/status").read_text(encoding="ascii")
    return int(re.search(r"VmHWM:\s+(\d+)", text)[1]) / 1000


def form(photo):
    """A multipart body with a photo."""
    head = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="p.jpg"\r\n\r\n'
    return head + photo + b"\r\n--x--\r\n"


def photo():
    """Twelve megapixels."""
    rng = np.random.default_rng(0)
    small = Image.fromarray(rng.integers(0, 255, (30, 40, 3), dtype=np.uint8))
    out = io.BytesIO()
    small.resize((4000, 3000), Image.Resampling.BICUBIC).save(out, "JPEG", quality=90)
    return out.getvalue()


def post(port, path, body, headers):
    """Status and seconds of one request."""
    start = time.perf_counter()
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
    try:
        connection.request("POST", path, body, headers)
        status = connection.getresponse().status
    finally:
        connection.close()
    return status, time.perf_counter() - start


def at_once(count, port, *request):
    """The same request so many times at once."""
    found = []
    threads = [
        threading.Thread(target=lambda: found.append(post(port, *request))) for _ in range(count)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


@contextmanager
def crowd(count, port, *request):
    """So many connections that ask again as soon as they are answered."""
    stop = threading.Event()
    statuses = Counter()

    def ask():
        while not stop.is_set():
            with suppress(OSError, http.client.HTTPException):
                statuses[post(port, *request)[0]] += 1

    threads = [threading.Thread(target=ask, daemon=True) for _ in range(count)]
    for thread in threads:
        thread.start()
    time.sleep(2.0)
    yield statuses
    stop.set()
    for thread in threads:
        thread.join()


def seconds(count, port, *request):
    """Median and worst of requests one after the other, and how many were answered with 200."""
    found = [post(port, *request) for _ in range(count)]
    times = [each for _, each in found]
    return statistics.median(times), max(times), sum(status == 200 for status, _ in found)


def uploads():
    """Eight large bodies that are no photo."""
    body = form(bytes(LARGE))
    request = ("/api/chip", body, FORM)
    peaks = {}
    for count in (1, 8):
        with service() as (process, port):
            post(port, "/api/chip", form(photo()), FORM)
            idle = peak_mb(process)
            statuses = Counter(status for status, _ in at_once(count, port, *request))
            peaks[count] = peak_mb(process)
            print(
                f"{count} x 95 MB: peak {peaks[count]:.0f} MB ({idle:.0f} before), {dict(statuses)}"
            )
    print(f"eight beside one: {peaks[8] / peaks[1]:.1f} times the memory")


def waits():
    """Photos beside jobs, and jobs beside photos."""
    picture, job = ("/api/chip", form(photo()), FORM), ("/api/predict", JOB, JSON)
    with service() as (_, port):
        post(port, *picture)
        alone = {name: seconds(3, port, *each)[0] for name, each in (("p", picture), ("j", job))}
        with crowd(BESIDE, port, *job) as statuses:
            middle, worst, good = seconds(4, port, *picture)
        print(
            f"photo beside {BESIDE} connections: {middle / alone['p']:.0f} times as long as alone, "
            f"at worst {worst / alone['p']:.0f} ({worst:.1f} s), {good} of 4 answered; "
            f"the crowd: {dict(statuses)}"
        )
        with crowd(8, port, *picture) as statuses:
            middle, worst, good = seconds(10, port, *job)
        print(
            f"job beside 8 photos: {middle / alone['j']:.0f} times as long as alone, "
            f"at worst {worst / alone['j']:.0f} ({worst:.1f} s), {good} of 10 answered; "
            f"the crowd: {dict(statuses)}"
        )
        print(f"alone: a photo is {alone['p'] / alone['j']:.1f} jobs long")


def main():
    """Both."""
    uploads()
    waits()


if __name__ == "__main__":
    main()
