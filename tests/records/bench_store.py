"""How long a store of 10,000 jobs takes to be listed and searched: processor time, and ratios.

    .venv/bin/python tests/records/bench_store.py [JOBS] [ADDRESS]

Beside each the bare query of Python's own driver, where it is SQLite: what the layers above cost.
"""

from __future__ import annotations

import random
import sqlite3
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from showthrough.records.store.kept import jobs
from showthrough.records.store.opening.opened import Store, open_store, time_text
from showthrough.records.store.shape.tables import ANSWER, CUSTOMER, JOB, JOB_VERSION
from showthrough.records.store.shape.texts import new_uuid, to_json

NOW = datetime(2026, 5, 31, 8, 30, tzinfo=UTC)
PIECES = ("linen cupboard", "chair", "chest of drawers", "bedside table", "shelf", "wardrobe")
COLOURS = ("yellow-green", "deep red", "pale grey", "warm white", "dark blue", "greyish green")
TIMES = 15


def fill(store: Store, count: int) -> None:
    """Invented jobs, each with three versions and an answer."""
    jobs.add(store, _job("first"))
    with store.writing() as connection:
        template = connection.execute(ANSWER.select()).one()
        people = [
            {"id": i, "uuid": new_uuid(), "name": f"Ida Invented {i}", "version": 1,
             "created": "x", "changed": "x"} for i in range(1, 301)
        ]  # fmt: skip
        connection.execute(CUSTOMER.insert(), people)
        chance = random.Random(1)  # noqa: S311 - invented data
        rows: tuple[list, list, list] = ([], [], [])
        for i in range(2, count + 1):
            moment = time_text(NOW - timedelta(minutes=i))
            title = f"{chance.choice(PIECES)} {i}"
            colour, person = chance.choice(COLOURS), chance.randrange(1, 301)
            rows[0].append(
                {"id": i, "uuid": new_uuid(), "title": title, "piece": "from the attic",
                 "customer_id": person, "state": "open", "colour_name": colour,
                 "colour_hex": "#94aa35", "version": 3, "created": moment, "changed": moment,
                 "search": f"{title}\nfrom the attic\nida invented {person}\n{colour}\n#94aa35"}
            )  # fmt: skip
            for version in (1, 2, 3):
                rows[1].append(
                    {"job_id": i, "version": version, "job": to_json(_job(title)), "piece": "",
                     "state": "open", "saved": moment}
                )  # fmt: skip
            rows[2].append(
                {"id": i, "uuid": new_uuid(), "job_id": i, "job_version": 1, "made": moment,
                 "model_id": template.model_id, "answer": template.answer}
            )  # fmt: skip
        for table, some in zip((JOB, JOB_VERSION, ANSWER), rows, strict=True):
            connection.execute(table.insert(), some)


def _job(title: str) -> dict:
    return {
        "title": title,
        "topcoat": {"colour": "#a3b84c"},
        "surface": [{"name": "brown finish", "colour": "#6b4a2a"}],
    }


def best(action) -> float:
    """Milliseconds of the processor in the quickest of some runs; others may be busy here."""
    taken = []
    for _ in range(TIMES):
        begin = time.process_time()
        action()
        taken.append(1000.0 * (time.process_time() - begin))
    return min(taken)


def main(count: int, address: str | None) -> None:
    """Fill a store and look."""
    with tempfile.TemporaryDirectory() as folder:
        place = address or str(Path(folder) / "records.db")
        with open_store(place) as store:
            fill(store, count)
            size = 0 if store.path is None else store.path.stat().st_size
            rows = {
                "list all": (lambda: jobs.listed(store), ""),
                "list 40": (lambda: jobs.listed(store, most=40), ""),
                "search, many": (lambda: jobs.listed(store, "cupboard green"), "cupboard"),
                "search, few": (lambda: jobs.listed(store, f"ida {count - 3}"), str(count - 3)),
                "search, none": (lambda: jobs.listed(store, "zebra"), "zebra"),
                "open one": (lambda: jobs.opened(store, count // 2), None),
            }
            sys.stdout.write(
                f"{count} jobs, {size / 1e6:.0f} MB, {store.place.split('://')[0][:10]}\n"
            )
            for name, (action, word) in rows.items():
                ours = best(action)
                line = f"{name:<14} {ours:6.1f} ms  {ours / 50:5.2f} of 50 ms"
                if store.path is not None and word is not None:
                    most = 40 if "40" in name else -1
                    bare = best(partial(_bare, store.path, word, most))
                    line += f"  {ours / bare:4.1f} x the bare query"
                sys.stdout.write(f"{line}\n")


def _bare(path: Path, word: str, most: int) -> None:
    connection = sqlite3.connect(path)
    query = """SELECT job.*, customer.name FROM job LEFT JOIN customer ON customer.id = customer_id
        WHERE search LIKE ? AND state != 'archived' ORDER BY job.changed DESC LIMIT ?"""
    connection.execute(query, (f"%{word}%", most)).fetchall()
    connection.close()


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 10_000,
        sys.argv[2] if len(sys.argv) > 2 else None,
    )
