"""Every error the project raises on purpose.

    ShowthroughError                 base of all; has a stable ``code``
    └── InputError (ValueError)      one or more things in the input are wrong
        ├── OutOfRangeError          a number is outside what physics or paint allows
        ├── NotationError            a colour text or file cannot be read
        ├── ImageError               a picture cannot be used
        ├── IllConditionedError      a measurement cannot carry the wanted answer
        ├── StaleError               a change was made from a version that is no longer the latest
        ├── UnknownError             no record has that name or number
        └── StoreError               the records can be neither read nor written

An error holds *problems*: one for each field, so that a whole form can be
mended in one go. The core knows nothing of HTTP status or exit codes; each
edge maps these classes once.
"""

from __future__ import annotations

import re
import reprlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any, Self

MOST_PROBLEMS = 20
"""Problems that are told one by one; nobody reads more at a time."""

MORE = "more"
"""Code of the closing problem that only counts the rest."""

UNSAFE = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""Control characters (C0, C1), breaks of lines, signs that turn the direction of writing
(Unicode's bidirectional controls) and halves of surrogate pairs: a terminal obeys them."""


def harmless(text: str, keep: str = "") -> str:
    r"""The text with every unsafe sign written out as ``\\u001b``, except those in ``keep``."""
    return UNSAFE.sub(lambda m: m[0] if m[0] in keep else f"\\u{ord(m[0]):04x}", text)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: where, what was given, and what would work."""

    field: str
    value: str
    message: str
    code: str = "invalid"

    def __str__(self) -> str:
        """Field first, so that a list of problems can be scanned."""
        where = f"{self.field}: " if self.field else ""
        return f"{where}{self.message}"

    def within(self, prefix: str) -> Problem:
        """The same problem seen from an enclosing object called ``prefix``."""
        if not prefix or self.code == MORE:
            return self
        joint = "" if not self.field or self.field.startswith("[") else "."
        return replace(self, field=f"{prefix}{joint}{self.field}")

    def as_dict(self) -> dict[str, str]:
        """The body that the service sends for one problem."""
        return {
            "field": self.field,
            "value": self.value,
            "message": self.message,
            "code": self.code,
        }


class _Short(reprlib.Repr):
    """Says true and false as a job file does, and no more of anything than is shown."""

    def __init__(self) -> None:
        super().__init__()
        self.maxlist = self.maxtuple = self.maxdict = 30
        self.maxstring = self.maxother = 200

    def repr_bool(self, value: bool, _level: int) -> str:  # noqa: FBT001 - reprlib's own signature
        return "true" if value else "false"

    def repr_int(self, value: int, level: int) -> str:
        # Python itself writes no whole number of more than some thousand digits.
        return super().repr_int(value, level) if value.bit_length() < 4000 else "a huge number"


_SHORT = _Short()


def shown(value: Any, limit: int = 60) -> str:
    """A value as it may be repeated in a message: short, on one line, with no unsafe sign."""
    text = value[: 20 * limit] if isinstance(value, str) else _SHORT.repr(value)
    text = harmless(" ".join(text.split()))
    return text if len(text) <= limit else text[: limit - 1] + "…"


def alike(word: str, known: Iterable[str], most: int = 1, cutoff: float = 0.6) -> list[str]:
    """Known words that are spelt most like one, best first: what a painter may have meant."""
    from difflib import get_close_matches  # noqa: PLC0415 - a sound job never needs it

    return get_close_matches(word, list(known), most, cutoff)


class ShowthroughError(Exception):
    """Base of every error raised on purpose."""

    code = "error"


def capped(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The first problems and, where there are more, one that counts the rest."""
    every = tuple(problems)
    told = [p for p in every if p.code != MORE]
    rest = sum(int(p.value) for p in every if p.code == MORE) + len(told[MOST_PROBLEMS:])
    if not rest:
        return every
    told = told[:MOST_PROBLEMS]
    say = f"and {rest} more like these ({len(told) + rest} in all); put the first ones right"
    return (*told, Problem("", str(rest), say, MORE))


class InputError(ShowthroughError, ValueError):
    """Something in the input is wrong; ``problems`` lists it, the first ``MOST_PROBLEMS`` of all.

    Where there are more, a last problem with the code ``more`` says how many.
    """

    code = "invalid_input"

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Collect the problems; there must be at least one."""
        self.problems: tuple[Problem, ...] = capped(problems)
        if not self.problems:
            msg = "an InputError needs at least one problem"
            raise AssertionError(msg)
        super().__init__("; ".join(str(p) for p in self.problems))

    @classmethod
    def at(cls, field: str, value: Any, message: str, code: str | None = None) -> Self:
        """An error with a single problem."""
        return cls([Problem(field, shown(value), message, code or cls.code)])

    def within(self, prefix: str) -> Self:
        """The same error seen from an enclosing object called ``prefix``."""
        return type(self)(p.within(prefix) for p in self.problems)


class OutOfRangeError(InputError):
    """A number is outside what physics or paint allows."""

    code = "out_of_range"


class NotationError(InputError):
    """A colour text, spectrum or colour file cannot be read."""

    code = "notation"


class ImageError(InputError):
    """A picture cannot be read, or cannot carry the wanted measurement."""

    code = "image"


class IllConditionedError(InputError):
    """A measurement was read, but it cannot carry the wanted answer."""

    code = "ill_conditioned"


class StaleError(InputError):
    """A change was made from a version of a record that is no longer the latest."""

    code = "stale"


class UnknownError(InputError):
    """No record has that name or number, or more than one has."""

    code = "unknown"


class StoreError(InputError):
    """The records cannot be read or written: where they lie, or who wrote them, forbids it."""

    code = "store"


class ProblemList:
    """Collects problems and raises once, with all of them.

    With ``most`` the first ones are kept and the rest are counted, so that a file of
    faults costs neither time nor a screenful of lines.
    """

    def __init__(self, most: int | None = None) -> None:
        """Start with nothing wrong."""
        self.problems: list[Problem] = []
        self.most = most
        self.left = 0

    def add(self, field: str, value: Any, message: str, code: str = "invalid") -> None:
        """Note one problem."""
        if self.most is not None and len(self.problems) >= self.most:
            self.left += 1
        else:
            self.problems.append(Problem(harmless(field), shown(value), message, code))

    def extend(self, problems: Iterable[Problem]) -> None:
        """Note several; one that counts others adds its number."""
        for problem in problems:
            if self.most is not None and problem.code == MORE:
                self.left += int(problem.value)
            elif self.most is not None and len(self.problems) >= self.most:
                self.left += 1
            else:
                self.problems.append(problem)

    def all(self) -> tuple[Problem, ...]:
        """Those kept, and where some were left a last one that counts them."""
        counted = [Problem("", str(self.left), "", MORE)] if self.left else []
        return capped([*self.problems, *counted])

    @contextmanager
    def collecting(self, prefix: str = "") -> Iterator[None]:
        """Note the problems of any InputError raised inside, and go on."""
        try:
            yield
        except InputError as error:
            self.extend(p.within(prefix) for p in error.problems)

    def raise_if_any(self) -> None:
        """Raise one InputError if anything was noted."""
        if self.problems:
            raise InputError(self.all())

    def __enter__(self) -> Self:
        """Begin a block that notes what is wrong; its end raises all of it at once."""
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        """Raise what was noted, unless another error is on its way."""
        if kind is None:
            self.raise_if_any()


def to_put_right(count: int) -> str:
    """The heading over what is wrong with a job."""
    return "One thing to put right" if count == 1 else f"{count} things to put right"
