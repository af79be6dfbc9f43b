"""Which defaults an answer rests on, and the sentences that say so."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from showthrough.defaults import Default


class Used(NamedTuple):
    """A default that an answer rests on: which quantity, and the default itself."""

    name: str
    default: Default

    def __str__(self) -> str:
        """The sentence that an answer shows."""
        span = ""
        if self.default.low is not None and self.default.high is not None:
            span = f" ({self.default.low:g} to {self.default.high:g})"
        unit = f" {self.default.unit}" if self.default.unit else ""
        return f"{self.name}: {self.default.value:g}{unit}{span}, a default ({self.default.source})"


def without_repeats(used: Iterable[Used]) -> tuple[Used, ...]:
    """Each default once, in the order of first use."""
    return tuple(dict.fromkeys(used))
