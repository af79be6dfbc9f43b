"""From four readings to numbers with a covariance, for ``drawdown_fit``.

A reading's *radius* is the CIEDE2000 within which the true colour lies 95 times in 100.
Around a Lab reading it is the CIEDE2000 ellipsoid; for a spectrum it becomes an error of
each band and one of the whole curve, both as large as makes the colour miss by the radius.
Readings of one photo share the camera's errors, which do not make two films differ: the
*shared radius* is a gain on all readings alike, stated at mid grey.
"""

from __future__ import annotations

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray, white_point
from showthrough.colour.space import lab_to_xyz, xyz_to_lab
from showthrough.film.drawdown.film import BANDS, Surface, band_constants, levels_of
from showthrough.film.drawdown.fit import Observed, lab_slope
from showthrough.film.drawdown.readings import CardReading, DrawdownReadings, film_spectrum

RADIUS_OVER_SD = 2.7955
"""95 % radius of a three-dimensional normal error over its standard deviation per axis: the
root of the 0.95 quantile of chi-square with 3 degrees of freedom, 7.8147."""

_NORMAL_95 = 1.96
_LEAST_BAND_NOISE = 2e-4  # of an instrument's black trap and drift (from memory)
_MID_GREY = np.array([60.0, 0.0, 0.0])


def lab_covariance(lab: FloatArray, radius: float) -> FloatArray:
    """Covariance (3, 3) of a Lab whose CIEDE2000 error has this 95 % radius."""
    step = 1e-3
    axes = np.eye(3)
    pairs = axes[:, None] + axes[None], axes[:, None] - axes[None]
    plus, minus = (ciede2000(lab, lab + step * pair) ** 2 / step**2 for pair in pairs)
    metric = 0.25 * (plus - minus)
    sd = radius / RADIUS_OVER_SD
    return np.asarray(sd * sd * np.linalg.inv(metric), dtype=np.float64)


def spectrum_covariance(card: CardReading, bands: FloatArray) -> FloatArray:
    """Covariance (31, 31) of a spectrum's errors: each band's own, and one of the curve."""
    weight, white = card.eye()
    step = 1e-3
    moved = ciede2000(xyz_to_lab(bands @ weight, white), xyz_to_lab((bands + step) @ weight, white))
    sd = card.sure / _NORMAL_95 * step / float(moved)
    sd = max(sd, min(_LEAST_BAND_NOISE, 1e-3 * card.sure))
    return sd * sd * (np.eye(BANDS) + 1.0)


def observed_of(
    cards: tuple[CardReading, CardReading],
    substrates: FloatArray,
    films: tuple[CardReading, CardReading],
    shared_radius: float,
    surface: Surface,
) -> Observed:
    """The films' readings with all that makes them unsure.

    Args:
        cards: bare black and bare white.
        substrates: their reflectances, specular excluded, shape (2, 31).
        films: over black and over white.
        shared_radius: of a gain that all readings share, CIEDE2000 at mid grey.
        surface: Saunderson's constants.
    """
    mirror = film_mirrors(films, surface)
    cast = _cast(shared_radius)
    # What was read of the card: its mirror reflection is light of the same lamp.
    cards_read = substrates + np.array([[card.mirror(surface)] for card in cards])
    substrate_noise = np.stack(
        [_substrate_noise(c, g) for c, g in zip(cards, cards_read, strict=True)]
    )
    bands = [film.reading.reflectance for film in films]
    if bands[0] is not None and bands[1] is not None:
        # A spectrum knows no colour cast: the shared error is one gain for all bands.
        gain = np.sqrt((cast**2).sum(axis=1).mean())
        values = np.concatenate([np.array(b) for b in bands])
        noise = np.zeros((2 * BANDS, 2 * BANDS))
        for i, film in enumerate(films):
            part = slice(BANDS * i, BANDS * (i + 1))
            noise[part, part] = spectrum_covariance(film, values[part])
        return Observed(
            values,
            substrates,
            mirror,
            None,
            noise,
            substrate_noise,
            gain * values[:, None],
            gain * cards_read[:, :, None],
        )
    labs = [film.lab() for film in films]
    eyes = [film.eye() for film in films]
    noise = np.zeros((6, 6))
    shared = np.zeros((6, 3))
    substrate_shared = np.zeros((2, BANDS, 3))
    for i, film in enumerate(films):
        part = slice(3 * i, 3 * i + 3)
        noise[part, part] = lab_covariance(labs[i], film.sure)
        xyz = lab_to_xyz(labs[i], eyes[i][1])
        shared[part] = lab_slope(xyz, eyes[i][1]) @ (xyz[:, None] * cast)
        weight, _ = cards[i].eye()
        card_xyz = cards_read[i] @ weight
        substrate_shared[i] = _smooth_answer(cards_read[i], weight) @ (card_xyz[:, None] * cast)
    return Observed(
        np.concatenate(labs),
        substrates,
        mirror,
        (eyes[0], eyes[1]),
        noise,
        substrate_noise,
        shared,
        substrate_shared,
    )


def film_mirrors(films: tuple[CardReading, CardReading], surface: Surface) -> FloatArray:
    """Mirror reflection that the films' readings hold, shape (2,).

    A film that reads less than its mirror reflection in some band shows that its surface
    reflects less (matt, rough); the most that leaves every band a reflectance is taken.
    """
    darkest = (min(film.reading.reflectance or (np.inf,)) for film in films)
    mirrors = [
        min(film.mirror(surface), max(least - _LEAST_BAND_NOISE, 0.0))
        for film, least in zip(films, darkest, strict=True)
    ]
    return np.full(2, min(mirrors))


def _substrate_noise(card: CardReading, read: FloatArray) -> FloatArray:
    """Covariance (31, 31) of a card's reflectances ``read``."""
    if card.reading.reflectance is not None:
        return spectrum_covariance(card, read)
    weight, white = card.eye()
    by_lab = _smooth_answer(read, weight) @ np.linalg.inv(lab_slope(read @ weight, white))
    return by_lab @ lab_covariance(card.lab(), card.sure) @ by_lab.T


def _smooth_answer(spectrum: FloatArray, weight: FloatArray) -> FloatArray:
    """How a spectrum answers to XYZ, smoothly; shape (31, 3)."""
    turn = np.linspace(0.0, np.pi, BANDS)
    shapes = spectrum[:, None] * np.stack(
        [np.ones(BANDS), np.cos(turn), np.cos(2.0 * turn)], axis=1
    )
    return shapes @ np.linalg.inv(weight.T @ shapes)


def _cast(radius: float) -> FloatArray:
    """One standard deviation of three independent errors of log XYZ, as columns (3, 3)."""
    if radius <= 0.0:
        return np.zeros((3, 3))
    white = white_point()
    xyz = lab_to_xyz(_MID_GREY, white)
    by_lab = np.linalg.inv(lab_slope(xyz, white)) / xyz[:, None]
    return by_lab @ np.linalg.cholesky(lab_covariance(_MID_GREY, radius))


def first_levels(readings: DrawdownReadings, substrates: FloatArray) -> FloatArray:
    """Levels to begin with: band by band where two backings have an answer."""
    surface = readings.film_surface
    black, white = (film_spectrum(film, surface) for film in readings.films)
    a, thickness, answered = band_constants(
        *(surface.inside(spectrum) for spectrum in (substrates[0], substrates[1], black, white))
    )
    solved = answered & (thickness < 30.0)
    r_infinity = 0.5 * (black + white)
    optical = np.full(BANDS, 2.0)
    if solved.sum() >= 3:
        logs = np.log(thickness[solved])
        places = np.arange(BANDS)
        middle = float(np.median(logs))
        logs = np.interp(places, places[solved], np.clip(logs, middle - 1.0, middle + 1.0))
        optical = np.exp(np.clip(logs, -4.0, 3.0))
        deep = 1.0 / (a + np.sqrt(a**2 - 1.0))
        r_infinity = np.where(solved, surface.outside(deep), r_infinity)
    return levels_of(r_infinity, optical, surface)
