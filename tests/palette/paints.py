"""Paint colours for the tests of the palette room; invented."""

from __future__ import annotations

# Twenty topcoats spread over hue, lightness and strength, CIELAB D65/2.
SPREAD = (
    (66, -24, 55),
    (96, -0.5, 2),
    (92, 0, 6),
    (82, 6, 80),
    (42, 58, 38),
    (24, 3, -22),
    (18, 0, 0),
    (55, 0, 0),
    (75, 0, 0),
    (65, -10, 10),
    (80, -10, -8),
    (50, -25, -5),
    (40, -30, 15),
    (70, 20, 5),
    (35, 20, -15),
    (60, 0, -25),
    (85, 5, 25),
    (45, 15, 25),
    (88, -6, 12),
    (30, -12, 2),
)

SYMBOLS_AND_JARGON = (
    r"[^A-Za-z0-9 ,;:.()\-]"
    r"|\b(harmon|chroma|hue|percentile|median|advantage|score|lab|lch|ciede|delta|spectr|lumin)"
)
"""What no reason sentence may hold; searched without regard to case."""
