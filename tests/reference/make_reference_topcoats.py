"""Regenerates the set of paint colours that "most colours" means in the palette room.

Run ``python tests/reference/make_reference_topcoats.py FILE``; a test compares
the shipped file with what this makes. The colours stand on an even grid of
lightness, chroma and hue; those that no paint film can have are left out
(``recover_spectra`` within the bounds of paint, without moving them).
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from showthrough.colour.space import lch_to_lab
from showthrough.colour.spectrum import recover_spectra

LIGHTNESS = (20.0, 35.0, 50.0, 65.0, 80.0, 92.0)
CHROMA = (10.0, 25.0, 45.0, 70.0)
HUE_DEG = tuple(range(0, 360, 30))


def lines():
    """The rows of the file."""
    grid = [(light, 0.0, 0.0) for light in LIGHTNESS]
    grid += [(light, c, h) for light in LIGHTNESS for c in CHROMA for h in HUE_DEG]
    lab = np.round(lch_to_lab(np.array(grid)), 1) + 0.0
    found = recover_spectra(lab, move=False)
    kept = lab[found.reachable]
    rows = [
        (
            "# An even grid of the colours that paint can have, CIELAB, D65, 2 degrees."
            " Made by tests/reference/make_reference_topcoats.py; invented, no product."
        ),
        "L,a,b",
    ]
    return rows + [",".join(f"{v:.1f}" for v in colour) for colour in kept]


if __name__ == "__main__":
    Path(sys.argv[1]).write_text("\n".join(lines()) + "\n", encoding="utf-8")
