"""What a painter's finished jobs changed, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from showthrough.film.coats import MOST_COATS
from showthrough.say.chances import plural

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


def planned_today(kept: str, again: str, planned: str, then: int, now: int) -> str:
    """What a kept job comes to today, and why; "" where that is what was kept.

    Args:
        kept: headline of the answer that was kept.
        again: what today's model says of what was known then.
        planned: what it says of what is known now.
        then: finished jobs that were learned from then, and
        now: now.
    """
    if planned == kept:
        return ""
    why = [] if again == kept else ["the model or its defaults changed"]
    if planned != again:
        jobs = plural(abs(now - then), "finished job")
        told = {-1: f"{jobs} fewer", 0: "others of your finished jobs", 1: f"{jobs} more"}
        are = "is" if abs(now - then) == 1 else "are"
        why.append(f"{told[(now > then) - (now < then)]} {are} learned from")
    return f"Planned today it is: {planned} That differs because since then {' and '.join(why)}."
