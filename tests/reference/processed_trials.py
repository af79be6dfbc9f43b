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
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

import numpy as np

from reference import camera
from reference.photo_trials import NOTHING, WAYS, try_ways
from reference.processing import drawn
from showthrough.photo.calibrate.radius import narrowed
from showthrough.photo.sensor import constants

FILE = Path(__file__).with_suffix(".csv")
COLUMNS = (
    *("way", "batch", "camera", "light", "processed", "L", "a", "b", "error"),
    *("camera_part", "light_part", "noise_part", "bend", "residual"),
)
SHAPES = ("wave", "step")
BATCHES = 12
SEED = 31


def simulated(batch, samples=None, shapes=SHAPES, seed=SEED, ways=WAYS):
    """Rows of ``COLUMNS``: one photo by each camera under each light, plain and processed.

    Args:
        batch: number of the batch; with the seed it settles all chance.
        samples: reflectances of chips, (n, 81); where None those that nothing is judged on.
        shapes: of the tone curves.
        seed: of all batches.
        ways: what the photos are read by.
    """
    rng = np.random.default_rng([seed, batch])
    if samples is None:
        samples = np.concatenate([camera.training_samples(), camera.lamp_samples()])
    for name in camera.CAMERAS:
        made = camera.phone(name, matrices=1 + batch % 2)
        for light in camera.LIGHTS:
            for processing in (None, drawn(rng, shapes=shapes)):
                sample = samples[rng.integers(len(samples))]
                for way, trial in try_ways(rng, sample, light, made, processing, ways=ways).items():
                    colour, parts = trial.colour, trial.colour.doubts
                    learned = parts["camera"] / narrowed(colour.basis)
                    numbers = (*colour.lab, trial.error, learned, parts["light"])
                    numbers += (parts["noise"], colour.bend, colour.residual)
                    told = (str(batch), name, light, str(int(processing is not None)))
                    yield (way, *told, *(f"{value:.3f}" for value in numbers))


def rows(path=FILE):
    """The file's rows, without its head."""
    with path.open(encoding="utf-8", newline="") as file:
        return [tuple(row) for row in islice(csv.reader(file), 1, None)]


@dataclass(frozen=True)
class Saved:
    """What was kept of one way, plain or processed; arrays of one length."""

    cameras: np.ndarray
    lights: np.ndarray
    errors: np.ndarray
    parts: np.ndarray
    """Parts of the radius for camera, fall-off of the light and noise, shape (n, 3).

    That of the camera is as it was learned of one camera's kin, before it is narrowed.
    """
    bends: np.ndarray
    residuals: np.ndarray

    def radii(self, basis, processed):
        """What the radius is by the table as it stands, shape (n,)."""
        weights = constants()["processing"][basis] if processed else (0.0,) * 4
        return self.radii_by(weights, narrowed(basis.rstrip("s")))

    def radii_by(self, weights, factor):
        """What it would be by other weights of 1, camera, bend, residual, and another factor."""
        parts = self.parts * (factor, 1.0, 1.0)
        ones = np.ones(self.errors.size)
        columns = np.column_stack([ones, parts[:, 0], self.bends, self.residuals])
        added = np.maximum(columns @ np.array(weights), 0.0)
        return np.sqrt((parts**2).sum(axis=1) + added**2)


def saved(way, processed, kept=None):
    """The trials of one way; of the file where ``kept`` is None."""
    mine = [r for r in kept or rows() if r[0] == way and r[4] == str(int(processed))]
    numbers = np.array([row[8:] for row in mine], dtype=float)
    names, lights = (np.array([row[i] for row in mine]) for i in (2, 3))
    return Saved(names, lights, numbers[:, 0], numbers[:, 1:4], numbers[:, 4], numbers[:, 5])


def run(path, batches, ways=WAYS, **settings):
    """Add to a file what it lacks of so many batches, read in these ways."""
    kept = rows(path) if path.exists() else []
    done = {int(row[1]) for row in kept if row[0] == ways[0]}
    for batch in sorted(set(range(batches)) - done):
        made = list(simulated(batch, ways=ways, **settings))
        with path.open("a", encoding="utf-8", newline="") as file:
            table = csv.writer(file, lineterminator="\n")
            if not file.tell():
                table.writerow(COLUMNS)
            table.writerows(made)


def main():
    batches = int(sys.argv[1]) if len(sys.argv) > 1 else BATCHES
    for ways in (WAYS, (NOTHING,)):
        run(FILE, batches, ways)


if __name__ == "__main__":
    main()
