"""Hiding power of a paint: what it absorbs and scatters, and how that is known.

Evidence, weakest first: the colour alone, a label, a drawdown. Each stronger one
replaces the weaker and narrows the spread.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from showthrough.colour.lights import WAVELENGTHS, FloatArray, weights
from showthrough.colour.spectrum import recover_spectra
from showthrough.errors import InputError, ProblemList
from showthrough.film.optics import (
    K1,
    absorption_ratio,
    film_reflectance,
    inside_reflectance,
    outside_reflectance,
)

Evidence = Literal["colour", "label", "drawdown", "spectrum", "jobs"]

BUDGET_PER_UM = 0.32
"""S0: scattering plus greatest absorption of a furniture paint, per µm dry (from memory:
set once on common practice, see the table in README)."""

COLOUR_SPREAD = 1.4
"""Factor of one standard deviation about S guessed from a colour (from memory)."""

LABEL_SPREAD = 1.3
"""The same for S from a label: laboratory film to bench film (from memory)."""

LABEL_TO_BENCH = 0.6
"""Part of a label's hiding that a bench film shows (from memory). A white that just meets
98 % at 8 m2/L has S 0.54 in the laboratory, and practice says 0.32."""

_HIDING_BANDS = (WAVELENGTHS >= 420.0) & (WAVELENGTHS <= 680.0)
_WHITE_BASE_LAB = (96.0, -0.5, 2.0)


@dataclass(frozen=True, slots=True)
class Paint:
    """Optical constants of a dry paint and how well they are known."""

    absorption: FloatArray
    """K per band, 1/µm dry, shape (31,)."""
    scattering: FloatArray
    """S per band, 1/µm dry, shape (31,), > 0."""
    spread: float
    """Factor of one standard deviation about the optical thickness, >= 1."""
    evidence: Evidence
    """What the constants rest on."""

    @property
    def log_spread(self) -> float:
        """Standard deviation of the natural logarithm of the optical thickness."""
        return math.log(self.spread)

    @property
    def scattering_per_um(self) -> float:
        """Mean S over 420-680 nm, 1/µm dry: the figure that is shown."""
        return float(self.scattering[_HIDING_BANDS].mean())


def constants_from_colour(
    reflectance: FloatArray, budget_per_um: float = BUDGET_PER_UM
) -> tuple[FloatArray, FloatArray]:
    """K and S guessed from the colour of opaque paints.

    A film has a fixed optical budget: S + greatest K = S0. A clean deep or vivid
    colour spends it on absorption and hides little.

    Args:
        reflectance: of the opaque paint, outside, specular excluded, shape (..., 31).
        budget_per_um: S0, 1/µm dry.

    Returns:
        K and S, 1/µm dry, both of the shape of ``reflectance``.

    Source:
        Own rule (an estimate); K/S after Kubelka and Munk 1931.
    """
    ratio = absorption_ratio(inside_reflectance(np.clip(reflectance, 1e-4, 1.0 - K1 - 1e-4)))
    greatest = ratio[..., _HIDING_BANDS].max(axis=-1, keepdims=True)
    scattering = budget_per_um / (1.0 + greatest)
    return ratio * scattering, np.broadcast_to(scattering, ratio.shape)


def paint_from_colour(
    reflectance: FloatArray,
    budget_per_um: float = BUDGET_PER_UM,
    spread: float = COLOUR_SPREAD,
    evidence: Evidence = "colour",
) -> Paint:
    """A paint known by its colour alone, shape (31,); see ``constants_from_colour``."""
    k, s = constants_from_colour(reflectance, budget_per_um)
    return Paint(k, s, spread, evidence)


def budget_of(paint: Paint) -> float:
    """S0 that a paint's evidence stands for, 1/µm dry; other colours of it share it."""
    return float((paint.absorption + paint.scattering)[_HIDING_BANDS].max())


def check_label(
    contrast_ratio: float,
    spreading_rate_m2_l: float,
    volume_solids: float = 0.38,
    white_ground: float = 0.80,
) -> None:
    """Raise InputError for figures that no label has, all at once."""
    wrong = ProblemList()
    if not 0.5 <= contrast_ratio < 1.0:
        wrong.add(
            "contrast_ratio",
            contrast_ratio,
            f"a label's contrast ratio is at least 0.5 and below 1, not {contrast_ratio:g};"
            " 98 % is 0.98",
        )
    if not 0.5 <= spreading_rate_m2_l <= 40.0:
        wrong.add(
            "spreading_rate_m2_l",
            spreading_rate_m2_l,
            f"a spreading rate is between 0.5 and 40 m2 per litre, not {spreading_rate_m2_l:g}",
        )
    if not 0.05 <= volume_solids <= 1.0:
        wrong.add(
            "volume_solids",
            volume_solids,
            f"volume solids lie between 0.05 and 1, not {volume_solids:g}; 38 % is 0.38",
        )
    if not 0.5 <= white_ground <= 1.0 - K1:
        wrong.add(
            "white_ground",
            white_ground,
            f"a chart's white reflects between 0.5 and {1.0 - K1:g}, not {white_ground:g};"
            " 80 % is 0.8",
        )
    wrong.raise_if_any()


def label_budget_per_um(
    contrast_ratio: float,
    spreading_rate_m2_l: float,
    volume_solids: float,
    tested: FloatArray | None = None,
    white_ground: float = 0.80,
) -> float:
    """The optical budget S0 that a label's contrast ratio stands for, on the bench.

    The label's film is 1000 x solids / spreading rate µm dry, on a black and white
    chart; the S0 that gives its contrast ratio of Y is found by bisection and then
    brought from the laboratory to the bench (``LABEL_TO_BENCH``).

    Args:
        contrast_ratio: Y over black divided by Y over white, 0 to below 1.
        spreading_rate_m2_l: at which it was measured, > 0.
        volume_solids: part of the wet paint that stays, 0 to 1.
        tested: reflectance (31,) of the colour that was tested; where not given, the
            white base, as labels usually do.
        white_ground: reflectance of the chart's white, outside.

    Raises:
        InputError: a value is out of range, or no paint of that colour has such a ratio.

    Source:
        ISO 6504-3 and ASTM D2805 (what the ratio is); EU 2014/312 (the base is tested).
    """
    check_label(contrast_ratio, spreading_rate_m2_l, volume_solids, white_ground)
    if tested is None:
        tested = recover_spectra([_WHITE_BASE_LAB]).reflectance[0]
    film_um = 1000.0 * volume_solids / spreading_rate_m2_l
    k, s = constants_from_colour(tested, 1.0)
    white = inside_reflectance(white_ground)
    luminance = weights()[:, 1]

    def ratio(budget: float) -> float:
        over = [
            outside_reflectance(film_reflectance(k, s, film_um * budget, ground)) @ luminance
            for ground in (0.0, white)
        ]
        return float(over[0] / over[1])

    low, high = 1e-4, 100.0
    if not ratio(low) < contrast_ratio < ratio(high):
        raise InputError.at(
            "contrast_ratio", contrast_ratio, "no film of this colour has such a contrast ratio"
        )
    while high / low > 1.0 + 1e-9:
        middle = math.sqrt(low * high)
        if ratio(middle) < contrast_ratio:
            low = middle
        else:
            high = middle
    return LABEL_TO_BENCH * low
