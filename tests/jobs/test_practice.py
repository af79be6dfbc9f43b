"""The table of common practice is reckoned like any job and tells its misses."""

from __future__ import annotations

from pathlib import Path

import pytest

from jobs.small_jobs import BRUSH, LIGHT_SPRAY
from showthrough import predict, predict_file
from showthrough.jobs import practice
from showthrough.jobs.practice import practice_rows, practice_table

EXAMPLES = Path(__file__).parents[2] / "examples"

# Grounds and rows: common practice, no source; written here once more so that the table
# cannot drift from what painters say.
GROUNDS = {
    "mid-brown wood print": (38, 12, 20),
    "brown laminate": (40, 11, 19),
    "dark walnut finish": (28, 9, 12),
    "white melamine": (93, -0.5, 1.5),
}
SAID = {
    ("yellow-green", "mid-brown wood print"): ((66, -24, 55), "light spray", 4, 4),
    ("yellow-green", "brown laminate"): ((66, -24, 55), "light spray", 4, 4),
    ("white", "dark walnut finish"): ((96, -0.5, 2), "brush", 3, 4),
    ("warm white", "dark walnut finish"): ((92, 0, 6), "brush", 3, 4),
    ("vivid yellow", "brown laminate"): ((82, 6, 80), "brush", 4, 6),
    ("red", "brown laminate"): ((42, 58, 38), "brush", 3, 5),
    ("dark blue", "brown laminate"): ((24, 3, -22), "brush", 1, 2),
    ("dark blue", "white melamine"): ((24, 3, -22), "brush", 1, 2),
    ("black", "brown laminate"): ((18, 0, 0), "brush", 1, 2),
    ("black", "white melamine"): ((18, 0, 0), "brush", 1, 2),
    ("mid grey", "brown laminate"): ((55, 0, 0), "brush", 1, 2),
    ("light grey", "brown laminate"): ((75, 0, 0), "brush", 1, 2),
    ("greyish green", "brown laminate"): ((65, -10, 10), "brush", 1, 2),
}


@pytest.fixture(scope="module")
def rows():
    return practice_rows()


def test_the_table_holds_every_row_of_practice_and_no_other(rows):
    assert {(r.topcoat, r.ground): (r.lab, r.tool, r.fewest, r.most) for r in rows} == SAID


def test_each_row_is_what_anybody_gets_from_the_same_job(rows):
    for row in rows:
        lab, tool, _, _ = SAID[row.topcoat, row.ground]
        coats = predict(
            {
                "topcoat": {"colour": {"lab": list(lab)}, "volume_solids": 0.38},
                "surface": [{"colour": {"lab": list(GROUNDS[row.ground])}}],
                "application": LIGHT_SPRAY if tool == "light spray" else BRUSH,
            }
        ).coats
        assert (row.likely, row.low, row.high) == (coats.likely, coats.low, coats.high), row


def test_at_least_twelve_rows_are_met_and_the_linen_cupboard_takes_four(rows):
    # Common practice, no source; the cupboard is the yellow-green over its two patches.
    assert sum(row.hit for row in rows) >= 12
    assert predict_file(EXAMPLES / "linen-cupboard.toml").coats.likely == 4


def test_hits_and_misses_are_told_as_they_are(rows):
    text = practice_table()
    lines = text.splitlines()[1 : 1 + len(rows)]
    for row, line in zip(rows, lines, strict=True):
        inside = row.likely is not None and row.fewest <= row.likely <= row.most
        assert line.endswith("hit" if inside else "miss")
    hits = sum(line.endswith("hit") for line in lines)
    assert f"{hits} of {len(rows)} rows" in text


def test_a_row_that_practice_says_otherwise_is_a_miss(monkeypatch):
    name, lab, grounds, tool, fewest, most = practice._PRACTICE[0]
    wrong = ((name, lab, grounds, tool, fewest + 5, most + 5),)
    monkeypatch.setattr(practice, "_PRACTICE", wrong)
    assert not any(row.hit for row in practice_rows())
    assert "0 of 2 rows" in practice_table()


def test_as_markdown_the_table_has_a_cell_for_every_column(rows):
    head, rule, *body = practice_table(markdown=True).splitlines()
    assert {line.count("|") for line in (head, rule, *body[: len(rows)])} == {head.count("|")}
