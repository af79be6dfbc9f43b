"""What a painter's finished jobs changed, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from showthrough.film.coats import MOST_COATS

if TYPE_CHECKING:
    from showthrough.jobs.answers.prediction import CountRange


def from_jobs(jobs: int) -> str:
    """Where a figure comes from: "from 5 of your jobs"."""
    return f"from {jobs} of your jobs"


def learned_sentence(jobs: int, before: CountRange, after: CountRange, least: int) -> str:
    """How the count moved: "From 5 of your jobs: without an undercoat 4 topcoats (3 to 6) ...".

    Args:
        jobs: finished jobs that say something of it.
        before: topcoats without them.
        after: topcoats with them.
        least: topcoats that are laid in any case, as the headline counts them.
    """
    old, new = _range(before, least), _range(after, least)
    told = f"{old[0]} topcoat{'' if old[0] == '1' else 's'}{old[1]}"
    told = f"still {told}" if old == new else f"{told} became {''.join(new)}"
    return f"From {jobs} of your jobs: without an undercoat {told}."


def _range(counts: CountRange, least: int) -> tuple[str, str]:
    """A count, and what it may come to."""
    over = f"more than {MOST_COATS}"
    low, likely, high = (
        over if count is None else f"{max(count, least)}"
        for count in (counts.low, counts.likely, counts.high)
    )
    return likely, "" if low == high else f" ({low} to {high})"


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
        count = abs(now - then)
        more = f"{count} {'more' if now > then else 'fewer'}" if count else "others"
        why.append(f"{more} of your finished jobs {'is' if count == 1 else 'are'} learned from")
    return f"Planned today it is: {planned} That differs because {' and '.join(why)}."
