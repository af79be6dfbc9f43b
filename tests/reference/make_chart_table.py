"""Writes service/showthrough/photo/calibrate/data/chart.csv: the 24-patch chart
(average of measured charts).

Run by hand; a test runs ``rows`` and compares.

Source: the published spectra averaged over some thirty real charts, the first set that
colour-science 0.4.7 carries under that heading, reckoned for D65 with no guess in between.
"""

from __future__ import annotations

import warnings
from pathlib import Path

TABLE = Path(__file__).parents[2] / "service/showthrough/photo/calibrate/data/chart.csv"


def rows():
    """Patch number and CIELAB D65 / 2 degrees, as text."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of tables trimmed to each other's ends
        import colour

        white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
        daylight = {"illuminant": colour.SDS_ILLUMINANTS["D65"], "method": "ASTM E308"}
        labs = [
            colour.XYZ_to_Lab(colour.sd_to_XYZ(spectrum, **daylight) / 100.0, white)
            for spectrum in next(iter(colour.SDS_COLOURCHECKERS.values())).values()
        ]
    return [
        [str(number), *(f"{v + 0.0:.3f}" for v in lab)] for number, lab in enumerate(labs, start=1)
    ]


def main():
    lines = [
        "# The 24-patch chart (average of measured charts), CIELAB D65 / 2 degrees, in reading",
        "# order.",
        "# Source: published spectra averaged over real charts, as colour-science 0.4.7 carries",
        "# them; made by tests/reference/make_chart_table.py.",
        "patch,L,a,b",
        *(",".join(row) for row in rows()),
    ]
    TABLE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
