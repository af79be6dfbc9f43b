"""How well two colours go together: the two-colour model of Ou and Luo 2006.

    harmony = chromatic + lightness + hue

One function for each equation, on CIELAB (D65, 2 degrees). The model was fitted
to 1431 pairs of even patches on a grey screen, without material, light or area;
it falls whenever the colours differ more in hue and chroma. Its values run from
about -1.3 to +1.5 and are not clamped.

Source: Ou, Luo 2006, Color Res. Appl. 31(3) 191-204; constants as they stand in
about a dozen open implementations and in two later papers that quote them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray


class HarmonyTerms(NamedTuple):
    """Harmony of pairs and the terms it is the sum of; arrays of one shape."""

    total: FloatArray
    """chromatic + lightness + hue; higher is more harmonious."""
    chromatic: FloatArray
    """HC: how near the two are in hue and chroma."""
    lightness_sum: FloatArray
    """The part of HL that likes light colours."""
    lightness_difference: FloatArray
    """The part of HL that likes a contrast of lightness."""
    hue: FloatArray
    """HH: what each hue brings by itself."""


@dataclass(frozen=True, slots=True)
class HarmonyColours:
    """What the model needs of each colour; made once for colours used often."""

    lab: FloatArray
    """CIELAB, shape (..., 3)."""
    chroma: FloatArray
    """C*ab, shape (...)."""
    hue_effect: FloatArray
    """HSY of each colour, shape (...)."""

    @classmethod
    def from_lab(cls, lab: ArrayLike) -> HarmonyColours:
        """Prepare colours, CIELAB of shape (..., 3)."""
        colours = np.asarray(lab, dtype=float)
        chroma = np.hypot(colours[..., 1], colours[..., 2])
        hue_deg = np.degrees(np.arctan2(colours[..., 2], colours[..., 1])) % 360.0
        hue_deg = np.where(chroma == 0.0, 0.0, hue_deg)
        return cls(colours, chroma, hue_effect(colours[..., 0], chroma, hue_deg))

    def __getitem__(self, index: Any) -> HarmonyColours:
        """Some of the colours, or new axes, as numpy indexes the leading axes."""
        return HarmonyColours(self.lab[index], self.chroma[index], self.hue_effect[index])


def chromatic_difference(
    hue_difference_squared: ArrayLike, chroma_difference: ArrayLike
) -> FloatArray:
    """Delta C of the model: sqrt(dH*ab^2 + (dC*ab / 1.46)^2)."""
    stretched = np.asarray(chroma_difference, dtype=float) / 1.46
    return np.sqrt(np.asarray(hue_difference_squared, dtype=float) + stretched * stretched)


def chromatic_effect(difference: ArrayLike) -> FloatArray:
    """HC = 0.04 + 0.53 tanh(0.8 - 0.045 dC)."""
    return 0.04 + 0.53 * np.tanh(0.8 - 0.045 * np.asarray(difference, dtype=float))


def lightness_sum_effect(lightness_sum: ArrayLike) -> FloatArray:
    """HLsum = 0.28 + 0.54 tanh(-3.88 + 0.029 (L1 + L2))."""
    return 0.28 + 0.54 * np.tanh(-3.88 + 0.029 * np.asarray(lightness_sum, dtype=float))


def lightness_difference_effect(lightness_difference: ArrayLike) -> FloatArray:
    """HdL = 0.14 + 0.15 tanh(-2 + 0.2 |L1 - L2|)."""
    gap = np.abs(np.asarray(lightness_difference, dtype=float))
    return 0.14 + 0.15 * np.tanh(-2.0 + 0.2 * gap)


def chroma_weight(chroma: ArrayLike) -> FloatArray:
    """EC = 0.5 + 0.5 tanh(-2 + 0.5 C*ab): a hue speaks only where there is colour."""
    return 0.5 + 0.5 * np.tanh(-2.0 + 0.5 * np.asarray(chroma, dtype=float))


def hue_liking(hue_deg: ArrayLike) -> FloatArray:
    """HS = -0.08 - 0.14 sin(h + 50) - 0.07 sin(2 h + 90), angles in degrees."""
    hue = np.asarray(hue_deg, dtype=float)
    return (
        -0.08 - 0.14 * np.sin(np.radians(hue + 50.0)) - 0.07 * np.sin(np.radians(2.0 * hue + 90.0))
    )


def light_yellow_liking(lightness: ArrayLike, hue_deg: ArrayLike) -> FloatArray:
    """EY = (0.22 L* - 12.8)/10 exp(u - exp(u)) with u = (90 - h)/10: light yellows please."""
    u = (90.0 - np.asarray(hue_deg, dtype=float)) / 10.0
    return (0.22 * np.asarray(lightness, dtype=float) - 12.8) / 10.0 * np.exp(u - np.exp(u))


def hue_effect(lightness: ArrayLike, chroma: ArrayLike, hue_deg: ArrayLike) -> FloatArray:
    """HSY = EC (HS + EY) of one colour."""
    return chroma_weight(chroma) * (hue_liking(hue_deg) + light_yellow_liking(lightness, hue_deg))


def harmony_of(one: HarmonyColours, two: HarmonyColours) -> HarmonyTerms:
    """Harmony of prepared colours, broadcast against each other."""
    chroma_gap = one.chroma - two.chroma
    # dH*ab^2 = 2 (C1 C2 - a1 a2 - b1 b2); rounding may leave it a hair below 0.
    hue_gap_squared = 2.0 * np.maximum(
        one.chroma * two.chroma
        - one.lab[..., 1] * two.lab[..., 1]
        - one.lab[..., 2] * two.lab[..., 2],
        0.0,
    )
    light_1, light_2 = one.lab[..., 0], two.lab[..., 0]
    chromatic = chromatic_effect(chromatic_difference(hue_gap_squared, chroma_gap))
    light_sum = lightness_sum_effect(light_1 + light_2)
    light_gap = lightness_difference_effect(light_1 - light_2)
    hue = one.hue_effect + two.hue_effect
    return HarmonyTerms(
        chromatic + (light_sum + light_gap) + hue, chromatic, light_sum, light_gap, hue
    )


def harmony(lab_1: ArrayLike, lab_2: ArrayLike) -> HarmonyTerms:
    """Two-colour harmony and its terms.

    Args:
        lab_1: CIELAB (D65, 2 degrees), shape (..., 3).
        lab_2: CIELAB, shape (..., 3), broadcast against ``lab_1``.

    Returns:
        The sum and its terms, broadcast shape without the last axis.

    Limits:
        A neutral has hue angle 0. Even patches on grey; no clamp.

    Source:
        Ou, Luo 2006, Color Res. Appl. 31(3) 191-204.

    Example:
        >>> float(harmony([95, 0, 0], [30, 0, 0]).total.round(4))
        0.8179
    """
    return harmony_of(HarmonyColours.from_lab(lab_1), HarmonyColours.from_lab(lab_2))
