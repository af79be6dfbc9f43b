"""A plausible reflectance spectrum for a colour, and back.

Of all spectra with a given XYZ the smoothest is taken: R = lo + (hi - lo) /
(1 + exp(-z)) with the least sum of squared first differences of z. That is the
idea of Burns 2020 (Color Res. Appl. 45, "least hyperbolic tangent slope
squared") with the bounds of paint in place of 0 and 1.

Newton's method on the Lagrange conditions; each step is a tridiagonal system
with three multipliers, solved for many colours at once.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.difference import ciede2000
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
"""Up to this C*ab a colour is moved along L* and keeps its a* and b*."""

MOST_MOVE = 7.0
"""How far a colour of more chroma than that may be moved, CIEDE2000: every colour of a screen
is moved by less than 6."""

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


class RecoveredSpectra(NamedTuple):
    """Spectra found for colours; arrays over the n colours asked for."""

    reflectance: FloatArray
    """Reflectance, shape (n, 31), specular excluded; NaN where not reachable."""
    lab: FloatArray
    """The colour that the spectrum has, in the reading's own light, shape (n, 3)."""
    moved: FloatArray
    """How far L* was moved to reach a possible colour, shape (n,); mostly 0."""
    moved_by: FloatArray
    """How far the colour was moved in all, CIEDE2000, shape (n,); mostly 0."""
    reachable: np.ndarray
    """Whether the colour is one that can be, moved or not, shape (n,)."""


NEAR, FAR = 1.0, 20.0
"""CIEDE2000 up to which a ground is taken to be made as the topcoat is, and from which it is
not at all. Wide, so that the film needed grows from none without a jump."""


def spectra_beside(
    chip_lab: FloatArray,
    chip: FloatArray,
    ground_lab: FloatArray,
    ground: FloatArray,
    twin: FloatArray | None = None,
) -> FloatArray:
    """Spectra of grounds, made as the topcoat is where they have nearly its colour.

    Paints and surfaces are recovered within different bounds, so that one colour has two
    spectra and a topcoat would not match itself. What the topcoat's spectrum has beyond the
    surface of its colour (it cannot be seen: its XYZ are 0) is added to a ground in full up to
    CIEDE2000 1, and fades out towards 20; less where a band would leave what can be.

    Args:
        chip_lab: CIELAB of m topcoats, D65 and 2 degrees, shape (m, 3).
        chip: their reflectance, shape (m, 31).
        ground_lab: CIELAB of the grounds beside each, shape (m, p, 3).
        ground: their reflectance, recovered within ``SURFACE_BOUNDS``, shape (m, p, 31).
        twin: the topcoats' colours recovered within ``SURFACE_BOUNDS``, shape (m, 31), where
            they are known already.

    Returns:
        Shape (m, p, 31); each of the same colour as ``ground``.
    """
    delta_e = ciede2000(chip_lab[:, None], ground_lab)
    near = (delta_e < FAR).any(axis=1)
    if not near.any():
        return ground
    hidden = np.zeros_like(chip)
    if twin is None:
        beside = recover_spectra(chip_lab[near], SURFACE_BOUNDS, move=False).reflectance
    else:
        beside = twin[near]
    hidden[near] = np.where(np.isnan(beside), 0.0, chip[near] - beside)
    far = np.clip((delta_e - NEAR) / (FAR - NEAR), 0.0, 1.0)
    share = 1.0 - far * far * (3.0 - 2.0 * far)
    added = share[..., None] * hidden[:, None]
    # No more of it than there is room for in every band: cut off in one, it would be seen.
    low, high = DEEP_PAINT_BOUNDS[0], SURFACE_BOUNDS[1]
    room = np.maximum(np.where(added < 0.0, ground - low, high - ground), 0.0)
    need = np.abs(added)
    fits = np.divide(room, need, out=np.ones_like(need), where=need > room)
    return ground + fits.min(axis=-1, keepdims=True) * added


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

    A vivid or deep colour that cannot be within ``PAINT_BOUNDS`` or ``SURFACE_BOUNDS`` is
    sought down to the least reflectance of ``DEEP_PAINT_BOUNDS``: what was painted deep may be
    painted over. A colour that still cannot be is moved to one that can:
    near-neutrals (C*ab <= 12) along L* as far as it takes, others on the straight line to
    the middle grey (L* 50), by at most CIEDE2000 7. What is farther out has ``reachable``
    False.

    Args:
        lab: CIELAB in the reading's own light, shape (n, 3), finite.
        bounds: least and greatest reflectance, ``PAINT_BOUNDS`` or ``SURFACE_BOUNDS``, or
            one such pair for each colour, shape (n, 2).
        illuminant: light of the reading, a name in ``lights()``.
        observer: 2 or 10.
        specular_included: the reading holds the surface's mirror reflection
            (0.04 in every band); the spectrum returned does not.
        move: whether colours may be moved; without, ``moved`` is all 0.

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
    reflectance, found = _attempt_deep_too(lab, weight, white, span, mirror)
    modelled, moved_by = lab.copy(), np.zeros(len(lab))
    lost = np.flatnonzero(~found)
    if move and lost.size:
        shifted, spectra, ok = _move_inwards(lab[lost], weight, white, span[lost], mirror)
        modelled[lost] = shifted
        reflectance[lost] = spectra
        found[lost] = ok
        moved_by[lost] = ciede2000(lab[lost], shifted)
    moved = modelled[:, 0] - lab[:, 0]
    return RecoveredSpectra(reflectance - mirror, modelled, moved, moved_by, found)


def _attempt_deep_too(
    lab: FloatArray, weight: FloatArray, white: FloatArray, span: FloatArray, mirror: float
) -> tuple[FloatArray, np.ndarray]:
    """Spectra within bounds, mirror reflection included; of deep paints where those fail."""
    reflectance, found = _attempt(lab, weight, white, span)
    lost = np.flatnonzero(~found)
    deep = lost[_may_be_deep(lab[lost], span[lost] - mirror)] if lost.size else lost
    if deep.size:
        wider = span[deep].copy()
        wider[:, 0] = DEEP_PAINT_BOUNDS[0] + mirror
        reflectance[deep], found[deep] = _attempt(lab[deep], weight, white, wider)
    return reflectance, found


def _may_be_deep(lab: FloatArray, bounds: FloatArray) -> np.ndarray:
    """Which colours a deep paint, or a surface of it, may have that others cannot, shape (n,).

    A near-neutral is moved instead: no paint is as black as a strong pigment in one band.
    """
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    usual = [np.isclose(bounds, b).all(axis=1) for b in (PAINT_BOUNDS, SURFACE_BOUNDS)]
    return np.asarray((chroma > NEAR_NEUTRAL_CHROMA) & (usual[0] | usual[1]))


def _move_inwards(
    lab: FloatArray, weight: FloatArray, white: FloatArray, bounds: FloatArray, mirror: float
) -> tuple[FloatArray, FloatArray, np.ndarray]:
    """Bisect on a line towards the middle grey for the first possible colour.

    For a near-neutral the line keeps its a* and b*.
    """
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    anchor = np.where((chroma <= NEAR_NEUTRAL_CHROMA)[:, None], lab, 0.0)
    anchor[:, 0] = 50.0
    good = anchor.copy()
    spectra, ok = _attempt(good, weight, white, bounds)
    # Parts of the way from the colour to its anchor: not possible, possible.
    far, near = np.zeros(len(lab)), np.ones(len(lab))
    # The lightest and the darkest grey are known: there the search has nothing to do.
    grey = np.flatnonzero(ok & (chroma < _GREY_CHROMA))
    if grey.size:
        good[grey, 0] = np.clip(lab[grey, 0], *_grey_ends(bounds[grey], white).T)
        spectra[grey], sound = _attempt(good[grey], weight, white, bounds[grey])
        ok[grey] = sound
    index = np.flatnonzero(ok & (chroma >= _GREY_CHROMA))
    length = np.linalg.norm(anchor - lab, axis=1)
    for _ in range(20):
        if index.size == 0:
            break
        middle = 0.5 * (far[index] + near[index])
        trial = lab[index] + middle[:, None] * (anchor[index] - lab[index])
        found, fits = _attempt_deep_too(trial, weight, white, bounds[index], mirror)
        hit = index[fits]
        near[hit], good[hit], spectra[hit] = middle[fits], trial[fits], found[fits]
        far[index[~fits]] = middle[~fits]
        index = index[(near[index] - far[index]) * length[index] > 1e-3]
    too_far = (chroma > NEAR_NEUTRAL_CHROMA) & (ciede2000(lab, good) > MOST_MOVE)
    ok &= ~too_far
    spectra[~ok] = np.nan
    return np.where(ok[:, None], good, lab), spectra, ok


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
