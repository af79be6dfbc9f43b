"""A film over a card as 62 levels, and what two backings say band by band.

The levels are 31 z of the opaque colour, R = lo + (hi - lo) / (1 + exp(-z)) with R as seen
from outside, and 31 logarithms of S X. Both are free to be any number, and a film that is
twice as thick has log 2 more of the latter, whatever its thickness is measured in.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.film.optics import (
    K1,
    K2,
    absorption_ratio,
    inside_reflectance,
    outside_reflectance,
)

BANDS = 31

_MARGIN = 3e-4  # a reflectance outside stays this far from 0 and from 1 - k1


@dataclass(frozen=True, slots=True)
class Surface:
    """Saunderson's constants that the readings are freed of, and what lies behind."""

    k1: float = K1
    k2: float = K2
    opaque: tuple[float, float] = (0.0, 1.0)
    """Least and greatest reflectance outside that an opaque film is taken to have."""

    def span(self) -> tuple[float, float]:
        """The same, as far as a film of this surface can have it."""
        return max(self.opaque[0], _MARGIN), min(self.opaque[1], 1.0 - self.k1 - _MARGIN)

    def inside(self, outside: FloatArray) -> FloatArray:
        """Reflectance inside of a reading (specular excluded) brought into 0 to 1 - k1."""
        return inside_reflectance(np.clip(outside, 1e-4, 1.0 - self.k1 - 1e-4), self.k1, self.k2)

    def outside(self, inside: FloatArray) -> FloatArray:
        """What is seen of a reflectance inside, specular excluded."""
        return outside_reflectance(inside, self.k1, self.k2)


def band_constants(
    bare_black: FloatArray, bare_white: FloatArray, over_black: FloatArray, over_white: FloatArray
) -> tuple[FloatArray, FloatArray, np.ndarray]:
    """K/S and S X of each band from two backings, no smoothing.

    Args:
        bare_black: reflectance inside of the black substrate, shape (n,).
        bare_white: of the white substrate.
        over_black: of the film over black.
        over_white: of the film over white.

    Returns:
        1 + K/S and S X, 1 and 0 where a band has no answer, and which have one, shape (n,) each.

    Source:
        Kubelka 1948: a (R + Rg) + c (R - Rg) = 1 + R Rg for both substrates, with
        c = b coth(b S X), b = sqrt(a^2 - 1).
    """
    plus_1, minus_1, right_1 = _line(over_black, bare_black)
    plus_2, minus_2, right_2 = _line(over_white, bare_white)
    with np.errstate(divide="ignore", invalid="ignore"):
        determinant = plus_1 * minus_2 - plus_2 * minus_1
        a = (right_1 * minus_2 - right_2 * minus_1) / determinant
        c = (plus_1 * right_2 - plus_2 * right_1) / determinant
        b = np.sqrt(a * a - 1.0)
        optical = np.arctanh(b / c) / b
    solved = np.isfinite(optical) & (optical > 0.0) & (a > 1.0)
    return np.where(solved, a, 1.0), np.where(solved, optical, 0.0), solved


def _line(film: FloatArray, substrate: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Coefficients of a and c and the right side, for one backing."""
    return film + substrate, film - substrate, 1.0 + film * substrate


def levels_of(
    r_infinity: FloatArray, optical_thickness: FloatArray, surface: Surface
) -> FloatArray:
    """Levels (62,) of an opaque colour (31, outside) and S X, shape (31,)."""
    low, high = surface.span()
    share = np.clip((r_infinity - low) / (high - low), 1e-4, 1.0 - 1e-4)
    return np.concatenate([np.log(share / (1.0 - share)), np.log(optical_thickness)])


def infinite_of(levels: FloatArray, surface: Surface) -> FloatArray:
    """Reflectance of the opaque paint, outside, specular excluded; (..., 62) -> (..., 31)."""
    low, high = surface.span()
    return low + (high - low) / (1.0 + np.exp(-np.clip(levels[..., :BANDS], -40.0, 40.0)))


def constants_of(levels: FloatArray, surface: Surface) -> tuple[FloatArray, FloatArray]:
    """K X and S X of levels (..., 62); each shape (..., 31)."""
    scattered = np.exp(np.clip(levels[..., BANDS:], -40.0, 40.0))
    return absorption_ratio(surface.inside(infinite_of(levels, surface))) * scattered, scattered


def films_of(levels: FloatArray, substrates: FloatArray, surface: Surface) -> FloatArray:
    """Films over substrates (outside, g of them) as seen; (..., 62) -> (..., g, 31).

    Source: Kubelka 1948 in falling exponentials, written in the reflectance r of the opaque
    film: b = (1/r - r) / 2, and exp(-2 b S X) is the only exponential.
    """
    deep = surface.inside(infinite_of(levels, surface))
    shallow = 1.0 / deep
    fade = np.exp((deep - shallow) * np.exp(np.clip(levels[..., BANDS:], -40.0, 40.0)))
    deep, shallow, fade = deep[..., None, :], shallow[..., None, :], fade[..., None, :]
    substrate = surface.inside(substrates)
    above, below = shallow - substrate, (deep - substrate) * fade
    return surface.outside(np.clip((deep * above - shallow * below) / (above - below), 0.0, 1.0))


def film_factor(
    levels: FloatArray, substrates: FloatArray, surface: Surface, tolerance: float
) -> FloatArray:
    """How many times its film a paint needs for black and white below to look alike.

    Args:
        levels: of m films, shape (m, 62).
        substrates: black and white, outside, shape (2, 31).
        surface: Saunderson's constants.
        tolerance: CIEDE2000 (D65, 2 degrees) that counts as alike.

    Returns:
        Factors, shape (m,), between 1/3000 and 3000.
    """
    low = np.full(levels.shape[0], -8.0)
    high = -low
    for _ in range(26):
        middle = 0.5 * (low + high)
        thicker = levels.copy()
        thicker[:, BANDS:] += middle[:, None]
        lab = spectrum_to_lab(films_of(thicker, substrates, surface))
        differ = ciede2000(lab[:, 0], lab[:, 1]) > tolerance
        low, high = np.where(differ, middle, low), np.where(differ, high, middle)
    return np.exp(0.5 * (low + high))
