"""Reads the tables that come with the package: CSV, with comment lines that say their source."""

from __future__ import annotations

import csv
from pathlib import Path


def rows_of(text: str) -> list[list[str]]:
    """The rows of a commented CSV text, head line first; lines that start with # are left out."""
    return list(csv.reader(line for line in text.splitlines() if line and line[0] != "#"))


def records_of(text: str) -> list[dict[str, str]]:
    """Its rows by the names in its head line."""
    head, *rows = rows_of(text)
    return [dict(zip(head, row, strict=True)) for row in rows]


def data_text(module: str, name: str) -> str:
    """The text of a file in the folder ``data`` beside a module, given as its ``__file__``."""
    # Plain paths: a wheel is unpacked, and importlib.resources would slow every start.
    return (Path(module).parent / "data" / name).read_text("utf-8")
