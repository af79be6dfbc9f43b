"""Simulated photos of three cameras, plain and processed, read as a user would.

Run by hand; it goes on where an earlier run stopped, batch by batch:

    PYTHONPATH=service:tests python tests/reference/processed_trials.py [BATCHES]

The results stand in ``processed_trials.csv``; ``make_camera_constants.py`` fits on them what
an unknown phone's processing adds to the radius. Chips are the Academy's patches and lamps'
test colours, and the tone curves have two of the three shapes: the third, and the 99 CIE
samples, are kept for judging. What changes how photos are simulated or read asks for a new file.
"""

from __future__ import annotations

import csv
import sys
from itertools import islice
from pathlib import Path

import numpy as np

from reference import camera
from reference.photo_trials import try_ways
from reference.processing import drawn

FILE = Path(__file__).with_suffix(".csv")
COLUMNS = (
    *("way", "batch", "camera", "light", "processed", "L", "a", "b", "error"),
    *("camera_part", "light_part", "noise_part", "bend", "residual"),
)
SHAPES = ("wave", "step")
BATCHES = 24
SEED = 31


def simulated(batch):
    """Rows of ``COLUMNS``: one photo by each camera under each light, plain and processed."""
    rng = np.random.default_rng([SEED, batch])
    samples = np.concatenate([camera.training_samples(), camera.lamp_samples()])
    for name in camera.CAMERAS:
        made = camera.phone(name, matrices=1 + batch % 2)
        for light in camera.LIGHTS:
            for processing in (None, drawn(rng, shapes=SHAPES)):
                sample = samples[rng.integers(len(samples))]
                for way, trial in try_ways(rng, sample, light, made, processing).items():
                    colour, parts = trial.colour, trial.colour.doubts
                    numbers = (*colour.lab, trial.error, parts["camera"], parts["light"])
                    numbers += (parts["noise"], colour.bend, colour.residual)
                    told = (str(batch), name, light, str(int(processing is not None)))
                    yield (way, *told, *(f"{value:.3f}" for value in numbers))


def rows():
    """The file's rows, without its head."""
    with FILE.open(encoding="utf-8", newline="") as file:
        return [tuple(row) for row in islice(csv.reader(file), 1, None)]


def saved(way, processed):
    """What was kept of a way: camera names (n,), lights (n,) and numbers (n, 9) from ``L`` on."""
    kept = [row for row in rows() if row[0] == way and row[4] == str(int(processed))]
    numbers = np.array([row[5:] for row in kept], dtype=float)
    return np.array([r[2] for r in kept]), np.array([r[3] for r in kept]), numbers


def main():
    batches = int(sys.argv[1]) if len(sys.argv) > 1 else BATCHES
    done = {int(row[1]) for row in rows()} if FILE.exists() else set()
    for batch in sorted(set(range(batches)) - done):
        made = list(simulated(batch))
        with FILE.open("a", encoding="utf-8", newline="") as file:
            table = csv.writer(file, lineterminator="\n")
            if not file.tell():
                table.writerow(COLUMNS)
            table.writerows(made)


if __name__ == "__main__":
    main()
