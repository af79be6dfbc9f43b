"""Writes service/showthrough/photo/data/chart.csv: published colours of the 24-patch chart.

Run by hand; a test runs ``rows`` and compares.

Source: the chart maker's published values as colour-science 0.4.7 carries them
('ColorChecker24 - Before November 2014' and '... After November 2014').
"""

from __future__ import annotations

import warnings
from pathlib import Path

TABLE = Path(__file__).parents[2] / "service" / "showthrough" / "photo" / "data" / "chart.csv"

EDITIONS = {
    "before November 2014": "ColorChecker24 - Before November 2014",
    "after November 2014": "ColorChecker24 - After November 2014",
}


def rows():
    """Edition, patch number and CIELAB for D50 (its own white), as text."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    made = []
    for edition, name in EDITIONS.items():
        chart = colour.CCS_COLOURCHECKERS[name]
        for number, xyy in enumerate(chart.data.values(), start=1):
            lab = colour.XYZ_to_Lab(colour.xyY_to_XYZ(xyy), chart.illuminant)
            made.append([edition, str(number), *(f"{v + 0.0:.3f}" for v in lab)])
    return made


def main():
    lines = [
        "# Published colours of the 24-patch chart, CIELAB D50 / 2 degrees, in reading order.",
        "# Source: the maker's values as carried by colour-science 0.4.7; made by",
        "# tests/reference/make_chart_table.py.",
        "edition,patch,L,a,b",
        *(",".join(row) for row in rows()),
    ]
    TABLE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
