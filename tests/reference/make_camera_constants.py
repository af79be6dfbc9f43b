"""Writes service/showthrough/photo/data/camera.json: what a typical phone does to colours.

Run by hand (some minutes; card, chart or none named on the command line does that one
alone); a test runs ``matrices`` again and compares.

The matrices are fitted with the Canon's sensitivities on the Academy's training
patches. The radii are the 95 % quantiles of the errors that are left, by quantile
regression, over simulated photos of the same training patches by phones made from
the Canon's and the Nikon's sensitivities moved by a few nanometres, with one maker's
matrix and with two. The tests judge them on the 99 evaluation samples, none of which
is used here, by the Nikon as it is.
"""

from __future__ import annotations

import json
import sys
from itertools import product
from pathlib import Path

import numpy as np

from reference import camera
from reference.photo_trials import try_all
from showthrough.photo.radius import features, joined

TABLE = Path(__file__).parents[2] / "service" / "showthrough" / "photo" / "data" / "camera.json"

MEANT = {
    "sun": ("D50",),
    "cloud": ("D65",),
    "shade": ("D75",),
    "daylight": ("D50", "D65", "D75"),
    "led": ("LED-B3",),
    "bulb": ("A",),
    "unknown": ("D50", "D65", "D75", "LED-B3", "A"),
}
"""CIE lights behind each kind of light that a user can state."""

WORST = {"daylight": ("D50",), "unknown": ("LED-B3", "A")}
"""Where one of several lights may be meant, the radius is made to hold under the worst."""

LEVEL = 0.95
PHONES = 5
BASES = ("card", "chart", "none")


def rounded(matrix):
    """Six decimals, rows still adding to one."""
    short = np.round(np.asarray(matrix, dtype=float), 6)
    short[:, -1] += 1.0 - short.sum(axis=1)
    return np.round(short, 6).tolist()


def matrices():
    """The sensor's numbers, and the way to daylight for each kind of light."""
    canon = [camera.phone("canon", matrices=n) for n in (1, 2)]
    samples = camera.training_samples()
    wanted = camera.tristimulus(samples)

    def given(light):
        return [camera.flat_numbers(samples, p, light, np.ones(3), 0.8) / 0.8 for p in canon]

    ways = {}
    for name, lights in MEANT.items():
        seen = [numbers for light in lights for numbers in given(light)]
        ways[name] = rounded(
            camera.best_matrix(np.concatenate(seen), np.concatenate([wanted] * len(seen)))
        )
    return {"to_sensor": rounded(np.linalg.inv(canon[0].daylight)), "to_daylight": ways}


def phones(rng):
    """Phones like the two measured cameras, and unlike both."""
    made = []
    for name, _ in product(("nikon", "canon"), range(PHONES)):
        shift = tuple(rng.uniform(-5.0, 5.0, 3))
        made += [camera.phone(name, shift, n) for n in (1, 2)]
    return made


def quantile_fit(rows, errors, level=LEVEL, soft=0.03):
    """Coefficients of least pinball loss, its corner rounded. Koenker and Bassett 1978."""
    from scipy.optimize import minimize
    from scipy.special import expit

    def loss(weights):
        left = errors - rows @ weights
        value = level * left + soft * np.logaddexp(0.0, -left / soft)
        slope = level - expit(-left / soft)
        return value.mean(), -(rows * slope[:, None]).mean(axis=0)

    start = np.linalg.lstsq(rows, errors, rcond=None)[0]
    start[0] += np.quantile(errors - rows @ start, level)
    return np.round(minimize(loss, start, jac=True, method="BFGS").x, 4).tolist()


def radii(basis, seed=20, repeats=2):
    """Coefficients of the radius by one reference, for each kind of light.

    From photos with every disturbance on, read as a user would. What the reading
    already puts down to noise and to uneven light is taken off the error first.
    """
    rng = np.random.default_rng([seed, BASES.index(basis)])
    samples = camera.training_samples()
    made = phones(rng)
    seen = {}
    for light, _ in product(camera.LIGHTS, range(repeats)):
        for sample in samples:
            stated = [name for name, all_ in MEANT.items() if light in WORST.get(name, all_)]
            phone = made[rng.integers(len(made))]
            for name, trial in try_all(rng, sample, light, basis, phone, stated):
                colour = trial.colour
                known = joined(colour.doubts["light"], colour.doubts["noise"])
                left = np.sqrt(max(trial.error**2 - known**2, 0.0)) / (1.0 + 0.3 * colour.crushed)
                row = features(basis, colour.lab, colour.residual)[0]
                seen.setdefault(name, []).append((row, left))
    fits = {}
    for name, pairs in seen.items():
        rows, errors = (np.array(v) for v in zip(*pairs, strict=True))
        fits[name] = quantile_fit(rows, errors)
    return fits


def written(changes):
    """The table as it stands, with changes; written at once, as two runs may share it."""
    table = json.loads(TABLE.read_text("utf-8")) if TABLE.exists() else {}
    table |= changes
    TABLE.write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")
    return table


def main():
    about = "Made by tests/reference/make_camera_constants.py; see there."
    table = written({"about": about, **matrices()})
    if "radius" not in table:
        # The reading needs some radius to run at all; what it is does not matter here.
        dull = {b: {"unknown": [5.0] + [0.0] * (8 if b == "chart" else 6)} for b in BASES}
        written({"radius": dull})
    for basis in sys.argv[1:] or BASES:
        fit = radii(basis)
        kept = json.loads(TABLE.read_text("utf-8"))["radius"]
        written({"radius": kept | {basis: fit}})


if __name__ == "__main__":
    main()
