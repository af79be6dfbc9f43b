"""Hiding guessed from a colour beside films of known thickness; run by hand.

    PYTHONPATH=service:tests python tests/reference/fit_hiding.py FILE.csv

FILE.csv has one film a row: pigment (its Colour Index name first), film ("alone", or in white),
pvc, dry_film_um, dE00_black_white (CIEDE2000 between the film over black and over white) and
opaque_L, opaque_a, opaque_b; lines that start with # are comments. Made for films of artists'
acrylics after Levinson, Berdahl and Akbari 2005, Solar Energy Materials and Solar Cells 89,
319-349 and 351-389.

Prints, in Markdown, how far the guessed film that would show the measured difference lies from
the film that was measured, after one common factor, and with each pigment left out of that
factor (and of the fitted scattering of pigments); and what the spreads in the product say.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from reference import crossing_scan
from reference.flat_rule import flat_rule
from showthrough.colour.spectrum import recover_spectra
from showthrough.film import knowledge
from showthrough.film.hiding import OpaqueColour, constants_from_colour
from showthrough.film.knowledge import NOTHING_KNOWN, PaintFacts, Pigment, colour_sigma_ln
from showthrough.film.optics import inside_reflectance

WHITE_CARD = 0.94
"""Reflectance of the white behind the films. The source's own is not known; over this one the film
of 2 % white, whose K and S are given, shows its measured difference (19.3; over 0.80 it shows
16.3), and a common factor takes up most of what it matters."""

LEAST_DELTA_E = 0.25
"""A film that differs by less only tells that it hides (the noise of a reading is 0.3): it is
listed, and counted only where the line says so."""

OPAQUE = ("PR101", "PR102", "PY42", "PY43", "PBr", "PBk", "PG17")
"""Oxides of iron and chrome, carbon, earths; other coloured pigments count as transparent."""

INSIDE = 1.2816
"""Standard deviations on each side of the middle 80 %."""


@dataclass(frozen=True)
class Film:
    """One measured film and the spectrum that its opaque colour is given."""

    pigment: str
    kind: str
    film_um: float
    delta_e: float
    share: float | None
    reflectance: np.ndarray

    @property
    def pigment_class(self) -> Pigment:
        return "opaque" if self.pigment.startswith(OPAQUE) else "transparent"


def films_of(path: Path) -> list[Film]:
    """The films of a file. Raises where the product would refuse a colour."""
    lines = path.read_text("utf-8").splitlines()
    found = []
    for row in csv.DictReader(line for line in lines if not line.startswith("#")):
        lab = [float(row[f"opaque_{axis}"]) for axis in "Lab"]
        spectrum = recover_spectra([lab])
        if not spectrum.reachable[0]:
            msg = f"{row['pigment']}, {row['film']}: lab{tuple(lab)} is refused"
            raise ValueError(msg)
        kind = "white" if row["pigment"].startswith("PW") else row["film"]
        found.append(
            Film(
                row["pigment"],
                kind,
                float(row["dry_film_um"]),
                float(row["dE00_black_white"]),
                float(row["pvc"]) if row["pvc"] else None,
                spectrum.reflectance[0],
            )
        )
    return found


Rule = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]


def told(facts: PaintFacts) -> Rule:
    """The product's rule with these facts."""
    return lambda reflectance: constants_from_colour(reflectance, facts=facts)


def gap(film: Film, rule: Rule) -> float:
    """ln (guessed film / measured film) at the measured difference."""
    k, s = rule(film.reflectance)
    black = np.zeros(31)
    white = np.full(31, float(inside_reflectance(WHITE_CARD)))
    guessed = crossing_scan.even(k, s, black, white, film.delta_e)
    return float(np.log(guessed / film.film_um))


def by_pigment(films: Sequence[Film], gaps: np.ndarray) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for film, value in zip(films, gaps, strict=True):
        found.setdefault(film.pigment, []).append(float(value))
    return found


def left_out(films: Sequence[Film], gaps: np.ndarray) -> float:
    """rms of each film about the common factor of the other pigments."""
    groups = by_pigment(films, gaps)
    missed = []
    for pigment, values in groups.items():
        others = np.mean([np.mean(v) for p, v in groups.items() if p != pigment])
        missed += [value - others for value in values]
    return float(np.sqrt(np.mean(np.square(missed))))


def factor(log: float) -> str:
    return f"{np.exp(log):.2f}"


def summary(what: str, films: Sequence[Film], gaps: np.ndarray, sigmas: np.ndarray) -> str:
    """One line: rms, left-out rms, stated spread, and how many lie inside the middle 80 %."""
    rest = gaps - gaps.mean()
    inside = int((np.abs(rest) <= INSIDE * sigmas).sum())
    half = INSIDE * sigmas.mean()
    return (
        f"| {what} | {len(films)} | {factor(gaps.mean())} | {factor(np.sqrt((rest**2).mean()))} | "
        f"{factor(left_out(films, gaps))} | {factor(sigmas.mean())} | {factor(half)} | "
        f"{inside} of {len(films)} |"
    )


HEADS = (
    "| films | n | common factor | rms | left out | stated spread | middle 80 % | inside it |\n"
    "|---|---|---|---|---|---|---|---|"
)


def sigmas_of(films: Sequence[Film], facts: Sequence[PaintFacts]) -> np.ndarray:
    return np.array(
        [
            float(colour_sigma_ln(OpaqueColour.of(f.reflectance).strength, known))
            for f, known in zip(films, facts, strict=True)
        ]
    )


def gaps_of(films: Sequence[Film], facts: Sequence[PaintFacts]) -> np.ndarray:
    return np.array([gap(f, told(known)) for f, known in zip(films, facts, strict=True)])


def fitted_part(films: Sequence[Film], facts: PaintFacts) -> float:
    """Scattering of pigments, as a part of S0, that leaves no common factor."""
    kept = knowledge.PIGMENT_PART[facts.pigment]
    low, high = 1e-4, 2.0
    try:
        for _ in range(30):
            middle = float(np.sqrt(low * high))
            knowledge.PIGMENT_PART[facts.pigment] = middle
            thick = np.mean([gap(f, told(facts)) for f in films]) > 0.0
            low, high = (middle, high) if thick else (low, middle)
    finally:
        knowledge.PIGMENT_PART[facts.pigment] = kept
    return middle


def part_left_out(films: Sequence[Film], facts: PaintFacts) -> float:
    """rms of ln film where each pigment is left out of the fit of ``fitted_part``."""
    kept = knowledge.PIGMENT_PART[facts.pigment]
    missed = []
    try:
        for film in films:
            others = [f for f in films if f.pigment != film.pigment]
            knowledge.PIGMENT_PART[facts.pigment] = fitted_part(others, facts)
            missed.append(gap(film, told(facts)))
    finally:
        knowledge.PIGMENT_PART[facts.pigment] = kept
    return float(np.sqrt(np.mean(np.square(missed))))


def told_films(films: Sequence[Film]) -> list[str]:
    """One line a film."""
    say = [
        "| pigment | film | measured µm | difference | guess / measured | flat rule | spread |",
        "|---|---|---|---|---|---|---|",
    ]
    for f in films:
        sigma_ln = colour_sigma_ln(OpaqueColour.of(f.reflectance).strength)
        say.append(
            f"| {f.pigment} | {f.kind} | {f.film_um:g} | {f.delta_e:g} | "
            f"{factor(gap(f, told(NOTHING_KNOWN)))} | {factor(gap(f, flat_rule))} | "
            f"{factor(float(sigma_ln))} |"
        )
    return say


def told_tints(tints: Sequence[Film]) -> list[str]:
    """Summaries of the tints, by the rule before and by what is known."""
    sure = [f for f in tints if f.delta_e >= LEAST_DELTA_E]
    say = [HEADS]
    for name, films in (("tints", sure), ("tints, opaque films counted", list(tints))):
        flat = np.array([gap(f, flat_rule) for f in films])
        say.append(summary(f"{name}, the flat rule", films, flat, np.full(len(films), np.log(1.4))))
        for what, known in (("colour alone", NOTHING_KNOWN), ("pastel", PaintFacts(body="pastel"))):
            facts = [known] * len(films)
            say.append(
                summary(f"{name}, {what}", films, gaps_of(films, facts), sigmas_of(films, facts))
            )
    return say


def told_alone(alone: Sequence[Film]) -> list[str]:
    """Summaries of pigments alone, and the fitted scattering with each pigment left out."""
    flat = np.array([gap(f, flat_rule) for f in alone])
    say = [HEADS, summary("alone, the flat rule", alone, flat, np.full(len(alone), np.log(1.4)))]
    for what, facts in (
        ("colour alone", [NOTHING_KNOWN] * len(alone)),
        ("deep", [PaintFacts(body="deep")] * len(alone)),
        ("pigment stated", [PaintFacts(f.pigment_class) for f in alone]),
        ("pigment and deep", [PaintFacts(f.pigment_class, "deep") for f in alone]),
    ):
        line = summary(f"alone, {what}", alone, gaps_of(alone, facts), sigmas_of(alone, facts))
        say.append(line)
    say += [
        "",
        "| alone | n | fitted part of S0 | shipped | left out | mean stated spread |",
        "|---|---|---|---|---|---|",
    ]
    classes: tuple[Pigment | None, ...] = (None, "opaque", "transparent")
    for pigment in classes:
        films = [f for f in alone if pigment in (None, f.pigment_class)]
        if len(films) < 2:
            continue
        for facts in (PaintFacts(pigment), PaintFacts(pigment, "deep")):
            name = ", ".join(filter(None, (pigment or "not stated", facts.body)))
            stated = factor(np.sqrt((sigmas_of(films, [facts] * len(films)) ** 2).mean()))
            missed = factor(part_left_out(films, facts))
            say.append(
                f"| {name} | {len(films)} | {fitted_part(films, facts):.3f} | "
                f"{knowledge.PIGMENT_PART[pigment]:g} | x/÷ {missed} | x/÷ {stated} |"
            )
    return say


def main() -> None:
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    films = films_of(Path(sys.argv[1]))
    tints = [f for f in films if f.kind not in ("alone", "white")]
    alone = [f for f in films if f.kind == "alone"]
    white = [f for f in films if f.kind == "white"]
    say = [f"{len(films)} films, none refused.", "", *told_films(films), "", *told_tints(tints)]
    say += ["", *told_alone(alone), ""]
    for f in white:
        facts = PaintFacts(tio2_share=f.share)
        say.append(
            f"White with {f.share:.1%} of titanium dioxide: guess / measured "
            f"{factor(gap(f, told(NOTHING_KNOWN)))}, with the share stated "
            f"{factor(gap(f, told(facts)))}."
        )
    sys.stdout.write("\n".join(say) + "\n")


if __name__ == "__main__":
    main()
