"""Writes service/showthrough/photo/data/camera.json: what a typical phone does to colours.

Run by hand (some minutes; card, chart or none named on the command line does that one
alone); a test runs ``matrices`` again and compares.

The matrices are fitted with the Canon's sensitivities on the Academy's training
patches. The radii are the 95 % quantiles of the errors that are left, by quantile
regression over simulated photos: phones of the Nikon's kin, its sensitivities moved
by a few nanometres, with one maker's matrix or two fitted on half of the training
patches, photograph the other half and the test colours of lamps. The fit on either
of these two sets is judged on the other, and the radii are widened by what that lacks
of 95 %. The tests judge them on the 99 evaluation samples, by the Nikon as it is. That
the fit is held half-way to a constant was decided after looking at how errors of all
sets go with chroma; no number was fitted to the evaluation samples.
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
PHONES = 12
SAMPLES = (24, 16)
"""Samples of each set for each phone and light."""
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
    """Phones of the Nikon's kin, each with the samples that its matrix has not seen.

    Of the two measured cameras the Nikon is the harder one to read; a radius that
    holds for its kin is wide for the Canon's.
    """
    patches, lamps = camera.training_samples(), camera.lamp_samples()
    made = []
    for number in range(PHONES):
        order = rng.permutation(len(patches))
        seen, unseen = order[: len(patches) // 2], order[len(patches) // 2 :]
        sensor = camera.sensitivities("nikon", tuple(rng.uniform(-5.0, 5.0, 3)))
        phone = camera.made_phone(sensor, patches[seen], matrices=1 + number % 2)
        made.append((phone, (patches[unseen], lamps)))
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


def half_plain_fit(basis, rows, errors):
    """Half the fit with chroma and hue, half the one without.

    Near-neutrals among the samples are truer to a flat spectrum than those that
    people paint and plane, so that a full fit promises too much for them.
    """
    plain = 2 if basis == "none" else 1
    full = np.array(quantile_fit(rows, errors))
    full[:plain] += quantile_fit(rows[:, :plain], errors)
    return np.round(0.5 * full, 4).tolist()


def trials(basis, seed):
    """Features, what is left of the error, and which set a sample is of, by kind of light.

    From photos with every disturbance on, read as a user would. What the reading
    already puts down to noise and to uneven light is taken off the error first.
    """
    rng = np.random.default_rng([seed, BASES.index(basis)])
    seen = {}
    for (phone, sets), light in product(phones(rng), camera.LIGHTS):
        stated = [name for name, all_ in MEANT.items() if light in WORST.get(name, all_)]
        for group, samples in enumerate(sets):
            for sample in samples[rng.permutation(len(samples))[: SAMPLES[group]]]:
                for name, trial in try_all(rng, sample, light, basis, phone, stated):
                    colour = trial.colour
                    known = joined(colour.doubts["light"], colour.doubts["noise"])
                    left = np.sqrt(max(trial.error**2 - known**2, 0.0))
                    left /= 1.0 + 0.3 * colour.crushed
                    row = features(basis, colour.lab)[0]
                    seen.setdefault(name, []).append((row, left, group))
    return {
        name: tuple(np.array(column) for column in zip(*records, strict=True))
        for name, records in seen.items()
    }


def margin(basis, seen):
    """How much wider a radius must be for a set of samples that it was not fitted on.

    Each of the two sets is judged by the fit on the other one.
    """
    ratios = []
    for name, (rows, errors, groups) in seen.items():
        if len(MEANT[name]) > 1:
            continue
        for group in (0, 1):
            fit = half_plain_fit(basis, rows[groups != group], errors[groups != group])
            here = groups == group
            ratios.append(errors[here] / np.maximum(rows[here] @ fit, 0.6))
    return max(1.0, float(np.quantile(np.concatenate(ratios), LEVEL)))


def radii(basis, seed=20):
    """Coefficients of the radius by one reference, for each kind of light, and the margin."""
    seen = trials(basis, seed)
    wider = margin(basis, seen)
    fits = {}
    for name, (rows, errors, _) in seen.items():
        fit = np.array(half_plain_fit(basis, rows, errors))
        fits[name] = np.round(wider * fit, 4).tolist()
    return fits, round(wider, 3)


def written(changes):
    """The table as it stands, with changes; written at once, as two runs may share it."""
    table = json.loads(TABLE.read_text("utf-8")) if TABLE.exists() else {}
    table |= changes
    TABLE.write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")
    return table


def main():
    about = "Made by tests/reference/make_camera_constants.py; see there."
    table = written({"about": about, **matrices()})
    # The reading needs some radius to run at all; what it is does not matter here.
    dull = {b: {"unknown": [5.0] + [0.0] * (4 if b == "none" else 3)} for b in BASES}
    named = sys.argv[1:] or BASES
    written({"radius": table.get("radius", {}) | {b: dull[b] for b in named}})
    for basis in named:
        fit, wider = radii(basis)
        old = json.loads(TABLE.read_text("utf-8"))
        margins = old.get("margin", {}) | {basis: wider}
        written({"radius": old["radius"] | {basis: fit}, "margin": margins})


if __name__ == "__main__":
    main()
