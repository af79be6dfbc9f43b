"""What is known of a paint besides its colour, and how well its hiding is known by it.

A colour is carried by white, by coloured pigments, or by both. White is the well-known
part: titanium dioxide scatters much the same in every paint that holds it. Coloured
pigments of one colour differ tenfold. How much white a colour can hold follows from its
strength, the greatest K/S: white keeps every band up.

"Measured films" are artists' acrylics of known thickness: figures after Levinson, Berdahl
and Akbari 2005, Solar Energy Materials and Solar Cells 89, 319-349 and 351-389, held against
the rule by ``tests/reference/fit_hiding.py``. No geometric sd is narrower than what leaving one
pigment out leaves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray
from showthrough.errors import ProblemList, shown

Pigment = Literal["opaque", "transparent"]
"""opaque: iron or chrome oxide, carbon, earth colours; transparent: bright organic
pigments, ultramarine."""

Body = Literal["pastel", "deep"]
"""pastel: tinted from a white or pale paint; deep: mixed to a strong colour from a paint
that holds little or no white."""

LabelOn = Literal["base", "this colour"]
"""What a label's contrast ratio was measured on."""

Fact = Literal["pigment", "body", "tio2_share"]
"""What a painter can find out of a paint."""

BUDGET_PER_UM = 0.36
"""S0: scattering of a white furniture paint at 550 nm on the bench, per µm dry (from memory:
set once on common practice, see the table in README). Measured tints scatter 1.3 times as much."""

WHITE_SLOPE = 1.6
"""Scattering of white falls with this power of the wavelength (measured films: 1.9 at 23 % of
titanium dioxide, 1.2 at 2 %; open oil films of zinc and lead white 1.4 to 2.0)."""

USUAL_TIO2_SHARE = 0.18
"""Share of titanium dioxide in a dry furniture white, by volume, that S0 stands for: its film
scatters 0.54 per µm, as that of a label of 98 % at 8 m2/L does."""

LEAST_TIO2_SHARE, MOST_TIO2_SHARE = 0.01, 0.35

HALF_WHITE: dict[Body | None, float] = {None: 2.0, "pastel": 4.0, "deep": 1.5}
"""Strength at which half of a paint's pigment is white: of a pastel paint by measured tints (the
strongest, of strength 2.7, scatter as white does), otherwise by common practice (a vivid
yellow-green, 3.7, takes four light coats where white itself takes three or four full ones)."""

WHITE_STEEPNESS = 3.0
"""How fast the white gives way as strength grows (measured tints to 1.3, practice at 3.7)."""

PIGMENT_PART: dict[Pigment | None, float] = {None: 0.07, "opaque": 0.18, "transparent": 0.02}
"""Scattering of coloured pigments where they hardly absorb, as a part of S0 (measured films of
six pigments alone; opaque and transparent are three each)."""

ABSORPTION_LIMIT = 0.6
"""Absorption that a film full of coloured pigment comes to, as a part of S0 (measured films: 0.22
to 0.56 per µm, in films whose white would scatter 0.63)."""

WHITE_GEOMETRIC_SD = 1.19
"""Factor of one standard deviation about the film of a colour that white carries (eleven measured
tints of six pigments, one pigment left out: 1.18). A white with far less titanium dioxide than
usual lies beyond it: at 2 % the film is four times the guess."""

KNOWN_WHITE_GEOMETRIC_SD = 1.18
"""The same where that share is stated, or a label is (twelve tints, told that they are pastel:
1.18)."""

PIGMENT_GEOMETRIC_SD: dict[Pigment | None, float] = {None: 3.6, "opaque": 2.5, "transparent": 3.4}
"""The same of a colour that no white carries (measured films, one pigment left out: 3.4, 2.3 and
3.4; opaque and transparent are three films each)."""

NEUTRAL_CHROMA, COLOURED_CHROMA = 10.0, 15.0
"""CIELAB chroma up to which the pigment of a colour without white is carbon black, which is opaque,
and from which it is unknown (from memory; a measured phthalocyanine blue alone has 15.5)."""


@dataclass(frozen=True, slots=True)
class PaintFacts:
    """What a painter knows of a paint; None is not known."""

    pigment: Pigment | None = None
    body: Body | None = None
    tio2_share: float | None = None
    """Titanium dioxide in the dry film by volume of the paint that was tinted, 0.01 to 0.35."""
    label: LabelOn | None = None
    """What a label that S0 is taken from was measured on."""

    def in_words(self) -> str:
        """What a guess rests on, to stand after "rests on"."""
        more = [
            *([f"that its pigment is {self.pigment}"] if self.pigment else []),
            *(["that it is a white or pale paint"] if self.body == "pastel" else []),
            *(["that it is a paint for strong colours"] if self.body == "deep" else []),
            *([f"{self.tio2_share:.0%} of titanium dioxide"] if self.tio2_share else []),
            *(["its label"] if self.label else []),
        ]
        if not more:
            return "its colour alone"
        return f"its colour, {', '.join(more)}" if len(more) > 1 else f"its colour and {more[0]}"

    def check(self) -> None:
        """Raise InputError for what cannot be, all at once."""
        with ProblemList() as wrong:
            for name, known in (("pigment", get_args(Pigment)), ("body", get_args(Body))):
                value = getattr(self, name)
                if value is not None and value not in known:
                    wrong.add(name, value, f"{shown(value)} must be one of {', '.join(known)}")
            share = self.tio2_share
            if share is not None and not LEAST_TIO2_SHARE <= share <= MOST_TIO2_SHARE:
                wrong.add(
                    "tio2_share",
                    share,
                    f"titanium dioxide is between {LEAST_TIO2_SHARE:g} and {MOST_TIO2_SHARE:g} of a"
                    f" dry film by volume, not {shown(share)}; 18% is 0.18",
                )

    @property
    def white_level(self) -> float:
        """Scattering of the white by these facts, as a part of S0; a label tells S0 itself."""
        if self.tio2_share is None or self.label is not None:
            return 1.0
        return _film_scattering(self.tio2_share) / _film_scattering(USUAL_TIO2_SHARE)


NOTHING_KNOWN = PaintFacts()


def _film_scattering(share: float) -> float:
    """S at 550 nm, 1/µm dry, of measured films by their share of titanium dioxide.

    Source:
        Through two films, 2.0 and 22.8 % by volume, after Levinson et al. 2005.
    """
    return 4.32 * share / (1.0 + 2.49 * share)


def white_share(strength: ArrayLike, body: Body | None = None) -> FloatArray:
    """Part of a paint's pigment that is white, 0 to 1, by the colour's greatest K/S."""
    return share_of_white(np.asarray(strength, dtype=float), HALF_WHITE[body])


def share_of_white(strength: FloatArray, half: float | FloatArray) -> FloatArray:
    """The same where half of the pigment is white at a strength of ``half``."""
    return np.asarray(1.0 / (1.0 + (strength / half) ** WHITE_STEEPNESS))


def carbon_share(chroma: ArrayLike) -> FloatArray:
    """How far the pigment of a colour counts as carbon black, 0 to 1, by its CIELAB chroma.

    Nobody mixes a black or a dark grey from bright pigments (from memory).
    """
    span = COLOURED_CHROMA - NEUTRAL_CHROMA
    return np.clip((COLOURED_CHROMA - np.asarray(chroma, dtype=float)) / span, 0.0, 1.0)


def pigment_part(pigment: Pigment | None, carbon: ArrayLike = 0.0) -> FloatArray:
    """Scattering of coloured pigments as a part of S0; unknown ones are carbon by its share."""
    known = PIGMENT_PART["opaque"] if pigment is None else PIGMENT_PART[pigment]
    return PIGMENT_PART[pigment] + np.asarray(carbon) * (known - PIGMENT_PART[pigment])


def colour_sigma_ln(
    strength: ArrayLike, facts: PaintFacts = NOTHING_KNOWN, carbon: ArrayLike = 0.0
) -> FloatArray:
    """Standard deviation of ln hiding film of a paint known by its colour and these facts.

    Args:
        strength: greatest K/S of the opaque colour, any shape.
        facts: what else is known.
        carbon: how far an unknown pigment counts as carbon black, 0 to 1, see ``carbon_share``.

    Returns:
        Same shape, > 0.

    Source:
        Own rule: that of white, and that of coloured pigments as far as a colour may be
        carried by them. A fact never widens it, but for a neutral said to be transparent.
    """
    known = facts.tio2_share is not None or facts.label is not None
    white = math.log(KNOWN_WHITE_GEOMETRIC_SD if known else WHITE_GEOMETRIC_SD)
    doubt = 1.0 - white_share(strength, "pastel")
    if facts.label == "this colour":
        doubt = np.zeros_like(doubt)
    elif facts.body == "pastel":
        doubt = doubt**2
    pigment = np.asarray(math.log(PIGMENT_GEOMETRIC_SD[facts.pigment]))
    if facts.pigment is None:
        pigment = pigment + np.asarray(carbon) * (
            math.log(PIGMENT_GEOMETRIC_SD["opaque"]) - pigment
        )
    return np.hypot(white, doubt * pigment)
