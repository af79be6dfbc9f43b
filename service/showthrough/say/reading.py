"""A colour that was read, in words: how far it may be out."""

from __future__ import annotations

_STEPS = (
    (1.5, "nothing that is seen", "nobody sees it, not even side by side"),
    (4.0, "a small step", "you would see it with the two side by side, not from across the room"),
    (8.0, "a clear step", "you would see it from across the room"),
)
"""Radius, CIEDE2000, up to which a reading is called so (common practice, no source)."""

WHAT_NO_PHOTO_TELLS = (
    "A photo cannot tell what a patch is made of, whether it shines, drinks or bleeds: say it here."
)


def radius_words(radius: float) -> tuple[str, str]:
    """How far a reading may be out: a step, and what the eye makes of it."""
    wide = ("a wide step", "it may be another colour; say what light it was, or take a chart")
    return next(((step, seen) for most, step, seen in _STEPS if radius <= most), wide)
