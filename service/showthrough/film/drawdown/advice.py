"""What to tell the painter about a draw: how thick the next one, and what to mind."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Colour
from showthrough.colour.spectrum import recover_spectra
from showthrough.film.drawdown.film import film_factor, levels_of
from showthrough.film.drawdown.fit import Observed
from showthrough.film.drawdown.readings import (
    CHART_BLACK,
    CHART_WHITE,
    DrawdownReadings,
    card_colour,
)
from showthrough.film.hiding import constants_from_colour

GOOD_DELTA_E = 5.0
"""CIEDE2000 between the two films at which a draw says most (own simulations)."""

THICKEST_DRAW_UM = 200.0
"""Wet film beyond which a water-borne draw runs or cracks; then two coats (common practice)."""


def thinner_draw(readings: DrawdownReadings, opaque_lab: FloatArray) -> str:
    """Advice after an opaque draw.

    The draw itself tells only that the paint hides, so the colour's guess says how thin,
    and at most half of what was drawn.

    Args:
        readings: the draw.
        opaque_lab: CIELAB of the opaque paint, D65 and 2 degrees, shape (3,).
    """
    surface = readings.surface
    wet = 0.5 * readings.wet_film_um
    found = recover_spectra(opaque_lab)
    if found.reachable[0]:
        substrates = np.stack([card_colour(card, surface).reflectance for card in readings.cards])
        _, scattering = constants_from_colour(found.reflectance[0])
        one_um = levels_of(found.reflectance[0], scattering, surface)[None]
        dry = float(film_factor(one_um, substrates, surface, GOOD_DELTA_E)[0])
        wet = min(wet, dry / readings.volume_solids)
    return (
        f"draw it thinner, about {_rounded(wet)} µm wet, until black and white just show "
        f"through (a difference of about {GOOD_DELTA_E:g})"
    )


def thicker_draw(readings: DrawdownReadings, hiding_um: float | None) -> str:
    """Advice after a draw that hid next to nothing; ``hiding_um`` where it is known."""
    wet = 3.0 * readings.wet_film_um
    if hiding_um is not None:
        wet = min(wet, 0.5 * hiding_um / readings.volume_solids)
    wet = max(wet, 2.0 * readings.wet_film_um)
    if wet > THICKEST_DRAW_UM:
        coats = min(math.ceil(wet / readings.wet_film_um), 4)
        return (
            f"draw it thicker: {coats} such films one over the other, each dry before the next, "
            "and enter their wet films together"
        )
    return f"draw it thicker, about {_rounded(wet)} µm wet"


def notes_of(
    readings: DrawdownReadings,
    cards: Sequence[Colour],
    observed: Observed,
    verdict: str,
    ratio: float,
    reading_geometric_sd: float,
    films_needed: float,
) -> tuple[str, ...]:
    """Sentences about a draw.

    Args:
        readings: the draw.
        cards: colours of the bare black and white.
        observed: the readings as they were reckoned with.
        verdict: what became of it.
        ratio: contrast ratio.
        reading_geometric_sd: factor that the readings leave about the hiding film.
        films_needed: how many such films hide.
    """
    surface = readings.surface
    black, white = (card.body(surface) for card in readings.cards)
    lost = (
        film.mirror(surface) - m for film, m in zip(readings.films, observed.mirror, strict=True)
    )
    film_rules = math.log(readings.wet_film_spread) > 2.0 * math.log(reading_geometric_sd)
    remarks = (
        (
            black > 1.5 * CHART_BLACK,
            (
                f"The card's black reads Y {black:.1f}; a test chart has at most {CHART_BLACK:g} "
                "(ASTM D2805). It is allowed for, but a darker one tells more."
            ),
        ),
        (
            white < CHART_WHITE,
            (
                f"The card's white reads Y {white:.1f}; a test chart has at least {CHART_WHITE:g} "
                "(ASTM D2805). It is allowed for, but a lighter one tells more."
            ),
        ),
        (
            max(lost) > 1e-6,
            (
                f"A film reads less than the mirror reflection of {100 * surface.k1:g}%, so its "
                f"surface reflects less; {100 * observed.mirror[0]:.1f}% is taken off instead."
            ),
        ),
        (
            ratio > 1.0,
            (
                f"The film over black reads lighter than the one over white (contrast ratio "
                f"{ratio:.3f}); within the readings' noise that means it hides."
            ),
        ),
        (
            verdict == "transparent",
            (
                f"The film hides little: it would take about {films_needed:.0f} such films. "
                "The colour of the opaque paint is drawn out far beyond what was seen; a thicker "
                "draw is surer."
            ),
        ),
        (
            not readings.all_spectra,
            (
                "Colour readings say little about how S runs along the spectrum; the usual slight "
                "fall towards red is assumed, and its doubt is part of the spread."
            ),
        ),
        (
            film_rules and verdict != "opaque",
            (
                f"The wet film (x/÷ {readings.wet_film_spread:.2f}) is the weakest part; weighing "
                "the card before and after, or a wet-film gauge, would narrow the answer most."
            ),
        ),
    )
    of_cards = (note for card in cards for note in card.notes)
    return (*of_cards, *(remark for holds, remark in remarks if holds))


def _rounded(wet_um: float) -> str:
    """A film as one would set it: to 5 µm, below 20 to 1 µm, below 2 to two digits."""
    if wet_um < 2.0:
        return f"{wet_um:.2g}"
    step = 5.0 if wet_um >= 20.0 else 1.0
    return f"{step * round(wet_um / step):g}"
