"""Kills two writers in the midst of their work, again and again, and looks what is left.

    .venv/bin/python tests/records/kill_writers.py [KILLS] [SEED]

Two processes write to one SQLite store as fast as they can and say what was acknowledged to them.
After a while that nobody chose both are killed (signal 9). Then the store must be sound, hold all
that was acknowledged, and nothing by halves. Now and then the store is a new one, so that a kill
falls into its making.
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
from contextlib import suppress
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path

from showthrough.records.store.kept import jobs, outcomes
from showthrough.records.store.kept.answers import reckon
from showthrough.records.store.opening.opened import open_store

JOB = {
    "title": "Linen cupboard",
    "topcoat": {"colour": {"lab": [66, -24, 55]}},
    "surface": [{"colour": {"lab": [38, 12, 20]}}],
}
NOW = datetime(2026, 5, 31, 8, 30, tzinfo=UTC)


def write(path, out, reckoned):
    """Write until killed; each line says what is kept, once it is."""

    def acknowledged(kind, uuid, number=0):
        os.write(out, f"{kind} {uuid} {number}\n".encode())

    with open_store(path) as store:
        while True:
            line = jobs.keep(store, reckoned, piece="x" * 300)
            acknowledged("job", line.uuid, 1)
            line = jobs.set_state(store, line.number, "done")
            acknowledged("job", line.uuid, line.version)
            outcome = outcomes.log(store, line.number, after=3, result="enough")
            acknowledged("outcome", outcome.uuid)


def writer(path, reckoned):
    """A process that writes, and where it says so."""
    told, out = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(told)
        try:
            write(path, out, reckoned)
        finally:
            os._exit(1)  # only where it was not killed
    os.close(out)
    return pid, told


def kill_two(path, reckoned, chance, *, new):
    """Start two, kill both; what was acknowledged, and how many died by the signal."""
    both = [writer(path, reckoned) for _ in range(2)]
    heard = [b"" if new else os.read(told, 65536) for _, told in both]
    time.sleep(chance.uniform(0.0, 0.15 if new else 0.06))
    killed = 0
    for i, (pid, told) in enumerate(both):
        os.kill(pid, signal.SIGKILL)
        _, status = os.waitpid(pid, 0)
        killed += os.WIFSIGNALED(status)
        while part := os.read(told, 65536):
            heard[i] += part
        os.close(told)
    # A last line without its end was never said.
    lines = [line for text in heard for line in text.decode().split("\n")[:-1]]
    return [tuple(line.split()) for line in lines], killed


def amiss(path, said):
    """What is lost, halved or unsound, in words."""
    with suppress(FileNotFoundError):
        if path.stat().st_size == 0 and not said:
            return []
    with open_store(path):  # also mends what a kill left in the log
        pass
    connection = sqlite3.connect(path)
    wrong = [
        f"integrity: {r}" for (r,) in connection.execute("PRAGMA integrity_check") if r != "ok"
    ]
    wrong += [f"foreign key: {row}" for row in connection.execute("PRAGMA foreign_key_check")]
    versions = dict(connection.execute("SELECT uuid, version FROM job"))
    known = {row[0] for row in connection.execute("SELECT uuid FROM outcome")}
    for kind, uuid, number in said:
        if kind == "outcome" and uuid not in known:
            wrong.append(f"outcome {uuid} is lost")
        if kind == "job" and versions.get(uuid, 0) < int(number):
            wrong.append(f"version {number} of job {uuid} is lost")
    halves = """SELECT count(*) FROM job WHERE version != (
        SELECT count(*) FROM job_version WHERE job_id = job.id
    ) OR NOT EXISTS (SELECT 1 FROM answer WHERE job_id = job.id) OR search = ''"""
    (count,) = connection.execute(halves).fetchone()
    connection.close()
    return wrong + ([f"{count} jobs are there by halves"] if count else [])


def main(kills, seed):
    """Kill so many; the count of faults is the exit code."""
    chance = random.Random(seed)  # noqa: S311 - chooses moments
    reckoned = reckon(JOB, None, NOW)
    import_module("alembic.command")  # so that a new store is made while somebody kills
    done = acknowledged = faults = stores = 0
    with tempfile.TemporaryDirectory() as folder:
        said = []
        while done < kills:
            new = not stores or chance.random() < 0.2
            if new:
                stores += 1
                path, said = Path(folder) / f"{stores}" / "records.db", []
            heard, killed = kill_two(path, reckoned, chance, new=new)
            said += heard
            done += killed
            acknowledged += len(heard)
            for fault in amiss(path, said):
                faults += 1
                sys.stdout.write(f"after {done} kills: {fault}\n")
            if killed < 2:
                faults += 1
                sys.stdout.write("a writer ended by itself\n")
    sys.stdout.write(
        f"{done} kills, {stores} stores, {acknowledged} acknowledged, {faults} amiss\n"
    )
    return min(faults, 100)


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:]]
    sys.exit(main(*numbers, *(300, 1)[len(numbers) :]))
