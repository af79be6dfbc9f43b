"""What a drawdown is read from: four readings of a black and white card, and the film.

Everything that is wrong with them is told at once, by field, before any sum is done.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray, weights, white_point
from showthrough.colour.reading import Colour, Reading, colour_of
from showthrough.colour.space import lab_to_xyz, xyz_to_lab
from showthrough.colour.spectrum import SURFACE_BOUNDS, recover_spectra
from showthrough.errors import ProblemList
from showthrough.film.coats import STATED_FILM_GEOMETRIC_SD
from showthrough.film.drawdown.film import BANDS, Surface

LAB_RADIUS = 0.5
"""Radius of a Lab reading where none is given: a hand instrument (from memory). It is 0.3
CIEDE2000 root mean square."""

SPECTRUM_RADIUS = 0.2
"""The same for a spectrum: a bench instrument, put back between readings (from memory)."""

STATED_SOLIDS_GEOMETRIC_SD = 1.05
"""Geometric sd of volume solids from a data sheet (from memory)."""

CARD_BOUNDS = (0.001, 0.955)
"""Least and greatest reflectance that a card is taken to have, specular excluded."""

CHART_BLACK, CHART_WHITE = 1.0, 78.0
"""Y of a chart's black at most and of its white at least. Source: ASTM D2805."""

LIGHTEST_BLACK, DARKEST_WHITE = 15.0, 50.0
"""Y beyond which a card no longer tells films apart (own limits)."""

LEAST_LAB_DELTA_E = 1.0
"""CIEDE2000 between the two films below which Lab readings are refused."""

LEAST_SPECTRUM_DELTA_E = 0.6
"""The same for spectra. Films of one draw differ for other reasons too: among 29 real
drawdowns (CC0, Geldof et al. 2018) the film over black is the lighter one by up to 0.57."""

RADII_TO_DIFFER = 2.0
"""Two readings differ when they are this many of their radii apart: four standard deviations."""

FIELDS = ("bare_black", "bare_white", "over_black", "over_white")


@dataclass(frozen=True, slots=True)
class CardReading:
    """One of the four readings of a drawdown."""

    reading: Reading
    radius: float | None = None
    """CIEDE2000 within which the true colour lies 95 times in 100; the usual one of its
    kind where not given."""

    @property
    def sure(self) -> float:
        """The radius, given or usual."""
        if self.radius is not None:
            return self.radius
        return LAB_RADIUS if self.reading.lab is not None else SPECTRUM_RADIUS

    def eye(self) -> tuple[FloatArray, FloatArray]:
        """Weights (31, 3) and white point (3,) of the reading's light and observer."""
        light = (self.reading.illuminant, self.reading.observer)
        return weights(*light), white_point(*light)

    def lab(self) -> FloatArray:
        """CIELAB as read, in the reading's own light, shape (3,)."""
        if self.reading.lab is not None:
            return np.array(self.reading.lab)
        weight, white = self.eye()
        return xyz_to_lab(np.array(self.reading.reflectance) @ weight, white)

    def luminance(self) -> float:
        """Y as read, 0 to 100."""
        return float(lab_to_xyz(self.lab(), self.eye()[1])[1])

    def mirror(self, surface: Surface) -> float:
        """Mirror reflection that the reading holds."""
        return surface.k1 if self.reading.specular_included else 0.0

    def body(self, surface: Surface) -> float:
        """Y less the mirror reflection, 0 to 100."""
        return self.luminance() - 100.0 * self.mirror(surface)


@dataclass(frozen=True, slots=True)
class DrawdownReadings:
    """One film of paint over a black and white card, read four times.

    Raises:
        InputError: everything that is out of range or cannot be, by field.
    """

    bare_black: CardReading
    bare_white: CardReading
    over_black: CardReading
    over_white: CardReading
    wet_film_um: float
    """Wet film of the draw, µm."""
    volume_solids: float
    """Part of the wet paint that stays, 0 to 1."""
    wet_film_spread: float = STATED_FILM_GEOMETRIC_SD
    """Factor of one standard deviation about the wet film, 1 or more."""
    solids_spread: float = STATED_SOLIDS_GEOMETRIC_SD
    """The same for the solids. For a job that is reckoned with the same figure it cancels."""
    shared_radius: float = 0.0
    """95 % radius, in CIEDE2000 at mid grey, of a gain in the light that all four readings
    share: of one photo, say. The readings' own radii then hold only what is not shared."""
    surface: Surface = field(default_factory=Surface)

    def __post_init__(self) -> None:
        """Check every part."""
        wrong = ProblemList()
        for name, low, high, unit in (
            ("wet_film_um", 0.5, 2000.0, " µm; a draw is usually 50 to 200"),
            ("volume_solids", 0.05, 1.0, "; 38% is 0.38"),
            ("wet_film_spread", 1.0, 3.0, "; 1.15 means give or take 15%"),
            ("solids_spread", 1.0, 3.0, "; 1.05 means give or take 5%"),
            ("shared_radius", 0.0, 20.0, " CIEDE2000"),
        ):
            _check(wrong, name, getattr(self, name), low, high, unit)
        _check(wrong, "surface.k1", self.surface.k1, 0.0, 0.2, "; usually 0.04")
        _check(wrong, "surface.k2", self.surface.k2, 0.0, 0.9, "; usually 0.55 to 0.6")
        for name in FIELDS:
            radius = getattr(self, name).radius
            if radius is not None:
                _check(wrong, f"{name}.radius", radius, 0.001, 20.0, " CIEDE2000")
        wrong.raise_if_any()
        self._check_card(wrong)
        self._check_films(wrong)
        wrong.raise_if_any()

    @property
    def dry_film_thickness_um(self) -> float:
        """Dry film of the draw, µm."""
        return self.wet_film_um * self.volume_solids

    @property
    def cards(self) -> tuple[CardReading, CardReading]:
        """Bare black and bare white."""
        return self.bare_black, self.bare_white

    @property
    def films(self) -> tuple[CardReading, CardReading]:
        """Over black and over white."""
        return self.over_black, self.over_white

    @property
    def all_spectra(self) -> bool:
        """Whether both films were read as spectra."""
        return all(film.reading.reflectance is not None for film in self.films)

    @property
    def film_surface(self) -> Surface:
        """The surface with what an opaque film may be: colours alone do not tell of less."""
        return self.surface if self.all_spectra else replace(self.surface, opaque=SURFACE_BOUNDS)

    @property
    def delta_e(self) -> float:
        """CIEDE2000 between the two films, in the light they were read in."""
        return float(ciede2000(self.over_black.lab(), self.over_white.lab()))

    @property
    def least_delta_e(self) -> float:
        """CIEDE2000 below which the two films look the same to these readings."""
        least = LEAST_SPECTRUM_DELTA_E if self.all_spectra else LEAST_LAB_DELTA_E
        return max(least, RADII_TO_DIFFER * max(film.sure for film in self.films))

    @property
    def card_shows_through(self) -> bool:
        """Whether the films cannot be told from the bare card."""
        for film, card in zip(self.films, self.cards, strict=True):
            weight, white = film.eye()
            bare = card_colour(card, self.surface).reflectance + film.mirror(self.surface)
            delta_e = float(ciede2000(film.lab(), xyz_to_lab(bare @ weight, white)))
            if delta_e >= max(LEAST_LAB_DELTA_E, RADII_TO_DIFFER * max(film.sure, card.sure)):
                return False
        return True

    def _check_card(self, wrong: ProblemList) -> None:
        """Whether the card is black and white."""
        black, white = (card.body(self.surface) for card in self.cards)
        if black >= white:
            wrong.add(
                "bare_black",
                self.bare_black.reading.label,
                f"the black (Y {black:.1f}) reads no darker than the white (Y {white:.1f}); "
                "exchange bare_black and bare_white",
            )
        else:
            if black > LIGHTEST_BLACK:
                wrong.add(
                    "bare_black",
                    self.bare_black.reading.label,
                    f"Y {black:.1f} is too light for a black: at most {CHART_BLACK:g} on a test "
                    f"chart (ASTM D2805), and up to {LIGHTEST_BLACK:g} still works here",
                )
            if white < DARKEST_WHITE:
                wrong.add(
                    "bare_white",
                    self.bare_white.reading.label,
                    f"Y {white:.1f} is too dark for a white: at least {CHART_WHITE:g} on a test "
                    f"chart (ASTM D2805), and down to {DARKEST_WHITE:g} still works here",
                )
        for name in FIELDS[:2]:
            with wrong.collecting(name):
                card_colour(getattr(self, name), self.surface)

    def _check_films(self, wrong: ProblemList) -> None:
        """Whether the films can be compared and lie the right way round."""
        read = [film.reading for film in self.films]
        if len({(r.illuminant, r.observer, r.specular_included) for r in read}) > 1:
            wrong.add(
                "over_white",
                self.over_white.reading.label,
                "read both films in the same light and observer, and both with or both without "
                "the mirror reflection",
            )
            return
        black, white = (film.luminance() for film in self.films)
        if black > white and self.delta_e >= max(1.0, self.least_delta_e):
            wrong.add(
                "over_black",
                self.over_black.reading.label,
                f"the film over black (Y {black:.1f}) is lighter than the one over white "
                f"(Y {white:.1f}) by {self.delta_e:.1f} CIEDE2000, which no paint does; "
                "exchange over_black and over_white, or read them again",
            )


def card_colour(card: CardReading, surface: Surface) -> Colour:
    """The card's reflectances, specular excluded.

    Raises:
        OutOfRangeError: no surface has such a colour.
    """
    reading = card.reading
    if reading.reflectance is not None and reading.specular_included:
        # The surface constant of this drawdown, which need not be the usual one.
        bands = np.maximum(np.array(reading.reflectance) - surface.k1, 0.0)
        reading = Reading(reflectance=tuple(bands), text=reading.text)
    return colour_of(reading, CARD_BOUNDS)


def film_spectrum(film: CardReading, surface: Surface) -> FloatArray:
    """A spectrum of the film to start from, specular excluded, shape (31,)."""
    if film.reading.reflectance is not None:
        return np.array(film.reading.reflectance) - film.mirror(surface)
    light = (film.reading.illuminant, film.reading.observer)
    found = recover_spectra(
        film.lab(), CARD_BOUNDS, *light, specular_included=film.reading.specular_included
    )
    if found.reachable[0]:
        return found.reflectance[0]
    return np.full(BANDS, np.clip(film.body(surface) / 100.0, *CARD_BOUNDS))


def _check(wrong: ProblemList, name: str, value: float, low: float, high: float, unit: str) -> None:
    """Note a number that is not within its range."""
    if not (math.isfinite(value) and low <= value <= high):
        wrong.add(
            name,
            value,
            f"{value:g} must be at least {low:g} and at most {high:g}{unit}",
            "out_of_range",
        )
