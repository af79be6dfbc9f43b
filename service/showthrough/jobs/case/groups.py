"""A job with all that it says of the whole work: its groups, each a job of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showthrough.errors import InputError, Problem, ProblemList
from showthrough.jobs.case.bench import Part, one_currency, read_bench, read_part
from showthrough.jobs.case.parts import check_names, rows_of, sound
from showthrough.jobs.case.resolve import ReadJob, read_job
from showthrough.jobs.schema.bench import MOST_GROUPS
from showthrough.jobs.schema.job import Application
from showthrough.workshop.size.area import MOST_AREA_M2

if TYPE_CHECKING:
    from showthrough.jobs.case.prepared import PreparedJob

WHOLE_PIECE = "whole piece"
"""What the one group of a job without groups is called."""

_OWN = ("topcoat", "surface", "application")
"""What a group may say of paint and ground for itself."""


def prepare_whole(
    job: Mapping[str, Any], folder: Path | None, prepared: Callable[[ReadJob], PreparedJob]
) -> PreparedJob:
    """The largest group of a job, with all groups and what holds for the whole.

    Args:
        job: the job as a mapping.
        folder: where files that it names are looked for; None refuses files.
        prepared: makes one checked group ready.

    Raises:
        InputError: with every problem of the job and of its groups, by field.
    """
    problems = ProblemList()
    base: ReadJob | None = None
    with problems.collecting():
        base = read_job(job, folder)
    bench = read_bench(job, problems)
    rows = rows_of(job, "group")[:MOST_GROUPS]  # the schema tells those beyond
    check_names("group", "groups", rows, "", problems)
    read: list[ReadJob | None] = []
    parts: list[Part | None] = []
    if not rows:
        read.append(base)
        parts.append(_part(WHOLE_PIECE, job, job, problems))
    for i, row in enumerate(rows, 1):
        prefix = f"group[{i}]."
        parts.append(_part(str(row.get("name", "")), row, job, problems, prefix))
        read.append(_own(row, job, folder, prefix, problems) if _differs(row, job) else base)
    known = [part for part in parts if part is not None]
    if bench is not None:
        bench = one_currency(bench, known, problems)
        total = bench.pieces * sum(part.size.area_m2 for part in known)
        if total > MOST_AREA_M2:
            told = f"{total:.0f} m2 in all cannot be: at most {MOST_AREA_M2:g} m2 works"
            problems.add("group" if rows else "area_m2", f"{total:.0f}", told, "out_of_range")
    _raise_once(problems)
    made: dict[int, PreparedJob] = {}
    groups = []
    for part, one in zip(known, read, strict=True):
        assert one is not None
        if id(one) not in made:
            made[id(one)] = prepared(one)
        groups.append(replace(made[id(one)], part=part, bench=bench))
    largest = max(groups, key=lambda group: 0.0 if group.part is None else group.part.size.area_m2)
    return replace(largest, groups=tuple(groups)) if rows else largest


_NO_FILM = frozenset({"openness", "flips", "session_loss_ml", "gun"})
"""What a group may say of the way it is painted that leaves the film as it is."""


def _differs(row: Mapping[str, Any], job: Mapping[str, Any]) -> bool:
    """Whether paint, ground or film of a group are its own, so that it is reckoned apart."""
    own, all_ = row.get("application"), job.get("application")
    used = isinstance(all_, Mapping) and "paint_used" in all_
    if isinstance(own, Mapping) and set(own) <= _NO_FILM and not used:
        own = None
    return own is not None or any(row.get(key) is not None for key in ("topcoat", "surface"))


_FILM = frozenset({"coat", "wet_film_um", "paint_used"})
"""How thick a coat is: one way of saying it stands for the others."""

_OF_ANY_TOOL = frozenset({"openness", "flips", "least_topcoats", "sanding_loss"})
"""What is said of the piece or of the film, not of the tool that lays it."""


def _application(row: Mapping[str, Any], job: Mapping[str, Any]) -> Any:
    """How a group is painted: its own words, and the job's for what it leaves out."""
    own, all_ = row.get("application"), job.get("application")
    if not isinstance(own, Mapping) or not isinstance(all_, Mapping):
        return all_ if own is None else own
    left = {key for key in all_ if all_[key] is not None}
    usual = Application.model_fields["tool"].default
    if own.get("tool", all_.get("tool", usual)) != all_.get("tool", usual):
        left &= _OF_ANY_TOOL  # a film of the job's tool says nothing of another
    if any(own.get(key) is not None for key in _FILM):
        left -= _FILM
    return {**{key: all_[key] for key in all_ if key in left}, **own}


def _part(
    name: str,
    row: Mapping[str, Any],
    job: Mapping[str, Any],
    problems: ProblemList,
    prefix: str = "",
) -> Part | None:
    application = sound(Application, _application(row, job) if prefix else job.get("application"))
    topcoat = row.get("topcoat") or job.get("topcoat")
    said = topcoat.get("chemistry") if isinstance(topcoat, Mapping) else None
    chemistry = said if isinstance(said, str) else None
    return read_part(name, row, job, application or Application(), chemistry, problems, prefix)


def _own(
    row: Mapping[str, Any],
    job: Mapping[str, Any],
    folder: Path | None,
    prefix: str,
    problems: ProblemList,
) -> ReadJob | None:
    """A group that says something of paint or ground, read as a job of its own."""
    merged = {k: v for k, v in job.items() if k not in {"group", "application"}}
    merged.update({k: row[k] for k in _OWN if row.get(k) is not None})
    merged["application"] = _application(row, job) or {}
    merged.pop("test_piece", None)  # it was tried with the job's paint and tool over its ground
    try:
        return read_job(merged, folder)
    except InputError as error:
        # What the job itself has wrong is told once, at the job.
        said = {key for key in _OWN if row.get(key) is not None}
        problems.extend(
            Problem(f"{prefix}{p.field}", p.value, p.message, p.code)
            for p in error.problems
            if p.field.partition(".")[0].partition("[")[0] in said
        )
        return None


def _raise_once(problems: ProblemList) -> None:
    """Raise with each problem once: the schema and the reading of a group may both tell it.

    What is no number has no bounds, and amounts have no currency while that one is faulty.
    """
    seen: dict[tuple[str, str], Problem] = {}
    for problem in problems.problems:
        cause = {"not_a_number": problem.field, "no_currency": "money.currency"}.get(problem.code)
        if not any(field == cause for field, _ in seen):
            seen.setdefault((problem.field, problem.message), problem)
    problems.problems = list(seen.values())
    problems.raise_if_any()
