"""Chances, counts and lists in words: one vocabulary for all doors."""

from __future__ import annotations

from collections.abc import Sequence

from showthrough.film.coats import MOST_COATS

HARDLY = 0.05
"""A chance below which a painter is told that there is hardly one."""


def chance_words(chance: float) -> str:
    """A chance as a painter says it: "about 6 in 10"; never certain."""
    if chance >= 0.99:
        return "more than 99 in 100"
    if chance >= 0.95:
        return "about 95 in 100"
    if chance < HARDLY:
        return "hardly a chance"
    return f"about {max(1, min(9, round(10.0 * chance)))} in 10"


def capital(text: str) -> str:
    """The text with a capital first letter, the rest as it is."""
    return text[:1].upper() + text[1:]


def plural(count: int, what: str) -> str:
    """1 coat, 2 coats."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def count_words(count: int | None, what: str = "coat") -> str:
    """1 coat, 2 coats, more than 12 coats."""
    return f"more than {MOST_COATS} {what}s" if count is None else plural(count, what)


def listed(names: Sequence[str]) -> str:
    """Names in quotes, with commas and "and"."""
    quoted = [f"“{name}”" for name in names]
    return quoted[0] if len(quoted) == 1 else ", ".join(quoted[:-1]) + " and " + quoted[-1]


def coats_of(count: int, product: str) -> str:
    """2 coats of sealer, 1 white undercoat."""
    if count == 1 and product.rsplit(maxsplit=1)[-1].endswith("coat"):
        return f"1 {product}"
    return f"{plural(count, 'coat')} of {product}"


_CHANGES = (
    (1.0, "looks the same"),
    (2.0, "barely to be seen"),
    (4.0, "a small change"),
    (8.0, "a clear change"),
)
"""CIEDE2000 up to which a change of colour is called so (common practice, no source)."""


def change_words(delta_e: float) -> str:
    """How much another colour a colour is, side by side."""
    return next((words for most, words in _CHANGES if delta_e <= most), "another colour")


def short_chance(chance: float) -> str:
    """A chance where it is compared at sight, always in tenths but for the ends."""
    return short_words(chance_words(chance))


def short_words(words: str) -> str:
    """Words of a chance without what every one of them says."""
    if words.startswith("hardly"):
        return "no"
    return words.removeprefix("about ").removeprefix("more than ")


def filled_tenths(chance: float) -> int:
    """How many of ten squares stand for a chance; ten only at more than 95 in 100."""
    return 10 if chance >= 0.95 else 0 if chance < 0.05 else max(1, min(9, round(10.0 * chance)))
