"""Whether the 10-90 % range of counts holds what it says, in simulated worlds; run by hand.

    PYTHONPATH=service:tests python tests/show_hiding_intervals.py

A world draws random topcoats over random surfaces in a stated wet film; each paint's hiding film
is the guess times a log-normal factor of that world, each coat's film the stated one times another.
Jobs of three likely coats and more count. "Stated" is what the answers' own chances say of their
range: the chance of its highest count less that of one below its lowest. It is more than 80 %
because counts are whole: fewer than 10 % lie below the lowest and 10 % or fewer above the highest,
never just that many. Held and stated agree where the world is as the answers say. Beside the ranges
as they are now stand those of one spread of 1.4 about the same guess, and those of the flat rule
(S + greatest K = 0.32) with 1.4.
"""

from __future__ import annotations

import math
import sys

import numpy as np

from reference.flat_rule import flat_rule
from reference.random_pairs import colours
from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS
from showthrough.film.coats import MOST_COATS, FilmBuild, PatchNeed, coats_needed, outlook_of
from showthrough.film.hiding import OpaqueColour, constants_from_colour
from showthrough.film.knowledge import colour_sigma_ln
from showthrough.film.optics import inside_reflectance
from showthrough.film.thickness import full_colour_thickness

JOBS, DRAWS = 1500, 400
FILM_GEOMETRIC_SD = 1.15
VIVID = 2.0
"""Greatest K/S from which a colour counts as vivid: half of its pigment may be white."""

Ranges = list[tuple[float, float, float]]


def ranges_of(hiding_film_um: np.ndarray, sigma_ln: np.ndarray, build: FilmBuild) -> Ranges:
    """The 10-90 % range of each job, inf where 12 coats are not enough, and its chance."""
    found = []
    for film, sigma in zip(hiding_film_um, sigma_ln, strict=True):
        joint = math.hypot(float(sigma), math.log(build.geometric_sd))
        outlook = outlook_of((PatchNeed(float(film), joint),), build)
        low, high = outlook.first(0.1) or MOST_COATS + 1, outlook.first(0.9)
        below = outlook.chance(low - 1) if low > 1 else 0.0
        upto = 1.0 if high is None else outlook.chance(high)
        found.append((low, high or math.inf, upto - below))
    return found


def main() -> None:
    rng = np.random.default_rng(11)
    lab, paint = colours(rng, JOBS, PAINT_BOUNDS, 90.0)
    _, surface = colours(rng, JOBS, SURFACE_BOUNDS, 40.0)
    ground = inside_reflectance(surface)
    hiding_film_um = full_colour_thickness(*constants_from_colour(paint), ground, lab)
    flat = full_colour_thickness(*flat_rule(paint), ground, lab)
    strength = OpaqueColour.of(paint).strength
    sigma_ln = colour_sigma_ln(strength)
    vivid = strength >= VIVID
    say = [
        "| world | jobs | n | held now | stated | one spread of 1.4 | stated | flat rule and 1.4 |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for coat, wet_um in (("light spray", 45.0), ("brush", 90.0)):
        build = FilmBuild(wet_um, 0.38, FILM_GEOMETRIC_SD)
        likely = coats_needed(hiding_film_um / build.dry_film_thickness_um)
        counted = likely >= 3
        one = np.full(JOBS, math.log(1.4))
        answers = [
            ranges_of(hiding_film_um, sigma_ln, build),
            ranges_of(hiding_film_um, one, build),
            ranges_of(flat, one, build),
        ]
        for world, true in (
            ("shipped spreads", sigma_ln),
            ("2.0 where vivid", np.where(vivid, math.log(2.0), sigma_ln)),
        ):
            factor = np.exp(true[:, None] * rng.standard_normal((JOBS, DRAWS)))
            film = build.dry_film_thickness_um * FILM_GEOMETRIC_SD ** rng.standard_normal(
                (JOBS, DRAWS)
            )
            needed = coats_needed(hiding_film_um[:, None] * factor / film)
            held = []
            for ranges in answers:
                low, high, _ = np.array(ranges).T
                held.append(((needed >= low[:, None]) & (needed <= high[:, None])).mean(axis=1))
            for what, kept in (("all", counted), ("vivid", counted & vivid)):
                now, spread_of_one, flat_rule_held = (share[kept].mean() for share in held)
                said = [np.array(ranges)[kept, 2].mean() for ranges in answers[:2]]
                say.append(
                    f"| {world}, {coat} | {what} | {kept.sum()} | {now:.1%} | {said[0]:.1%} | "
                    f"{spread_of_one:.1%} | {said[1]:.1%} | {flat_rule_held:.1%} |"
                )
    sys.stdout.write("\n".join(say) + "\n")


if __name__ == "__main__":
    main()
