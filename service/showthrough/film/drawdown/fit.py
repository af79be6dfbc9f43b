"""The film that explains a drawdown: K and S per band from paint over black and white.

Two backings give two equations per band, so spectra could be turned into K and S one
band at a time (``band_constants``). Real readings do not always allow it: where the film
is opaque, where the film over black reads the lighter, or where a reading falls below the
surface reflection, a band has no answer. So all bands are found together, as the most
probable film given the readings and what paints are like: neighbouring bands of an opaque
colour, and of its scattering, differ little. That is the least of

    (y - h(u))' C^-1 (y - h(u)) + (u - m)' P^-1 (u - m)                              (1)

with u the 31 levels z of the opaque colour (R = lo + (hi - lo) / (1 + exp(-z))) and the 31
logarithms of S X, y the readings, h the film, C the noise of readings and card, m and P
what is known of paints. Gauss-Newton, written for few readings and many bands:

    u <- m + P H' (C + H P H')^-1 (y - h(u) + H (u - m)),   H = dh/du                 (2)

Three numbers per film instead of 31 change y, h and C only; P then fills in the rest. What
that leaves open is found by solving (1) again for readings and expectations drawn at
random (``spread_of``): the films so found scatter as the true one may.

Sources: Kubelka 1948 and Saunderson 1942 for the film (``optics``); Tarantola 2005, Inverse
Problem Theory, eqs 3.37 and 3.51, for (1) and (2); Oliver, He and Reynolds 1996, randomised
maximum likelihood, for the spread. The last two from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import xyz_to_lab
from showthrough.film.drawdown.film import BANDS, Surface, films_of

SCATTERING_SLOPE = -0.20
"""Usual change of log S over 100 nm: seven whites and tints among real drawdowns (CC0, Geldof
et al. 2018) lie between -0.54 and -0.19 (computed); rutile white is flatter (from memory)."""

SCATTERING_SLOPE_SPREAD = 0.20
"""Standard deviation of that slope from paint to paint (from the same, judgement)."""


@dataclass(frozen=True, slots=True)
class Smoothness:
    """How little neighbouring bands of a paint differ."""

    colour_step: float
    """Change of z from band to band, root mean square."""
    colour_memory: float
    """Correlation of two neighbouring changes of z."""
    scattering_step: float
    """Departure of log S from its slope, band to band."""


SMOOTH_LAB = Smoothness(0.20, 0.87, 0.04)
"""For Lab readings, where it fills in the spectrum. Colour: the 99 colour evaluation samples
of CIE 224:2017 (computed, with bounds 0.01 and 0.93); S: whites and tints among the real
drawdowns, 0.01 to 0.05 (computed)."""

SMOOTH_SPECTRA = Smoothness(0.40, 0.70, 0.15)
"""For spectra, which speak for themselves: twice and four times as free, so that emerald and
lake colours among the real drawdowns are met as well."""

_LEVEL_SPREAD = 5.0  # of z: next to nothing known
_OPTICAL_LEVEL = (0.7, 3.0)  # of log S X, mean and spread: next to nothing known
_STEP = 1e-5
_LARGEST_MOVE = 2.0


Eye = tuple[FloatArray, FloatArray]
"""Weights (31, 3) and white point (3,) that a Lab was read with."""


@dataclass(frozen=True, slots=True)
class Observed:
    """Two readings of a film and how sure they and the card are; n numbers in all."""

    values: FloatArray
    """What was read, over black first, shape (n,): 62 reflectances or two Lab."""
    substrates: FloatArray
    """Card, black and white, outside, specular excluded, shape (2, 31)."""
    mirror: FloatArray
    """Mirror reflection that the readings of the two films hold, shape (2,)."""
    eyes: tuple[Eye, Eye] | None
    """With what eyes the films were read as Lab; None for spectra."""
    noise: FloatArray
    """Covariance of ``values``, shape (n, n)."""
    substrate_noise: FloatArray
    """Covariance of the card's reflectances, shape (2, 31, 31)."""
    shared: FloatArray
    """Change of ``values`` by one standard deviation of each error that all readings
    share, shape (n, m)."""
    substrate_shared: FloatArray
    """Change of the card's reflectances by the same errors, shape (2, 31, m)."""

    def seen(self, films: FloatArray) -> FloatArray:
        """What would be read of films (..., 2, 31); shape (..., n)."""
        reading = films + self.mirror[:, None]
        if self.eyes is None:
            return reading.reshape(*reading.shape[:-2], -1)
        return np.concatenate(
            [xyz_to_lab(reading[..., i, :] @ w, white) for i, (w, white) in enumerate(self.eyes)],
            axis=-1,
        )

    def gain(self, films: FloatArray) -> FloatArray:
        """Derivative of ``seen`` by the films, shape (..., n, 2, 31)."""
        if self.eyes is None:
            return np.eye(2 * BANDS).reshape(2 * BANDS, 2, BANDS)
        out = np.zeros((*films.shape[:-2], 6, 2, BANDS))
        for i, (weight, white) in enumerate(self.eyes):
            xyz = (films[..., i, :] + self.mirror[i]) @ weight
            out[..., 3 * i : 3 * i + 3, i, :] = lab_slope(xyz, white) @ weight.T
        return out

    @property
    def smoothness(self) -> Smoothness:
        """What is taken to be known of the paint."""
        return SMOOTH_SPECTRA if self.eyes is None else SMOOTH_LAB


def lab_slope(xyz: FloatArray, white: FloatArray) -> FloatArray:
    """Derivative of CIELAB by XYZ, shape (..., 3, 3). Source: ISO/CIE 11664-4."""
    ratio = xyz / white
    low = ratio <= 216.0 / 24389.0
    root = np.cbrt(np.where(low, 1.0, ratio))
    slope = np.where(low, 24389.0 / 27.0 / 116.0, 1.0 / (3.0 * root * root)) / white
    mix = np.array([[0.0, 116.0, 0.0], [500.0, -500.0, 0.0], [0.0, 200.0, -200.0]])
    return mix * slope[..., None, :]


@dataclass(frozen=True, slots=True)
class FilmFit:
    """The most probable film, its thickness being the unit of length."""

    levels: FloatArray
    """z of the opaque colour and log S X, shape (62,)."""
    noise: FloatArray
    """Covariance of all readings as the film shows it, the card's own noise included."""
    misfit: float
    """Mean square of what the film misses of each reading, in units of its noise."""


def fit_film(observed: Observed, surface: Surface, start: FloatArray) -> FilmFit:
    """The most probable film, from a start of shape (62,).

    The noise that the card adds depends on the film; it is brought up to date between
    a few rounds.
    """
    levels = start[None]
    mean, _ = _knowledge(observed.smoothness)
    for _ in range(4):
        noise = _noise(observed, surface, levels[0])
        before = levels
        levels = _descend(
            observed, surface, noise, levels, mean[None], observed.values[None], 40, 1e-6
        )
        if np.abs(levels - before).max() < 1e-4:
            break
    noise = _noise(observed, surface, levels[0])
    miss = observed.values - observed.seen(films_of(levels[0], observed.substrates, surface))
    misfit = float(miss @ np.linalg.solve(noise, miss)) / miss.size
    return FilmFit(levels[0], noise, misfit)


def spread_of(
    observed: Observed, surface: Surface, fit: FilmFit, count: int, seed: int
) -> FloatArray:
    """Films that might as well be the true one, shape (count, 62).

    Args:
        observed: the readings.
        surface: Saunderson's constants.
        fit: the most probable film.
        count: how many to draw.
        seed: of the draws, so that the same readings give the same spread.
    """
    random = np.random.default_rng(seed)
    mean, known = _knowledge(observed.smoothness)
    expected = mean + random.normal(size=(count, mean.size)) @ np.linalg.cholesky(known).T
    n = observed.values.size
    read = observed.values + random.normal(size=(count, n)) @ np.linalg.cholesky(fit.noise).T
    start = np.broadcast_to(fit.levels, expected.shape)
    return _descend(observed, surface, fit.noise, start, expected, read, 15, 1e-3)


def _descend(
    observed: Observed,
    surface: Surface,
    noise: FloatArray,
    levels: FloatArray,
    expected: FloatArray,
    read: FloatArray,
    steps: int,
    settled: float,
) -> FloatArray:
    """Least of (1) for many readings at once; (m, 62), (m, 62), (m, n) -> (m, 62).

    Steps of (2), shortened where they would not go down, until none moves a level by more
    than ``settled``.
    """
    _, known = _knowledge(observed.smoothness)
    inverse_known, inverse_noise = np.linalg.inv(known), np.linalg.inv(noise)

    def cost(u: FloatArray, index: np.ndarray) -> FloatArray:
        miss = read[index] - observed.seen(films_of(u, observed.substrates, surface))
        away = u - expected[index]
        total = (miss @ inverse_noise * miss).sum(axis=1) + (away @ inverse_known * away).sum(
            axis=1
        )
        return np.asarray(total, dtype=np.float64)

    levels = levels.copy()
    index = np.arange(levels.shape[0])
    now = cost(levels, index)
    for _ in range(steps):
        u = levels[index]
        films, slopes = _slopes(u, observed.substrates, surface)
        # Each band hangs on its own two levels only.
        gain = observed.gain(films)
        h = np.concatenate([(gain * part[:, None]).sum(axis=-2) for part in slopes], axis=-1)
        spread = h @ known
        right = read[index] - observed.seen(films) + np.einsum("mnu,mu->mn", h, u - expected[index])
        pull = np.linalg.solve(noise + spread @ h.transpose(0, 2, 1), right[..., None])
        step = expected[index] + (spread.transpose(0, 2, 1) @ pull)[..., 0] - u
        longest = np.maximum(np.abs(step).max(axis=1, keepdims=True), _LARGEST_MOVE)
        step *= _LARGEST_MOVE / longest
        todo = np.arange(index.size)
        for _ in range(6):
            trial = u[todo] + step[todo]
            new = cost(trial, index[todo])
            better = new < now[index[todo]]
            good = todo[better]
            levels[index[good]], now[index[good]] = trial[better], new[better]
            todo = todo[~better]
            if todo.size == 0:
                break
            step[todo] *= 0.4
        moving = np.abs(step).max(axis=1) > settled
        moving[todo] = False  # nothing lower was found: as low as rounding allows
        index = index[moving]
        if index.size == 0:
            break
    return levels


def _slopes(
    levels: FloatArray, substrates: FloatArray, surface: Surface
) -> tuple[FloatArray, tuple[FloatArray, FloatArray]]:
    """Films (m, g, 31) and their derivatives by z and by log S X, each (m, g, 31)."""
    slopes = []
    for part in (slice(BANDS), slice(BANDS, None)):
        up, down = levels.copy(), levels.copy()
        up[..., part] += _STEP
        down[..., part] -= _STEP
        rise = films_of(up, substrates, surface) - films_of(down, substrates, surface)
        slopes.append(rise / (2.0 * _STEP))
    return films_of(levels, substrates, surface), (slopes[0], slopes[1])


def _noise(observed: Observed, surface: Surface, levels: FloatArray) -> FloatArray:
    """Covariance of the readings, with what the card's noise and shared errors bring."""
    films = films_of(levels, observed.substrates, surface)
    up, down = (films_of(levels, observed.substrates + h, surface) for h in (_STEP, -_STEP))
    to_substrate = observed.gain(films) * (up - down) / (2.0 * _STEP)
    noise = observed.noise.copy()
    for i in (0, 1):
        noise += to_substrate[:, i] @ observed.substrate_noise[i] @ to_substrate[:, i].T
    shared = observed.shared - np.einsum("ngb,gbk->nk", to_substrate, observed.substrate_shared)
    return noise + shared @ shared.T


@cache
def _knowledge(smooth: Smoothness) -> tuple[FloatArray, FloatArray]:
    """What is known of paints: mean (62,) and covariance (62, 62) of the levels."""
    apart = np.abs(np.subtract.outer(np.arange(BANDS - 1), np.arange(BANDS - 1)))
    colour = smooth.colour_step**2 * smooth.colour_memory**apart
    scatter = smooth.scattering_step**2 * np.eye(BANDS - 1)
    scatter += (0.1 * SCATTERING_SLOPE_SPREAD) ** 2
    middle = BANDS // 2
    # Levels are the middle band's plus the steps between: u = level + T steps.
    steps = np.zeros((BANDS, BANDS - 1))
    for i in range(BANDS):
        steps[i, i:middle] = -1.0
        steps[i, middle:i] = 1.0
    mean = np.zeros(2 * BANDS)
    mean[BANDS:] = _OPTICAL_LEVEL[0] + 0.1 * SCATTERING_SLOPE * (np.arange(BANDS) - middle)
    known = np.zeros((2 * BANDS, 2 * BANDS))
    known[:BANDS, :BANDS] = _LEVEL_SPREAD**2 + steps @ colour @ steps.T
    known[BANDS:, BANDS:] = _OPTICAL_LEVEL[1] ** 2 + steps @ scatter @ steps.T
    return mean, known + 1e-8 * np.eye(2 * BANDS)
