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

import numpy as np

from reference import camera
from reference.photo_trials import REFERENCES, STATED, summary, try_one

AIMS = {
    "card": {"D65": (1.8, 3.0), "D50": (2.8, 4.4), "LED-B3": (3.1, 7.6), "A": (5.3, 10.5)},
    "chart": {"D65": (1.0, 2.3), "D50": (1.4, 3.2), "LED-B3": (1.4, 3.6), "A": (2.2, 6.0)},
}
"""Median and 95th percentile of a sketch without fall-off or noise; the aim is 1.3 times these."""


def table(reference, light, phone, samples, *, stated, repeats, seed=1):
    rng = np.random.default_rng([seed, REFERENCES.index(reference), camera.LIGHTS.index(light)])
    trials = [
        try_one(rng, sample, light, reference, phone, stated=stated)
        for sample in samples
        for _ in range(repeats)
    ]
    return summary(trials)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a third of the samples, once")
    parser.add_argument("--markdown", action="store_true", help="print rows of a Markdown table")
    options = parser.parse_args()
    samples = camera.evaluation_samples()
    repeats = 2
    if options.quick:
        samples, repeats = samples[::3], 1
    cases = [(r, True, 1) for r in REFERENCES]
    cases += [("card", False, 1), ("chart", False, 1), ("card", True, 2), ("chart", True, 2)]
    start = time.perf_counter()
    show = markdown_row if options.markdown else plain_row
    show(("reference", "light", "median", "95 %", "inside", "radius", "aim"))
    if options.markdown:
        markdown_row(["---"] * 7)
    for reference, told, matrices in cases:
        name = reference + ("" if told else ", light not stated")
        name += "" if matrices == 1 else ", two-matrix phone"
        for light in camera.LIGHTS:
            median, high, inside, radius = table(
                reference,
                light,
                camera.phone(matrices=matrices),
                samples,
                stated=STATED[light] if told else None,
                repeats=repeats,
            )
            aim = AIMS.get(reference, {}).get(light) if told and matrices == 1 else None
            wanted = "" if aim is None else f"{1.3 * aim[0]:.1f} / {1.3 * aim[1]:.1f}"
            show(
                (
                    name,
                    light,
                    f"{median:.1f}",
                    f"{high:.1f}",
                    f"{inside:.0%}",
                    f"{radius:.1f}",
                    wanted,
                )
            )
    print(f"\n{len(samples) * repeats} photos a row, {time.perf_counter() - start:.0f} s")


def plain_row(cells):
    print(f"{cells[0]:<24}" + "".join(f"{c:>11}" for c in cells[1:]), flush=True)


def markdown_row(cells):
    print("| " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main()
