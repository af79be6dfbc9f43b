"""Writes service/showthrough/photo/data/camera.json: what a typical phone does to colours.

Run by hand (some minutes; card, chart or none named on the command line does that one
alone); a test runs ``matrices`` again and compares.

The matrices are fitted with the Canon's sensitivities on the Academy's training
patches. The radii are the 95 % quantiles of the errors that are left, by quantile
regression over simulated photos: phones of the Nikon's kin, its sensitivities moved
by a few nanometres, with one maker's matrix or two fitted on half of the training
patches, photograph the other half and the test colours of lamps; half of the charts
are one that was measured by itself, read like any by the average of many. The fit on
either of these two sets is judged on the other, and the radii are widened by what that
lacks of 95 %. The tests judge them on the 99 evaluation samples, by the Nikon as it is. That
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
from showthrough.colour.difference import ciede2000
from showthrough.photo.calibrate.chart_fit import lab_of_linear
from showthrough.photo.calibrate.radius import features, joined
from showthrough.photo.sample import LEAST_LIGHT
from showthrough.photo.sensor import beyond_file, constants, to_daylight

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

WORST = {"daylight": ("D50",), "unknown": ("A",)}
"""Where one of several lights may be meant, the radius is made to hold under the worst."""

LEVEL = 0.95
PHONES = 12
SAMPLES = (24, 16)
"""Samples of each set for each phone and light."""
SPECIMENS = (None, "ISO 17321-1")  # the average of measured charts, and another copy
"""The chart itself, by turns: the average that it is read by, and one that was measured alone."""

SEED = 20
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


def beyond_srgb():
    """How far beyond sRGB a colour is best taken to lie that has a channel at nothing.

    Of a few shares the one of least root mean square error, by the Canon, on colours with
    a channel at nothing among the training patches and the lamps' test colours.
    """
    samples = np.concatenate([camera.training_samples(), camera.lamp_samples()])
    true = camera.true_lab(samples)
    rng = np.random.default_rng(7)
    sensor = np.array(json.loads(TABLE.read_text("utf-8"))["to_sensor"])
    squares = dict.fromkeys((0.0, 0.05, 0.1, 0.15, 0.2), 0.0)
    for light, name in (("D50", "sun"), ("D65", "cloud"), ("LED-B3", "led"), ("A", "bulb")):
        way = to_daylight(name)
        for _ in range(20):
            gains = camera.awb_gains(rng)
            canon = camera.phone("canon")
            file = camera.flat_numbers(samples, canon, light, gains, 0.7)
            cast = 0.7 * gains
            floored = (file <= LEAST_LIGHT).astype(float)
            for i in np.flatnonzero(floored.any(axis=1)):
                for share in squares:
                    found = beyond_file(sensor @ file[i] / cast, cast, floored[i], share)
                    lab = lab_of_linear(way @ np.linalg.solve(sensor, found))
                    squares[share] += float(ciede2000(lab, true[i])) ** 2
    return min(squares, key=squares.get), squares


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
    for (number, (phone, sets)), light in product(enumerate(phones(rng)), camera.LIGHTS):
        stated = [name for name, all_ in MEANT.items() if light in WORST.get(name, all_)]
        for group, samples in enumerate(sets):
            for sample in samples[rng.permutation(len(samples))[: SAMPLES[group]]]:
                specimen = SPECIMENS[number // 2 % 2]
                read = try_all(rng, sample, light, basis, phone, stated, specimen=specimen)
                for name, trial in read:
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


def margins(basis, seen):
    """How much wider radii must be for a set of samples that they were not fitted on.

    Each of the two sets is judged by the fit on the other one. A kind of light takes the
    worse of its two verdicts, and no less than that of all kinds together.
    """
    verdicts = {}
    for name, (rows, errors, groups) in seen.items():
        for group in (0, 1):
            fit = half_plain_fit(basis, rows[groups != group], errors[groups != group])
            here = groups == group
            verdicts[name, group] = errors[here] / np.maximum(rows[here] @ fit, 0.6)
    single = [v for (name, _), v in verdicts.items() if len(MEANT[name]) == 1]
    least = max(1.0, float(np.quantile(np.concatenate(single), LEVEL)))
    worst = {
        name: max(float(np.quantile(verdicts[name, group], LEVEL)) for group in (0, 1))
        for name in seen
    }
    return {name: round(max(least, wider), 3) for name, wider in worst.items()}


def radii(basis, seen):
    """Coefficients of the radius by one reference, for each kind of light, and the margins."""
    wider = margins(basis, seen)
    fits = {}
    for name, (rows, errors, _) in seen.items():
        fit = np.array(half_plain_fit(basis, rows, errors))
        fits[name] = np.round(wider[name] * fit, 4).tolist()
    return fits, wider


def written(changes):
    """The table as it stands, with changes; written at once, as two runs may share it."""
    table = json.loads(TABLE.read_text("utf-8")) if TABLE.exists() else {}
    table |= changes
    TABLE.write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")
    return table


def main():
    about = "Made by tests/reference/make_camera_constants.py; see there."
    table = written({"about": about, **matrices()})
    written({"beyond_srgb": beyond_srgb()[0]})
    constants.cache_clear()
    # The reading needs some radius to run at all; what it is does not matter here.
    dull = {b: {"unknown": [5.0] + [0.0] * (4 if b == "none" else 3)} for b in BASES}
    named = sys.argv[1:] or BASES
    written({"radius": table.get("radius", {}) | {b: dull[b] for b in named}})
    for basis in named:
        fit, wider = radii(basis, trials(basis, SEED))
        old = json.loads(TABLE.read_text("utf-8"))
        margins = old.get("margin", {}) | {basis: wider}
        written({"radius": old["radius"] | {basis: fit}, "margin": margins})


if __name__ == "__main__":
    main()
