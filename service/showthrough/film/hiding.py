"""Hiding power of a paint: what it absorbs and scatters, and how that is known.

Evidence, weakest first: the colour alone, what the painter knows of the paint, a label,
a drawdown. Each stronger one narrows the geometric sd or replaces the weaker.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import WAVELENGTHS, FloatArray, weights
from showthrough.colour.spectrum import recover_spectra, spectrum_to_lab
from showthrough.errors import InputError, ProblemList
from showthrough.film.knowledge import (
    ABSORPTION_LIMIT,
    BUDGET_PER_UM,
    HALF_WHITE,
    NOTHING_KNOWN,
    WHITE_SLOPE,
    Body,
    PaintFacts,
    Pigment,
    carbon_share,
    colour_sigma_ln,
    pigment_part,
    share_of_white,
    white_share,
)
from showthrough.film.optics import (
    K1,
    absorption_ratio,
    film_reflectance,
    infinite_reflectance,
    inside_reflectance,
    outside_reflectance,
)

Evidence = Literal["colour", "label", "drawdown", "spectrum", "jobs"]

LABEL_TO_BENCH = 0.67
"""Part of a label's hiding that a bench film shows (from memory). A white that just meets
98 % at 8 m2/L has S 0.54 in the laboratory, and practice says 0.36."""

_HIDING_BANDS = slice(*np.searchsorted(WAVELENGTHS, (420.0, 681.0)).tolist())
_HIDING_COUNT = _HIDING_BANDS.stop - _HIDING_BANDS.start
_WHITE_CURVE = (WAVELENGTHS / 550.0) ** -WHITE_SLOPE
_WHITE_PAINT_LAB = (96.0, -0.5, 2.0)


@dataclass(frozen=True, slots=True)
class Paint:
    """Optical constants of a dry paint and how well they are known."""

    absorption: FloatArray
    """K per band, 1/µm dry, shape (31,)."""
    scattering: FloatArray
    """S per band, 1/µm dry, shape (31,), > 0."""
    geometric_sd: float
    """Factor of one standard deviation about the optical thickness, >= 1."""
    evidence: Evidence
    """What the constants rest on."""
    facts: PaintFacts = NOTHING_KNOWN
    """What was known beside the colour; other colours of the same paint share it."""

    @property
    def sigma_ln(self) -> float:
        """Standard deviation of the natural logarithm of the optical thickness."""
        return math.log(self.geometric_sd)

    @property
    def scattering_per_um(self) -> float:
        """Mean S over 420-680 nm, 1/µm dry: the figure that is shown."""
        return float(np.add.reduce(self.scattering[_HIDING_BANDS])) / _HIDING_COUNT


@dataclass(frozen=True, slots=True)
class OpaqueColour:
    """What the colours of opaque paints say, whatever else is known; arrays over them, (...)."""

    ratio: FloatArray
    """K/S, shape (..., 31)."""
    strength: FloatArray
    """Greatest K/S over 420-680 nm, shape (...)."""
    carbon: FloatArray
    """How far they count as carbon black where their pigment is not known, 0 to 1; it matters
    as far as a paint holds no white."""

    @classmethod
    def of(cls, reflectance: FloatArray, lab: FloatArray | None = None) -> OpaqueColour:
        """Of reflectances outside, specular excluded, shape (..., 31); CIELAB where known."""
        inside = inside_reflectance(np.clip(reflectance, 1e-4, 1.0 - K1 - 1e-4))
        ratio = absorption_ratio(inside)
        lab = spectrum_to_lab(reflectance) if lab is None else lab
        carbon = carbon_share(np.hypot(lab[..., 1], lab[..., 2]))
        return cls(ratio, ratio[..., _HIDING_BANDS].max(axis=-1), carbon)

    def constants(
        self, budget_per_um: float = BUDGET_PER_UM, facts: PaintFacts = NOTHING_KNOWN
    ) -> tuple[FloatArray, FloatArray]:
        """K and S, see ``constants_from_colour``."""
        white = white_share(self.strength, facts.body)[..., None]
        part = pigment_part(facts.pigment, self.carbon[..., None])
        return self._mixed(white, facts.white_level, part, budget_per_um)

    def _mixed(
        self,
        white: FloatArray,
        level: float | FloatArray,
        part: FloatArray,
        budget_per_um: float | FloatArray,
    ) -> tuple[FloatArray, FloatArray]:
        """K and S by the share of white; its scattering and the pigments' are parts of S0."""
        full = white * level * _WHITE_CURVE + (1.0 - white) * part
        scattering = budget_per_um * full / (1.0 + self.ratio * full / ABSORPTION_LIMIT)
        return self.ratio * scattering, scattering

    def sigma_ln(self, facts: PaintFacts = NOTHING_KNOWN) -> FloatArray:
        """Standard deviation of ln hiding film, shape (...)."""
        return colour_sigma_ln(self.strength, facts, self.carbon)

    def paints(
        self,
        facts: Sequence[PaintFacts],
        evidence: Evidence = "colour",
        budgets_per_um: Sequence[float] | None = None,
    ) -> list[Paint]:
        """The paint of a single colour as each of some facts would have it, each with its S0."""
        carbon = float(self.carbon)
        half, level, part, budget = np.array(
            [
                (HALF_WHITE[f.body], f.white_level, float(pigment_part(f.pigment, carbon)), s0)
                for f, s0 in zip(facts, budgets_per_um or [BUDGET_PER_UM] * len(facts), strict=True)
            ]
        ).T[..., None]
        k, s = self._mixed(share_of_white(self.strength, half), level, part, budget)
        return [
            Paint(k[i], s[i], math.exp(float(self.sigma_ln(f))), evidence, f)
            for i, f in enumerate(facts)
        ]


def constants_from_colour(
    reflectance: FloatArray,
    budget_per_um: float = BUDGET_PER_UM,
    facts: PaintFacts = NOTHING_KNOWN,
) -> tuple[FloatArray, FloatArray]:
    """K and S guessed from the colour of opaque paints.

    S is the white's, which falls with wavelength, by its share, and the coloured pigments'
    by theirs. Where a band absorbs much, S falls so that K stays below what a film full of
    pigment absorbs. Everything is in proportion to S0.

    Args:
        reflectance: of the opaque paint, outside, specular excluded, shape (..., 31).
        budget_per_um: S0, 1/µm dry.
        facts: what else is known.

    Returns:
        K and S, 1/µm dry, both of the shape of ``reflectance``.

    Source:
        Own rule (an estimate); K/S after Kubelka and Munk 1931.
    """
    return OpaqueColour.of(reflectance).constants(budget_per_um, facts)


def paint_from_colour(
    reflectance: FloatArray,
    budget_per_um: float = BUDGET_PER_UM,
    evidence: Evidence = "colour",
    facts: PaintFacts = NOTHING_KNOWN,
) -> Paint:
    """A paint known by its colour, shape (31,), and what else its painter knows of it.

    Args:
        reflectance: as in ``constants_from_colour``.
        budget_per_um: S0, 1/µm dry.
        evidence: what S0 rests on.
        facts: what else is known.
    """
    return OpaqueColour.of(reflectance).paints([facts], evidence, [budget_per_um])[0]


def budget_of(paint: Paint) -> float:
    """S0 that a paint's evidence stands for, 1/µm dry; other colours of it share it.

    It is the S0 with which the rule for colours gives a paint of the same opaque colour the
    same mean scattering.
    """
    seen = outside_reflectance(infinite_reflectance(paint.absorption, paint.scattering))
    _, scattering = constants_from_colour(seen, 1.0, paint.facts)
    return paint.scattering_per_um / float(scattering[_HIDING_BANDS].mean())


class ColourPaint(NamedTuple):
    """Paints known by colour; arrays over the colours asked for, shape (...)."""

    lab: FloatArray
    """The colour as modelled, CIELAB D65/2, shape (..., 3)."""
    moved: FloatArray
    """How far L* was moved to a colour that paint can have, shape (...); mostly 0."""
    reflectance: FloatArray
    """Of the opaque paint, outside, specular excluded, shape (..., 31)."""
    absorption: FloatArray
    """K per band, 1/µm dry, shape (..., 31)."""
    scattering: FloatArray
    """S per band, 1/µm dry, shape (..., 31), > 0."""
    strength: FloatArray
    """Greatest K/S over 420-680 nm, shape (...)."""
    log_spread: FloatArray
    """Standard deviation of the natural logarithm of the hiding film, shape (...)."""
    facts: PaintFacts
    """What else it rests on."""


def paint_of_colour(
    lab: ArrayLike,
    pigment: Pigment | None = None,
    body: Body | None = None,
    tio2_share: float | None = None,
) -> ColourPaint:
    """What a paint of a colour absorbs and scatters, and how well that is known.

    Args:
        lab: CIELAB of the opaque paint, D65 and 2 degrees, shape (..., 3).
        pigment: opaque (iron or chrome oxide, carbon, earth colours) or transparent
            (bright organic pigments, ultramarine); None if not known.
        body: pastel (tinted from a white or pale paint) or deep (mixed to a strong colour
            from a paint with little or no white); None if not known.
        tio2_share: titanium dioxide in the dry film by volume of the paint that was tinted,
            0.01 to 0.35; None if not known.

    Returns:
        Absorption and scattering, 1/µm dry, shape (..., 31), and ``log_spread``, the
        natural logarithm of the factor of one standard deviation about the film that
        hides, shape (...). Every colour that is answered has both finite.

    Raises:
        InputError: a fact is none of those known.
        OutOfRangeError: colours that no paint can have, by place.

    Source:
        Own rule, see ``constants_from_colour``; spreads by leaving one pigment out.

    Example:
        >>> tint = paint_of_colour([65.0, -10.0, 10.0])
        >>> tint.scattering.shape, bool(tint.log_spread < 0.25)
        ((31,), True)
    """
    facts = PaintFacts(pigment, body, tio2_share)
    facts.check()
    labs = np.asarray(lab, dtype=float)
    found = recover_spectra(labs.reshape(-1, 3))
    with ProblemList() as wrong:
        for i in np.flatnonzero(~found.reachable):
            place = tuple(int(n) for n in np.unravel_index(i, labs.shape[:-1]))
            name = f"lab{list(place)}" if place else "lab"
            wrong.add(name, labs[place].tolist(), "has more chroma than any paint can have")
    shape = labs.shape[:-1]
    reflectance = found.reflectance.reshape(*shape, -1)
    colour = OpaqueColour.of(reflectance)
    k, s = colour.constants(facts=facts)
    return ColourPaint(
        found.lab.reshape(labs.shape),
        found.moved.reshape(shape),
        reflectance,
        k,
        s,
        colour.strength,
        colour.sigma_ln(facts),
        facts,
    )


@cache
def _white_paint() -> FloatArray:
    return recover_spectra([_WHITE_PAINT_LAB]).reflectance[0]


def check_label(
    contrast_ratio: float,
    spreading_rate_m2_l: float,
    volume_solids: float = 0.38,
    white_substrate: float = 0.80,
) -> None:
    """Raise InputError for figures that no label has, all at once."""
    with ProblemList() as wrong:
        for sound, field, value, told in (
            (
                0.5 <= contrast_ratio < 1.0,
                "contrast_ratio",
                contrast_ratio,
                "a label's contrast ratio is at least 0.5 and below 1, not {:g}; 98% is 0.98",
            ),
            (
                0.5 <= spreading_rate_m2_l <= 40.0,
                "spreading_rate_m2_l",
                spreading_rate_m2_l,
                "a spreading rate is between 0.5 and 40 m2 per litre, not {:g}",
            ),
            (
                0.05 <= volume_solids <= 1.0,
                "volume_solids",
                volume_solids,
                "volume solids lie between 0.05 and 1, not {:g}; 38% is 0.38",
            ),
            (
                0.5 <= white_substrate <= 1.0 - K1,
                "white_substrate",
                white_substrate,
                f"a chart's white reflects between 0.5 and {1.0 - K1:g}, not {{:g}}; 80% is 0.8",
            ),
        ):
            if not sound:
                wrong.add(field, value, told.format(value))


def label_budget_per_um(
    contrast_ratio: float,
    spreading_rate_m2_l: float,
    volume_solids: float,
    tested: FloatArray | None = None,
    white_substrate: float = 0.80,
    facts: PaintFacts = NOTHING_KNOWN,
) -> float:
    """The optical budget S0 that a label's contrast ratio stands for, on the bench.

    The label's film is 1000 x solids / spreading rate µm dry, on a black and white
    chart; the S0 that gives its contrast ratio of Y is searched for on ever finer grids
    and then brought from the laboratory to the bench (``LABEL_TO_BENCH``).

    Args:
        contrast_ratio: Y over black divided by Y over white, 0 to below 1.
        spreading_rate_m2_l: at which it was measured, > 0.
        volume_solids: part of the wet paint that stays, 0 to 1.
        tested: reflectance (31,) of the colour that was tested; where not given, the
            white paint that it was tinted from, as labels usually do.
        white_substrate: reflectance of the chart's white, outside.
        facts: what else is known of the tested colour; its share of titanium dioxide is not
            reckoned with, since the label tells more.

    Raises:
        InputError: a value is out of range, or no paint of that colour has such a ratio.

    Source:
        ISO 6504-3 and ASTM D2805 (what the ratio is); EU 2014/312 (the paint before
        tinting is tested).
    """
    check_label(contrast_ratio, spreading_rate_m2_l, volume_solids, white_substrate)
    if tested is None:
        tested = _white_paint()
    film_um = 1000.0 * volume_solids / spreading_rate_m2_l
    k, s = constants_from_colour(tested, 1.0, replace(facts, tio2_share=None))
    white = inside_reflectance(white_substrate)
    luminance = weights()[:, 1]

    def ratios(budgets: FloatArray) -> FloatArray:
        films = film_um * budgets[:, None]
        black, over = (
            outside_reflectance(film_reflectance(k, s, films, substrate)) @ luminance
            for substrate in (0.0, white)
        )
        return np.asarray(black / over)

    low, high = 1e-4, 100.0
    while high / low > 1.0 + 1e-9:
        budgets = np.geomspace(low, high, 64)
        enough = ratios(budgets) >= contrast_ratio
        if enough[0] or not enough[-1]:
            raise InputError.at(
                "contrast_ratio", contrast_ratio, "no film of this colour has such a contrast ratio"
            )
        first = int(enough.argmax())
        low, high = float(budgets[first - 1]), float(budgets[first])
    return LABEL_TO_BENCH * low
