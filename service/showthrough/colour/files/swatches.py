"""Swatches: named colours in a file, our own samples or a painter's.

A file is a table (see ``swatch_table``) or a collection in the open text format of
ISO 28178. A row that cannot be used is kept with what is wrong with it, so that one
impossible colour among thousands need not refuse the others.
"""

from __future__ import annotations

from functools import cache

from showthrough.colour.files.cgats import samples_from_cgats
from showthrough.colour.files.cgats_tables import looks_like_cgats
from showthrough.colour.files.shipped import swatch_text
from showthrough.colour.files.swatch_table import (
    COLUMNS,
    MAX_ROWS,
    NEEDED,
    SKINS,
    FaultyRow,
    Swatch,
    SwatchFile,
    name_faults,
    swatch_key,
    swatches_of_table,
)
from showthrough.errors import InputError, NotationError, alike, shown
from showthrough.tables import data_text, records_of

__all__ = [
    "COLUMNS",
    "MAX_ROWS",
    "NEEDED",
    "SETS",
    "SKINS",
    "FaultyRow",
    "Swatch",
    "SwatchFile",
    "common_words",
    "find_swatch",
    "nearest_swatches",
    "parse_swatches",
    "read_swatches",
    "shipped_swatches",
]

SETS = ("topcoats", "surfaces")
"""The sample sets that hold colours; hardware finishes are read elsewhere."""

_NAMES_SHOWN = 3


def parse_swatches(text: str) -> tuple[Swatch, ...]:
    """The swatches of a text, each of which must be in order.

    Args:
        text: a table of names and colours, or a collection in the format of ISO 28178.

    Returns:
        The swatches, in order.

    Raises:
        InputError: the text cannot be read, rows are wrong or names repeat; the first faults
            are listed with their rows, the rest counted.
    """
    return read_swatches(text).checked(strict=True).swatches


def read_swatches(text: str) -> SwatchFile:
    """The swatches of a text, and the rows that cannot be used.

    Args:
        text: a table of names and colours, or a collection in the format of ISO 28178.

    Raises:
        InputError: the text as a whole cannot be read.
    """
    if looks_like_cgats(text):
        return _collection(text)
    return swatches_of_table(text)


def _collection(text: str) -> SwatchFile:
    """Samples of ISO 28178; a name that comes again is told apart by its line."""
    swatches: list[Swatch] = []
    faulty: list[FaultyRow] = []
    seen: set[str] = set()
    for sample in samples_from_cgats(text):
        name = " ".join(sample.name.split()) or "the sample"
        if swatch_key(name) in seen:
            name += f" (line {sample.line})"
        seen.add(swatch_key(name))
        problems = (*sample.problems, *name_faults(name))
        if sample.reading is None or problems:
            place = f"line {sample.line}"
            faulty.append(FaultyRow(shown(name), tuple(p.within(place) for p in problems)))
        else:
            swatches.append(Swatch(name, sample.reading))
    return SwatchFile(tuple(swatches), tuple(faulty))


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
    wanted = swatch_key(name)
    for swatch in swatches:
        if swatch_key(swatch.name) == wanted:
            return swatch
    if close := nearest_swatches(name, swatches):
        hint = f"the nearest names are: {', '.join(swatch.name for swatch in close)}"
    else:
        few = ", ".join(swatch.name for swatch in swatches[:_NAMES_SHOWN])
        hint = f"names are such as: {few}" if few else "there are no swatches at all"
    raise NotationError.at("", name, f"there is no swatch named {shown(name)!r}; {hint}")


def nearest_swatches(name: str, swatches: tuple[Swatch, ...]) -> list[Swatch]:
    """The three swatches that were most likely meant by a name that was typed, best first.

    A slip of the pen comes first; then what a common word such as "sage" hints at, within the
    hue that was said; then names that hold most of the words: by spelling where one is a hue,
    else those that hold the fewest others.
    """
    by_key = {swatch_key(swatch.name): swatch for swatch in swatches}
    wanted = swatch_key(name)
    words = set(wanted.split())
    shared = {key: len(words & set(key.split())) for key in by_key}
    most = max(shared.values(), default=0)
    holding = [key for key in by_key if most and shared[key] == most]
    # What the first common word in the text hints at.
    offers = (names for word, names in common_words().items() if f" {word} " in f" {wanted} ")
    hints = [swatch_key(hint) for hint in next(offers, ())]
    close = alike(wanted, by_key, _NAMES_SHOWN, 0.8 if most or hints else 0.5)
    close += [key for key in hints if key in by_key and _any_said(words, key)]
    if words & _HUES:
        close += alike(wanted, holding, len(holding) or 1, 0.0)
    close += sorted(holding, key=lambda key: len(key.split()))
    close += [key for key in hints if key in by_key]
    close += alike(wanted, by_key, _NAMES_SHOWN, 0.5)
    close += [key for key in by_key if wanted and wanted in key]
    return [by_key[key] for key in list(dict.fromkeys(close))[:_NAMES_SHOWN]]


@cache
def common_words() -> dict[str, tuple[str, ...]]:
    """Common words for colours with the sample topcoats to offer; they stand for no colour."""
    rows = records_of(data_text(__file__, "common_words.csv"))
    return {row["word"]: (row["first"], row["second"], row["third"]) for row in rows}


_HUES = frozenset(
    {
        "red",
        "orange",
        "brown",
        "yellow",
        "green",
        "blue",
        "purple",
        "pink",
        "white",
        "grey",
        "black",
    }
)


def _any_said(words: set[str], key: str) -> bool:
    """Whether a name is of a hue that was said, where one was."""
    said = words & _HUES
    return not said or bool(said & set(key.replace("-", " ").split()))
