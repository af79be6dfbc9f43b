"""Reads files that a painter names: whole ones on a disk, never more of them than is wanted.

A device or a pipe may never end, or never begin; it is refused before it is opened.
"""

from __future__ import annotations

import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from showthrough.errors import InputError, shown

_LONG_KEY = re.compile(
    r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){20}""", re.ASCII
)
"""A TOML key of more than twenty parts; the time to read one grows with its square."""


def read_file(path: str | Path, field: str, most: int, what: str = "") -> bytes:
    """The bytes of a regular file.

    Args:
        path: the file.
        field: what names it, for the message.
        most: bytes that it may have.
        what: the kind of file; as ``field`` where not given.

    Raises:
        InputError: it is not there, no regular file, not to be read, or too large.
    """
    file = Path(path)
    name = shown(file.name or str(file))
    try:
        kind = file.stat().st_mode
        if not (stat.S_ISREG(kind) or stat.S_ISDIR(kind)):
            raise InputError.at(
                field, name, f"{name} cannot be read: it is a pipe or a device; save it as a file"
            )
        # Should a pipe have taken its place just now, opening it does not wait for a writer.
        handle = os.open(file, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
        with open(handle, "rb") as stream:  # noqa: PTH123 - it is open already
            content = stream.read(most + 1)
            size = max(len(content), os.fstat(handle).st_size)
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        if isinstance(error, InputError):
            raise
        reason = getattr(error, "strerror", None) or error
        raise InputError.at(field, name, f"{name} cannot be read: {reason}") from error
    if size > most:
        raise InputError.at(
            field,
            name,
            f"{name} has {size / 1e6:.1f} MB; a {what or field} file has at most {most / 1e6:g} MB",
            "too_large",
        )
    return content


def text_of(content: bytes, field: str, name: str) -> str:
    """The text in UTF-8, with or without a byte-order mark.

    Raises:
        InputError: it is in another encoding.
    """
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        name = shown(name)
        raise InputError.at(field, name, f"{name} is not a text in UTF-8") from error


def toml_table(text: str) -> dict[str, Any]:
    """The table that a TOML text holds.

    Raises:
        ValueError: it is no TOML, or nested too deep to be read.
    """
    if _LONG_KEY.search(text) is not None:
        raise ValueError("a key has more than 20 parts")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ValueError("it is nested too deep") from None
