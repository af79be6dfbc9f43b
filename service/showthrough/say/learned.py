"""What a painter's finished jobs changed, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from showthrough.film.coats import MOST_COATS

if TYPE_CHECKING:
    from showthrough.jobs.answers.prediction import CountRange


def from_jobs(jobs: int) -> str:
    """Where a figure comes from: "from 5 of your jobs"."""
    return f"from {jobs} of your jobs"


def learned_sentence(jobs: int, before: CountRange, after: CountRange) -> str:
    """How the count moved: "From 5 of your jobs: 4 (3-6) became 4 (4-5), ..."."""
    old, new = _range(before), _range(after)
    told = f"still {new}" if old == new else f"{old} became {new}"
    return f"From {jobs} of your jobs: {told}, topcoats without an undercoat."


def _range(counts: CountRange) -> str:
    over = f"more than {MOST_COATS}"
    if counts.low is None:
        return over
    high = f"{counts.low}-{counts.high}" if counts.high else f"{counts.low} to {over}"
    return f"{counts.likely or over} ({high})"
