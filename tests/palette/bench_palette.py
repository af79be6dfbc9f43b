"""Times of the palette room, by hand: ``PYTHONPATH=service python tests/palette/bench_palette.py``.

Two shared cores, best of five, busy or idle: ranking 40 finishes 0.5-0.9 ms, 68 second colours
1-2 ms, triples of 56 seconds and 20 finishes 0.9-1.6 ms, 20 pairs under three
lights 0.9-2 ms.
"""

from __future__ import annotations

import sys
import timeit

from showthrough.colour.spectrum import recover_spectra
from showthrough.palette.beside import rank_finishes
from showthrough.palette.finishes import all_finishes, finish_spectrum, usual_finishes
from showthrough.palette.lamps import pair_shifts
from showthrough.palette.relative import reference_topcoats
from showthrough.palette.seconds import Second, rank_second_colours, wood_tones
from showthrough.palette.triples import rank_triples

PAINT = (66.0, -24.0, 55.0)


def main():
    """Print milliseconds per call, warm, best of five."""
    forty = (*all_finishes(), *all_finishes()[:8])
    seconds = [Second("x", tuple(lab)) for lab in reference_topcoats()[::4].tolist()]
    paint = recover_spectra([PAINT]).reflectance[0]
    names = [f.name for f in usual_finishes()]
    spectra = [finish_spectrum(f) for f in usual_finishes()]
    calls = {
        "rank 40 finishes": lambda: rank_finishes(PAINT, forty),
        "rank 68 second colours": lambda: rank_second_colours(PAINT, [*seconds, *wood_tones()]),
        "triples, 56 seconds x 20 finishes": lambda: rank_triples(PAINT, seconds),
        "20 pairs under three lights": lambda: pair_shifts("the paint", paint, names, spectra),
    }
    for name, call in calls.items():
        call()
        best = min(timeit.repeat(call, number=50, repeat=5)) / 50
        sys.stdout.write(f"{name}: {1e3 * best:.2f} ms\n")


if __name__ == "__main__":
    main()
