"""Writes service/showthrough/photo/data/chart.csv: published colours of the 24-patch chart.

Run by hand; a test runs ``rows`` and compares.

Sources, all as colour-science 0.4.7 carries them: for charts made before November
2014 the published spectra averaged over some thirty real charts ('BabelColor
Average'), reckoned for D65 with no guess in between; for later ones, of which no
spectra are published there, the maker's values for D50 ('ColorChecker24 - After
November 2014'). The maker's values for the earlier charts lie 0.6 CIEDE2000 in the
median and 1.4 at most from that average.
"""

from __future__ import annotations

import warnings
from pathlib import Path

TABLE = Path(__file__).parents[2] / "service" / "showthrough" / "photo" / "data" / "chart.csv"


def rows():
    """Edition, patch number, light and CIELAB for it (its own white), as text."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of tables trimmed to each other's ends
        import colour

        white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
        daylight = {"illuminant": colour.SDS_ILLUMINANTS["D65"], "method": "ASTM E308"}
        before = [
            colour.XYZ_to_Lab(colour.sd_to_XYZ(spectrum, **daylight) / 100.0, white)
            for spectrum in colour.SDS_COLOURCHECKERS["BabelColor Average"].values()
        ]
    later = colour.CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    after = [colour.XYZ_to_Lab(colour.xyY_to_XYZ(v), later.illuminant) for v in later.data.values()]
    return [
        [edition, str(number), light, *(f"{v + 0.0:.3f}" for v in lab)]
        for edition, light, labs in (
            ("before November 2014", "D65", before),
            ("after November 2014", "D50", after),
        )
        for number, lab in enumerate(labs, start=1)
    ]


def main():
    lines = [
        "# Published colours of the 24-patch chart, CIELAB / 2 degrees, in reading order.",
        "# Sources: as carried by colour-science 0.4.7, published spectra averaged over real",
        "# charts (D65) and the maker's values for later ones (D50); made by",
        "# tests/reference/make_chart_table.py.",
        "edition,patch,light,L,a,b",
        *(",".join(row) for row in rows()),
    ]
    TABLE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
