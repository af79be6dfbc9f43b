"""How soon the page answers a change: p95 over changes of the sample job, and what is sent.

    python tests/bench_page.py

The answer of a change is the sheet of a word with the whole plan beside it, as the page's own
script asks for it. Goals: 150 ms at the 95th percentile on this machine, 120 kB for the first load.
"""

from __future__ import annotations

import gzip
import statistics
import sys
import time

from starlette.testclient import TestClient

from showthrough.web.app import create_app
from showthrough.web.forms.paths import fields_of_job, query_of
from showthrough.web.pages.asked import SAMPLE_JOB
from showthrough.web.samples import surface_wall, topcoat_wall

ROUNDS = 3


def main() -> None:
    """Print both."""
    client = TestClient(create_app(), base_url="http://127.0.0.1")
    fields = fields_of_job(SAMPLE_JOB)
    home = f"/?{query_of(fields)}"
    topcoats = [s.name for row in topcoat_wall() for s in row.samples]
    changes = [
        *(fields | {"topcoat.colour": name, "word": "topcoat"} for name in topcoats),
        *(fields | {"surface.1.colour": s.name, "word": "surface.1"} for s in surface_wall()),
        *(fields | {"application.tool": t, "word": "tool"} for t in ("brush", "roller", "aerosol")),
    ]
    client.get(home)
    spent = []
    for _ in range(ROUNDS):
        for change in changes:
            start = time.perf_counter()
            assert client.get(f"/?{query_of(change)}").status_code == 200
            spent.append(1000.0 * (time.perf_counter() - start))
    marks = statistics.quantiles(spent, n=20)
    middle = statistics.median(spent)
    sys.stdout.write(f"{len(spent)} changes: median {middle:.0f} ms, p95 {marks[-1]:.0f} ms\n")
    page = client.get(home).content
    links = [f"/assets/{name}" for name in ("page.css", "page.js", "mark.svg")]
    sent = [page, *(client.get(link).content for link in links)]
    size = sum(len(gzip.compress(each)) for each in sent)
    sys.stdout.write(f"first load, gzipped: {size / 1000:.0f} kB\n")


if __name__ == "__main__":
    main()
