"""How near a colour read from a phone photo comes to the truth. Run by hand.

    PYTHONPATH=service:tests python tests/bench_photo_accuracy.py [--quick] [--markdown]

Each of the 99 evaluation samples is photographed with each reference under each
light, all disturbances on, and read. See tests/reference/camera.py for what the
simulated phone does and what it lacks.
"""

# ruff: noqa: T201 - prints its table

from __future__ import annotations

import argparse
import time
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from reference import camera
from reference.photo_trials import REFERENCES, STATED, summary, try_one

WORKERS = 2
SIZE = (640, 480)
"""Still smaller than a phone's pictures."""

AIMS = {
    "card": {"D65": (1.8, 3.0), "D50": (2.8, 4.4), "LED-B3": (3.1, 7.6), "A": (5.3, 10.5)},
    "chart": {"D65": (1.0, 2.3), "D50": (1.4, 3.2), "LED-B3": (1.4, 3.6), "A": (2.2, 6.0)},
}
"""Median and 95th percentile of a sketch without fall-off or noise; the aim is 1.3 times these."""


ANOTHER = "ISO 17321-1"
"""Spectra of one chart measured by itself, read by the average of many."""


def row(case):
    """Summary of one reference under one light."""
    reference, told, matrices, specimen, light, repeats, quick = case
    samples = camera.evaluation_samples()[:: 3 if quick else 1]
    rng = np.random.default_rng([1, REFERENCES.index(reference), camera.LIGHTS.index(light)])
    phone = camera.phone(matrices=matrices)
    chart = {"specimen": specimen} if specimen else {}
    stated = STATED[light] if told else None
    trials = [
        try_one(rng, sample, light, reference, phone, stated=stated, size=SIZE, **chart)
        for sample in samples
        for _ in range(repeats)
    ]
    return summary(trials)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a third of the samples, once")
    parser.add_argument("--markdown", action="store_true", help="print rows of a Markdown table")
    options = parser.parse_args()
    repeats = 1 if options.quick else 2
    kinds = [(r, True, 1, "") for r in REFERENCES]
    kinds += [("chart", True, 1, ANOTHER)]
    kinds += [(r, told, n, "") for told, n in ((False, 1), (True, 2)) for r in ("card", "chart")]
    cases = [(*kind, light, repeats, options.quick) for kind in kinds for light in camera.LIGHTS]
    start = time.perf_counter()
    show = markdown_row if options.markdown else plain_row
    show(("reference", "light", "median", "95 %", "inside", "radius", "aim"))
    if options.markdown:
        markdown_row(["---"] * 7)
    with ProcessPoolExecutor(WORKERS) as pool:
        for case, (median, high, inside, radius) in zip(cases, pool.map(row, cases), strict=True):
            reference, told, matrices, specimen, light, *_ = case
            name = reference + (", another copy" if specimen else "")
            name += "" if told else ", light not stated"
            name += "" if matrices == 1 else ", two-matrix phone"
            aim = (
                AIMS.get(reference, {}).get(light)
                if told and matrices == 1 and not specimen
                else None
            )
            wanted = "" if aim is None else f"{1.3 * aim[0]:.1f} / {1.3 * aim[1]:.1f}"
            numbers = f"{median:.1f}", f"{high:.1f}", f"{inside:.0%}", f"{radius:.1f}"
            show((name, light, *numbers, wanted))
    photos = len(camera.evaluation_samples()[:: 3 if options.quick else 1]) * repeats
    print(f"\n{photos} photos a row, {time.perf_counter() - start:.0f} s")


def plain_row(cells):
    print(f"{cells[0]:<24}" + "".join(f"{c:>11}" for c in cells[1:]), flush=True)


def markdown_row(cells):
    print("| " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main()
