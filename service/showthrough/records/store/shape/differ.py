"""What differs between two documents, by field."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Difference:
    """One field that is not the same; None stands for what is not there."""

    field: str
    before: Any
    after: Any


def differences(before: Any, after: Any, field: str = "") -> Iterator[Difference]:
    """Fields of two JSON documents that are not equal, the innermost ones, in order.

    Lists of different lengths differ as a whole; places in lists count from 1.
    """
    if isinstance(before, dict) and isinstance(after, dict):
        for key in dict.fromkeys((*before, *after)):
            inner = f"{field}.{key}" if field else str(key)
            yield from differences(before.get(key), after.get(key), inner)
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for i, pair in enumerate(zip(before, after, strict=True), 1):
            yield from differences(*pair, f"{field}[{i}]")
    elif before != after:
        yield Difference(field, before, after)


def told(found: list[Difference], most: int = 6) -> str:
    """The fields' names in a sentence, the first few of many."""
    names = [one.field for one in found[:most]]
    more = f" and {len(found) - most} more" if len(found) > most else ""
    return f"{', '.join(names)}{more}"
