"""Swatches: named colours in a CSV file, our own samples or a painter's.

Columns: name, L, a, b, illuminant, observer, specular, note; a file of surfaces
adds skin, porous, ground and bleeds. Only name, L, a and b are needed. Lines that
begin with # are remarks.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import TypeVar

from showthrough.colour.lights import DEFAULT_ILLUMINANT, DEFAULT_OBSERVER
from showthrough.colour.reading import Reading
from showthrough.colour.swatch_files import swatch_text
from showthrough.errors import UNSAFE, InputError, NotationError, ProblemList, shown

SETS = ("topcoats", "surfaces")
"""The sample sets that hold colours; hardware finishes are read elsewhere."""

SKINS = ("coated", "bare")

COLUMNS = (
    "name",
    "L",
    "a",
    "b",
    "illuminant",
    "observer",
    "specular",
    "note",
    "skin",
    "porous",
    "ground",
    "bleeds",
)
NEEDED = COLUMNS[:4]

MAX_ROWS = 20_000
MAX_NAME = 80

_NAMES_SHOWN = 6
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Swatch:
    """A named colour, with what is known of a surface where it is one."""

    name: str
    reading: Reading
    note: str = ""
    skin: str | None = None
    """coated or bare; None where the file does not say."""
    porous: bool | None = None
    ground: str | None = None
    """What it is made of: wood, varnish, laminate and so on."""
    bleeds: bool | None = None
    """Whether its colour or resin comes through paint."""


def parse_swatches(text: str) -> tuple[Swatch, ...]:
    """The swatches in a CSV text.

    Args:
        text: a header and one row for each swatch, parted by commas, semicolons or tabs.

    Returns:
        The swatches, in order.

    Raises:
        InputError: rows are wrong or names repeat; every fault is listed with its row number.
    """
    problems = ProblemList()
    lines = [
        (number, line)
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise NotationError.at(
            "", "", f"the swatch file is empty; it begins with the header {','.join(NEEDED)}"
        )
    if len(lines) > MAX_ROWS + 1:
        raise NotationError.at(
            "",
            len(lines) - 1,
            f"the file has {len(lines) - 1} swatches, at most {MAX_ROWS} are read; split it",
        )
    part = next((p for p in (";", "\t") if p in lines[0][1]), ",")
    try:
        cells = [(number, next(csv.reader([line], delimiter=part))) for number, line in lines]
    except csv.Error as error:
        raise NotationError.at("", "", f"the swatch file is no CSV: {error}") from error
    header = _header(cells[0][1], problems)
    problems.raise_if_any()
    swatches: list[Swatch] = []
    seen: dict[str, int] = {}
    for number, row in cells[1:]:
        if len(row) != len(header):
            message = f"the row has {len(row)} cells, the header has {len(header)}"
            problems.add(f"row {number}", ",".join(row), message)
            continue
        values = {name: cell.strip() for name, cell in zip(header, row, strict=True) if name}
        unsafe = {name: cell for name, cell in values.items() if UNSAFE.search(cell)}
        for name, cell in unsafe.items():
            problems.add(f"row {number}.{name}", cell, "holds a control character; leave it out")
        if unsafe:
            continue
        with problems.collecting(f"row {number}"):
            swatch = _swatch(values)
            swatches.append(swatch)
            first = seen.setdefault(_key(swatch.name), number)
            if first != number:
                problems.add(
                    f"row {number}.name",
                    swatch.name,
                    f"{shown(swatch.name)!r} is already the name of row {first}",
                )
    if len(cells) == 1:
        problems.add("", "", "the swatch file has a header, but no swatches")
    problems.raise_if_any()
    return tuple(swatches)


@cache
def shipped_swatches(name: str) -> tuple[Swatch, ...]:
    """One of our own sample sets; every colour in it is invented.

    Args:
        name: one of ``SETS``.

    Raises:
        InputError: there is no such set.
    """
    if name not in SETS:
        raise InputError.at(
            "swatches", name, f"there is no sample set {shown(name)!r}; use {' or '.join(SETS)}"
        )
    return parse_swatches(swatch_text(f"{name}.csv"))


def find_swatch(name: str, swatches: tuple[Swatch, ...] | None = None) -> Swatch:
    """The swatch of a name; capitals and spaces do not matter.

    Args:
        name: what to look for.
        swatches: where to look; all sample sets where not given.

    Raises:
        NotationError: there is none; the message lists the nearest names.
    """
    if swatches is None:
        swatches = tuple(swatch for each in SETS for swatch in shipped_swatches(each))
    by_key = {_key(swatch.name): swatch for swatch in swatches}
    wanted = _key(name)
    if wanted in by_key:
        return by_key[wanted]
    # Names that hold all the words come first, then those with most of them, then like letters.
    words = set(wanted.split())
    shared = {key: len(words & set(key.split())) for key in by_key}
    close = sorted((key for key in by_key if shared[key]), key=lambda key: -shared[key])
    close = [key for key in close if shared[key] == shared[close[0]]][:_NAMES_SHOWN]
    alike = get_close_matches(wanted, list(by_key), n=_NAMES_SHOWN, cutoff=0.5)
    close += [key for key in alike if key not in close]
    close += [key for key in by_key if wanted and wanted in key and key not in close]
    if close:
        near = ", ".join(by_key[key].name for key in close[:_NAMES_SHOWN])
        hint = f"the nearest names are: {near}"
    else:
        few = ", ".join(swatch.name for swatch in swatches[:_NAMES_SHOWN])
        hint = f"names are such as: {few}" if few else "there are no swatches at all"
    raise NotationError.at("", name, f"there is no swatch named {shown(name)!r}; {hint}")


def _key(name: str) -> str:
    return " ".join(name.lower().split())


def _header(cells: list[str], problems: ProblemList) -> list[str]:
    """Column names as we know them; a column we do not know becomes empty and is left out."""
    known = {column.lower(): column for column in COLUMNS}
    known |= {"l*": "L", "a*": "a", "b*": "b"}
    names = [known.get(cell.strip().lower(), "") for cell in cells]
    for column in NEEDED:
        if column not in names:
            problems.add(
                "header",
                ",".join(cells),
                f"the column {column} is missing; the header needs {','.join(NEEDED)}",
            )
    for column in COLUMNS:
        if names.count(column) > 1:
            problems.add("header", column, f"the column {column} stands there twice")
    return names


def _swatch(row: Mapping[str, str]) -> Swatch:
    """One row, with all its faults raised together."""
    problems = ProblemList()
    name = " ".join(row["name"].split())
    if not name:
        problems.add("name", row["name"], "the name is empty")
    elif len(name) > MAX_NAME:
        problems.add("name", name, f"a name has at most {MAX_NAME} characters")
    lab = [_number(column, row[column], problems) for column in ("L", "a", "b")]
    specular = _choice("specular", row, {"excluded": False, "included": True}, problems)
    skin = _choice("skin", row, {skin: skin for skin in SKINS}, problems)
    porous = _choice("porous", row, _YES_NO, problems)
    bleeds = _choice("bleeds", row, _YES_NO, problems)
    observer = _choice("observer", row, {"2": 2, "10": 10}, problems)
    with problems.collecting():
        reading = Reading(
            lab=(lab[0], lab[1], lab[2]),
            illuminant=row.get("illuminant", "") or DEFAULT_ILLUMINANT,
            observer=observer or DEFAULT_OBSERVER,
            specular_included=bool(specular),
            text=name,
        )
    problems.raise_if_any()
    return Swatch(
        name,
        reading,
        row.get("note", ""),
        skin,
        porous,
        row.get("ground", "").lower() or None,
        bleeds,
    )


_YES_NO = {"yes": True, "no": False}
_NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:e[-+]?\d+)?", re.IGNORECASE)


def _number(column: str, cell: str, problems: ProblemList) -> float:
    clean = cell.replace("\N{MINUS SIGN}", "-").replace(",", ".")
    if _NUMBER.fullmatch(clean):
        return float(clean)
    what = f"{shown(cell)!r} is not a number" if cell else "the cell is empty"
    problems.add(column, cell, what)
    return 0.0


def _choice(
    column: str, row: Mapping[str, str], choices: Mapping[str, _T], problems: ProblemList
) -> _T | None:
    """What a cell stands for; None where it is empty or the column is missing."""
    cell = row.get(column, "")
    if not cell:
        return None
    if cell.lower() not in choices:
        words = " or ".join(choices)
        problems.add(column, cell, f"{column} {shown(cell)!r} is not known; use {words}")
        return None
    return choices[cell.lower()]
