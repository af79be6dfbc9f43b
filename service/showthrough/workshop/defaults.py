"""Which defaults an answer rests on, and the sentences that say so."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from showthrough.defaults import Default


class Used(NamedTuple):
    """A default that an answer rests on: which quantity, and the default itself."""

    name: str
    default: Default
    jobs: int = 0
    """Finished jobs of the painter that know better; then this is no default any more."""
    factor: float = 1.0
    """What they make of it."""

    def __str__(self) -> str:
        """The sentence that an answer shows."""
        if self.jobs:
            own = self.default.value * self.factor
            unit = f" {self.default.unit}" if self.default.unit else ""
            told = f"from {self.jobs} of your jobs, where {self.default.value:g} is usual"
            return f"{self.name}: {own:.3g}{unit}, {told}"
        span = ""
        if self.default.low is not None and self.default.high is not None:
            span = f" ({self.default.low:g} to {self.default.high:g})"
        unit = f" {self.default.unit}" if self.default.unit else ""
        return f"{self.name}: {self.default.value:g}{unit}{span}, a default ({self.default.source})"


def without_repeats(used: Iterable[Used]) -> tuple[Used, ...]:
    """Each default once, in the order of first use."""
    return tuple(dict.fromkeys(used))
