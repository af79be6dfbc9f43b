"""Writes a small store as today's version makes it, as SQL text: kept for the migrations' tests.

    .venv/bin/python tests/records/stores/make_store.py

Run once for each version of the schema, before the next one is begun; a file that is there is
never written again. All jobs, people and paints are invented.
"""

from __future__ import annotations

import io
import sqlite3
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from PIL import Image

from showthrough.records.store.kept import customers, jobs, outcomes, paints, photos
from showthrough.records.store.opening.migrate import HEAD
from showthrough.records.store.opening.opened import Store, open_store

NOW = datetime(2026, 5, 31, 8, 30, tzinfo=UTC)
JOB = {
    "title": "Linen cupboard, two doors",
    "topcoat": {"colour": {"lab": [66, -24, 55]}, "volume_solids": 0.38},
    "surface": [{"name": "brown finish", "colour": {"lab": [38, 12, 20]}, "ground": "varnish"}],
    "application": {"tool": "spray", "wet_film_um": 45},
    "days": {"zone": "Europe/Berlin", "start": "2026-06-01"},
}


def fill(store: Store) -> None:
    """A bit of everything that this version keeps."""
    customers.add_customer(store, "Ida Invented", "ida@example.invalid")
    jobs.add(store, JOB, piece="from the attic", customer="Ida Invented")
    jobs.save(store, 1, {**JOB, "title": "Linen cupboard in green"}, made_from=1)
    jobs.duplicate(store, 1, title="Second cupboard")
    jobs.set_state(store, 2, "archived")
    paints.add_paint(
        store, JOB["topcoat"], name="green", batch="B 7", price="21.00 EUR", left_ml=400
    )
    picture = io.BytesIO()
    Image.new("RGB", (16, 16), (163, 184, 76)).save(picture, "PNG")
    photos.add_photo(store, 1, picture.getvalue(), "chip")
    outcomes.step_done(store, 1, "Wash", note="cold morning")
    outcomes.log(store, 1, after=3, result="not enough")
    outcomes.undo(store, 1)
    outcomes.log(store, 1, after=4, result="enough", stopped_by="colour", used_ml=620)


def main() -> None:
    """Make it, unless it is there."""
    target = Path(__file__).with_name(f"schema_{HEAD}.sql")
    if target.exists():
        raise SystemExit(f"{target.name} is there already; it stays as it is")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "records.db"
        with open_store(path, now=lambda: NOW) as store:
            fill(store)
        connection = sqlite3.connect(path)
        target.write_text("\n".join(connection.iterdump()) + "\n", encoding="utf-8")
        connection.close()
    sys.stdout.write(f"{target.name}: {target.stat().st_size} bytes\n")


if __name__ == "__main__":
    main()
