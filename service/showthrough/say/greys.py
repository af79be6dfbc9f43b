"""Greys in words; the Munsell value stands in brackets where it is told at all."""

from __future__ import annotations

_WORDS = (
    (8.5, "very light grey"),
    (7.5, "light grey"),
    (6.5, "mid-light grey"),
    (4.5, "mid grey"),
    (3.5, "mid-dark grey"),
    (2.5, "dark grey"),
)


def grey_words(value: float) -> str:
    """A grey of a Munsell value in words, as "mid-light grey"."""
    return next((words for least, words in _WORDS if value >= least), "very dark grey")
