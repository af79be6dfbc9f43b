"""How well a drawdown recovers S, on random paints with known K and S; run by hand.

    PYTHONPATH=service:tests python tests/bench_drawdown.py [paints] [seed]

Prints Markdown. Two numbers of the tool (how much and how smoothly a spectrum changes from band
to band) come from the same 99 measured spectra that a third of the paints are made of; the
other two thirds have nothing in common with it.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from reference.random_paints import (
    draws,
    film,
    measured_spectra,
    noisy_lab,
    smooth_spectra,
    wavy_spectra,
)
from showthrough.colour.difference import ciede2000
from showthrough.colour.reading import Reading
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.errors import IllConditionedError
from showthrough.film.drawdown.measure import measure_drawdown
from showthrough.film.drawdown.readings import CardReading, DrawdownReadings

NOISE = 0.3  # CIEDE2000 root mean square of each reading
RADIUS = NOISE / np.sqrt(3) * 2.7955  # its 95 % radius
SHOWS = 0.001  # reflectance by which two films must differ for a band to say anything


def spectra_of(one, radius):
    return [
        CardReading(Reading(reflectance=tuple(bands)), radius) for bands in (*one.card, *one.films)
    ]


def labs_of(random, one, noise, radius):
    labs = [noisy_lab(random, bands, noise) for bands in (*one.card, *one.films)]
    return [CardReading(Reading(lab=tuple(lab)), radius) for lab in labs]


def hiding_um(one):
    """Dry film at which black and white differ by 1 CIEDE2000."""
    low, high = 1e-3, 1e5
    for _ in range(60):
        middle = np.sqrt(low * high)
        lab = spectrum_to_lab(film(one.absorption, one.scattering, middle, one.card))
        low, high = (middle, high) if ciede2000(lab[0], lab[1]) > 1 else (low, middle)
    return middle


def exact(random, paints, radius):
    """Errors of S where the film can be seen through, and of its mean over all bands."""
    seen, mean, refused, seconds = [], [], 0, 0.0
    for one in draws(random, paints):
        begin = time.perf_counter()
        try:
            found = measure_drawdown(
                DrawdownReadings(*spectra_of(one, radius), one.dry_um / 0.4, 0.4), draws=8
            )
        except IllConditionedError:
            refused += 1
            continue
        seconds += time.perf_counter() - begin
        shows = one.films[1] - one.films[0] > SHOWS
        seen.append(np.abs(found.scattering / one.scattering - 1)[shows].max())
        mean.append(abs(found.scattering_per_um / one.scattering_per_um - 1))
    seen, mean = 100 * np.array(seen), 100 * np.array(mean)
    return (
        f"| {radius:g} | {len(seen)} | {refused} | {np.median(seen):.2f} | {seen.max():.2f} | "
        f"{np.median(mean):.2f} | {mean.max():.1f} | {(mean > 3).sum()} | "
        f"{1000 * seconds / len(seen):.0f} ms |"
    )


def noisy(random, paints, spread):
    """Errors of S, of the hiding film, and their stated intervals, where the tool answers."""
    rows, refused = [], 0
    seconds = 0.0
    for one in draws(random, paints):
        wet = one.dry_um / 0.4
        stated = wet * random.lognormal(0, np.log(spread)) if spread > 1 else wet
        readings = DrawdownReadings(
            *labs_of(random, one, NOISE, RADIUS),
            stated,
            0.4,
            wet_film_spread=spread,
            solids_spread=1.0,
        )
        begin = time.perf_counter()
        try:
            found = measure_drawdown(readings)
        except IllConditionedError:
            refused += 1
            continue
        seconds += time.perf_counter() - begin
        rows.append(
            (
                readings.delta_e,
                np.log(found.scattering_per_um / one.scattering_per_um),
                np.log(found.scattering_per_um_geometric_sd),
                np.log(found.hiding_um / hiding_um(one)),
                np.log(found.geometric_sd),
                max(found.residual_black, found.residual_white),
            )
        )
    return np.array(rows), refused, 1000 * seconds / max(len(rows), 1)


def line(name, rows, refused=""):
    off = 100 * np.abs(np.expm1(rows[:, 1]))
    hide = 100 * np.abs(np.expm1(rows[:, 3]))
    cover = 100 * (np.abs(rows[:, 1]) < 1.96 * rows[:, 2]).mean()
    cover_hide = 100 * (np.abs(rows[:, 3]) < 1.96 * rows[:, 4]).mean()
    return (
        f"| {name} | {len(rows)} | {refused} | {np.median(off):.1f} | "
        f"{np.quantile(off, 0.9):.1f} | {cover:.0f} | {np.median(hide):.1f} | "
        f"{np.quantile(hide, 0.9):.1f} | {cover_hide:.0f} |"
    )


def say(text):
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    random = np.random.default_rng(seed)
    third = count // 3
    populations = [
        ("smoothest spectra", smooth_spectra(random, third)),
        ("wavy spectra", wavy_spectra(random, third)),
        ("measured spectra (CIE 224)", measured_spectra(random, third)),
    ]
    mixed = np.vstack([spectra for _, spectra in populations])
    say(
        "Exact spectra: error of S in per cent, worst band of those where the films differ by "
        f"{SHOWS:g}; mean over 420-680 nm, closed bands included\n"
    )
    say(
        "| radius stated | answered | refused | worst band, median | most | mean, median | most | "
        "beyond 3 % | time |"
    )
    say("|---|---|---|---|---|---|---|---|---|")
    for radius in (0.01, 0.2):
        say(exact(random, mixed, radius))
    say(
        f"\nLab readings off by {NOISE:g} CIEDE2000 (root mean square), answered where the films "
        "differ by 1 or more\n"
    )
    say(
        "| paints | answered | refused | S off, median % | 90th | inside 95 % | "
        "hiding film off, median % | 90th | inside 95 % |"
    )
    say("|---|---|---|---|---|---|---|---|---|")
    everything = []
    for name, spectra in populations:
        rows, refused, ms = noisy(random, spectra, 1.0)
        everything.append(rows)
        say(line(name, rows, refused))
    rows = np.vstack(everything)
    say(line("all three", rows))
    for low, high in ((1, 2), (2, 4), (4, 8), (8, 50)):
        part = rows[(rows[:, 0] >= low) & (rows[:, 0] < high)]
        say(line(f"… differing by {low}-{high}", part))
    rows, refused, _ = noisy(random, mixed, 1.15)
    say(line("all three, wet film known x/÷ 1.15", rows, refused))
    say(f"\n{ms:.0f} ms each.")


if __name__ == "__main__":
    main()
