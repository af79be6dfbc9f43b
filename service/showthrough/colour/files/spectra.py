"""Reflectance spectra from text or a file: CSV, or the open text format of ISO 28178."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from showthrough.colour.bands import reading_from_spectrum
from showthrough.colour.files.cgats import readings_from_cgats
from showthrough.colour.files.cgats_tables import looks_like_cgats
from showthrough.colour.files.spectral_csv import parse_spectra_csv
from showthrough.colour.reading import Reading
from showthrough.errors import NotationError, ProblemList, shown
from showthrough.files import read_file

__all__ = [
    "MAX_FILE_BYTES",
    "parse_spectra",
    "parse_spectra_csv",
    "read_spectral_file",
    "reading_from_grid",
    "reading_from_spectrum",
]

MAX_FILE_BYTES = 8_000_000
"""A file of some ten thousand spectra is smaller."""


def parse_spectra(
    text: str,
    *,
    name: str = "",
    percent: bool | None = None,
    illuminant: str | None = None,
    observer: int | None = None,
    specular_included: bool | None = None,
) -> list[Reading]:
    """The readings in a text, CSV or the format of ISO 28178.

    Args:
        text: the text.
        name: what to call a single sample that carries no name.
        percent: whether CSV values are percents; decided from the text where not given.
        illuminant: light of CIELAB or XYZ values in ISO 28178, in place of the file's.
        observer: the same.
        specular_included: whether the values hold the surface's mirror reflection; what
            the file says where not given, else no.

    Returns:
        One reading for each sample, named in ``text``.

    Raises:
        InputError: the text cannot be read; all faults are listed.
    """
    if looks_like_cgats(text):
        return readings_from_cgats(
            text, illuminant=illuminant, observer=observer, specular_included=specular_included
        )
    return parse_spectra_csv(
        text, name=name, percent=percent, specular_included=bool(specular_included)
    )


def reading_from_grid(
    start_nm: float,
    step_nm: float,
    values: Sequence[float],
    *,
    percent: bool | None = None,
    specular_included: bool = False,
    text: str = "",
) -> Reading:
    """Reading of values on a grid that is told by its start and its step, both in nm.

    Raises:
        InputError: the spectrum cannot be used; all faults are listed.
    """
    with ProblemList() as problems:
        for field, number in (("start_nm", start_nm), ("step_nm", step_nm)):
            if not (math.isfinite(number) and number > 0.0):
                problems.add(field, number, f"{field} must be above 0 nm, it is {number:g}")
    nm = [start_nm + step_nm * i for i in range(len(values))]
    return reading_from_spectrum(
        nm, values, percent=percent, specular_included=specular_included, text=text
    )


def read_spectral_file(
    path: str | Path,
    sample: str | None = None,
    *,
    percent: bool | None = None,
    illuminant: str | None = None,
    observer: int | None = None,
    specular_included: bool | None = None,
) -> Reading:
    """The reading of one sample in a file; see ``parse_spectra``.

    Args:
        path: the file.
        sample: name of the sample; may be left out where there is only one.
        percent: see ``parse_spectra``, as are the others.
        illuminant: the same.
        observer: the same.
        specular_included: the same.

    Raises:
        InputError: the file is missing, too large or cannot be read (all faults are listed),
            or it does not hold that one sample (the message lists those there are).
    """
    file = Path(path)
    readings = parse_spectra(
        text_of_file(file),
        name=file.stem,
        percent=percent,
        illuminant=illuminant,
        observer=observer,
        specular_included=specular_included,
    )
    if sample is None and len(readings) == 1:
        return readings[0]
    found = [r for r in readings if r.text == sample]
    if len(found) == 1:
        return found[0]
    names = [r.text or "without a name" for r in readings]
    there = ", ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")
    if sample is None:
        message = f"{shown(file.name)} holds {len(names)} samples; say which: {there}"
    elif found:
        message = f"{shown(file.name)} holds {len(found)} samples named {shown(sample)!r}"
    else:
        message = f"{shown(file.name)} holds no sample {shown(sample)!r}; there are: {there}"
    raise NotationError.at("sample", sample or "", message)


def text_of_file(file: Path) -> str:
    """Text of a file: UTF-8, UTF-16 with its mark, or the old Western code page.

    Raises:
        InputError: it cannot be opened, is no regular file, is larger than
            ``MAX_FILE_BYTES``, or no text.
    """
    content = read_file(file, "", MAX_FILE_BYTES, "spectrum")
    marked = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if marked else ("utf-8-sig", "cp1252"):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise NotationError.at("", file.name, f"{shown(file.name)} is not a text file")
