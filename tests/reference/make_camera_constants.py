"""Writes service/showthrough/photo/data/camera.json: what a typical phone does to colours.

Run by hand (a minute); a test makes the matrices again and compares. Named ``radii`` on the
command line it also fits the radii on ``camera_trials.csv``, which ``camera_trials.py`` makes.
The radii in the table are of an earlier run, whose trials were not kept: 12 phones with 24 and
16 samples of the two sets under each light. The trials kept have a fifth to a sixth of that,
too few for a 95 % quantile of each light (their fits move by up to a factor of 2.5), so they
judge those radii and do not yet replace them.

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

What an unknown phone's processing adds is fitted on ``processed_trials.csv``, by pinball loss
for the radius as a whole, on all three cameras; ``left_out`` tells what each camera lacks where
the other two alone are fitted on.

``tail`` tells how errors lie about a radius, so that one can be made for a light that may be
any of several kinds.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np

from reference import camera, processed_trials
from reference.camera_trials import BASES, saved
from reference.photo_trials import NOTHING
from showthrough.colour.difference import ciede2000
from showthrough.photo.calibrate.chart_fit import lab_of_linear
from showthrough.photo.calibrate.radius import features
from showthrough.photo.sample import LEAST_LIGHT
from showthrough.photo.sensor import beyond_file, to_daylight

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

LEVEL = 0.95


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
    return np.round(
        minimize(loss, start, jac=True, method="BFGS", options={"gtol": 1e-9}).x, 4
    ).tolist()


def half_plain_fit(basis, rows, errors):
    """Half the fit with chroma and hue, half the one without.

    Near-neutrals among the samples are truer to a flat spectrum than those that
    people paint and plane, so that a full fit promises too much for them.
    """
    plain = 2 if basis == "none" else 1
    full = np.array(quantile_fit(rows, errors))
    full[:plain] += quantile_fit(rows[:, :plain], errors)
    return np.round(0.5 * full, 4).tolist()


def trials(basis):
    """Features, what is left of the error, and which set a sample is of, by kind of light."""
    return {
        name: (features(basis, lab), left, group)
        for name, (lab, left, group) in saved(basis).items()
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


def asked(seen, here=None):
    """Factor on the camera's part that some trials ask for, all of them where none are named."""
    known = (seen.parts[:, 1:] ** 2).sum(axis=1)
    over = np.sqrt(np.maximum(seen.errors**2 - known, 0.0)) / seen.parts[:, 0]
    return float(np.quantile(over if here is None else over[here], LEVEL))


def narrowing(basis):
    """Factor on the radii of the Nikon's kin: half-way to what three cameras' photos ask for.

    Plain photos, and of the three cameras the one that asks for most; half-way because a 95 %
    quantile of 60 errors a camera rests on three of them. With no reference nobody tells a plain
    photo from a processed one, and the white balance counts for more than the camera: all
    processed photos are taken together.
    """
    if basis == "none":
        wanted = asked(processed_trials.saved(NOTHING, processed=True))
    else:
        seen = processed_trials.saved(basis, processed=False)
        wanted = min(1.0, max(asked(seen, seen.cameras == name) for name in camera.CAMERAS))
    return round(0.5 * (1.0 + wanted), 3)


def narrowings():
    """The same for each basis."""
    return {basis: narrowing(basis) for basis in BASES}


PROCESSED = {
    "card": ("card", (0, 2)),
    "cards": ("two cards", (0, 2)),
    "chart": ("chart", (0, 3)),
}
"""Way of the trials, and which of 1, camera, bend, residual the part of processing depends on."""


def pinball(errors, radii, level=LEVEL):
    """Mean loss whose least is where ``level`` of the errors lie within the radii."""
    left = errors - radii
    return float(np.maximum(level * left, (level - 1.0) * left).mean())


def processing_fit(basis, seen, here):
    """Weights, shape (4,), of what an unknown phone's processing adds to the radius.

    Args:
        basis: card, cards or chart.
        seen: the processed trials of its way.
        here: which of them to fit on.
    """
    from scipy.optimize import minimize

    used = list(PROCESSED[basis][1])
    parts = seen.parts * (narrowing(basis.rstrip("s")), 1.0, 1.0)
    columns = np.column_stack([np.ones(seen.errors.size), parts[:, 0], seen.bends, seen.residuals])[
        here
    ][:, used]
    known, errors = (parts[here] ** 2).sum(axis=1), seen.errors[here]

    def loss(weights):
        return pinball(errors, np.sqrt(known + (columns @ np.abs(weights)) ** 2))

    starts = [(0.5, 0.5), (2.0, 0.2), (0.1, 1.0), (4.0, 0.0)]
    found = min(
        (minimize(loss, s, method="Nelder-Mead", options={"xatol": 1e-3}) for s in starts),
        key=lambda one: one.fun,
    ).x
    weights = np.zeros(4)
    weights[used] = np.abs(found)  # no reason to be surer may come of a greater doubt
    return np.round(weights, 3).tolist()


def processing():
    """The weights for each basis; with no reference processing is lost in the white balance."""
    fits = {"none": [0.0, 0.0, 0.0, 0.0]}
    for basis, (way, _) in PROCESSED.items():
        seen = processed_trials.saved(way, processed=True)
        fits[basis] = processing_fit(basis, seen, np.ones(seen.errors.size, dtype=bool))
    return fits


def tail():
    """Shape of Weibull's law for errors over radii that 5 of 100 exceed, by most likelihood.

    Of plain photos by cards with the light stated.
    """
    from scipy.optimize import minimize_scalar

    seen = processed_trials.saved("two cards", processed=False)
    over = seen.errors / seen.radii("cards", processed=False)
    most = np.log(1.0 - LEVEL)

    def loss(shape):
        return -np.sum(np.log(shape) + (shape - 1.0) * np.log(over) + most * over**shape)

    return round(float(minimize_scalar(loss, bounds=(0.5, 4.0), method="bounded").x), 2)


def left_out(basis):
    """Share of each camera's processed trials inside radii fitted on the other cameras'."""
    seen = processed_trials.saved(PROCESSED[basis][0], processed=True)
    shares = {}
    for name in camera.CAMERAS:
        here = seen.cameras == name
        radii = seen.radii_by(processing_fit(basis, seen, ~here), narrowing(basis.rstrip("s")))
        shares[name] = float((seen.errors <= radii)[here].mean())
    return shares


def written(changes):
    """The table as it stands, with changes; written at once, as two runs may share it."""
    table = json.loads(TABLE.read_text("utf-8")) if TABLE.exists() else {}
    table |= changes
    TABLE.write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")
    return table


def main():
    about = "Made by tests/reference/make_camera_constants.py; see there."
    written({"about": about, **matrices()})
    written({"beyond_srgb": beyond_srgb()[0]})
    written({"narrowed": narrowings(), "processing": processing()})
    written({"tail": tail()})
    if sys.argv[1:] != ["radii"]:
        return
    fits = {basis: radii(basis, trials(basis)) for basis in BASES}
    written(
        {
            "radius": {basis: fit for basis, (fit, _) in fits.items()},
            "margin": {basis: wider for basis, (_, wider) in fits.items()},
        }
    )


if __name__ == "__main__":
    main()
