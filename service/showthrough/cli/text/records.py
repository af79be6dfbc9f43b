"""Records for a terminal: jobs in rows, one job, paints, what an import did."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from showthrough.cli.text.common import cut, fitted
from showthrough.say.chances import plural
from showthrough.say.learned import planned_today

if TYPE_CHECKING:
    from showthrough.records.store.shape.rows import (
        Customer,
        Imported,
        JobLine,
        Outcome,
        Rerun,
        ShelfPaint,
        StepDone,
        StoredAnswer,
        StoredJob,
    )


def when(time: str) -> str:
    """A stored time as it is read: to the minute, UTC."""
    return f"{time[:10]} {time[11:16]} UTC"


def jobs_text(lines: Sequence[JobLine], every: int, *, width: int) -> Iterator[str]:
    """Jobs in rows that fit the width."""
    if not every:
        yield "No job fits; showthrough job add JOB.toml keeps one"
        return
    title = max(12, (width - 31) * 5 // 9)
    rest = max(8, width - 31 - title)
    yield f"{'no':>5}  {'changed':<10}  {'state':<8}  {'title':<{title}}  colour, customer"
    for line in lines:
        about = ", ".join(text for text in (line.colour_name, line.customer) if text)
        yield (
            f"{line.number:>5}  {line.changed[:10]}  {line.state:<8}  "
            f"{cut(line.title or line.piece or '(no title)', title):<{title}}  {cut(about, rest)}"
        ).rstrip()
    if every > len(lines):
        yield f"and {every - len(lines)} more (--most)"


def job_text(
    found: StoredJob, again: Rerun | None, refused: Sequence[str], *, width: int
) -> list[str]:
    """One job, its answer then and now, and how it came out."""
    line, shown = found.line, found.shown
    about = [shown.piece, f"for {line.customer}" if line.customer else ""]
    told = ", ".join(text for text in about if text)
    title = str(shown.job.get("title", "")) or "no title"
    versions = f"version {shown.version} of {line.version}, {shown.state}, {when(shown.saved)}"
    out = [f"Job {line.number}: {title}{f' ({told})' if told else ''}", versions, ""]
    if found.answer is None:
        out.append("No answer is kept: the job is older than answers; save it again for one")
    else:
        out += _answer_lines(found.answer, again, refused)
    photos = [
        f"{one.name or 'photo'}, {one.width} x {one.height} pixels, {one.sha256[:12]}"
        for one in found.photos
    ]
    for head, items in (
        ("How it came out", [outcome_line(one) for one in found.outcomes]),
        ("Steps done", [step_line(one) for one in found.steps]),
        ("Photos", photos),
    ):
        if items:
            out += ["", head, *(f"  - {item}" for item in items)]
    return fitted(out, width)


def _answer_lines(
    stored: StoredAnswer, again: Rerun | None, refused: Sequence[str]
) -> Iterator[str]:
    yield str(stored.answer["headline"])
    yield f"answered {when(stored.made)} by Showthrough {stored.release}"
    if refused:
        yield "Today's model refuses it:"
        yield from (f"  - {text}" for text in refused)
    elif again is not None and again.differs:
        yield ""
        yield f"Today's model says: {again.today['headline']}"
        names = [one.field for one in again.differs]
        more = f" and {len(names) - 5} more" if len(names) > 5 else ""
        yield f"  - not as it was: {', '.join(names[:5])}{more}"
        yield from (f"  - {reason}" for reason in again.why)
    else:
        yield "Today's model says the same."
    if again is not None and again.planned != again.today["headline"]:
        kept = (stored.answer["headline"], again.today["headline"], again.planned)
        yield ""
        yield planned_today(*kept, again.taught_then, again.taught_now)


_RESULTS = {
    "enough": "were enough",
    "not enough": "were not enough",
    "gave up": "were not enough, given up",
    "did not look": "were laid, nobody looked before",
}


def outcome_line(outcome: Outcome) -> str:
    """How a job came out, in a line."""
    parts = [f"{plural(outcome.after, 'topcoat')} {_RESULTS[outcome.result]}"]
    if outcome.group:
        parts[0] = f"{outcome.group}: {parts[0]}"
    measured = (
        (outcome.used_ml, "ml"),
        (outcome.area_m2, "m²"),
        (outcome.wet_film_um, "µm wet"),
        (outcome.minutes, "min"),
        (outcome.recoat_h, "h between coats"),
    )
    parts += [
        f"looked at: {outcome.stopped_by}" if outcome.stopped_by else "",
        f"failed by {outcome.failed_by}" if outcome.failed_by else "",
        *(f"{value:g} {unit}" for value, unit in measured if value is not None),
        outcome.note,
    ]
    return f"{when(outcome.logged)}, {', '.join(filter(None, parts))}"


def step_line(step: StepDone) -> str:
    """A step that was done, in a line."""
    return f"{when(step.done)}, {step.step}{f': {step.note}' if step.note else ''}"


def paints_text(paints: Sequence[ShelfPaint]) -> Iterator[str]:
    """Paints, a line each."""
    if not paints:
        yield "No paint fits; showthrough paint add COLOUR puts one on the shelf"
    for paint in paints:
        held = "" if paint.size_ml is None else f"{paint.size_ml:g} ml can"
        if paint.left_ml is not None:
            of = f" of {paint.size_ml:g}" if paint.size_ml is not None else ""
            held = f"{paint.left_ml:g}{of} ml left"
        price = paint.price_minor
        parts = (
            f"batch {paint.batch}" if paint.batch else "",
            held,
            "" if price is None else f"{price / 100:.2f} {paint.currency}",
            f"opened {paint.opened}" if paint.opened else "",
            "off the shelf" if paint.archived else "",
            f"version {paint.version}",
        )
        told = ", ".join(filter(None, parts))
        yield f"{paint.number:>5}  {paint.name}: {told}"


def customers_text(customers: Sequence[Customer]) -> Iterator[str]:
    """Customers, a line each."""
    if not customers:
        yield "No customer is kept yet"
    for one in customers:
        told = "  ".join(part for part in (one.name, one.contact) if part)
        yield f"{one.number:>5}  {told}, version {one.version}"


def imported_text(done: Imported) -> Iterable[str]:
    """What an import did."""
    new = ", ".join(f"{count} {kind}" for kind, count in done.added.items())
    yield f"New here: {new}" if new else "Nothing new: all of it is here already"
    yield from done.renumbered
    yield from done.conflicts
