"""Paints measured by drawdown, as a job uses them and as files keep them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomli_w

from showthrough.errors import InputError
from showthrough.film.hiding import Paint
from showthrough.film.paint_table import paint_from_table


def measured_paint(table: Mapping[str, Any] | None, file: str | None, folder: Path | None) -> Paint:
    """The paint of a job's ``topcoat.paint`` or ``topcoat.paint_file``.

    Raises:
        InputError: the table is wrong, or files are not read here; by field.
    """
    if table is not None:
        try:
            return paint_from_table(table)
        except InputError as error:
            raise error.within("topcoat.paint") from None
    from showthrough.jobs.resolve import load_toml

    if folder is None or file is None:
        raise InputError.at(
            "topcoat.paint_file",
            file,
            "files are read only for a job file; send the paint inline as paint",
            "file_refused",
        )
    content = load_toml(folder / file, "paint")
    try:
        return paint_from_table(content)
    except InputError as error:
        raise error.within("topcoat.paint_file") from None


def paint_toml(table: Mapping[str, Any]) -> str:
    """The text of a paint file, from the table that a drawdown answer holds."""
    head = "# A paint measured by drawdown: name this file as paint_file under [topcoat].\n"
    return head + tomli_w.dumps(dict(table))
