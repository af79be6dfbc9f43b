"""Where the sample swatches lie: beside ``service/`` in a checkout, inside an installed package."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from showthrough.errors import InputError

_PLAIN_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*\.csv")


@cache
def swatch_folder() -> Path:
    """The folder of sample swatches; the installed one first.

    Raises:
        InputError: neither an installed package nor a checkout holds the folder.
    """
    here = Path(__file__).resolve()
    installed = here.parents[2] / "swatches"
    if installed.is_dir():
        return installed
    checkout = here.parents[4] / "swatches"
    if checkout.is_dir():
        return checkout
    raise InputError.at(
        "swatches", checkout, "the sample swatches are missing; install the package anew"
    )


def swatch_text(filename: str) -> str:
    """The text of one sample swatch file.

    Args:
        filename: a plain name such as ``finishes.csv``; never a path.

    Raises:
        InputError: there is no such file; the message lists those there are.
    """
    if _PLAIN_NAME.fullmatch(filename):
        file = swatch_folder() / filename
        if file.is_file():
            return file.read_text("utf-8")
    there = ", ".join(sorted(f.name for f in swatch_folder().iterdir() if f.name.endswith(".csv")))
    raise InputError.at(
        "swatches", filename, f"there is no sample swatch file {filename!r}; there are: {there}"
    )
