"""Which defaults an answer rests on."""

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


def without_repeats(used: Iterable[Used]) -> tuple[Used, ...]:
    """Each default once, in the order of first use."""
    return tuple(dict.fromkeys(used))
