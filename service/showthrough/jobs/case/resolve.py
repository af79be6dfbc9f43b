"""From a raw job to a checked job with its colours found; all problems at once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from pydantic import ValidationError

from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour, Reading, colours_of, possible_colours
from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS
from showthrough.errors import InputError, ProblemList, shown
from showthrough.files import read_file, text_of, toml_table
from showthrough.film.hiding import Paint
from showthrough.jobs.case.finishes import shortlist_of
from showthrough.jobs.case.parts import check_names, check_parts, rows_of
from showthrough.jobs.case.readings import reading_of, swatch_of
from showthrough.jobs.schema.job import ColourInput, Job, Patch, Topcoat
from showthrough.jobs.schema.wrong import problems_of, within_limits
from showthrough.palette.finishes import Finish

MOST_JOB_BYTES = 1_000_000
"""A job is a page of text; a larger file is a mistake."""

_SHARE_SLACK = 0.005
_NO_COLOUR = "is missing and needed here"


class ReadJob(NamedTuple):
    """A checked job beside the colours that it names."""

    job: Job
    topcoat: Colour | None
    """None where the topcoat is a measured paint and no colour is stated."""
    patches: tuple[Colour, ...]
    undercoats: tuple[Colour, ...]
    shares: tuple[float, ...]
    finishes: tuple[Finish, ...]
    seconds: tuple[Colour, ...]
    paint: Paint | None
    """The topcoat's measured paint, where the job holds one."""
    twin: FloatArray | None
    """The topcoat's very colour as that of a surface, reflectance, shape (31,), where found."""


_TOPCOAT = "topcoat.colour"
_TWIN = "topcoat.colour as a surface"
_LISTS = (
    ("surface", SURFACE_BOUNDS),
    ("undercoat", PAINT_BOUNDS),
    ("second_colour", SURFACE_BOUNDS),
)
"""Lists of a job whose rows have a colour, and what it may be."""

_SAME_LAB = 1e-5


def load_toml(path: Path, what: str) -> dict[str, Any]:
    """The table in a small TOML file, or an error that says what is wrong with it."""
    text = text_of(read_file(path, what, MOST_JOB_BYTES), what, path.name)
    try:
        return toml_table(text)
    except ValueError as error:
        raise InputError.at(what, path.name, f"{path.name} is not TOML: {error}") from error


def read_job(data: Any, folder: Path | None = None) -> ReadJob:
    """Check a job and find its colours.

    Args:
        data: the job as a mapping, as in TOML or JSON.
        folder: where files that the job names are looked for; None refuses files, as
            the service does.

    Raises:
        InputError: with every problem of the job, by field.
    """
    if not isinstance(data, Mapping):
        raise InputError.at("", shown(data), "a job must be a table of keys and values")
    problems = ProblemList()
    job: Job | None = None
    paint: Paint | None = None
    try:
        job = Job.model_validate(data)
    except ValidationError as error:
        problems.problems.extend(problems_of(error, Job))
        data = within_limits(data, problems.problems)
    with problems.collecting():
        paint = _measured_paint(data.get("topcoat"), folder)
    rows: Sequence[Mapping[str, Any]] = rows_of(data, "surface")
    if job is not None:
        rows = [{"name": patch.name, "share": patch.share} for patch in job.surface]
    shares = _check_surface(rows, problems)
    check_parts(data, problems)
    if job is None:
        # The sound parts are still checked, so that one round mends all.
        _check_colours(data, folder, problems)
        topcoat = data.get("topcoat")
        if isinstance(topcoat, Mapping) and not {"colour", "paint", "paint_file"} & set(topcoat):
            problems.add("topcoat.colour", "", _NO_COLOUR)
        problems.raise_if_any()
        raise AssertionError
    known = [_with_facts(p) for p in job.surface]
    if any(now is not before for now, before in zip(known, job.surface, strict=True)):
        job = job.model_copy(update={"surface": known})
    places = list(_colour_places(job))
    readings: list[tuple[str, Reading, tuple[float, float]]] = []
    for field, value, bounds in places:
        with problems.collecting(field):
            readings.append((field, reading_of(value, folder), bounds))
    _check_topcoat(job.topcoat, problems)
    # The topcoat's colour as a surface beside it: one search for both.
    twins = [(_TWIN, r, SURFACE_BOUNDS) for f, r, _ in readings if f == _TOPCOAT and r.lab]
    asked = [*readings, *twins]
    names = [field for field, _, _ in asked]
    found, wrong = possible_colours([r for _, r, _ in asked], [b for _, _, b in asked], names)
    problems.extend(problem for i, problem in wrong.items() if names[i] != _TWIN)
    problems.raise_if_any()
    colours = {field: colour for field, colour in zip(names, found, strict=True) if colour}
    topcoat, twin = colours.get(_TOPCOAT), colours.get(_TWIN)
    if topcoat and twin and np.abs(topcoat.lab - twin.lab).max() > _SAME_LAB:
        twin = None  # one of them was moved
    return ReadJob(
        job,
        topcoat,
        tuple(colours[f"surface[{i + 1}].colour"] for i in range(len(job.surface))),
        tuple(colours[f"undercoat[{i + 1}].colour"] for i in range(len(job.undercoat))),
        shares,
        shortlist_of(job.finishes),
        tuple(colours[f"second_colour[{i + 1}].colour"] for i in range(len(job.second_colour))),
        paint,
        twin.reflectance if twin else None,
    )


def _with_facts(patch: Patch) -> Patch:
    """The patch with what its swatch knows of the surface, where the job does not say."""
    try:
        swatch = swatch_of(patch.colour)
    except InputError:
        swatch = None  # said again, by field, when the colour is read
    if swatch is None:
        return patch
    facts = {
        key: getattr(swatch, key)
        for key in ("skin", "ground", "porous", "bleeds")
        if getattr(patch, key) is None
    }
    return patch.model_copy(update=facts)


def _colour_places(job: Job) -> Iterator[tuple[str, ColourInput, tuple[float, float]]]:
    if job.topcoat.colour is not None:
        yield _TOPCOAT, job.topcoat.colour, PAINT_BOUNDS
    for key, bounds in _LISTS:
        for i, holder in enumerate(getattr(job, key), 1):
            yield f"{key}[{i}].colour", holder.colour, bounds


def _measured_paint(topcoat: Any, folder: Path | None) -> Paint | None:
    """The paint of a job's ``topcoat.paint`` or ``topcoat.paint_file``, if it holds one.

    Raises:
        InputError: the table is wrong, or files are not read here; by field.
    """
    if not isinstance(topcoat, Mapping):
        return None
    table, file = topcoat.get("paint"), topcoat.get("paint_file")
    if table is None and file is None:
        return None
    from showthrough.film.drawdown.table import paint_from_table

    field = "topcoat.paint"
    if not isinstance(table, Mapping):
        if not isinstance(file, str):
            return None
        field = "topcoat.paint_file"
        if folder is None:
            raise InputError.at(
                field,
                file,
                "files are read only for a job file; send the paint inline as paint",
                "file_refused",
            )
        table = load_toml(folder / file, "paint")
    try:
        return paint_from_table(table)
    except InputError as error:
        raise error.within(field) from None


def _check_topcoat(topcoat: Topcoat, problems: ProblemList) -> None:
    two = topcoat.paint is not None and topcoat.paint_file is not None
    measured = topcoat.paint is not None or topcoat.paint_file is not None
    for wrong, field, told in (
        (two, "paint", "give paint or paint_file, not both"),
        (topcoat.colour is None and not measured, "colour", _NO_COLOUR),
        (
            measured and topcoat.label is not None,
            "label",
            "a measured paint needs no label; leave out one of the two",
        ),
    ):
        if wrong:
            problems.add(f"topcoat.{field}", "", told)


def _check_surface(rows: Sequence[Mapping[str, Any]], problems: ProblemList) -> tuple[float, ...]:
    """Names and shares, on raw data so that they are told beside other faults."""
    check_names("surface", "patches", rows, "surface", problems)
    shares = [p.get("share") for p in rows]
    numbers = [s for s in shares if isinstance(s, int | float) and not isinstance(s, bool)]
    given = [float(s) for s in numbers if 0.0 < s <= 1.0]
    missing = shares.count(None)
    if missing == len(shares):
        return tuple(1.0 / len(rows) for _ in rows)
    if missing + len(given) < len(shares):
        return ()  # some are no shares, which the schema says
    if missing:
        problems.add(
            "surface",
            shown(shares),
            "either every patch has a share or none has; a missing share is not guessed",
            "shares",
        )
        return ()
    total = math.fsum(given)
    if abs(total - 1.0) > _SHARE_SLACK:
        listed = " + ".join(f"{s:g}" for s in given)
        problems.add(
            "surface", listed, f"the shares {listed} make {total:g}; they must make 1", "shares"
        )
        return ()
    return tuple(s / total for s in given)


def _check_colours(data: Mapping[str, Any], folder: Path | None, problems: ProblemList) -> None:
    """Check each colour of a job that is wrong elsewhere, as far as it is a colour."""
    known = {p.field for p in problems.problems}

    def one(field: str, holder: Any, bounds: tuple[float, float]) -> None:
        if not isinstance(holder, Mapping) or "colour" not in holder:
            return
        if any(f == field or f.startswith(f"{field}.") for f in known):
            return
        try:
            value = ColourInput.model_validate(holder["colour"])
        except ValidationError:
            return
        with problems.collecting(field):
            colours_of([reading_of(value, folder)], bounds, [""])

    one("topcoat.colour", data.get("topcoat"), PAINT_BOUNDS)
    for key, bounds in _LISTS:
        rows = data.get(key)
        if isinstance(rows, list):
            for i, row in enumerate(rows):
                one(f"{key}[{i + 1}].colour", row, bounds)
