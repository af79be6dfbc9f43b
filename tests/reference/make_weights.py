"""Regenerates the table of tristimulus weights that the colour room reads.

Run ``python tests/reference/make_weights.py FILE`` to write it anew; a test
compares the shipped file with what this makes.

Source: ASTM E2022 (making of weights) and ASTM E308 (handling of data that
stop at 400 and 700 nm: the weights beyond are added to the end bands), as
implemented in colour-science 0.4.
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path

import numpy as np

ILLUMINANTS = ("D50", "D65", "D75", "A", "C", "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5")
OBSERVERS = {
    2: "CIE 1931 2 Degree Standard Observer",
    10: "CIE 1964 10 Degree Standard Observer",
}


def weights(illuminant: str, observer: int) -> np.ndarray:
    """Weights of one light and observer, shape (31, 3), Y of white = 100."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour.colorimetry import tristimulus_values as tv

        import colour

        cmfs = colour.MSDS_CMFS[OBSERVERS[observer]].copy()
        cmfs = cmfs.align(colour.SpectralShape(360, 780, 1))
        light = colour.SDS_ILLUMINANTS[illuminant].copy()
        light = light.align(colour.SpectralShape(360, 780, 1))
        table = tv.tristimulus_weighting_factors_ASTME2022(
            cmfs, light, colour.SpectralShape(360, 780, 10)
        )
        return tv.adjust_tristimulus_weighting_factors_ASTME308(
            table, colour.SpectralShape(360, 780, 10), colour.SpectralShape(400, 700, 10)
        )


def lines() -> list[str]:
    """The rows of the file."""
    head = ",".join(["illuminant", "observer", "channel", *(str(n) for n in range(400, 701, 10))])
    about = (
        "# Tristimulus weights, 400-700 nm by 10 nm, Y of the perfect diffuser = 100."
        " Made by tests/reference/make_weights.py (ASTM E308, ASTM E2022)."
    )
    rows = [about, head]
    for name in ILLUMINANTS:
        for observer in OBSERVERS:
            table = weights(name, observer)
            for channel, column in zip("XYZ", table.T, strict=True):
                values = ",".join(f"{v:.6f}" for v in column)
                rows.append(f"{name},{observer},{channel},{values}")
    return rows


if __name__ == "__main__":
    Path(sys.argv[1]).write_text("\n".join(lines()) + "\n", encoding="utf-8")
