"""Measuring a paint: K and S from one film drawn over a black and white card.

Four readings, the wet film and the volume solids give what the paint absorbs and scatters,
and how sure that is. Two films that look alike say only that the paint hides; two films
that look like the bare card say nothing. Both are refused, with what to do instead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import WAVELENGTHS, FloatArray
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.errors import IllConditionedError, InputError, Problem
from showthrough.film.coats import joint_geometric_sd
from showthrough.film.drawdown.advice import notes_of, thicker_draw, thinner_draw
from showthrough.film.drawdown.film import (
    constants_of,
    film_factor,
    films_of,
    infinite_of,
)
from showthrough.film.drawdown.fit import FilmFit, Observed, fit_film, spread_of
from showthrough.film.drawdown.noise import first_levels, observed_of
from showthrough.film.drawdown.readings import DrawdownReadings, card_colour
from showthrough.film.hiding import Paint
from showthrough.film.optics import K1, K2

Verdict = Literal["well-conditioned", "opaque", "transparent"]

SHOWN_BANDS = (WAVELENGTHS >= 420.0) & (WAVELENGTHS <= 680.0)
"""Bands that the shown S is the mean of, as in ``Paint.scattering_per_um``."""

HIDING_TOLERANCE = 1.0
"""CIEDE2000 between film over black and over white that counts as hidden."""

TRANSPARENT_FILMS = 8.0
"""A draw is transparent if it takes more than this many such films to hide (own limit)."""

WIDEST_READING_GEOMETRIC_SD = 1.5
"""Geometric sd from the readings beyond which the draw says no more than the colour does."""

WORST_RESIDUAL = 1.5
"""CIEDE2000 by which a film may miss its reading before no paint is said to fit (own limit)."""

DRAWS = 96
"""Films drawn to find the geometric sd; it is then known to about 7 %."""

_SEED = 20_000


@dataclass(frozen=True, slots=True)
class Drawdown:
    """What one draw says of a paint. Geometric sds are factors of one standard deviation."""

    readings: DrawdownReadings
    absorption: FloatArray
    """K per band, 1/µm dry, shape (31,)."""
    scattering: FloatArray
    """S per band, 1/µm dry, shape (31,)."""
    absorption_geometric_sd: FloatArray
    """Factor about K per band, readings and film together, shape (31,)."""
    scattering_geometric_sd: FloatArray
    """Factor about S per band, readings and film together, shape (31,)."""
    scattering_per_um: float
    """Mean S over 420-680 nm, 1/µm dry."""
    scattering_per_um_geometric_sd: float
    """Factor about it, readings and film together."""
    reading_geometric_sd: float
    """Factor about the hiding film that the readings leave, the dry film being exact."""
    film_geometric_sd: float
    """Factor about the dry film of the draw: wet film and solids."""
    hiding_um: float
    """Dry film at which black and white below differ by 1 CIEDE2000, µm."""
    contrast_ratio: float
    """Y over black / Y over white, as read; noise can bring it above 1."""
    delta_e: float
    """CIEDE2000 between the two films as read."""
    r_infinity_lab: FloatArray
    """CIELAB of the opaque paint, D65 and 2 degrees, shape (3,)."""
    r_infinity_radius: float
    """CIEDE2000 within which the opaque colour lies 95 times in 100."""
    residual_black: float
    """CIEDE2000 between the film over black as found and as read."""
    residual_white: float
    """The same over white."""
    verdict: Verdict
    notes: tuple[str, ...]
    """Sentences for the painter."""

    @property
    def geometric_sd(self) -> float:
        """Factor about the optical thickness, readings and film together."""
        return joint_geometric_sd(self.reading_geometric_sd, self.film_geometric_sd)

    def problems(self) -> list[Problem]:
        """Why K and S cannot stand for the paint, and what to do; empty if they can."""
        wrong: list[Problem] = []

        def add(field: str, value: str, message: str) -> None:
            wrong.append(Problem(field, value, message, IllConditionedError.code))

        if self.readings.card_shows_through:
            add(
                "over_white",
                f"{self.delta_e:.2f}",
                "the films cannot be told from the bare card, so they say nothing of the paint; "
                + thicker_draw(self.readings, None),
            )
        elif self.verdict == "opaque":
            add(
                "over_black",
                f"{self.delta_e:.2f}",
                f"the two films differ by {self.delta_e:.2f} CIEDE2000, and these readings "
                f"need {self.readings.least_delta_e:.1f} to tell how far beyond hiding the "
                f"film is; {thinner_draw(self.readings, self.r_infinity_lab)}",
            )
        elif self.reading_geometric_sd > WIDEST_READING_GEOMETRIC_SD:
            add(
                "over_white",
                f"{self.reading_geometric_sd:.2f}",
                f"the film hides so little that its hiding power is known to x/÷ "
                f"{self.reading_geometric_sd:.1f} only; "
                + thicker_draw(self.readings, self.hiding_um),
            )
        for field, residual, film in zip(
            ("over_black", "over_white"),
            (self.residual_black, self.residual_white),
            self.readings.films,
            strict=True,
        ):
            if residual > max(WORST_RESIDUAL, 3.0 * film.sure):
                add(
                    field,
                    film.reading.label,
                    f"no single paint gives these two films: the nearest misses this reading by "
                    f"{residual:.1f} CIEDE2000; read all four again, on even, dry places",
                )
        return wrong

    def paint(self) -> Paint:
        """The paint, to be used as a topcoat.

        Raises:
            IllConditionedError: the draw cannot carry it; says what to do.
            InputError: K and S were found with other surface constants than ours.
        """
        if wrong := self.problems():
            raise IllConditionedError(wrong)
        surface = self.readings.surface
        if (surface.k1, surface.k2) != (K1, K2):
            raise InputError.at(
                "surface",
                f"k1 {surface.k1:g}, k2 {surface.k2:g}",
                f"S means something only with its surface constants; predictions use k1 {K1:g} "
                f"and k2 {K2:g}, so measure the draw with those",
            )
        spectra = all(
            card.reading.reflectance is not None
            for card in (*self.readings.cards, *self.readings.films)
        )
        evidence: Literal["spectrum", "drawdown"] = "spectrum" if spectra else "drawdown"
        return Paint(self.absorption, self.scattering, self.geometric_sd, evidence)


def measure_drawdown(readings: DrawdownReadings, draws: int = DRAWS) -> Drawdown:
    """K and S of a paint from one draw; see ``examine_drawdown``.

    Raises:
        IllConditionedError: the film is opaque ("draw it thinner"), or hides next to
            nothing ("draw it thicker"), or no single paint gives these two films.
    """
    drawdown = examine_drawdown(readings, draws)
    if wrong := drawdown.problems():
        raise IllConditionedError(wrong)
    return drawdown


def examine_drawdown(readings: DrawdownReadings, draws: int = DRAWS) -> Drawdown:
    """What a draw says of its paint, whatever that is worth; never refuses.

    Args:
        readings: the four readings and the film, already checked.
        draws: films drawn to find the geometric sd, 8 or more.

    Returns:
        The most probable K and S with their geometric sd. The same readings give the same answer.

    Source:
        Kubelka 1948 for the film, ``drawdown_fit`` for the method.
    """
    surface = readings.film_surface
    cards = [card_colour(card, surface) for card in readings.cards]
    substrates = np.stack([card.reflectance for card in cards])
    observed = observed_of(
        readings.cards, substrates, readings.films, readings.shared_radius, surface
    )
    fit = fit_film(observed, surface, first_levels(readings, substrates))
    might_be = spread_of(observed, surface, fit, draws, _SEED)
    # Readings that the film misses by more than their noise are noisier than was said.
    strain = math.sqrt(max(fit.misfit, 1.0))
    film_geometric_sd = joint_geometric_sd(readings.wet_film_spread, readings.solids_spread)

    def geometric_sd(logs: FloatArray, best: FloatArray | float) -> FloatArray:
        """Factor about the best value, readings only."""
        return np.exp(strain * np.sqrt(((logs - best) ** 2).mean(axis=0)))

    absorbed, scattered = constants_of(fit.levels, surface)
    k_draws, s_draws = constants_of(might_be, surface)
    shown = float(scattered[SHOWN_BANDS].mean())
    shown_geometric_sd = geometric_sd(np.log(s_draws[:, SHOWN_BANDS].mean(axis=1)), math.log(shown))
    factors = np.log(
        film_factor(np.vstack([fit.levels, might_be]), substrates, surface, HIDING_TOLERANCE)
    )
    reading_geometric_sd = float(geometric_sd(factors[1:], factors[0]))
    films_needed = math.exp(factors[0])
    r_infinity_lab = spectrum_to_lab(infinite_of(fit.levels, surface))
    off = ciede2000(spectrum_to_lab(infinite_of(might_be, surface)), r_infinity_lab)
    residuals = _residuals(readings, observed, fit, substrates)
    ratio = readings.over_black.luminance() / max(readings.over_white.luminance(), 1e-6)
    verdict = _verdict(readings, ratio, reading_geometric_sd, films_needed)
    dry = readings.dry_film_thickness_um
    return Drawdown(
        readings=readings,
        absorption=absorbed / dry,
        scattering=scattered / dry,
        absorption_geometric_sd=_joined(
            geometric_sd(np.log(k_draws), np.log(absorbed)), film_geometric_sd
        ),
        scattering_geometric_sd=_joined(
            geometric_sd(np.log(s_draws), np.log(scattered)), film_geometric_sd
        ),
        scattering_per_um=shown / dry,
        scattering_per_um_geometric_sd=joint_geometric_sd(
            float(shown_geometric_sd), film_geometric_sd
        ),
        reading_geometric_sd=reading_geometric_sd,
        film_geometric_sd=film_geometric_sd,
        hiding_um=films_needed * dry,
        contrast_ratio=ratio,
        delta_e=readings.delta_e,
        r_infinity_lab=r_infinity_lab,
        r_infinity_radius=strain * float(np.quantile(off, 0.95)),
        residual_black=residuals[0],
        residual_white=residuals[1],
        verdict=verdict,
        notes=notes_of(
            readings, cards, observed, verdict, ratio, reading_geometric_sd, films_needed
        ),
    )


def _joined(geometric_sd: FloatArray, film_geometric_sd: float) -> FloatArray:
    """Geometric sds of the readings with the film's."""
    return np.exp(np.sqrt(np.log(geometric_sd) ** 2 + math.log(film_geometric_sd) ** 2))


def _verdict(
    readings: DrawdownReadings, ratio: float, reading_geometric_sd: float, films_needed: float
) -> Verdict:
    """Whether the draw lies in the range where it says something."""
    lost = reading_geometric_sd > WIDEST_READING_GEOMETRIC_SD
    if not readings.card_shows_through and (
        readings.delta_e < readings.least_delta_e or (lost and ratio > 0.5)
    ):
        return "opaque"
    if lost or readings.card_shows_through or films_needed > TRANSPARENT_FILMS:
        return "transparent"
    return "well-conditioned"


def _residuals(
    readings: DrawdownReadings, observed: Observed, fit: FilmFit, substrates: FloatArray
) -> tuple[float, float]:
    """CIEDE2000 between the films as found and as read."""
    films = films_of(fit.levels, substrates, readings.film_surface) + observed.mirror[:, None]
    black, white = (
        spectrum_to_lab(found, film.reading.illuminant, film.reading.observer)
        for film, found in zip(readings.films, films, strict=True)
    )
    over_black, over_white = (film.lab() for film in readings.films)
    return float(ciede2000(over_black, black)), float(ciede2000(over_white, white))
