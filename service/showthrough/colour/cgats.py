"""The open text format of ISO 28178 (CGATS.17), as far as colours need it.

A file holds keywords, then one or more tables: BEGIN_DATA_FORMAT names the fields,
BEGIN_DATA holds one sample a line. A sample's spectrum stands either in fields
that carry their wavelength (``SPECTRAL_NM400``, ``SPECTRAL_PCT400`` and the usual
shorter forms) or in pairs of SPECTRAL_NM with SPECTRAL_PCT or SPECTRAL_DEC. Where
there is none, LAB_L LAB_A LAB_B or XYZ_X XYZ_Y XYZ_Z is taken, in the light that
the keywords state; without a statement ISO 13655 holds, D50 and 2 degrees, and the
reading says so.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from showthrough.colour.bands import is_percent, reading_from_spectrum
from showthrough.colour.reading import Reading
from showthrough.colour.tristimulus import reading_from_lab, reading_from_xyz
from showthrough.errors import NotationError, ProblemList, shown

_TOKEN = re.compile(r'"([^"]*)"|(\S+)')
_BAND = re.compile(
    r"(?P<kind>SPECTRAL_?NM|SPECTRAL_?PCT|SPECTRAL_?DEC|SPECTRAL|SPEC|NM|R)_?"
    r"(?P<nm>\d{3,4}(?:\.\d+)?)",
    re.IGNORECASE,
)
_ILLUMINANT = re.compile(r"ILLUMINA(?:NT|TION)(?:_?NAME)?[\s,=:\"]+([A-Z]\d*)\b", re.IGNORECASE)
_OBSERVER = re.compile(r"OBSERVER(?:_?ANGLE)?[\s,=:\"]+(\d+)", re.IGNORECASE)
_NAMES = ("SAMPLE_NAME", "SAMPLENAME", "SAMPLE_ID", "SAMPLEID")
_TRIPLES = (("LAB_L", "LAB_A", "LAB_B"), ("XYZ_X", "XYZ_Y", "XYZ_Z"))
_MIRROR = re.compile(
    r"specular[\s_]*(?:component[\s_]*)?included|\bSCI\b|\bdi:8|\b8:di", re.IGNORECASE
)


@dataclass(slots=True)
class _Table:
    """One BEGIN_DATA_FORMAT with its BEGIN_DATA."""

    fields: list[str] = field(default_factory=list)
    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    sets: int | None = None


@dataclass(frozen=True, slots=True)
class _Columns:
    """Where a table keeps its spectra."""

    bands: tuple[tuple[float, int], ...]
    """Wavelength and column."""
    pairs: tuple[tuple[int, int], ...]
    """Column of the wavelength and column of the value."""
    percent: bool | None


@dataclass(frozen=True, slots=True)
class _Sample:
    """One line of data."""

    name: str
    where: str
    nm: list[float]
    """Wavelengths; none where the values are CIELAB or XYZ."""
    values: list[float]
    is_lab: bool = False


def looks_like_cgats(text: str) -> bool:
    """Whether a text has the tables of ISO 28178."""
    return re.search(r"^\s*BEGIN_DATA(?:_FORMAT)?\b", text, re.MULTILINE) is not None


def readings_from_cgats(
    text: str,
    *,
    illuminant: str | None = None,
    observer: int | None = None,
    specular_included: bool | None = None,
) -> list[Reading]:
    """The readings of all samples, named by SAMPLE_NAME or SAMPLE_ID.

    Args:
        text: the file.
        illuminant: light of LAB or XYZ fields, in place of what the keywords state.
        observer: the same.
        specular_included: the same; without a statement the mirror reflection is left out.

    Raises:
        InputError: the file cannot be read; all faults are listed, by line.

    Source:
        ISO 28178; CGATS.17; ISO 13655 for the light where none is stated.
    """
    problems = ProblemList()
    reader = _Reader(problems)
    for number, line in enumerate(text.splitlines(), start=1):
        if tokens := _tokens(line):
            reader.take(number, tokens)
    reader.finish()
    stated = "\n".join(reader.keywords)
    if specular_included is None:
        specular_included = _MIRROR.search(stated) is not None
    light = _light(stated, illuminant, observer)
    readings: list[Reading] = []
    for table in reader.tables:
        readings += _table_readings(table, light, problems, specular_included=specular_included)
    if not readings and not problems.problems:
        problems.add("", "", "the file holds no samples between BEGIN_DATA and END_DATA")
    problems.raise_if_any()
    return readings


def _tokens(line: str) -> list[str]:
    """Fields of a line; quotes hold spaces, # outside quotes begins a comment."""
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
        self.tables: list[_Table] = []
        self._table = _Table()
        self._section = ""

    def take(self, number: int, tokens: list[str]) -> None:
        """Take one line that is not empty."""
        word = tokens[0].upper()
        if word in {"BEGIN_DATA_FORMAT", "BEGIN_DATA"}:
            self._section = word
            if word == "BEGIN_DATA_FORMAT":
                self._table.fields = []
        elif word in {"END_DATA_FORMAT", "END_DATA"}:
            self._end(number, word)
        elif self._section == "BEGIN_DATA_FORMAT":
            self._table.fields += tokens
        elif self._section == "BEGIN_DATA":
            self._row(number, tokens)
        elif word == "NUMBER_OF_SETS" and len(tokens) > 1 and tokens[1].isdigit():
            self._table.sets = int(tokens[1])
        else:
            self.keywords.append(" ".join(tokens))

    def finish(self) -> None:
        """Note what the end of the file shows to be missing."""
        if self._section:
            end = self._section.replace("BEGIN", "END")
            self.problems.add("", self._section, f"{end} is missing at the end")
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

    def _end(self, number: int, word: str) -> None:
        if self._section != word.replace("END", "BEGIN"):
            self.problems.add("", word, f"line {number}: {word} without its beginning")
        elif word == "END_DATA":
            self.tables.append(self._table)
            self._table = _Table(fields=list(self._table.fields))
        self._section = ""

    def _row(self, number: int, tokens: list[str]) -> None:
        fields = len(self._table.fields)
        if len(tokens) == fields:
            self._table.rows.append((number, tokens))
            return
        message = f"line {number} has {len(tokens)} values for {fields} fields"
        self.problems.add("", " ".join(tokens), message)


def _light(stated: str, illuminant: str | None, observer: int | None) -> tuple[str, int, str]:
    """Illuminant, observer, and a sentence if one had to be assumed."""
    note = ""
    if illuminant is None:
        found = _ILLUMINANT.search(stated)
        illuminant = found[1] if found else "D50"
        if found is None:
            note = "The file states no light for its values; D50 is taken (ISO 13655)."
    if observer is None:
        angle = _OBSERVER.search(stated)
        observer = int(angle[1]) if angle else 2
    return illuminant, observer, note


def _columns(fields: Sequence[str]) -> _Columns:
    """Find the spectra among the fields."""
    names = [name.upper() for name in fields]
    bands, kinds = [], set()
    for i, name in enumerate(names):
        if match := _BAND.fullmatch(name):
            bands.append((float(match["nm"]), i))
            kinds.add(match["kind"].replace("_", ""))
    pairs = [
        (i, i + 1)
        for i in range(len(names) - 1)
        if names[i] == "SPECTRAL_NM" and names[i + 1] in {"SPECTRAL_PCT", "SPECTRAL_DEC"}
    ]
    kinds |= {names[j].replace("_", "") for _, j in pairs}
    percent = None
    if any(kind.endswith("PCT") for kind in kinds):
        percent = True
    elif any(kind.endswith("DEC") for kind in kinds):
        percent = False
    return _Columns(tuple(bands), tuple(pairs), percent)


def _table_readings(
    table: _Table,
    light: tuple[str, int, str],
    problems: ProblemList,
    *,
    specular_included: bool,
) -> list[Reading]:
    columns = _columns(table.fields)
    index = {name.upper(): i for i, name in enumerate(table.fields)}
    triple = next((names for names in _TRIPLES if all(name in index for name in names)), None)
    if not (columns.bands or columns.pairs or triple):
        problems.add(
            "",
            " ".join(table.fields),
            "the fields hold no colour; SPECTRAL_NM400 ..., SPECTRAL_NM with SPECTRAL_PCT or "
            "SPECTRAL_DEC, LAB_L LAB_A LAB_B or XYZ_X XYZ_Y XYZ_Z would do",
        )
        return []
    samples: list[_Sample] = []
    for number, row in table.rows:
        name = next((row[index[key]] for key in _NAMES if key in index), "")
        where = f"line {number}" + (f", {shown(name)}" if name else "")
        with problems.collecting(where):
            if triple and not (columns.bands or columns.pairs):
                values = _numbers(row, [index[part] for part in triple])
                samples.append(_Sample(name, where, [], values, is_lab=triple[0] == "LAB_L"))
            else:
                nm = [band for band, _ in columns.bands]
                nm += _numbers(row, [i for i, _ in columns.pairs])
                values = _numbers(row, [i for _, i in (*columns.bands, *columns.pairs)])
                samples.append(_Sample(name, where, nm, values))
    spectra = [v for sample in samples if sample.nm for v in sample.values if math.isfinite(v)]
    percent = columns.percent
    if percent is None and spectra:
        try:
            percent = is_percent(max(spectra))
        except NotationError as error:
            problems.problems.extend(error.problems)
            return []
    readings = []
    for sample in samples:
        with problems.collecting(sample.where):
            readings.append(
                reading_from_spectrum(
                    sample.nm,
                    sample.values,
                    percent=percent,
                    specular_included=specular_included,
                    text=sample.name,
                )
                if sample.nm
                else _lit_reading(sample, light, specular_included=specular_included)
            )
    return readings


def _lit_reading(
    sample: _Sample, light: tuple[str, int, str], *, specular_included: bool
) -> Reading:
    """Reading of CIELAB or XYZ in the light of the file."""
    illuminant, observer, note = light
    make = reading_from_lab if sample.is_lab else reading_from_xyz
    reading = make(
        sample.values,
        illuminant,
        observer,
        specular_included=specular_included,
        text=sample.name,
    )
    return replace(reading, notes=(note,)) if note else reading


def _numbers(row: Sequence[str], at: Sequence[int]) -> list[float]:
    """Numbers in some columns; a decimal comma is read as a point."""
    numbers, wrong = [], []
    for i in at:
        try:
            numbers.append(float(row[i].replace(",", ".")))
        except ValueError:
            wrong.append(row[i])
    if wrong:
        words = ", ".join(repr(shown(cell)) for cell in wrong)
        raise NotationError.at("", words, f"{words} is not a number")
    return numbers
