"""Rewrites the computed colours in the sample file of hardware finishes, in place.

Run ``python tests/reference/make_finishes.py swatches/finishes.csv`` after a
change of the metal model. Rows marked "typical" are left as they are; for rows
marked "computed" the in-service colour, and for all rows with a metal the
clean-metal colour, are written anew. A test holds the file to this.
"""

from __future__ import annotations

import csv
import io
import sys
from pathlib import Path

from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.palette.metals import SURFACES, clean_reflectance, in_service_reflectance


def rewritten(text):
    """The file's text with its computed columns made anew."""
    comments = [line for line in text.splitlines() if line.startswith("#")]
    body = [line for line in text.splitlines() if line and not line.startswith("#")]
    rows = csv.DictReader(body)
    out = io.StringIO()
    writer = csv.DictWriter(out, rows.fieldnames, lineterminator="\n")
    writer.writeheader()
    for row in rows:
        if row["metal"]:
            clean = spectrum_to_lab(clean_reflectance(row["metal"]))
            for column, value in zip("Lab", clean, strict=True):
                row[f"clean_{column}"] = f"{value:.1f}"
        if row["known"] == "computed":
            lab = spectrum_to_lab(in_service_reflectance(row["metal"], SURFACES[row["surface"]]))
            for column, value in zip("Lab", lab, strict=True):
                row[column] = f"{value:.1f}"
        writer.writerow(row)
    return "\n".join([*comments, out.getvalue()])


if __name__ == "__main__":
    path = Path(sys.argv[1])
    path.write_text(rewritten(path.read_text("utf-8")), encoding="utf-8")
