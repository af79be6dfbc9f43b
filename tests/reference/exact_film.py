"""Kubelka-Munk in 60 digits: a film where no rounding can hide.

Written from R = (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX) and
T = b / (a sinh bSX + b cosh bSX) (Kubelka 1948), multiplied by S so that S = 0 needs
no case of its own.
"""

from __future__ import annotations

from decimal import Decimal, localcontext


def film(
    absorption: float, scattering: float, thickness: float, substrate: float
) -> tuple[float, float]:
    """Reflectance over the ground, and transmittance."""
    with localcontext() as context:
        context.prec = 60
        context.Emin, context.Emax = -999_999, 999_999
        k, s, x, rg = (Decimal(v) for v in (absorption, scattering, thickness, substrate))
        rate = (k * (k + 2 * s)).sqrt()
        depth = rate * x
        if depth < Decimal("1e-25"):  # no absorption, or no film, to 25 digits
            over = s * x
            return float((over + rg * (1 - over)) / (1 + over - rg * over)), float(1 / (1 + over))
        fall = (-2 * depth).exp()
        coth = rate * (1 + fall) / (1 - fall)
        reflected = (s - rg * (k + s - coth)) / (k + s - rg * s + coth)
        # sinh and cosh share a factor exp(bSX), which is taken out.
        passed = 2 * rate * (-depth).exp() / ((k + s) * (1 - fall) + rate * (1 + fall))
        return float(reflected), float(passed)
