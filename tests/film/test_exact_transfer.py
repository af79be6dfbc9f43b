"""The film model against exact radiative transfer by two general solvers.

How far Kubelka-Munk can be wrong for a film that scatters and absorbs as real ones do.
The film is drawn once at half its hiding thickness over black and white; K/S comes from
the endless film and S is fitted to the two readings, as from a drawdown. Then all other
thicknesses are predicted.

Kubelka-Munk sends light straight up and straight down with one pair of constants. In a
real film the light loses its evenness where absorption is strong and regains it from the
ground, so the constants drift with depth: a few hundredths in reflectance, and up to six
per cent in the film that hides. The bounds below are rounded up from what was measured; a
different draw gives other figures, which a test states too.
"""

from __future__ import annotations

import numpy as np
import pytest

from reference.slab import doubling, ordinates, over_substrate
from showthrough.film.optics import absorption_ratio, film_reflectance, outside_reflectance

GROUNDS = (0.0, 0.3, 0.8)
PARTS = (0.05, 0.1, 0.25, 0.5, 0.75, 1.0, 1.5)  # of the film that hides

# Albedo and anisotropy: dark, mid and pale paints, R-infinity from 0.05 to 0.95.
PAINTS = [
    (0.2141, 0.0),
    (0.60968, 0.0),
    (0.91134, 0.0),
    (0.99058, 0.0),
    (0.99951, 0.0),
    (0.48861, 0.7),
    (0.8415, 0.7),
    (0.97173, 0.7),
    (0.99716, 0.7),
    (0.99985, 0.7),
]


def crossing(function, low, high):
    """Where a function of a positive number is 0, by Illinois' false position."""
    f_low, f_high = function(low), function(high)
    for _ in range(60):
        x = (low * f_high - high * f_low) / (f_high - f_low)
        f = function(x)
        if abs(f) < 1e-9:
            break
        if (f > 0.0) == (f_high > 0.0):
            high, f_high, f_low = x, f, 0.5 * f_low
        else:
            low, f_low, f_high = x, f, 0.5 * f_high
    return x


def shows(over_black, over_white):
    """ln of what a contrast ratio lacks to 1, over that of 0.98: nearly straight in depth."""
    return float(np.log(max(1.0 - over_black / over_white, 1e-9) / 0.02))


class RealFilm:
    """One paint solved exactly: its endless film, its hiding thickness and thinner films."""

    def __init__(self, albedo, anisotropy):
        def slab(depth):
            return doubling(albedo, anisotropy, depth)

        def short(depth):
            made = slab(depth)
            return shows(over_substrate(made, 0.0), over_substrate(made, 0.8))

        self.reduced_scattering = albedo * (1.0 - anisotropy)
        self.endless = slab(4000.0 / (1.0 - anisotropy))[0]
        self.hiding = crossing(short, 1.0, 60.0)
        made = [slab(part * self.hiding) for part in PARTS]
        self.exact = np.array([[over_substrate(m, g) for g in GROUNDS] for m in made])


class FittedFilm:
    """The Kubelka-Munk film drawn from a real one at a part of its hiding thickness."""

    def __init__(self, real, draw):
        self.real = real
        self.ratio = float(absorption_ratio(real.endless))
        drawn = real.exact[PARTS.index(draw)][[0, 2]]
        depth = draw * real.hiding

        def miss(log_s):
            s = np.exp(log_s)
            found = film_reflectance(self.ratio * s, s, depth, [0.0, 0.8])
            return float(((found - drawn) ** 2).sum())

        golden = 0.5 * (5.0**0.5 - 1.0)
        low, high = np.log(1e-4), np.log(10.0)
        for _ in range(50):
            left, right = high - golden * (high - low), low + golden * (high - low)
            if miss(left) < miss(right):
                high = right
            else:
                low = left
        self.scattering = float(np.exp(0.5 * (low + high)))
        self.absorption = self.ratio * self.scattering

    def worst_miss(self):
        """Greatest difference in reflectance over all thicknesses and grounds."""
        depth = np.array(PARTS)[:, None] * self.real.hiding
        found = film_reflectance(self.absorption, self.scattering, depth, np.array(GROUNDS))
        return float(np.abs(found - self.real.exact).max())

    def hiding_ratio(self):
        """Predicted over exact thickness for a contrast ratio of 0.98."""

        def short(depth):
            over = film_reflectance(self.absorption, self.scattering, depth, [0.0, 0.8])
            return shows(*over)

        return crossing(short, 0.5 * self.real.hiding, 2.0 * self.real.hiding) / self.real.hiding


@pytest.fixture(scope="module")
def real_films():
    return [RealFilm(albedo, anisotropy) for albedo, anisotropy in PAINTS]


@pytest.fixture(scope="module")
def films(real_films):
    return [FittedFilm(real, 0.5) for real in real_films]


@pytest.mark.parametrize(
    ("albedo", "anisotropy", "depth"),
    [(0.99, 0.0, 2.0), (0.9, 0.5, 1.0), (0.999, 0.5, 10.0), (0.5, 0.3, 1.0), (0.9999, 0.6, 50.0)],
)
@pytest.mark.parametrize("substrate", GROUNDS)
def test_the_two_solvers_agree(albedo, anisotropy, depth, substrate):
    # Adding-doubling and discrete ordinates share nothing; 4e-6 is their quadratures' error.
    found = over_substrate(doubling(albedo, anisotropy, depth), substrate)
    assert found == pytest.approx(ordinates(albedo, anisotropy, depth, substrate), abs=4e-6)


def test_layering_over_a_ground_is_that_of_the_film_model():
    # With the slab's own reflectance and transmittance given, both must do the same: a film of
    # K = 0 has R = SX/(1 + SX) and T = 1 - R.
    slab = (2.0 / 3.0, 1.0 / 3.0)
    for substrate in GROUNDS:
        assert over_substrate(slab, substrate) == pytest.approx(
            float(film_reflectance(0.0, 1.0, 2.0, substrate)), abs=1e-12
        )


def test_the_film_model_is_within_0_035_in_reflectance_of_exact_transfer(films):
    assert max(film.worst_miss() for film in films) <= 0.035


def test_the_film_model_finds_the_hiding_thickness_within_six_and_a_half_per_cent(films):
    ratios = np.array([film.hiding_ratio() for film in films])
    assert ratios.min() >= 0.935
    assert ratios.max() <= 1.0
    assert np.sqrt(((ratios - 1.0) ** 2).mean()) <= 0.04


def test_the_paints_tried_run_from_near_black_to_near_white(real_films):
    endless = [film.endless for film in real_films]
    assert min(endless) == pytest.approx(0.05, abs=1e-3)
    assert max(endless) == pytest.approx(0.95, abs=1e-3)


def test_pale_films_scatter_three_quarters_of_the_reduced_coefficient(films):
    # Source: S = 3/4 mu_s (1 - g), diffusion theory (from memory); holds where absorption is weak.
    pale = [film for film in films if film.real.endless >= 0.49]
    assert len(pale) == 6
    for film in pale:
        assert film.scattering == pytest.approx(0.75 * film.real.reduced_scattering, rel=0.03)


@pytest.mark.parametrize(
    ("draw", "least", "most", "reflectance"),
    [
        # A thin draw sees the unsettled light near the surface and makes S too great: hiding is
        # promised 12 % early at worst. A draw that hides finds the hiding right and pays with
        # thin films that are 0.05 off. Measured here, no source.
        (0.25, 0.88, 1.0, 0.03),
        (0.75, 0.97, 1.0, 0.05),
        (1.0, 0.99, 1.01, 0.055),
    ],
)
def test_what_another_draw_would_cost(real_films, draw, least, most, reflectance):
    films = [FittedFilm(real, draw) for real in real_films]
    ratios = [film.hiding_ratio() for film in films]
    assert least <= min(ratios) <= max(ratios) <= most
    assert max(film.worst_miss() for film in films) <= reflectance


@pytest.mark.parametrize("albedo", [0.6, 0.9, 0.97, 0.99, 0.999])
def test_the_surface_correction_is_within_0_035_of_an_exact_surface(albedo):
    # n = 1.5, evenly diffuse light outside and in: k1 0.0918, k2 0.5964 (Fresnel). Saunderson
    # takes the light that comes up as evenly diffuse; it is steeper, so more gets out.
    inside = doubling(albedo, 0.0, 4000.0)[0]
    exact = doubling(albedo, 0.0, 4000.0, index=1.5)[0]
    model = 0.0918 + float(outside_reflectance(inside, k1=0.0918, k2=0.5964))
    assert model == pytest.approx(exact, abs=0.035)
