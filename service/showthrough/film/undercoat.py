"""Which coat goes under: neutral greys, white and tints, each as a real film.

Every candidate is laid as one coat over every patch and the topcoat's hiding film
is found over the outcome. Nothing is looked up: the best grey follows from the two
colours, and may be far from the topcoat's own lightness.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.munsell.scale import luminance_of_value
from showthrough.colour.spectrum import recover_spectra, spectrum_to_lab
from showthrough.defaults import usual
from showthrough.film.hiding import OpaqueColour, constants_from_colour
from showthrough.film.knowledge import BUDGET_PER_UM
from showthrough.film.optics import (
    K2,
    film_reflectance,
    infinite_reflectance,
    outside_reflectance,
)

GREY_VALUES: FloatArray = np.arange(2.0, 9.51, 0.25)
"""Munsell values searched."""

TINT_PARTS: tuple[float, ...] = (0.15, 0.3, 0.5, 0.75)
"""Part of the topcoat in a mixed tint, by volume of dry paint."""

TINT_WHITES: FloatArray = np.linspace(0.0, 1.0, 9) ** 0.5
"""Part of white in the rest of the mix; the remainder is black."""

_SHOP_PARTS = (0.3, 0.5, 0.75)
_SHOP_WHITES = (1.0, 0.75, 0.5)

UNDERCOAT_SOLIDS = usual("undercoat.volume solids")
UNDERCOAT_WET_UM = usual("undercoat.wet film")
"""One brushed coat of undercoat (from memory)."""

WHITE_LAB = (96.0, -0.5, 2.0)
_BLACK_LAB = (18.0, 0.0, 0.0)


Parts = tuple[float, float, float]
"""Of topcoat, white and black in a mix."""


@dataclass(frozen=True, slots=True)
class Candidates:
    """Undercoat paints as arrays over m candidates."""

    absorption: FloatArray
    """K per band, 1/µm, shape (m, 31)."""
    scattering: FloatArray
    """S per band, 1/µm, shape (m, 31)."""
    lab: FloatArray
    """Colour of the opaque coat, shape (m, 3)."""
    kind: tuple[str, ...]
    """grey, white, tint, shop (tinted there) or owned."""
    value: tuple[float | None, ...]
    """Munsell value of a grey."""
    parts: tuple[Parts | None, ...]
    """Topcoat, white and black of a tint, as parts of 1."""

    def __len__(self) -> int:
        """How many candidates there are."""
        return len(self.kind)

    def take(self, index: list[int]) -> Candidates:
        """The candidates at these places."""
        return Candidates(
            self.absorption[index],
            self.scattering[index],
            self.lab[index],
            tuple(self.kind[i] for i in index),
            tuple(self.value[i] for i in index),
            tuple(self.parts[i] for i in index),
        )


@cache
def _white_and_black() -> tuple[tuple[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]:
    spectra = recover_spectra([WHITE_LAB, _BLACK_LAB]).reflectance
    k, s = constants_from_colour(spectra, BUDGET_PER_UM)
    return (k[0], s[0]), (k[1], s[1])


@cache
def _greys() -> tuple[FloatArray, FloatArray, FloatArray]:
    reflectance = np.repeat(luminance_of_value(GREY_VALUES)[:, None] / 100.0, 31, axis=1)
    k, s = constants_from_colour(reflectance, BUDGET_PER_UM)
    return k, s, spectrum_to_lab(reflectance)


@cache
def _mixes(
    parts: tuple[float, ...], whites: tuple[float, ...]
) -> tuple[tuple[tuple[float, float, float], ...], FloatArray]:
    """Topcoat, white and black of each mix, as tuples and as an array, shape (m, 3)."""
    mixes = tuple(
        (part, (1.0 - part) * white, (1.0 - part) * (1.0 - white))
        for part in parts
        for white in whites
    )
    return mixes, np.array(mixes)


@cache
def _shares() -> FloatArray:
    """Topcoat, white and black in each tint and then in each shop shade, shape (m, 3)."""
    _, tints = _mixes(TINT_PARTS, tuple(TINT_WHITES.tolist()))
    return np.concatenate([tints, _mixes(_SHOP_PARTS, _SHOP_WHITES)[1]])


@cache
def _usual_names() -> tuple[tuple[str, ...], tuple[float | None, ...], tuple[Parts | None, ...]]:
    """Kind, value and parts of each of the usual candidates."""
    mixes, _ = _mixes(TINT_PARTS, tuple(TINT_WHITES.tolist()))
    greys, tints = len(GREY_VALUES), len(mixes)
    shades = len(_shares()) - tints
    return (
        (*("grey",) * greys, "white", *("tint",) * tints, *("shop",) * shades),
        (*GREY_VALUES.tolist(), None, *(None,) * (tints + shades)),
        (*(None,) * greys, None, *mixes, *(None,) * shades),
    )


def opaque_lab(absorption: FloatArray, scattering: FloatArray) -> FloatArray:
    """Colour of an opaque film, shape (..., 31) -> (..., 3), CIELAB D65/2."""
    return spectrum_to_lab(outside_reflectance(infinite_reflectance(absorption, scattering)))


def usual_candidates(absorption: FloatArray, scattering: FloatArray) -> Candidates:
    """Greys on the Munsell value scale, white, tints mixed from the topcoat, and shop shades.

    Args:
        absorption: K of the topcoat, shape (31,).
        scattering: S of the topcoat, shape (31,).

    Returns:
        31 greys, one white, 36 tints and 9 shades. A tint's K and S are the sums of its
        parts' (two-constant theory: Duncan 1940). A shop tints its primer towards the topcoat,
        to one of nine shades between it, white and grey; it matches a shade, not a mix: each
        hides as paints of its colour usually do.
    """
    (kw, sw), (kb, sb) = _white_and_black()
    grey_k, grey_s, grey_lab = _greys()
    tints, share = len(TINT_PARTS) * len(TINT_WHITES), _shares()
    mix_k = share @ np.array([absorption, kw, kb])
    mix_s = share @ np.array([scattering, sw, sb])
    seen = outside_reflectance(infinite_reflectance(mix_k, mix_s))
    mix_lab = spectrum_to_lab(seen)
    mix_k[tints:], mix_s[tints:] = OpaqueColour.of(seen[tints:], mix_lab[tints:]).constants()
    return Candidates(
        np.concatenate([grey_k, kw[None], mix_k]),
        np.concatenate([grey_s, sw[None], mix_s]),
        np.concatenate([grey_lab, [WHITE_LAB], mix_lab]),
        *_usual_names(),
    )


@cache
def shelf_candidates() -> Candidates:
    """Twelve undercoats to be had ready-made: greys at every third step, and white."""
    (kw, sw), _ = _white_and_black()
    k, s, lab = (values[::3] for values in _greys())
    values = GREY_VALUES[::3]
    return Candidates(
        np.concatenate([k, kw[None]]),
        np.concatenate([s, sw[None]]),
        np.concatenate([lab, [WHITE_LAB]]),
        (*("grey",) * len(values), "white"),
        (*(float(v) for v in values), None),
        (None,) * (len(values) + 1),
    )


def owned_candidates(reflectance: FloatArray, budget_per_um: FloatArray) -> Candidates:
    """Undercoats that the painter has, by colour, shape (m, 31), each with its S0, (m,)."""
    k, s = constants_from_colour(reflectance, 1.0)
    scale = np.asarray(budget_per_um, dtype=float)[:, None]
    m = len(reflectance)
    kinds: tuple[str, ...] = ("owned",) * m
    return Candidates(
        k * scale, s * scale, spectrum_to_lab(reflectance), kinds, (None,) * m, (None,) * m
    )


def joined(first: Candidates, second: Candidates) -> Candidates:
    """Both lists as one."""
    return Candidates(
        np.concatenate([first.absorption, second.absorption]),
        np.concatenate([first.scattering, second.scattering]),
        np.concatenate([first.lab, second.lab]),
        first.kind + second.kind,
        first.value + second.value,
        first.parts + second.parts,
    )


def substrates_under(
    candidates: Candidates, substrates: FloatArray, dry_film_thickness_um: FloatArray
) -> FloatArray:
    """The substrates as the topcoat meets them after one undercoat.

    Args:
        candidates: m undercoats.
        substrates: reflectance inside of p patches, shape (p, 31).
        dry_film_thickness_um: film of each undercoat over each patch, µm, shape (m, p) or
            anything that broadcasts to it.

    Returns:
        Reflectance inside, shape (m, p, 31).
    """
    film = np.broadcast_to(
        np.asarray(dry_film_thickness_um, float), (len(candidates), len(substrates))
    )
    if (film == film[:, :1]).all():
        film = film[:, :1]  # the same film over every patch is reckoned once
    return film_reflectance(
        candidates.absorption[:, None],
        candidates.scattering[:, None],
        film[..., None],
        substrates[None],
    )


def closed_grey(absorption: FloatArray, scattering: FloatArray) -> float:
    """Luminance factor of the grey that suits a topcoat, 0 to 100, by a closed rule.

    Where the topcoat is transparent the grey should be what the opaque topcoat is. Through a
    film of mean S X = 1 a band lets exp(-2 b S X) of the substrate's miss through,
    b = sqrt(K/S (K/S + 2)); the best grey is the one for which what all bands let through
    looks least wrong: least squares in CIEDE2000 about the chip. (Weighting with the
    luminosity alone is up to 16 L* off for blues and violets, which are seen
    through bands that hardly count for lightness.)

    Args:
        absorption: K per band, shape (31,).
        scattering: S per band, shape (31,).

    Source:
        Own rule, computed; a test compares it with the search.
    """
    rate = np.sqrt(absorption * (absorption + 2.0 * scattering))
    inside = scattering / (absorption + scattering + rate)
    passed = np.exp(-2.0 * rate / scattering.mean())
    # Through the surface too: d outside / d inside, up to a factor.
    passed = passed / (passed.max() * (1.0 - K2 * inside) ** 2)
    # The miss is grey x lift - pull, up to a factor; both are changes of colour, sizes squares.
    change = 1e-5 * np.array([passed, passed * inside])
    seen = outside_reflectance(inside)
    chip, *labs = spectrum_to_lab(np.stack([seen, *(seen + change), *(seen - change)]))
    lift, pull = np.array(labs[:2]) - np.array(labs[2:])
    half = 1e-3 * np.array([lift + pull, lift - pull, lift]) / np.abs(lift).max()
    more, less, alone = ciede2000(chip - half, chip + half) ** 2
    grey = (more - less) / (4.0 * alone)
    return 100.0 * float(outside_reflectance(min(max(grey, 0.0), 1.0)))
