"""What all texts on a terminal share: width, colour fields, wrapped lists."""

from __future__ import annotations

import errno
import io
import os
import re
import shutil
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, TextIO

from showthrough.errors import MORE, InputError, ShowthroughError, harmless, to_put_right

if TYPE_CHECKING:
    from showthrough.jobs.answers.prediction import Prediction
    from showthrough.jobs.answers.whole import WholeJob


def wants_colour(choice: str, stream: TextIO, environ: Mapping[str, str] = os.environ) -> bool:
    """Whether to write true colour: asked for, or a terminal that says that it shows it."""
    if choice != "auto":
        return choice == "always"
    if environ.get("NO_COLOR") or environ.get("TERM") == "dumb" or not stream.isatty():
        return False
    return environ.get("COLORTERM", "") in {"truecolor", "24bit"}


def width_of() -> int:
    """Columns to write in: a readable line, never wider than the terminal."""
    return max(40, min(shutil.get_terminal_size((80, 24)).columns, 96))


def field(hex_: str, text: str) -> str:
    """A text on a field of colour, black or white, whichever reads better."""
    r, g, b = (int(hex_[i : i + 2], 16) for i in (1, 3, 5))
    ink = "0;0;0" if 0.299 * r + 0.587 * g + 0.114 * b > 128 else "255;255;255"
    return f"\x1b[48;2;{r};{g};{b}m\x1b[38;2;{ink}m{text}\x1b[0m"


def mark(hex_: str, *, colour: bool) -> str:
    """A colour's hex code, on a field of it where the terminal shows colour."""
    return field(hex_, f" {hex_} ") if colour else hex_


def named(answer: Prediction | WholeJob, *, colour: bool, width: int) -> list[str]:
    """The job and its topcoat, on a field of the colour where the terminal shows it."""
    told = f"{answer.title}: {answer.topcoat_name}" if answer.title else answer.topcoat_name
    lines = textwrap.wrap(told, width)
    if colour:
        lines[-1] = field(answer.topcoat.hex, lines[-1])
    return lines


def cut(text: str, width: int) -> str:
    """The text, with an ellipsis where it is longer than ``width``."""
    return text if len(text) <= width else text[: width - 1] + "…"


_OURS = re.compile(r"(\x1b\[(?:0|[34]8;2;\d{1,3};\d{1,3};\d{1,3})m|\x1b\[K)")
"""Colours that ``field`` writes, and the wiping of a bar."""

_ESCAPE = re.compile(r"\x1b\[[0-9;]*m")
_WORD = re.compile(r"(?:\x1b\[[0-9;]*m)+[^\x1b]*\x1b\[0m\S*|\S+")


def seen(text: str) -> int:
    """Columns that a text takes; colour takes none."""
    return len(_ESCAPE.sub("", text))


def fitted(lines: Iterable[str], width: int) -> list[str]:
    """The lines, those that are too wide continued on lines of their own, further in."""
    out = []
    for line in lines:
        if seen(line) <= width:
            out.append(line)
            continue
        words = _WORD.findall(line)
        indent = line[: len(line) - len(line.lstrip(" "))]
        row = indent + words[0]
        for word in words[1:]:
            if seen(row) + 1 + seen(word) <= width:
                row += f" {word}"
            else:
                out.append(row)
                row = f"{indent}    {word}"
        out.append(row)
    return out


def wrapped(items: Iterable[str], width: int) -> list[str]:
    """The items as a list with dashes, wrapped."""
    out = []
    for item in items:
        out.extend(textwrap.wrap(item, width, initial_indent="  - ", subsequent_indent="    "))
    return out


def numbered(rows: Iterable[tuple[int | str, str]], width: int) -> list[str]:
    """Steps by number, wrapped."""
    out = []
    for number, text in rows:
        first = f"{number:>2}. "
        out += textwrap.wrap(text, width, initial_indent=first, subsequent_indent="    ")
    return out


def titled(parts: Iterable[tuple[str, Iterable[str]]], width: int) -> list[list[str]]:
    """Lists with their titles, an empty line before each; nothing where there is nothing."""
    lists = [(title, wrapped(rows, width)) for title, rows in parts]
    return [["", title, *rows] for title, rows in lists if rows]


def problems_text(error: InputError) -> str:
    """Every problem, one a line, field first."""
    count = sum(int(p.value) if p.code == MORE else 1 for p in error.problems)
    return "\n".join([f"{to_put_right(count)}:", *(f"  {p}" for p in error.problems)]) + "\n"


class OutputError(ShowthroughError):
    """The answer cannot be written: the disk is full, or standard output is closed."""

    code = "output"


class Printer(io.TextIOBase):
    r"""A stream of the terminal that shows every sign of a text and obeys none but our colours.

    What a job, a swatch file or a file's name holds is a stranger's: control characters are
    written out (``\\u001b``), and what the stream's encoding lacks becomes a question mark.
    """

    def __init__(self, stream: TextIO | None) -> None:
        """Over a stream; None is one that was closed before the program began."""
        self.stream = stream

    @property
    def encoding(self) -> str:  # type: ignore[override] # what is printed decides nothing else
        """The encoding of the stream below."""
        return getattr(self.stream, "encoding", None) or "utf-8"

    def isatty(self) -> bool:
        """Whether the stream below is a terminal."""
        return self.stream is not None and self.stream.isatty()

    def write(self, text: str) -> int:
        """Write the text, made harmless."""
        safe = "".join(
            part if i % 2 else harmless(part, keep="\n\r" if self.isatty() else "\n")
            for i, part in enumerate(_OURS.split(text))
        )
        safe = safe.encode(self.encoding, "replace").decode(self.encoding)
        with self._said():
            if self.stream is None:
                raise OSError(errno.EBADF, "it is closed")
            self.stream.write(safe)
        return len(text)

    def flush(self) -> None:
        """Hand on what was written."""
        if self.stream is not None:
            with self._said():
                self.stream.flush()

    @contextmanager
    def _said(self) -> Iterator[None]:
        try:
            yield
        except BrokenPipeError:
            raise  # a reader that has seen enough is no fault
        except (OSError, ValueError) as error:  # ValueError: closed meanwhile
            reason = getattr(error, "strerror", None) or error
            raise OutputError(f"the answer cannot be written: {reason}") from error
