"""The frame of ISO 28178 (CGATS.17): keywords, and tables of fields and rows."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field

from showthrough.colour.bands import MOST_BANDS
from showthrough.errors import MOST_PROBLEMS, NotationError, ProblemList, shown

MOST_SAMPLES = 20_000

PAIRED = ("SPECTRAL_NM", "SPECTRAL_PCT", "SPECTRAL_DEC")
"""Fields that may come again and again, one pair for each band."""

_TABLES = re.compile(r"(?:^|[\n\r])[\ufeff \t]*BEGIN_DATA(?:_FORMAT)?\b", re.IGNORECASE)
_TOKEN = re.compile(r'"([^"]*)"|(\S+)')
_COUNT = re.compile(r"[0-9]{1,9}")
_LONGEST_LINE = 500_000


@dataclass(slots=True)
class Table:
    """One BEGIN_DATA_FORMAT with its BEGIN_DATA."""

    fields: list[str] = field(default_factory=list)
    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    sets: int | None = None


def looks_like_cgats(text: str) -> bool:
    """Whether a text has the tables of ISO 28178."""
    return _TABLES.search(text) is not None


def tables_of(text: str) -> tuple[str, list[Table]]:
    """What the keywords say, and the tables of a file.

    Raises:
        InputError: the frame is broken; the first faults are listed by line, the rest counted.
    """
    with ProblemList(MOST_PROBLEMS) as problems:
        reader = _Reader(problems)
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1):
            if len(line) > _LONGEST_LINE:
                message = f"line {number} is longer than {_LONGEST_LINE} characters"
                raise NotationError.at("", line[:100], message)
            if tokens := _tokens(line):
                reader.take(number, tokens)
        reader.finish()
    return "\n".join(reader.keywords), reader.tables


def _tokens(line: str) -> list[str]:
    """Fields of a line; quotes hold spaces, # outside quotes begins a comment."""
    if '"' not in line and "#" not in line:
        return line.split()
    found: list[str] = []
    for match in _TOKEN.finditer(line):
        if match[2] is not None and match[2].startswith("#"):
            break
        found.append(match[1] if match[2] is None else match[2])
    return found


class _Reader:
    """Takes a file line by line; faults of the frame are noted by line."""

    def __init__(self, problems: ProblemList) -> None:
        self.problems = problems
        self.keywords: list[str] = []
        self.tables: list[Table] = []
        self._table = Table()
        self._section = ""
        self._own_fields = False
        """Whether the table names its fields itself, not those of the table before."""
        self._samples = 0

    def take(self, number: int, tokens: list[str]) -> None:
        """Take one line that is not empty."""
        word = tokens[0].upper()
        if word in {"BEGIN_DATA_FORMAT", "BEGIN_DATA"}:
            self._begin(number, word)
        elif word in {"END_DATA_FORMAT", "END_DATA"}:
            self._end(number, word)
        elif self._section == "BEGIN_DATA_FORMAT":
            self._table.fields += tokens
        elif self._section == "BEGIN_DATA":
            self._row(number, tokens)
        elif word == "NUMBER_OF_SETS" and len(tokens) > 1 and _COUNT.fullmatch(tokens[1]):
            self._table.sets = int(tokens[1])
        else:
            self.keywords.append(" ".join(tokens))

    def finish(self) -> None:
        """Note what the end of the file shows to be missing."""
        if self._section:
            self.problems.add("", self._section, f"{_end_of(self._section)} is missing at the end")
            self.tables.append(self._table)
        if self.problems.problems:
            return
        for table in self.tables:
            if table.sets is not None and table.sets != len(table.rows):
                self.problems.add(
                    "",
                    table.sets,
                    f"NUMBER_OF_SETS says {table.sets}, {len(table.rows)} samples are there",
                )

    def _begin(self, number: int, word: str) -> None:
        if self._section:
            missing = f"line {number}: {word} before {_end_of(self._section)}"
            self.problems.add("", word, missing)
        self._section = word
        if word == "BEGIN_DATA":
            if not self._table.fields:
                message = f"line {number}: the data begin, but no BEGIN_DATA_FORMAT names fields"
                self.problems.add("", word, message)
            return
        if self._own_fields:
            message = f"line {number}: the field list comes twice before the data; keep one"
            self.problems.add("", word, message)
        self._own_fields = True
        self._table.fields = []

    def _end(self, number: int, word: str) -> None:
        if self._section != word.replace("END", "BEGIN"):
            self.problems.add("", word, f"line {number}: {word} without its beginning")
        elif word == "END_DATA_FORMAT":
            self._check_fields(number)
        else:
            self.tables.append(self._table)
            self._table = Table(fields=list(self._table.fields))
            self._own_fields = False
        self._section = ""

    def _check_fields(self, number: int) -> None:
        fields = [name.upper() for name in self._table.fields]
        if len(fields) > 2 * MOST_BANDS:
            message = f"line {number}: the format has {len(fields)} fields, more than any spectrum"
            self.problems.add("", len(fields), message)
        often = [n for n, times in Counter(fields).items() if times > 1 and n not in PAIRED]
        if often:
            names = ", ".join(shown(name) for name in often[:6])
            names += f" and {len(often) - 6} more" if len(often) > 6 else ""
            message = f"line {number}: the field list names {names} more than once"
            self.problems.add("", names, message)
            self._table.fields = []  # its rows cannot be told apart

    def _row(self, number: int, tokens: list[str]) -> None:
        fields = len(self._table.fields)
        self._samples += 1
        if self._samples > MOST_SAMPLES:
            message = f"the file has more than {MOST_SAMPLES} samples; split it"
            raise NotationError.at("", f"line {number}", message)
        if len(tokens) == fields:
            self._table.rows.append((number, tokens))
        elif fields:  # without fields that is the fault, and noted
            message = f"line {number} has {len(tokens)} values for {fields} fields"
            self.problems.add("", " ".join(tokens[:20]), message)


def _end_of(section: str) -> str:
    return section.replace("BEGIN", "END")
