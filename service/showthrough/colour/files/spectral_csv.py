"""Reflectance spectra from CSV text, before and after they are judged.

CSV may stand as columns (a wavelength and a value in each row, or one value for
each of several samples) or as rows (a header of wavelengths, then one row for
each sample). Cells are parted by comma, semicolon, tab or space; lines that begin
with # are skipped; a header is optional for columns. Percent or fraction is
decided as ``bands`` says, for all samples of a text together.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass

from showthrough.colour.bands import MOST_BANDS, are_percents, readings_from_rows
from showthrough.colour.reading import Reading
from showthrough.errors import MOST_PROBLEMS, NotationError, ProblemList, shown

_WAVELENGTH = re.compile(r"[A-Z_ ]*(\d{3,4}(?:\.\d+)?)\s*(?:nm)?", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"\s*\d+(?:,\d+)?\s+\d+,\d+\s*")
_COMMA = re.compile(r"^([-+]?\d*),(\d+)$")
_PERCENT = re.compile(r"%|percent|pct", re.IGNORECASE)
_FRACTION = re.compile(r"fraction|decimal|0\s*(?:-|to|\.\.)\s*1\b", re.IGNORECASE)
MOST_ROWS = 20_000
"""Samples or wavelengths of one text."""

_MIN_WIDE = 6  # a header with fewer wavelengths is none


@dataclass(frozen=True, slots=True)
class _Samples:
    """What a CSV text holds before anything is judged."""

    names: tuple[str, ...]
    nm: tuple[float, ...]
    values: tuple[tuple[float, ...], ...]
    """One tuple for each sample."""
    header: str


def parse_spectra_csv(
    text: str, *, name: str = "", percent: bool | None = None, specular_included: bool = False
) -> list[Reading]:
    """The readings in a CSV text.

    Args:
        text: the text.
        name: what to call a single sample that carries no name.
        percent: whether the values are percents; decided from the text where not given.
        specular_included: whether the values hold the surface's mirror reflection.

    Raises:
        InputError: the text cannot be read; all faults are listed.
    """
    problems = ProblemList(MOST_PROBLEMS)
    rows = _rows(text)
    if not rows:
        raise NotationError.at("", "", "the spectrum is empty; give wavelength,value in rows")
    samples = _wide(rows, problems) or _long(rows, problems)
    sign = "%" if any(cell.endswith("%") for _, cells in rows for cell in cells) else ""
    if percent is None and _PERCENT.search(samples.header + sign):
        percent = True
    elif percent is None and _FRACTION.search(samples.header):
        percent = False
    if not samples.names:
        problems.raise_if_any()
    with problems.collecting():
        if percent is None:
            percent = are_percents(samples.values)
        outcomes = readings_from_rows(
            samples.nm,
            samples.values,
            [label or name for label in samples.names],
            percent=percent,
            specular_included=specular_included,
        )
        for label, outcome in zip(samples.names, outcomes, strict=True):
            if isinstance(outcome, tuple):
                where = shown(label) if len(outcomes) > 1 else ""
                problems.extend(problem.within(where) for problem in outcome)
    problems.raise_if_any()
    return [outcome for outcome in outcomes if isinstance(outcome, Reading)]


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Line numbers and cells of all lines that hold any."""
    lines = [
        (number, line.strip())
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1)
        if line.strip().strip(" \t,;") and not line.lstrip().startswith("#")
    ]
    if len(lines) > MOST_ROWS:
        message = f"{len(lines)} rows are given; at most {MOST_ROWS} are read; split the file"
        raise NotationError.at("", len(lines), message)
    whole = "\n".join(line for _, line in lines)
    if ";" in whole:
        part = ";"
    elif "\t" in whole:
        part = "\t"
    elif "," in whole and not _DECIMAL_COMMA.fullmatch(lines[-1][1]):
        part = ","
    else:
        part = " "
    rows = []
    for number, line in lines:
        plain = " ".join(line.split()) if part == " " else line
        if plain.count(part) >= MOST_BANDS:
            message = f"row {number} has more than {MOST_BANDS} cells"
            raise NotationError.at("", plain[:100], message)
        try:
            cells = next(csv.reader([plain], delimiter=part, skipinitialspace=True))
        except csv.Error as error:
            raise NotationError.at("", plain, f"row {number} is no CSV: {error}") from error
        rows.append((number, [cell.strip() for cell in cells]))
    if part != ",":
        # A decimal comma between digits becomes a point.
        rows = [(n, [_COMMA.sub(r"\1.\2", cell) for cell in cells]) for n, cells in rows]
    return rows


def _number(cell: str) -> float | None:
    try:
        return float(cell.removesuffix("%"))
    except ValueError:
        return None


def _wavelength(cell: str) -> float | None:
    match = _WAVELENGTH.fullmatch(cell)
    return float(match[1]) if match else None


def _wide(rows: Sequence[tuple[int, list[str]]], problems: ProblemList) -> _Samples | None:
    """Samples in rows under a header of wavelengths, or None where there is no such header."""
    _, header = rows[0]
    columns = {i: nm for i, cell in enumerate(header) if (nm := _wavelength(cell)) is not None}
    grid = list(columns.values())
    if len(grid) < _MIN_WIDE or not (grid == sorted(grid) or grid == sorted(grid, reverse=True)):
        return None
    labels = [i for i in range(len(header)) if i not in columns]
    named = [i for i in labels if re.search(r"name|sample|id", header[i], re.IGNORECASE)]
    names, values = [], []
    for number, cells in rows[1:]:
        if len(cells) != len(header):
            problems.add(
                "",
                ",".join(cells),
                f"row {number} has {len(cells)} cells, the header has {len(header)}",
            )
            continue
        read = [_number(cells[i]) for i in columns]
        wrong = [cells[i] for i, v in zip(columns, read, strict=True) if v is None]
        for cell in wrong:
            problems.add("", cell, f"row {number}: {shown(cell)!r} is not a number")
        if not wrong:
            label = next((cells[i] for i in (named or labels)), "")
            several = len(rows) > 2
            names.append(label or (f"row {number}" if several else ""))
            values.append(tuple(v for v in read if v is not None))
    if len(rows) == 1:
        problems.add("", "", "there is a header of wavelengths, but no row of values under it")
    words = " ".join(header[i] for i in labels)
    return _Samples(tuple(names), tuple(grid), tuple(values), words)


def _long(rows: Sequence[tuple[int, list[str]]], problems: ProblemList) -> _Samples:
    """Samples in columns beside a column of wavelengths."""
    start = next((i for i, (_, cells) in enumerate(rows) if _wavelength(cells[0])), len(rows))
    heads = [cells for _, cells in rows[:start]]
    header = heads[-1] if heads else []
    words = " ".join(cell for cells in heads for cell in cells)
    if start == len(rows):
        problems.add(
            "",
            ",".join(rows[0][1]),
            "no row begins with a wavelength in nm; write wavelength,value in rows, "
            "or a header of wavelengths over rows of values",
        )
        return _Samples((), (), (), words)
    width = len(rows[start][1])
    if width < 2:
        problems.add(
            "", rows[start][1][0], f"row {rows[start][0]} holds a wavelength without a value"
        )
        return _Samples((), (), (), words)
    nm: list[float] = []
    columns: list[list[float]] = [[] for _ in range(width - 1)]
    for number, cells in rows[start:]:
        band = _wavelength(cells[0])
        if len(cells) != width:
            problems.add(
                "", ",".join(cells), f"row {number} has {len(cells)} cells, others {width}"
            )
        elif band is None:
            problems.add("", cells[0], f"row {number}: {shown(cells[0])!r} is not a wavelength")
        else:
            nm.append(band)
            for column, cell in zip(columns, cells[1:], strict=True):
                value = _number(cell)
                if value is None:
                    problems.add("", cell, f"row {number}: {shown(cell)!r} is not a number")
                    value = 0.0  # noted; the grid is still checked
                column.append(value)
    names = tuple(header[1:]) if len(header) == width and width > 2 else ("",) * (width - 1)
    if width > 2 and not any(names):
        names = tuple(f"column {i}" for i in range(2, width + 1))
    return _Samples(names, tuple(nm), tuple(map(tuple, columns)), words)
