"""A plausible reflectance spectrum for a colour, and back.

Of all spectra with a given XYZ the smoothest is taken: R = lo + (hi - lo) /
(1 + exp(-z)) with the least sum of squared first differences of z. That is the
idea of Burns 2020 (Color Res. Appl. 45, "least hyperbolic tangent slope
squared") with the bounds of paint in place of 0 and 1.

Newton's method on the Lagrange conditions; each step is a tridiagonal system
with three multipliers, solved for many colours at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray, weights, white_point
from showthrough.colour.smoothest import smoothest
from showthrough.colour.space import lab_to_lch, lab_to_xyz, lch_to_lab, xyz_to_lab
from showthrough.errors import OutOfRangeError

PAINT_BOUNDS = (0.01, 0.93)
"""Least and greatest reflectance (specular excluded) of an opaque paint film."""

DEEP_PAINT_BOUNDS = (0.001, 0.93)
"""The same for vivid and deep paints that ``PAINT_BOUNDS`` cannot reach: opaque films of
phthalocyanine blue and quinacridone red have K/S of 100 and more where they absorb (after
Levinson et al. 2005), which is a reflectance of 0.002."""

SURFACE_BOUNDS = (0.005, 0.95)
"""The same for anything that may be painted over."""

NEAR_NEUTRAL_CHROMA = 12.0
"""Up to this C*ab a colour that is too light or too dark is moved, not refused."""

MAX_LIGHTNESS_MOVE = 5.0
"""How far a colour of more chroma than that may be moved along L*."""

SPECULAR = 0.04
"""Mirror reflection of a paint surface, n = 1.5 (Fresnel), part of a specular-included reading."""

_LOWEST_Z = 14.0
# Nearer the upper bound than this (0.924 for paint) a spectrum turns into steps that ask for
# ever more film, and film need would fall again where the colour is moved.
_TOP_Z = 5.0
_GREY_CHROMA = 1e-6
_CHUNK = 1024


def spectrum_to_xyz(
    reflectance: ArrayLike, illuminant: str = "D65", observer: int = 2
) -> FloatArray:
    """XYZ (white Y = 100) of reflectances, shape (..., 31) -> (..., 3).

    Source: ASTM E308.
    """
    return np.asarray(reflectance, dtype=float) @ weights(illuminant, observer)


def spectrum_to_lab(
    reflectance: ArrayLike, illuminant: str = "D65", observer: int = 2
) -> FloatArray:
    """CIELAB of reflectances, shape (..., 31) -> (..., 3). Source: ASTM E308."""
    return xyz_to_lab(
        spectrum_to_xyz(reflectance, illuminant, observer), white_point(illuminant, observer)
    )


@dataclass(frozen=True, slots=True)
class RecoveredSpectra:
    """Spectra found for colours; arrays over the n colours asked for."""

    reflectance: FloatArray
    """Reflectance, shape (n, 31), specular excluded; NaN where not reachable."""
    lab: FloatArray
    """The colour that the spectrum has, in the reading's own light, shape (n, 3)."""
    moved: FloatArray
    """How far L* was moved to reach a possible colour, shape (n,); mostly 0."""
    reachable: np.ndarray
    """Whether the colour is one that can be, moved or not, shape (n,)."""


def _attempt(
    lab: FloatArray,
    weight: FloatArray,
    white: FloatArray,
    bounds: FloatArray,
    *,
    again: bool = True,
) -> tuple[FloatArray, np.ndarray]:
    """Spectra (n, 31) for exactly these colours within bounds (n, 2), and which were found.

    ``again`` tries a second start for those that the first one does not lead to.
    """
    xyz = lab_to_xyz(lab, white).T
    n = xyz.shape[1]
    low, high = bounds[:, 0], bounds[:, 1]
    reflectance = np.full((n, 31), np.nan)
    found = np.zeros(n, dtype=bool)
    inside = (xyz[1] > 100.0 * low) & (xyz[1] < 100.0 * high) & (xyz > 0.0).all(axis=0)
    index = np.flatnonzero(inside)
    for start in range(0, index.size, _CHUNK):
        part = index[start : start + _CHUNK]
        least, most = low[part], high[part]
        z, done = smoothest(xyz[:, part], lab[part], weight, least, most, again=again)
        done = done & (z.max(axis=0) <= _TOP_Z) & (z.min(axis=0) >= -_LOWEST_Z)
        found[part] = done
        spread = least + (most - least) / (1.0 + np.exp(-z))
        reflectance[part] = np.where(done, spread, np.nan).T
    return reflectance, found


def recover_spectra(
    lab: ArrayLike,
    bounds: ArrayLike = PAINT_BOUNDS,
    illuminant: str = "D65",
    observer: int = 2,
    *,
    specular_included: bool = False,
    move: bool = True,
) -> RecoveredSpectra:
    """The smoothest reflectance spectrum of each colour.

    A vivid or deep paint that cannot be within ``PAINT_BOUNDS`` is sought within
    ``DEEP_PAINT_BOUNDS``. A colour lighter or darker than anything can be is moved along
    L* to the nearest colour that can: near-neutrals (C*ab <= 12) as far as it takes,
    others by at most 5 L*. What is still out of reach has ``reachable`` False.

    Args:
        lab: CIELAB in the reading's own light, shape (n, 3), finite.
        bounds: least and greatest reflectance, ``PAINT_BOUNDS`` or ``SURFACE_BOUNDS``, or
            one such pair for each colour, shape (n, 2).
        illuminant: light of the reading, a name in ``lights()``.
        observer: 2 or 10.
        specular_included: the reading holds the surface's mirror reflection
            (0.04 in every band); the spectrum returned does not.
        move: whether colours may be moved along L*; without, ``moved`` is all 0.

    Raises:
        OutOfRangeError: ``lab`` holds a value that is not finite.

    Source:
        The idea of Burns 2020, with bounds; 0.04 is the Fresnel reflection of n = 1.5.
    """
    lab = np.atleast_2d(np.asarray(lab, dtype=float))
    if not np.isfinite(lab).all():
        raise OutOfRangeError.at("lab", lab.tolist(), "a colour must be finite numbers")
    weight, white = weights(illuminant, observer), white_point(illuminant, observer)
    mirror = SPECULAR if specular_included else 0.0
    span = np.broadcast_to(np.asarray(bounds, dtype=float), (len(lab), 2)) + mirror
    reflectance, found = _attempt(lab, weight, white, span)
    modelled = lab.copy()
    lost = np.flatnonzero(~found)
    deep = lost[_may_be_deep(lab[lost], span[lost] - mirror)]
    if deep.size:
        span = span.copy()
        span[deep] = np.array(DEEP_PAINT_BOUNDS) + mirror
        reflectance[deep], found[deep] = _attempt(lab[deep], weight, white, span[deep])
        lost = np.flatnonzero(~found)
    if move and lost.size:
        shifted, spectra, ok = _move_lightness(lab[lost], weight, white, span[lost])
        modelled[lost] = shifted
        reflectance[lost] = spectra
        found[lost] = ok
    return RecoveredSpectra(reflectance - mirror, modelled, modelled[:, 0] - lab[:, 0], found)


def _may_be_deep(lab: FloatArray, bounds: FloatArray) -> np.ndarray:
    """Which colours a deep paint may have that an ordinary one cannot, shape (n,).

    A near-neutral is moved instead: no paint is as black as a strong pigment in one band.
    """
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    return (chroma > NEAR_NEUTRAL_CHROMA) & np.isclose(bounds, PAINT_BOUNDS).all(axis=1)


def _move_lightness(
    lab: FloatArray, weight: FloatArray, white: FloatArray, bounds: FloatArray
) -> tuple[FloatArray, FloatArray, np.ndarray]:
    """Bisect along L* for the nearest possible colour of the same a* and b*."""
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    wanted = lab[:, 0]
    reach = np.where(chroma <= NEAR_NEUTRAL_CHROMA, np.inf, MAX_LIGHTNESS_MOVE)
    anchor = np.clip(50.0, wanted - reach, wanted + reach)
    good = lab.copy()
    good[:, 0] = anchor
    spectra, ok = _attempt(good, weight, white, bounds)
    far, near = wanted.copy(), anchor.copy()
    # The lightest and the darkest grey are known: there the search has nothing to do.
    grey = np.flatnonzero(ok & (chroma < _GREY_CHROMA))
    if grey.size:
        ends = _grey_ends(bounds[grey], white)
        near[grey] = np.clip(wanted[grey], ends[:, 0], ends[:, 1])
        good[grey, 0] = near[grey]
        spectra[grey], sound = _attempt(good[grey], weight, white, bounds[grey])
        ok[grey] = sound
    index = np.flatnonzero(ok & (chroma >= _GREY_CHROMA))
    for _ in range(20):
        if index.size == 0:
            break
        middle = 0.5 * (far[index] + near[index])
        trial = good[index]
        trial[:, 0] = middle
        found, fits = _attempt(trial, weight, white, bounds[index])
        hit = index[fits]
        near[hit] = middle[fits]
        spectra[hit] = found[fits]
        far[index[~fits]] = middle[~fits]
        index = index[np.abs(far[index] - near[index]) > 1e-3]
    good[:, 0] = np.where(ok, near, wanted)
    return good, spectra, ok


def _grey_ends(bounds: FloatArray, white: FloatArray) -> FloatArray:
    """L* of the darkest and the lightest grey within bounds (n, 2), shape (n, 2)."""
    z = np.array([-_LOWEST_Z, _TOP_Z]) * (1.0 - 1e-6)
    level = bounds[:, :1] + (bounds[:, 1:] - bounds[:, :1]) / (1.0 + np.exp(-z))
    return xyz_to_lab(level[..., None] * white, white)[..., 0]


def reachable_chroma(
    lab: ArrayLike,
    bounds: tuple[float, float] = PAINT_BOUNDS,
    illuminant: str = "D65",
    observer: int = 2,
    *,
    specular_included: bool = False,
) -> float:
    """Greatest C*ab that can be at the lightness and hue of one colour, shape (3,).

    Arguments as in ``recover_spectra``.

    Source: bisection on ``recover_spectra``; to 0.1.
    """
    lch = lab_to_lch(lab)
    low, high = 0.0, 200.0
    while high - low > 0.1:
        middle = 0.5 * (low + high)
        found = recover_spectra(
            lch_to_lab([lch[0], middle, lch[2]]),
            bounds,
            illuminant,
            observer,
            specular_included=specular_included,
            move=False,
        )
        if found.reachable[0]:
            low = middle
        else:
            high = middle
    return low
