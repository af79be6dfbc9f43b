"""Simulated photos read as a user would, and what came of each: radii are fitted on them.

Run by hand; it goes on where an earlier run stopped, phone by phone:

    PYTHONPATH=service:tests python tests/reference/camera_trials.py [PHONES]

The results stand in ``camera_trials.csv``. ``make_camera_constants.py`` fits the radii on
them, so that a fit takes seconds and needs no photo. What changes how photos are simulated
or read asks for a new file: delete it and run this.
"""

from __future__ import annotations

import csv
import sys
from itertools import islice
from pathlib import Path

import numpy as np

from reference import camera
from reference.photo_trials import try_all
from showthrough.photo.calibrate.radius import joined

FILE = Path(__file__).with_suffix(".csv")
COLUMNS = ("basis", "phone", "stated", "set", "L", "a", "b", "left")

STATED = {
    "D50": ("sun", "daylight"),
    "D65": ("cloud",),
    "D75": ("shade",),
    "LED-B3": ("led",),
    "A": ("bulb", "unknown"),
}
"""What a user may say of each CIE light. Where one of several lights may be meant, the
radius is made to hold under the worst."""

PHONES = 8
SAMPLES = (6, 4)
"""Samples of each set for each phone and light."""
SPECIMENS = ("BabelColor Average", "ISO 17321-1")
"""The chart itself, by turns: the average that it is read by, and one that was measured alone."""

SEED = 20
BASES = ("card", "chart", "none")


def phone(number):
    """A phone of the Nikon's kin, with the samples that its matrix has not seen.

    Of the two measured cameras the Nikon is the harder one to read; a radius that
    holds for its kin is wide for the Canon's.
    """
    rng = np.random.default_rng([SEED, number])
    patches, lamps = camera.training_samples(), camera.lamp_samples()
    order = rng.permutation(len(patches))
    seen, unseen = order[: len(patches) // 2], order[len(patches) // 2 :]
    sensor = camera.sensitivities("nikon", tuple(rng.uniform(-5.0, 5.0, 3)))
    made = camera.made_phone(sensor, patches[seen], matrices=1 + number % 2)
    return made, (patches[unseen], lamps)


def simulated(basis, number):
    """Rows of ``COLUMNS`` for one reference and one phone, one after another.

    From photos with every disturbance on. What the reading already puts down to noise, to
    uneven light and to a channel at its least is taken off the error; the rest is left.
    """
    rng = np.random.default_rng([SEED, number, BASES.index(basis)])
    made, sets = phone(number)
    for light, stated in STATED.items():
        for group, samples in enumerate(sets):
            for sample in samples[rng.permutation(len(samples))[: SAMPLES[group]]]:
                specimen = SPECIMENS[number // 2 % 2]
                for name, trial in try_all(
                    rng, sample, light, basis, made, stated, specimen=specimen
                ):
                    colour = trial.colour
                    known = joined(colour.doubts["light"], colour.doubts["noise"])
                    left = np.sqrt(max(trial.error**2 - known**2, 0.0))
                    left /= 1.0 + 0.3 * colour.clipped_low
                    numbers = (f"{value:.3f}" for value in (*colour.lab, left))
                    yield (basis, str(number), name, str(group), *numbers)


def rows():
    """The file's rows, without its head."""
    with FILE.open(encoding="utf-8", newline="") as file:
        return [tuple(row) for row in islice(csv.reader(file), 1, None)]


def saved(basis):
    """Colours (n, 3), what is left of the error (n,) and the sample set (n,), by stated light."""
    found = {}
    for row in rows():
        if row[0] == basis:
            found.setdefault(row[2], []).append([float(value) for value in row[3:]])
    table = {name: np.array(numbers) for name, numbers in found.items()}
    return {name: (t[:, 1:4], t[:, 4], t[:, 0].astype(int)) for name, t in table.items()}


def main():
    phones = int(sys.argv[1]) if len(sys.argv) > 1 else PHONES
    done = {int(row[1]) for row in rows()} if FILE.exists() else set()
    for number in sorted(set(range(phones)) - done):
        made = [row for basis in BASES for row in simulated(basis, number)]
        with FILE.open("a", encoding="utf-8", newline="") as file:
            table = csv.writer(file, lineterminator="\n")
            if not file.tell():
                table.writerow(COLUMNS)
            table.writerows(made)


if __name__ == "__main__":
    main()
