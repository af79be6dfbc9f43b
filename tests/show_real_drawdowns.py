"""What real drawdowns say of the tool, and of hiding guessed from a colour; run by hand.

    PYTHONPATH=service:tests python tests/show_real_drawdowns.py FILE.csv

FILE.csv has the columns sample, composition, reading (bare black, bare white, over black,
over white) and 31 reflectances in percent, 400-700 nm by 10 nm, specular included. Lines
that start with # are comments. The films' thickness is not known: each is one unit.

Made for fligt/revigo-spectra (CC0 1.0; Geldof, Proaño Gaibor, Kirchner, Ligterink, Heritage
Science 2018, 6:17, doi 10.1186/s40494-018-0181-6). Prints Markdown.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter
from pathlib import Path

import numpy as np

from showthrough.colour.reading import Reading
from showthrough.colour.spectrum import PAINT_BOUNDS, recover_spectra
from showthrough.film.drawdown.film import Surface, film_factor, levels_of
from showthrough.film.drawdown.measure import SHOWN_BANDS, Drawdown, examine_drawdown
from showthrough.film.drawdown.readings import CardReading, DrawdownReadings, card_colour
from showthrough.film.hiding import constants_from_colour

READINGS = ("bare black", "bare white", "over black", "over white")


def drawdowns(path: Path) -> list[tuple[str, str, Drawdown]]:
    samples: dict[tuple[str, str], dict[str, CardReading]] = {}
    lines = [line for line in path.read_text("utf-8").splitlines() if not line.startswith("#")]
    for sample, composition, name, *percent in list(csv.reader(lines))[1:]:
        bands = tuple(float(value) / 100 for value in percent)
        reading = Reading(reflectance=bands, observer=10, specular_included=True)
        samples.setdefault((sample, composition), {})[name] = CardReading(reading)
    return [
        (
            sample,
            composition,
            examine_drawdown(
                DrawdownReadings(
                    *(four[name] for name in READINGS),
                    wet_film_um=1.0,
                    volume_solids=1.0,
                    wet_film_spread=1.0,
                    solids_spread=1.0,
                )
            ),
        )
        for (sample, composition), four in samples.items()
    ]


def guessed_from_colour(found: Drawdown) -> tuple[float, float, float] | None:
    """From the opaque film's Lab: S (S0 = 1), hiding film, and hiding film by one S for all."""
    spectrum = recover_spectra([found.r_infinity_lab], PAINT_BOUNDS)
    if not spectrum.reachable[0]:
        return None
    bands = spectrum.reflectance[0]
    _, scattering = constants_from_colour(bands, 1.0)
    grounds = np.stack([card_colour(card, Surface()).reflectance for card in found.readings.cards])

    def hides(per_um: np.ndarray) -> float:
        levels = levels_of(bands, per_um, Surface())[None]
        return float(film_factor(levels, grounds, Surface(), 1.0)[0])

    one = np.ones_like(scattering)
    return float(scattering[SHOWN_BANDS].mean()), hides(scattering), hides(one)


def ranks(values: np.ndarray) -> np.ndarray:
    return np.argsort(np.argsort(values)).astype(float)


def account(guessed: np.ndarray, measured: np.ndarray) -> str:
    """Rank correlation, and rms factor after the one thickness that fits best."""
    same = bool(np.ptp(guessed) == 0.0)
    order = "-" if same else f"{np.corrcoef(ranks(guessed), ranks(measured))[0, 1]:.2f}"
    gap = np.log(measured / guessed)
    factor = np.exp(np.sqrt(((gap - gap.mean()) ** 2).mean()))
    return f"{order} | x/÷ {factor:.2f}"


def main() -> None:
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    found = drawdowns(Path(sys.argv[1]))
    heads = (
        "sample|composition|contrast ratio|difference|verdict|residual|S X (spread)|films to hide"
    )
    say = [f"| {heads.replace('|', ' | ')} (spread) | opaque Lab |", "|---" * 9 + "|"]
    for sample, composition, one in found:
        lab = " ".join(f"{v:.0f}" for v in one.r_infinity_lab)
        residual = max(one.residual_black, one.residual_white)
        say.append(
            f"| {sample} | {composition} | {one.contrast_ratio:.3f} | {one.delta_e:.2f} | "
            f"{one.verdict} | {residual:.2f} | {one.scattering_per_um:.2f} "
            f"({one.scattering_per_um_geometric_sd:.2f}) | {one.hiding_um:.2f} "
            f"({one.reading_geometric_sd:.2f}) | {lab} |"
        )
    counts = Counter(one.verdict for _, _, one in found)
    good = [one for _, _, one in found if one.verdict == "well-conditioned"]
    residuals = np.array([max(one.residual_black, one.residual_white) for one in good])
    poor = [
        sample
        for sample, _, one in found
        if one.verdict == "well-conditioned" and max(one.residual_black, one.residual_white) > 0.1
    ]
    below = [s for s, _, o in found if any("mirror reflection" in note for note in o.notes)]
    above = [s for s, _, o in found if o.contrast_ratio > 1]
    told = ", ".join(f"{n} {verdict}" for verdict, n in counts.most_common())
    within = (residuals <= 0.1).sum()
    say += [
        "",
        f"{len(found)} drawdowns: {told}.",
        (
            f"Well-conditioned: both films reproduced within 0.1 CIEDE2000 in {within} of "
            f"{len(good)}; at most {residuals.max():.2f} (beyond 0.1: {', '.join(poor) or 'none'})."
        ),
        (
            f"Contrast ratio above 1: {', '.join(above) or 'none'}. A film below the mirror "
            f"reflection of 4 %: {', '.join(below) or 'none'}."
        ),
        "",
        (
            "Hiding guessed from the opaque colour alone against measured, one thickness common to "
            "all fitted (their thickness is not known and differs, which is part of the factor):"
        ),
        "",
        "| drawdowns | by | n | S: rank correlation | factor | hiding film: rank | factor |",
        "|---|---|---|---|---|---|---|",
    ]
    for name, wanted in (
        ("well-conditioned", ("well-conditioned",)),
        ("well-conditioned and transparent", ("well-conditioned", "transparent")),
    ):
        pairs = [
            (guess, one)
            for _, _, one in found
            if one.verdict in wanted and (guess := guessed_from_colour(one)) is not None
        ]
        guesses = np.array([guess for guess, _ in pairs])
        scattering = np.array([one.scattering_per_um for _, one in pairs])
        hiding = np.array([one.hiding_um for _, one in pairs])
        flat = np.ones(len(pairs))
        for by, s_guess, film_guess in (
            ("its colour", guesses[:, 0], guesses[:, 1]),
            ("its colour, one S for all", flat, guesses[:, 2]),
            ("one constant", flat, flat),
        ):
            say.append(
                f"| {name} | {by} | {len(pairs)} | {account(s_guess, scattering)} | "
                f"{account(film_guess, hiding)} |"
            )
    sys.stdout.write("\n".join(say) + "\n")


if __name__ == "__main__":
    main()
