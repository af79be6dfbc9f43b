"""Ten thousand topcoats over one surface, by hand: ``python tests/bench_vectorised.py``.

Spectra included, in one vectorised call, beside one evaluation of scikit-image's CIEDE2000
for each pair. Least of several runs; the machine may be shared.
"""

from __future__ import annotations

import sys

import numpy as np

from bench_predict import least, say
from showthrough.colour.space import lch_to_lab
from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS, recover_spectra
from showthrough.film.coats import FilmBuild
from showthrough.film.optics import inside_reflectance
from showthrough.jobs.case.topcoats import hiding_film_over_substrates, likely_counts, topcoats_of

BUDGET = 0.32


def colours(n: int) -> np.ndarray:
    """CIELAB of n colours spread over what paint can be, and a little beyond."""
    rng = np.random.default_rng(3)
    lch = np.stack(
        [rng.uniform(15, 95, n), 60.0 * rng.random(n) ** 1.5, rng.uniform(0, 360, n)], axis=1
    )
    return lch_to_lab(lch)


def paints(n: int) -> np.ndarray:
    """CIELAB of n colours that paint can be as they stand."""
    lab = colours(2 * n)
    found = recover_spectra(lab, PAINT_BOUNDS, move=False)
    return lab[found.reachable][:n]


def main() -> None:
    """Print the cost for each pair as a multiple of one CIEDE2000."""
    from skimage.color import deltaE_ciede2000

    n = 10_000
    lab = paints(n)
    ground = inside_reflectance(recover_spectra([[40, 11, 19]], SURFACE_BOUNDS).reflectance)
    build = FilmBuild(45.0, 0.38, 1.15)
    other = np.broadcast_to([40.0, 11.0, 19.0], lab.shape)
    reference = least(lambda: deltaE_ciede2000(lab, other), 9)
    say(f"scikit-image CIEDE2000, {n} pairs", reference)
    spectra = least(lambda: topcoats_of(lab, BUDGET), 5)
    say("  spectra, K and S", spectra, f"{spectra[0] / reference[0]:.1f} x")

    def counts() -> np.ndarray:
        hiding_film_um = hiding_film_over_substrates(topcoats_of(lab, BUDGET), ground)
        return likely_counts(hiding_film_um, build)

    whole = least(counts, 5)
    say(
        "  the whole call",
        whole,
        f"{whole[0] / reference[0]:.1f} x (at most 100; by own time {whole[1] / reference[1]:.1f})",
    )
    beyond = colours(n)
    some = least(lambda: topcoats_of(beyond, BUDGET), 3)
    say(
        "  spectra where one in nine must be moved or given up",
        some,
        f"{some[0] / reference[0]:.1f} x",
    )
    found = counts()
    reached = np.isfinite(found)
    sys.stdout.write(
        f"  {int(reached.sum())} of {n} have a count; median {np.median(found[reached]):g} coats\n"
    )


if __name__ == "__main__":
    main()
