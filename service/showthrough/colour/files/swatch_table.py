"""A table of swatches as CSV text.

Columns: name, and either L, a and b, or one colour in any notation under the heading hex,
rgb, lab, lch, xyz, munsell, lrv or colour. Further columns that are known: illuminant,
observer, specular, note; a file of surfaces adds skin, porous, ground and bleeds. Two
columns of names and colours need no heading. Lines that begin with # are remarks.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from showthrough.colour.lights import DEFAULT_ILLUMINANT, DEFAULT_OBSERVER
from showthrough.colour.notation import EXAMPLES, parse_colour
from showthrough.colour.reading import Reading
from showthrough.errors import MOST_PROBLEMS, InputError, NotationError, Problem, ProblemList, shown

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

NOTATION_COLUMNS = (*EXAMPLES, "colour")
"""Headings of a single colour column; under the last any notation may stand."""

MAX_ROWS = 20_000
MAX_NAME = 80

_MOST_COLUMNS = 1_000
_MOST_MUNSELL = 150  # each is sought for some 10 ms
_MUNSELL_HUE = re.compile(r"\s*\d[\d.]*\s*(?:[RYGBP]|YR|GY|BG|PB|RP)\s+\d", re.IGNORECASE)
# A row may begin with a hex colour.
_REMARK = re.compile(r"\s*#(?!(?:[0-9a-f]{3}){1,2}\s*[,;\t])", re.IGNORECASE)
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


@dataclass(frozen=True, slots=True)
class FaultyRow:
    """A row that cannot be used."""

    name: str
    """Its name, or its place where it has none."""
    problems: tuple[Problem, ...]

    @property
    def reason(self) -> str:
        """What is wrong with it, in one line."""
        return "; ".join(str(problem) for problem in self.problems)


@dataclass(frozen=True, slots=True)
class SwatchFile:
    """What a file holds: swatches, and rows that cannot be used."""

    swatches: tuple[Swatch, ...]
    faulty: tuple[FaultyRow, ...] = ()

    def checked(self, *, strict: bool) -> SwatchFile:
        """The file itself, unless no swatch of it can be used or it must be in order.

        Args:
            strict: whether every row must be in order.

        Raises:
            InputError: the first faults are listed, the rest counted.
        """
        with ProblemList(MOST_PROBLEMS) as problems:
            if strict or not self.swatches:
                for row in self.faulty:
                    problems.extend(row.problems)
        return self


def swatches_of_table(text: str) -> SwatchFile:
    """The swatches of a CSV text, and the rows that cannot be used.

    Args:
        text: one row for each swatch, parted by commas, semicolons or tabs; numbers may have
            decimal commas where commas do not part the cells.

    Raises:
        InputError: the table as a whole cannot be read.
    """
    cells, part = _cells(text)
    bare = _without_header(cells[0][1])
    header = bare or _header(cells[0][1])
    rows = cells if bare else cells[1:]
    if not rows:
        raise NotationError.at("", "", "the swatch file has a header, but no swatches")
    by_hue = sum(1 for _, row in rows if any(_MUNSELL_HUE.match(cell) for cell in row))
    if by_hue > _MOST_MUNSELL:
        message = f"the file has {by_hue} Munsell notations with a hue; at most {_MOST_MUNSELL} "
        raise NotationError.at("", by_hue, f"{message}are read, give the colours as lab")
    swatches: list[Swatch] = []
    faulty: list[FaultyRow] = []
    seen: dict[str, int] = {}
    for number, row in rows:
        values = {name: cell.strip() for name, cell in zip(header, row, strict=False) if name}
        problems = ProblemList()
        with problems.collecting(f"row {number}"):
            if len(row) != len(header):
                raise NotationError.at("", ",".join(row[:20]), _miscounted(row, header, part))
            first = seen.get(swatch_key(values["name"]))
            if first is not None:
                taken = f"{shown(values['name'])!r} is already the name of row {first}"
                raise NotationError.at("name", values["name"], taken)
            swatch = _swatch(values)
            seen[swatch_key(swatch.name)] = number
            swatches.append(swatch)
        if problems.problems:
            name = shown(values.get("name", "")) or f"row {number}"
            faulty.append(FaultyRow(name, problems.all()))
    return SwatchFile(tuple(swatches), tuple(faulty))


def _cells(text: str) -> tuple[list[tuple[int, list[str]]], str]:
    """Rows with their numbers, and what parts their cells."""
    lines = [
        (number, line)
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1)
        if line.strip() and not _REMARK.match(line)
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
    if lines[0][1].count(part) >= _MOST_COLUMNS:
        raise NotationError.at("header", lines[0][1][:100], f"at most {_MOST_COLUMNS} columns")
    try:
        cells = [(number, next(csv.reader([line], delimiter=part))) for number, line in lines]
    except csv.Error as error:
        raise NotationError.at("", "", f"the swatch file is no CSV: {error}") from error
    return cells, part


def swatch_key(name: str) -> str:
    """A name as it is looked for: capitals and spaces do not matter."""
    return " ".join(name.lower().split())


def name_faults(name: str) -> tuple[Problem, ...]:
    """What is wrong with a name."""
    problems = ProblemList()
    if not name:
        problems.add("name", name, "the name is empty")
    elif len(name) > MAX_NAME:
        problems.add("name", name, f"a name has at most {MAX_NAME} characters")
    elif not name.isprintable():
        problems.add("name", ascii(name), "the name holds signs that cannot be printed")
    return problems.all()


def _miscounted(row: Sequence[str], header: Sequence[str], part: str) -> str:
    """A row of too many or too few cells."""
    message = f"the row has {len(row)} cells, the header has {len(header)}"
    if len(row) > len(header) and part == ",":
        message += "; what holds commas stands in quotes, decimals need a point"
    return message


def _without_header(cells: Sequence[str]) -> list[str] | None:
    """Columns of a table that begins with a name and a colour, in either order."""
    if len(cells) != 2:
        return None
    known = {*COLUMNS, *NOTATION_COLUMNS}
    if any(cell.strip().lower() in known for cell in cells):
        return None
    for place, columns in ((1, ["name", "colour"]), (0, ["colour", "name"])):
        if not re.search(r"[#a-z]", cells[place], re.IGNORECASE):
            continue  # bare figures may be a wavelength or a part number as well
        try:
            parse_colour(cells[place])
        except InputError:
            continue
        return columns
    return None


def _header(cells: Sequence[str]) -> list[str]:
    """Column names as we know them; a column we do not know becomes empty and is left out."""
    known = {column.lower(): column for column in (*COLUMNS, *NOTATION_COLUMNS)}
    known |= {"l*": "L", "a*": "a", "b*": "b", "color": "colour", "cielab": "lab", "srgb": "rgb"}
    names = [known.get(cell.strip().lower(), "") for cell in cells]
    notations = [name for name in names if name in NOTATION_COLUMNS]
    with ProblemList() as problems:
        if {"L", "a", "b"} <= set(names):
            names = ["" if name in NOTATION_COLUMNS else name for name in names]
        elif len(set(notations)) > 1:
            told = " and ".join(dict.fromkeys(notations))
            problems.add(
                "header", told, f"the header has the colour more than once: {told}; keep one"
            )
        by_notation = bool(notations) and not {"L", "a", "b"} & set(names)
        for column in NEEDED[:1] if by_notation else NEEDED:
            if column not in names:
                problems.add(
                    "header",
                    ",".join(cells),
                    f"the column {column} is missing; the header needs {','.join(NEEDED)}, or name "
                    f"and one of {', '.join(NOTATION_COLUMNS)}",
                )
        for column in (*COLUMNS, *NOTATION_COLUMNS):
            if names.count(column) > 1:
                problems.add("header", column, f"the column {column} stands there twice")
    return names


def _swatch(row: Mapping[str, str]) -> Swatch:
    """One row, with all its faults raised together."""
    name = " ".join(row["name"].split())
    with ProblemList() as problems:
        problems.extend(name_faults(name))
        specular = _choice("specular", row, {"excluded": False, "included": True}, problems)
        skin = _choice("skin", row, {skin: skin for skin in SKINS}, problems)
        porous = _choice("porous", row, _YES_NO, problems)
        bleeds = _choice("bleeds", row, _YES_NO, problems)
        observer = _choice("observer", row, {"2": 2, "10": 10}, problems)
        with problems.collecting():
            reading = _reading(name, row, observer, specular_included=bool(specular))
    return Swatch(
        name,
        reading,
        row.get("note", ""),
        skin,
        porous,
        row.get("ground", "").lower() or None,
        bleeds,
    )


def _reading(
    name: str, row: Mapping[str, str], observer: int | None, *, specular_included: bool
) -> Reading:
    """The colour of a row: L, a and b, or the one notation that the table has."""
    illuminant = row.get("illuminant", "")
    column = next((c for c in NOTATION_COLUMNS if c in row), None)
    if column is not None:
        text = row[column]
        if not text:
            raise NotationError.at(column, text, "the cell is empty")
        if column == "lrv":
            text = text.replace(",", ".")
        if column in _WORDS and not text[0].isalpha():
            text = f"{column} {text}"
        try:
            found = parse_colour(
                text, illuminant or None, observer, specular_included=specular_included
            )
        except InputError as error:
            raise error.within(column) from None
        return replace(found, text=name)
    with ProblemList() as problems:
        lab = [_number(part, row[part], problems) for part in ("L", "a", "b")]
        with problems.collecting():
            reading = Reading(
                lab=(lab[0], lab[1], lab[2]),
                illuminant=illuminant or DEFAULT_ILLUMINANT,
                observer=observer or DEFAULT_OBSERVER,
                specular_included=specular_included,
                text=name,
            )
    return reading


_WORDS = ("rgb", "lab", "lch", "xyz", "lrv")
"""Headings that may stand for the word before the numbers."""

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
