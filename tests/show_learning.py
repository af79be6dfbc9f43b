"""What five finished jobs change, counts before and after; run by hand.

    PYTHONPATH=service:tests python tests/show_learning.py

Each row is one invented paint over the same brown finish: what the answer says without any job,
after five jobs of the paint that took so many coats each, and after one wild entry more. Counts
are topcoats without an undercoat, likely (10 to 90 %), then u's factor of one standard deviation.
"""

from __future__ import annotations

import math
import sys

from jobs.small_jobs import DARK_WALNUT, RED, VIVID_YELLOW, WHITE, YELLOW_GREEN, patch, small_job
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.finished import finished_entry
from showthrough.jobs.predict import predict

ROWS = (
    ("yellow-green", YELLOW_GREEN, 4),
    ("yellow-green", YELLOW_GREEN, 6),
    ("white", WHITE, 5),
    ("vivid yellow", VIVID_YELLOW, 5),
    ("red", RED, 4),
)
WILD = 11


def told(job, entries):
    """Counts and spread of a job after some entries."""
    made = prepare({**job, "finished": entries})
    coats = predict(made).coats
    factor = math.exp(made.paint_and_film_sigma_ln)
    return f"{coats.likely or '>12'} ({coats.low}-{coats.high or '>12'}) x/÷ {factor:.2f}"


def main():
    """Print the rows."""
    for name, lab, took in ROWS:
        job = small_job(lab, patch(DARK_WALNUT), paint={"name": f"Invented {name}"})
        five = [finished_entry(job, coats=took, way="plain")] * 5
        wild = [*five, finished_entry(job, coats=WILD, way="plain")]
        sys.stdout.write(
            f"{name}: {told(job, [])}; 5 jobs of {took}: {told(job, five)}; "
            f"and one of {WILD}: {told(job, wild)}\n"
        )


if __name__ == "__main__":
    main()
