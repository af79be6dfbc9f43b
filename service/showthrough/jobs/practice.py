"""The model beside common practice: what painters say, what it says, hits and misses.

The ranges are common practice, no source (from memory). They are for judging the
model, never for bending it.
"""

from __future__ import annotations

from dataclasses import dataclass

from showthrough.jobs.predict import predict

_GROUNDS = {
    "mid-brown wood print": (38.0, 12.0, 20.0),
    "brown laminate": (40.0, 11.0, 19.0),
    "dark walnut finish": (28.0, 9.0, 12.0),
    "white melamine": (93.0, -0.5, 1.5),
}

_LIGHT_SPRAY = {"tool": "spray", "wet_film_um": 45}
_BRUSH = {"tool": "brush", "wet_film_um": 90}
_SOLIDS = 0.38

# topcoat, CIELAB, grounds, tool, fewest and most coats by common practice
_PRACTICE: tuple[tuple[str, tuple[float, float, float], tuple[str, ...], str, int, int], ...] = (
    (
        "yellow-green",
        (66, -24, 55),
        ("mid-brown wood print", "brown laminate"),
        "light spray",
        4,
        4,
    ),
    ("white", (96, -0.5, 2), ("dark walnut finish",), "brush", 3, 4),
    ("warm white", (92, 0, 6), ("dark walnut finish",), "brush", 3, 4),
    ("vivid yellow", (82, 6, 80), ("brown laminate",), "brush", 4, 6),
    ("red", (42, 58, 38), ("brown laminate",), "brush", 3, 5),
    ("dark blue", (24, 3, -22), ("brown laminate", "white melamine"), "brush", 1, 2),
    ("black", (18, 0, 0), ("brown laminate", "white melamine"), "brush", 1, 2),
    ("mid grey", (55, 0, 0), ("brown laminate",), "brush", 1, 2),
    ("light grey", (75, 0, 0), ("brown laminate",), "brush", 1, 2),
    ("greyish green", (65, -10, 10), ("brown laminate",), "brush", 1, 2),
)


@dataclass(frozen=True, slots=True)
class PracticeRow:
    """One topcoat over one ground."""

    topcoat: str
    lab: tuple[float, float, float]
    ground: str
    tool: str
    fewest: int
    most: int
    likely: int | None
    low: int | None
    high: int | None

    @property
    def hit(self) -> bool:
        """Whether the likely count lies in the range of practice."""
        return self.likely is not None and self.fewest <= self.likely <= self.most


def practice_rows() -> list[PracticeRow]:
    """Every row reckoned by the same predict as any job."""
    rows = []
    for name, lab, grounds, tool, fewest, most in _PRACTICE:
        for ground in grounds:
            coats = predict(
                {
                    "topcoat": {"colour": {"lab": list(lab)}, "volume_solids": _SOLIDS},
                    "surface": [{"name": ground, "colour": {"lab": list(_GROUNDS[ground])}}],
                    "application": _LIGHT_SPRAY if tool == "light spray" else _BRUSH,
                }
            ).coats
            rows.append(
                PracticeRow(
                    name, lab, ground, tool, fewest, most, coats.likely, coats.low, coats.high
                )
            )
    return rows


def practice_table(*, markdown: bool = False) -> str:
    """The rows as text, with the number of hits below."""
    rows = practice_rows()
    cells = [("topcoat", "Lab", "over", "tool", "practice", "likely", "10-90%", "")]
    for r in rows:
        span = f"{r.fewest}" if r.fewest == r.most else f"{r.fewest}-{r.most}"
        lab = ", ".join(f"{v:g}" for v in r.lab)
        band = f"{r.low or '>12'}-{r.high or '>12'}"
        verdict = "hit" if r.hit else "miss"
        cells.append(
            (r.topcoat, lab, r.ground, r.tool, span, str(r.likely or ">12"), band, verdict)
        )
    hits = sum(r.hit for r in rows)
    foot = f"{hits} of {len(rows)} rows within common practice (no source)."
    if markdown:
        head, *body = [f"| {' | '.join(row)} |" for row in cells]
        return "\n".join([head, "|" + "---|" * len(cells[0]), *body, "", foot])
    widths = [max(len(row[i]) for row in cells) for i in range(len(cells[0]))]
    lines = [
        "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip()
        for row in cells
    ]
    return "\n".join([*lines, "", foot])
