"""What softening and sweeps cost, by hand: ``python tests/bench_soften_sweep.py``.

Least of several runs; the machine may be shared.
"""

from __future__ import annotations

import sys

import numpy as np

from bench_predict import least, say
from bench_vectorised import paints
from showthrough.colour.files.swatches import Swatch
from showthrough.colour.reading import Reading
from showthrough.jobs.soften.soften import soften
from showthrough.jobs.sweep.sweep import sweep

SURFACES = [[38, 12, 20], [81, 6, 24], [28, 9, 12], [69, 12, 31], [46, 18, 29], [88, 0, 12]]
UNDERCOATS = 12


def job(topcoat: list[float], patches: int = 1) -> dict[str, object]:
    """A job of some patches."""
    return {
        "topcoat": {"colour": {"lab": topcoat}, "volume_solids": 0.38},
        "surface": [
            {"name": f"patch {i}", "colour": {"lab": lab}, "skin": ("coated", "bare")[i % 2]}
            for i, lab in enumerate(SURFACES[:patches])
        ],
        "application": {"tool": "spray", "wet_film_um": 45},
    }


def main() -> None:
    """Print softening answers in ms and sweeps as multiples of one CIEDE2000 a pair."""
    from skimage.color import deltaE_ciede2000

    for name, topcoat in (
        ("yellow-green", [66.0, -24.0, 55.0]),
        ("red", [42.0, 58.0, 38.0]),
        ("vivid yellow", [82.0, 6.0, 80.0]),
    ):
        for patches in (1, 3):
            one = job(topcoat, patches)
            soften(one)
            say(
                f"soften {name}, {patches} patches",
                least(lambda one=one: soften(one, budget=3), 15),
                "(at most 60 ms)",
            )

    labs = paints(4000)
    for n in (500, 1000, 2000, 4000):
        swatches = tuple(
            Swatch(f"swatch {i}", Reading(lab=tuple(map(float, lab))))
            for i, lab in enumerate(labs[:n])
        )
        pairs = n * len(SURFACES) * UNDERCOATS
        one = np.repeat(labs[:n], len(SURFACES) * UNDERCOATS, axis=0)
        other = np.broadcast_to([40.0, 11.0, 19.0], one.shape)
        reference = least(lambda a=one, b=other: deltaE_ciede2000(a, b), 3)
        whole = least(lambda s=swatches: sweep(job([66.0, -24.0, 55.0], 6), s), 2)
        say(
            f"sweep {n} x {len(SURFACES)} x {UNDERCOATS} = {pairs} pairs",
            whole,
            f"{whole[0] / reference[0]:.1f} x one CIEDE2000 (at most 60); "
            f"{1e3 * whole[0] / pairs:.2f} µs a pair",
        )
    sys.stdout.write("(2000 swatches: at most 4000 ms)\n")


if __name__ == "__main__":
    main()
