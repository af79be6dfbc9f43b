"""Reads the tables of published values that lie beside this file."""

from __future__ import annotations

import csv
from pathlib import Path


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a CSV whose heading lines start with #, as texts by column."""
    text = (Path(__file__).parent / name).read_text("utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
