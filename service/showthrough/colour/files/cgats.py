"""The open text format of ISO 28178 (CGATS.17), as far as colours need it.

A file holds keywords, then one or more tables: BEGIN_DATA_FORMAT names the fields,
BEGIN_DATA holds one sample a line. A sample's spectrum stands either in fields
that carry their wavelength (``SPECTRAL_NM400``, ``SPECTRAL_PCT400`` and the usual
shorter forms) or in pairs of SPECTRAL_NM with SPECTRAL_PCT or SPECTRAL_DEC. Where
there is none, LAB_L LAB_A LAB_B or XYZ_X XYZ_Y XYZ_Z is taken, in the light that
the keywords state; without a statement ISO 13655 holds, D50 and 2 degrees, and the
reading says so.

A sample is called by its SAMPLE_NAME, else SAMPLE_ID, else SAMPLE_LOC, else its row.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from showthrough.colour.bands import are_percents, readings_from_rows
from showthrough.colour.files.cgats_tables import PAIRED, Table, tables_of
from showthrough.colour.lights import white_point
from showthrough.colour.reading import Reading
from showthrough.colour.space import xyz_to_lab
from showthrough.colour.tristimulus import reading_from_xyz
from showthrough.errors import (
    MOST_PROBLEMS,
    InputError,
    NotationError,
    Problem,
    ProblemList,
    shown,
)

_BAND = re.compile(
    r"(?P<kind>SPECTRAL_?NM|SPECTRAL_?PCT|SPECTRAL_?DEC|SPECTRAL|SPEC|NM|R)_?"
    r"(?P<nm>\d{3,4}(?:\.\d+)?)",
    re.IGNORECASE,
)
_ILLUMINANT = re.compile(r"ILLUMINA(?:NT|TION)(?:_?NAME)?[\s,=:\"]+([A-Z]\d*)\b", re.IGNORECASE)
_OBSERVER = re.compile(r"OBSERVER(?:_?ANGLE)?[\s,=:\"]+([0-9]{1,4})", re.IGNORECASE)
_NAMES = ("SAMPLE_NAME", "SAMPLENAME", "SAMPLE_ID", "SAMPLEID", "SAMPLE_LOC", "SAMPLELOC")
_TRIPLES = (("LAB_L", "LAB_A", "LAB_B"), ("XYZ_X", "XYZ_Y", "XYZ_Z"))
_MIRROR = re.compile(
    r"specular[\s_]*(?:component[\s_]*)?included|\bSCI\b|\bdi:8|\b8:di", re.IGNORECASE
)
_MOST_GRIDS = 500  # samples on ever different wavelengths are no collection


@dataclass(frozen=True, slots=True)
class Sample:
    """One sample of a file: its reading, or what is wrong with it."""

    name: str
    line: int
    reading: Reading | None
    problems: tuple[Problem, ...] = ()

    @property
    def place(self) -> str:
        """Where it stands, for a list of problems."""
        return f"line {self.line}" + (f", {shown(self.name)}" if self.name else "")


@dataclass(frozen=True, slots=True)
class _Columns:
    """Where a table keeps its colours."""

    bands: tuple[tuple[float, int], ...]
    """Wavelength and column."""
    pairs: tuple[tuple[int, int], ...]
    """Column of the wavelength and column of the value."""
    percent: bool | None
    triple: tuple[int, ...]
    is_lab: bool
    names: tuple[int, ...]
    """Columns of names, the best first."""


def readings_from_cgats(
    text: str,
    *,
    illuminant: str | None = None,
    observer: int | None = None,
    specular_included: bool | None = None,
) -> list[Reading]:
    """The readings of all samples, by name.

    Args:
        text: the file.
        illuminant: light of LAB or XYZ fields, in place of what the keywords state.
        observer: the same.
        specular_included: the same; without a statement the mirror reflection is left out.

    Raises:
        InputError: the file or a sample cannot be read; the first faults are listed by line,
            the rest counted.

    Source:
        ISO 28178; CGATS.17; ISO 13655 for the light where none is stated.
    """
    samples = samples_from_cgats(
        text, illuminant=illuminant, observer=observer, specular_included=specular_included
    )
    with ProblemList(MOST_PROBLEMS) as problems:
        for sample in samples:
            problems.extend(problem.within(sample.place) for problem in sample.problems)
    return [sample.reading for sample in samples if sample.reading is not None]


def samples_from_cgats(
    text: str,
    *,
    illuminant: str | None = None,
    observer: int | None = None,
    specular_included: bool | None = None,
) -> list[Sample]:
    """All samples, those that cannot be used with what is wrong with them.

    Args:
        text: the file.
        illuminant: light of LAB or XYZ fields, in place of what the keywords state.
        observer: the same.
        specular_included: the same; without a statement the mirror reflection is left out.

    Raises:
        InputError: the file as a whole cannot be read.

    Source:
        ISO 28178; CGATS.17; ISO 13655 for the light where none is stated.
    """
    stated, tables = tables_of(text)
    if specular_included is None:
        specular_included = _MIRROR.search(stated) is not None
    light = _light(stated, illuminant, observer)
    samples: list[Sample] = []
    with ProblemList(MOST_PROBLEMS) as problems:
        for table in tables:
            with problems.collecting():
                samples += _samples(table, light, specular_included=specular_included)
        if not samples and not problems.problems:
            problems.add("", "", "the file holds no samples between BEGIN_DATA and END_DATA")
    return samples


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
    """Find names and colours among the fields."""
    names = [name.upper() for name in fields]
    index = {name: i for i, name in enumerate(names)}
    bands, kinds = [], set()
    for i, name in enumerate(names):
        if match := _BAND.fullmatch(name):
            bands.append((float(match["nm"]), i))
            kinds.add(match["kind"].replace("_", ""))
    pairs = [
        (i, i + 1)
        for i in range(len(names) - 1)
        if names[i] == PAIRED[0] and names[i + 1] in PAIRED[1:]
    ]
    kinds |= {names[j].replace("_", "") for _, j in pairs}
    percent = None
    if any(kind.endswith("PCT") for kind in kinds):
        percent = True
    elif any(kind.endswith("DEC") for kind in kinds):
        percent = False
    triple = next((parts for parts in _TRIPLES if all(part in index for part in parts)), ())
    if not (bands or pairs or triple):
        raise NotationError.at(
            "",
            " ".join(fields[:20]),
            "the fields hold no colour; SPECTRAL_NM400 ..., SPECTRAL_NM with SPECTRAL_PCT or "
            "SPECTRAL_DEC, LAB_L LAB_A LAB_B or XYZ_X XYZ_Y XYZ_Z would do",
        )
    return _Columns(
        tuple(bands),
        tuple(pairs),
        percent,
        tuple(index[part] for part in triple),
        triple == _TRIPLES[0],
        tuple(index[key] for key in _NAMES if key in index),
    )


def _samples(table: Table, light: tuple[str, int, str], *, specular_included: bool) -> list[Sample]:
    """Samples of one table, in order."""
    columns = _columns(table.fields)
    spectral = bool(columns.bands or columns.pairs)
    at = [*(i for i, _ in columns.pairs), *(i for _, i in (*columns.bands, *columns.pairs))]
    read: list[tuple[str, int, list[float]]] = []
    samples: list[Sample] = []
    for count, (number, row) in enumerate(table.rows, start=1):
        name = next((row[i] for i in columns.names if row[i]), "")
        name = name or (f"row {count}" if len(table.rows) > 1 else "")
        try:
            read.append((name, number, _numbers(row, at if spectral else columns.triple)))
        except InputError as error:
            samples.append(Sample(name, number, None, error.problems))
    make = _spectra if spectral else _lit
    outcomes = make(columns, read, light, specular_included=specular_included) if read else []
    for (name, number, _), outcome in zip(read, outcomes, strict=True):
        if isinstance(outcome, Reading):
            samples.append(Sample(name, number, outcome))
        else:
            samples.append(Sample(name, number, None, outcome))
    return sorted(samples, key=lambda sample: sample.line)


_Outcomes = list[Reading | tuple[Problem, ...]]


def _spectra(
    columns: _Columns,
    read: Sequence[tuple[str, int, list[float]]],
    _light: tuple[str, int, str],
    *,
    specular_included: bool,
) -> _Outcomes:
    """Readings of spectra; those on one grid are brought to the bands together."""
    own = len(columns.pairs)
    common = [nm for nm, _ in columns.bands]
    percent = columns.percent
    if percent is None:
        percent = are_percents([values[own:] for _, _, values in read])
    grids: dict[tuple[float, ...], list[int]] = {}
    for i, (_, _, values) in enumerate(read):
        grids.setdefault(tuple(values[:own]), []).append(i)
    if len(grids) > _MOST_GRIDS:
        message = f"the samples stand on more than {_MOST_GRIDS} sets of wavelengths; use one"
        raise NotationError.at("", len(grids), message)
    outcomes: _Outcomes = [()] * len(read)
    for nm, members in grids.items():
        try:
            found = readings_from_rows(
                [*common, *nm],
                [read[i][2][own:] for i in members],
                [read[i][0] for i in members],
                percent=percent,
                specular_included=specular_included,
            )
        except InputError as error:
            if len(grids) == 1:
                raise  # a fault of the table, told once
            found = [error.problems] * len(members)
        for i, outcome in zip(members, found, strict=True):
            outcomes[i] = outcome
    return outcomes


def _lit(
    columns: _Columns,
    read: Sequence[tuple[str, int, list[float]]],
    light: tuple[str, int, str],
    *,
    specular_included: bool,
) -> _Outcomes:
    """Readings of CIELAB or XYZ in the light of the file."""
    illuminant, observer, note = light
    # The light is one for the whole file, and so is its fault.
    known = Reading(lab=(50.0, 0.0, 0.0), illuminant=illuminant, observer=observer)
    labs = np.array([values for _, _, values in read])
    faulty = np.full(len(read), fill_value=False)
    if not columns.is_lab:
        white = white_point(known.illuminant, known.observer)
        faulty |= ~((labs >= 0.0) & (labs <= white)).all(axis=1)
        labs = xyz_to_lab(np.where(faulty[:, None], white, labs), white)
    outcomes: _Outcomes = []
    for i, ((name, _, values), lab) in enumerate(zip(read, labs.tolist(), strict=True)):
        try:
            if faulty[i]:  # or a rounded white
                lab = reading_from_xyz(values, known.illuminant, known.observer).lab  # noqa: PLW2901 - read anew
            outcomes.append(
                Reading(
                    lab=lab,
                    illuminant=known.illuminant,
                    observer=known.observer,
                    specular_included=specular_included,
                    text=name,
                    notes=(note,) if note else (),
                )
            )
        except InputError as error:
            outcomes.append(error.problems)
    return outcomes


def _numbers(row: Sequence[str], at: Sequence[int]) -> list[float]:
    """Numbers in some columns; a decimal comma is read as a point."""
    try:
        return [float(row[i]) for i in at]
    except ValueError:
        pass
    numbers, wrong = [], []
    for i in at:
        try:
            numbers.append(float(row[i].replace(",", ".")))
        except ValueError:
            wrong.append(row[i])
    if wrong:
        words = ", ".join(repr(shown(cell)) for cell in wrong[:3])
        more = f" and {len(wrong) - 3} more cells are no numbers" if len(wrong) > 3 else ""
        raise NotationError.at("", words, f"{words} is not a number{more}")
    return numbers
