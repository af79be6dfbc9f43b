"""Light in a paint film: Kubelka-Munk inside, Saunderson at the surface.

Reflectances "inside" are those of the film without its surface; "outside" is
what an instrument or an eye sees with the mirror reflection excluded. Scattering
S and absorption K are only meaningful together with the surface constants below:
S found without the surface correction is about 0.4 of the corrected one.

Sources: Kubelka and Munk 1931; Kubelka 1948; Saunderson 1942 (as Allen 1980,
eq. 24, without its k1 term for specular excluded).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray
from showthrough.errors import OutOfRangeError

K1 = 0.04
"""Surface reflection of light that arrives from outside (Fresnel, n = 1.5)."""

K2 = 0.55
"""Surface reflection of diffuse light from inside; theory 0.596, practice 0.4 to 0.6."""


_TINY = np.finfo(float).tiny


def checked(name: str, value: ArrayLike, low: float, high: float = np.inf) -> FloatArray:
    """The value as an array, or an error that names it, the place and what is allowed."""
    array = np.asarray(value, dtype=float)
    if array.size and not (
        # The least is no number if any is none.
        np.minimum.reduce(array, axis=None) >= low
        and (high == np.inf or np.maximum.reduce(array, axis=None) <= high)
    ):
        bad = ~((array >= low) & (array <= high))
        place = tuple(int(i) for i in np.argwhere(bad)[0])
        where = f" at {list(place)}" if place else ""
        upper = "" if np.isinf(high) else f" and at most {high:g}"
        shown = array[place] if place else array
        raise OutOfRangeError.at(
            name, float(shown), f"{float(shown):g}{where} must be at least {low:g}{upper}"
        )
    return array


def outside_reflectance(inside: ArrayLike, k1: float = K1, k2: float = K2) -> FloatArray:
    """What is seen of a film whose reflectance inside is known, specular excluded.

    Args:
        inside: reflectance inside, 0 to 1, any shape.
        k1: surface reflection from outside, 0 to 1.
        k2: surface reflection from inside, 0 to below 1.

    Returns:
        Reflectance outside, same shape. Add ``k1`` for specular included.

    Raises:
        OutOfRangeError: a reflectance is not in 0 to 1.

    Source:
        Saunderson 1942; Allen 1980 eq. 24.
    """
    r = checked("inside", inside, 0.0, 1.0)
    return (1.0 - k1) * (1.0 - k2) * r / (1.0 - k2 * r)


def inside_reflectance(outside: ArrayLike, k1: float = K1, k2: float = K2) -> FloatArray:
    """Inverse of ``outside_reflectance``.

    Raises:
        OutOfRangeError: a reflectance is below 0 or above 1 - k1, the most that a
            surface lets out.
    """
    r = checked("outside", outside, 0.0, 1.0 - k1)
    return r / ((1.0 - k1) * (1.0 - k2) + k2 * r)


def absorption_ratio(r_infinity: ArrayLike) -> FloatArray:
    """K/S of a film too thick to see through.

    Args:
        r_infinity: its reflectance inside, above 0 to 1, any shape.

    Returns:
        K/S = (1 - R)^2 / 2R, same shape.

    Source:
        Kubelka and Munk 1931.
    """
    r = checked("r_infinity", r_infinity, np.nextafter(0.0, 1.0), 1.0)
    return (1.0 - r) ** 2 / (2.0 * r)


def infinite_reflectance(absorption: ArrayLike, scattering: ArrayLike) -> FloatArray:
    """Reflectance inside of a film too thick to see through.

    Args:
        absorption: K, 1/µm, >= 0, any shape.
        scattering: S, 1/µm, > 0, broadcast against ``absorption``.

    Returns:
        Reflectance, 0 to 1. K = 0 gives 1.

    Raises:
        OutOfRangeError: a value is out of range or not finite.

    Source:
        Kubelka and Munk 1931. Written as S/(K + S + root), which keeps its digits for
        dark films, where a - b does not, and does not overflow.

    Example:
        >>> float(infinite_reflectance(0.5, 1.0).round(3))
        0.382
    """
    k = checked("absorption", absorption, 0.0)
    s = checked("scattering", scattering, np.nextafter(0.0, 1.0))
    return s / (k + s + _rate(k, s))


def _rate(k: FloatArray, s: FloatArray) -> FloatArray:
    """B S = sqrt(K (K + 2 S)), 1/µm: how fast light fades; no square overflows."""
    return np.sqrt(k) * np.sqrt(k + 2.0 * s)


def _trapped(decay: FloatArray) -> FloatArray:
    """What y coth y has more than y: 1 without absorption, falling to 0."""
    twice = 2.0 * decay
    with np.errstate(invalid="ignore", over="ignore"):
        return np.where(decay > 0.0, twice / np.expm1(twice), 1.0)


def film_reflectance(
    absorption: ArrayLike, scattering: ArrayLike, thickness_um: ArrayLike, substrate: ArrayLike
) -> FloatArray:
    """Reflectance inside of a film over a substrate in optical contact.

    Args:
        absorption: K, 1/µm, >= 0.
        scattering: S, 1/µm, >= 0.
        thickness_um: X, dry film, µm, >= 0 (infinite allowed).
        substrate: reflectance of the substrate as the film meets it, 0 to 1.
            All four are broadcast together.

    Returns:
        Reflectance inside, 0 to 1.

    Raises:
        OutOfRangeError: a value is out of range or not finite.

    Limits:
        X = 0 gives the substrate; S = 0 gives Rg exp(-2KX); K = 0 gives the
        absorption-free film; no thickness overflows (b coth is taken through tanh).

    Source:
        Kubelka 1948, with numerator and denominator multiplied by SX and their terms
        gathered so that none is a difference: every film keeps its digits.
    """
    k = checked("absorption", absorption, 0.0)
    s = checked("scattering", scattering, 0.0)
    x = checked("thickness_um", thickness_um, 0.0)
    rg = checked("substrate", substrate, 0.0, 1.0)
    endless = np.isinf(x)
    x = np.where(endless, 0.0, x)
    rate = _rate(k, s)
    decay = rate * x
    trapped = _trapped(decay)
    # bSX coth(bSX) is decay + trapped; less KX it is the part that scattering adds.
    added = np.where(s > 0.0, 2.0 * k * s * x / np.maximum(rate + k, _TINY), 0.0)
    # What does not hang on the substrate is summed first: substrates are many.
    open_ = (1.0 - rg) * s * x
    out = open_ + rg * (added + trapped)
    out /= open_ + (k * x + decay + trapped)
    if np.count_nonzero(endless):
        inert = (k == 0.0) & (s == 0.0)
        with np.errstate(invalid="ignore"):
            deep = np.where(inert, rg, s / (k + s + rate))
        out = np.where(endless, deep, out)
    return np.minimum(np.maximum(out, 0.0), 1.0)
