"""Films and surfaces against published values, limits, laws and 60-digit arithmetic."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reference.csv_table import rows
from reference.exact_film import film
from reference.films import contrast_ratio
from showthrough.errors import InputError, OutOfRangeError
from showthrough.film.optics import (
    K1,
    K2,
    absorption_ratio,
    film_reflectance,
    infinite_reflectance,
    inside_reflectance,
    outside_reflectance,
)

share = st.floats(0.0, 1.0)
per_um = st.floats(0.0, 5.0)
scatter = st.floats(1e-4, 5.0)
micrometres = st.floats(0.0, 1e4)
laws = settings(deadline=None, max_examples=300)


# --- published values ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("r_infinity", "ratio"),
    [
        # Source: K/S = (1 - R)^2 / 2R (Kubelka and Munk 1931), worked by hand.
        (0.05, 9.025),
        (0.10, 4.05),
        (0.20, 1.6),
        (0.40, 0.45),
        (0.50, 0.25),
        (0.60, 0.13333),
        (0.70, 0.06429),
        (0.80, 0.025),
        (0.90, 0.00556),
        (0.95, 0.00132),
    ],
)
def test_absorption_ratio_of_opaque_films(r_infinity, ratio):
    assert float(absorption_ratio(r_infinity)) == pytest.approx(ratio, abs=5e-6)


@pytest.mark.parametrize(
    ("r_infinity", "thickness", "over_black", "over_white", "passed"),
    [
        # Source: Kubelka-Munk by an independent program;
        # the white backing reflects 0.80.
        (0.90, 1.0, 0.497694, 0.825727, 0.496771),
        (0.90, 4.0, 0.787254, 0.866160, 0.191085),
        (0.92, 5.0, 0.823072, 0.882983, 0.159930),
        (0.50, 1.0, 0.411383, 0.579253, 0.375205),
        (0.20, 0.5, 0.182519, 0.261411, 0.290199),
    ],
)
def test_films_over_black_and_white(r_infinity, thickness, over_black, over_white, passed):
    k = absorption_ratio(r_infinity)
    found = film_reflectance(k, 1.0, thickness, [0.0, 0.8])
    assert found == pytest.approx([over_black, over_white], abs=1e-6)
    assert film(float(k), 1.0, thickness, 0.0)[1] == pytest.approx(passed, abs=1e-6)
    assert float(contrast_ratio(k, 1.0, thickness)) == pytest.approx(
        over_black / over_white, abs=2e-6
    )


@pytest.mark.parametrize("thickness", [0.0, 0.1, 1.0, 30.0])
def test_a_film_over_its_own_colour_does_not_show(thickness):
    # Source: Kubelka and Munk 1931: R-infinity is the fixed point of the film.
    film_over = film_reflectance(absorption_ratio(0.8), 1.0, thickness, 0.8)
    assert float(film_over) == pytest.approx(0.8, abs=1e-14)


def test_without_absorption_half_is_reflected_at_unit_thickness():
    # Source: limit K = 0, R0 = SX / (1 + SX) (Kubelka 1948).
    x = np.array([0.5, 1.0, 4.0, 1e6])
    assert film_reflectance(0.0, 1.0, x, 0.0) == pytest.approx(x / (1.0 + x), abs=1e-15)


def test_without_scattering_the_ground_fades_as_behind_a_filter():
    # Source: limit S = 0, R = Rg exp(-2 K X); 0.654985 for KX 0.1 over 0.8.
    assert float(film_reflectance(0.1, 0.0, 1.0, 0.8)) == pytest.approx(0.654985, abs=5e-7)
    assert film(0.1, 0.0, 1.0, 0.8)[1] == pytest.approx(math.exp(-0.1), abs=1e-15)


def thickness_for_contrast(r_infinity, contrast, white):
    """S X at which a film reaches a contrast ratio, by bisection."""
    k = absorption_ratio(r_infinity)
    low, high = 0.0, 200.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if contrast_ratio(k, 1.0, middle, white=white) < contrast:
            low = middle
        else:
            high = middle
    return high


@pytest.mark.parametrize("row", rows("contrast_thickness.csv"), ids=lambda row: row["infinite"])
@pytest.mark.parametrize(
    ("column", "contrast", "white"),
    [
        ("c0.95_w0.80", 0.95, 0.80),
        ("c0.98_w0.80", 0.98, 0.80),
        ("c0.995_w0.80", 0.995, 0.80),
        ("c0.98_w0.84", 0.98, 0.84),
        ("c0.98_w1.0", 0.98, 1.0),
    ],
)
def test_optical_thickness_for_a_contrast_ratio(row, column, contrast, white):
    # Source: tests/reference/contrast_thickness.csv; three decimals are printed there.
    found = thickness_for_contrast(float(row["infinite"]), contrast, white)
    assert found == pytest.approx(float(row[column]), abs=6e-4)


def test_the_white_that_just_meets_the_ecolabel_scatters_about_0_18_per_um():
    # Source: EU 2014/312 criterion 3(a): 98 % at 8 m2/L; 40 % volume solids leave 50 um dry;
    # R-infinity 0.90 and Rw 0.80 without surface correction, as ASTM D2805 reckons.
    needed = thickness_for_contrast(0.90, 0.98, 0.80)
    assert needed / (1000.0 / 8.0 * 0.40) == pytest.approx(0.18, abs=0.005)
    assert needed / (1000.0 / 8.0 * 0.35) == pytest.approx(0.21, abs=0.005)
    assert needed / (1000.0 / 8.0 * 0.45) == pytest.approx(0.16, abs=0.005)


@pytest.mark.parametrize(
    ("inside", "with_specular"),
    [
        # Source: Saunderson 1942 as Allen 1980 eq. 24, k1 0.04, k2 0.60, worked by hand.
        (0.1, 0.08085),
        (0.5, 0.31429),
        (0.8, 0.63077),
        (0.9, 0.79130),
        (0.98, 0.95340),
    ],
)
def test_surface_correction(inside, with_specular):
    seen = outside_reflectance(inside, k1=0.04, k2=0.60)
    assert float(seen) + 0.04 == pytest.approx(with_specular, abs=5e-6)
    assert float(inside_reflectance(seen, k1=0.04, k2=0.60)) == pytest.approx(inside, abs=1e-14)


def test_a_black_film_shows_its_surface_alone_and_a_perfect_one_gives_all_back():
    # Source: Saunderson's form: R = 0 gives k1, R = 1 gives 1, specular included.
    assert float(outside_reflectance(0.0)) == 0.0
    assert float(outside_reflectance(1.0)) + 0.04 == pytest.approx(1.0, abs=1e-15)


@pytest.mark.parametrize("value", [-0.01, 1.01, math.nan])
def test_more_than_all_light_or_less_than_none_is_refused(value):
    with pytest.raises(InputError, match="inside"):
        outside_reflectance(value)


def fresnel(cosine, index):
    """Reflectance of unpolarised light that goes into a medium of relative index."""
    sine = np.sqrt(1.0 - cosine**2) / index
    inside = np.sqrt(np.maximum(1.0 - sine**2, 0.0))
    s = (cosine - index * inside) / (cosine + index * inside)
    p = (index * cosine - inside) / (index * cosine + inside)
    return np.where(sine >= 1.0, 1.0, 0.5 * (s * s + p * p))


def diffuse_fresnel(index):
    """The same for evenly diffuse light: 2 times the integral of R mu, midpoint rule."""
    mu = (np.arange(400_000) + 0.5) / 400_000
    return float((2.0 * fresnel(mu, index) * mu).mean())


def test_surface_constants_stand_on_fresnel_for_index_1_5():
    # Source: Fresnel's equations: k1 0.0400, k2 in theory 0.5964, diffuse from outside 0.0918;
    # in practice 0.4 to 0.6 is taken for k2 (Allen 1980, p. 308).
    assert float(fresnel(np.array(1.0), 1.5)) == pytest.approx(K1, abs=1e-12)
    # (The integral is 0.59635; the printed 0.5964 is a unit of its last digit high.)
    assert diffuse_fresnel(1.0 / 1.5) == pytest.approx(0.5964, abs=1e-4)
    assert diffuse_fresnel(1.5) == pytest.approx(0.0918, abs=5e-5)
    # Light that a surface keeps in and lets out must balance: n^2 (1 - k2) = 1 - k outside.
    assert 1.5**2 * (1.0 - diffuse_fresnel(1.0 / 1.5)) == pytest.approx(
        1.0 - diffuse_fresnel(1.5), abs=1e-6
    )
    assert 0.4 <= K2 <= diffuse_fresnel(1.0 / 1.5)


# --- a published pigment table ---------------------------------------------------------


def pigment(row, letter):
    return np.array([float(row[f"{letter}_{channel}"]) for channel in "rgb"])


PIGMENTS = {row["pigment"]: row for row in rows("curtis_1997.csv")}


@pytest.mark.parametrize("row", PIGMENTS.values(), ids=list(PIGMENTS))
def test_published_pigments_come_back_from_their_colours_over_white_and_black(row):
    # Source: Curtis et al. 1997: S and K from the colours Rw over white (1) and Rb over
    # black (0): a = (Rw + (Rb - Rw + 1) / Rb) / 2, b = sqrt(a^2 - 1),
    # S = coth^-1((b^2 - (a - Rw)(a - 1)) / (b (1 - Rw))) / b, K = S (a - 1) (from memory).
    k, s = pigment(row, "k"), pigment(row, "s")
    white = film_reflectance(k, s, 1.0, 1.0)
    black = film_reflectance(k, s, 1.0, 0.0)
    a = 0.5 * (white + (black - white + 1.0) / black)
    b = np.sqrt(a * a - 1.0)
    found = np.arctanh(b * (1.0 - white) / (b * b - (a - white) * (a - 1.0))) / b
    assert found == pytest.approx(s, rel=1e-6)
    assert found * (a - 1.0) == pytest.approx(k, rel=1e-6)


@pytest.mark.parametrize("row", PIGMENTS.values(), ids=list(PIGMENTS))
def test_published_pigments_opaque_are_what_their_ratio_says(row):
    # Source: Kubelka-Munk's two forms of R-infinity, a - b and the root of K/S.
    k, s = pigment(row, "k"), pigment(row, "s")
    a = 1.0 + k / s
    assert infinite_reflectance(k, s) == pytest.approx(a - np.sqrt(a * a - 1.0), abs=1e-10)
    assert absorption_ratio(infinite_reflectance(k, s)) == pytest.approx(k / s, rel=1e-10)
    assert film_reflectance(k, s, 1e7, 0.3) == pytest.approx(infinite_reflectance(k, s))


@pytest.mark.parametrize(
    ("opaque", "transparent"),
    [
        # Source: Curtis et al. 1997 name Indian red as opaque and quinacridone rose as
        # transparent; cadmiums are opaque and phthalocyanine, ultramarine and Hooker's green
        # transparent watercolours (common practice, no source).
        ("indian red", "quinacridone rose"),
        ("indian red", "brilliant orange"),
        ("cadmium yellow", "brilliant orange"),
        ("cadmium red", "quinacridone rose"),
        ("cerulean blue", "french ultramarine"),
        ("cerulean blue", "hooker's green"),
    ],
)
def test_opaque_pigments_look_more_alike_over_black_and_white(opaque, transparent):
    def lightest_over_black(name):
        row = PIGMENTS[name]
        return film_reflectance(pigment(row, "k"), pigment(row, "s"), 1.0, 0.0).max()

    def ratio(name):
        row = PIGMENTS[name]
        return contrast_ratio(pigment(row, "k"), pigment(row, "s"), 1.0, white=1.0).max()

    assert lightest_over_black(opaque) > 2.0 * lightest_over_black(transparent)
    assert ratio(opaque) > ratio(transparent)


def test_a_glaze_over_a_ground_is_a_layer_over_a_layer():
    # Source: Kubelka 1948 for layers, R = R1 + T1^2 R2 / (1 - R1 R2); Curtis et al. 1997 use it.
    for upper in PIGMENTS.values():
        for lower in PIGMENTS.values():
            substrate = film_reflectance(pigment(lower, "k"), pigment(lower, "s"), 1.0, 0.9)
            k, s = pigment(upper, "k"), pigment(upper, "s")
            own, passed = np.array([film(*pair, 1.0, 0.0) for pair in zip(k, s, strict=True)]).T
            expected = own + passed**2 * substrate / (1.0 - own * substrate)
            assert film_reflectance(k, s, 1.0, substrate) == pytest.approx(expected, abs=1e-12)


# --- extremes, against 60 digits -------------------------------------------------------


@pytest.mark.parametrize("absorption", [0.0, 1e-12, 1e-7, 1e-3, 0.3, 10.0, 1e6])
@pytest.mark.parametrize("scattering", [0.0, 1e-12, 1e-7, 1e-3, 0.3, 10.0, 1e6])
def test_extreme_films_agree_with_sixty_digits(absorption, scattering):
    for thickness in (0.0, 1e-12, 1e-3, 1.0, 50.0, 1e4, 1e9):
        for substrate in (0.0, 1e-9, 0.05, 0.5, 0.9, 1.0 - 1e-12, 1.0):
            reflected, _ = film(absorption, scattering, thickness, substrate)
            found = float(film_reflectance(absorption, scattering, thickness, substrate))
            assert found == pytest.approx(reflected, rel=1e-12, abs=1e-50)


@given(
    st.floats(-14, 8),
    st.floats(-14, 4),
    st.floats(-3, 9),
    st.sampled_from([0.0, 1e-6, 0.3, 0.9, 1.0]),
)
@laws
def test_films_of_any_size_agree_with_sixty_digits(log_k, log_s, log_x, substrate):
    k, s, x = 10.0**log_k, 10.0**log_s, 10.0**log_x
    # Relative too: the contrast ratio of nearly black films divides two of these.
    assert float(film_reflectance(k, s, x, substrate)) == pytest.approx(
        film(k, s, x, substrate)[0], rel=1e-12, abs=1e-50
    )


@pytest.mark.parametrize(
    ("absorption", "scattering", "reflected"),
    [
        (0.1, 0.0, 0.0),  # a filter too thick to see through
        (1e9, 0.0, 0.0),
        (1e9, 1e-200, 0.0),
        (0.0, 0.1, 1.0),  # scatters everything back
        (0.0, 0.0, 0.5),  # nothing in it: the ground is seen
        (0.5, 1.0, 0.381966),  # a - b with a = 1.5
    ],
)
def test_an_endless_film_is_finite(absorption, scattering, reflected):
    found = float(film_reflectance(absorption, scattering, math.inf, 0.5))
    assert found == pytest.approx(reflected, abs=1e-6)


def test_opaque_films_of_extreme_ratio_keep_their_digits():
    # a - b would lose every digit here; the series is S/2K for dark films (R = 1/(a + b)).
    assert float(infinite_reflectance(1.0, 1e-12)) == pytest.approx(0.5e-12, rel=1e-11)
    assert float(infinite_reflectance(1e300, 1e-300)) == 0.0
    assert float(infinite_reflectance(0.0, 1e-300)) == 1.0


def test_two_black_fields_cannot_be_told_apart():
    assert float(contrast_ratio(0.1, 0.0, 1e9)) == 1.0
    assert float(contrast_ratio(0.1, 0.0, 1.0)) == 0.0


# --- laws ------------------------------------------------------------------------------


@given(per_um, scatter, micrometres, share, share)
@laws
def test_one_film_split_anywhere_is_the_same_film(k, s, x, part, substrate):
    whole = film_reflectance(k, s, x, substrate)
    lower = film_reflectance(k, s, x * part, substrate)
    upper = film_reflectance(k, s, x * (1.0 - part), lower)
    assert float(upper) == pytest.approx(float(whole), abs=1e-9)


@given(per_um, scatter, st.floats(0.0, 200.0), per_um, scatter, st.floats(0.0, 200.0), share)
@laws
def test_two_coats_of_different_paint_are_layers_after_stokes(k1, s1, x1, k2, s2, x2, substrate):
    under = film_reflectance(k2, s2, x2, substrate)
    own, passed = film(k1, s1, x1, 0.0)
    expected = own + passed**2 * under / np.maximum(1.0 - own * under, 1e-300)
    if own * under < 1.0 - 1e-6:  # the quotient has digits left
        assert float(film_reflectance(k1, s1, x1, under)) == pytest.approx(
            float(expected), abs=1e-9
        )


@given(per_um, scatter, share)
@laws
def test_no_film_is_the_ground_and_an_endless_one_its_own_colour(k, s, substrate):
    assert float(film_reflectance(k, s, 0.0, substrate)) == pytest.approx(substrate, abs=1e-15)
    assert float(film_reflectance(k, s, math.inf, substrate)) == pytest.approx(
        float(infinite_reflectance(k, s)), abs=1e-12
    )


@given(st.floats(1e-3, 5.0), st.floats(1e-3, 5.0), share)
@laws
def test_very_thick_films_reach_their_own_colour(k, s, substrate):
    for x in (1e5, 1e9):
        assert float(film_reflectance(k, s, x, substrate)) == pytest.approx(
            float(infinite_reflectance(k, s)), abs=1e-9
        )


@given(per_um, st.floats(0.0, 5.0), st.floats(0.0, 1e9), share)
@laws
def test_light_is_never_made(k, s, x, substrate):
    own = float(film_reflectance(k, s, x, 0.0))
    # What comes back from a perfect mirror below is all that is not lost on the way.
    mirrored = float(film_reflectance(k, s, x, 1.0))
    over = float(film_reflectance(k, s, x, substrate))
    assert 0.0 <= own <= 1.0
    assert own - 1e-12 <= over <= mirrored + 1e-12 <= 1.0 + 1e-12


@given(st.floats(0.0, 3.0), st.floats(1e-3, 3.0), st.floats(1e-2, 200.0), st.floats(1.0, 3.0))
@laws
def test_more_film_scattering_or_absorption_never_lowers_the_contrast_ratio(k, s, x, factor):
    before = float(contrast_ratio(k, s, x))
    assert float(contrast_ratio(k, s, x * factor)) >= before - 1e-12
    assert float(contrast_ratio(k, s * factor, x)) >= before - 1e-12
    assert float(contrast_ratio(k * factor, s, x)) >= before - 1e-12


@given(share, st.floats(0.0, 0.2), st.floats(0.0, 0.9))
@laws
def test_surface_correction_round_trips(inside, k1, k2):
    seen = outside_reflectance(inside, k1, k2)
    assert 0.0 <= float(seen) <= 1.0 - k1 + 1e-15
    back = inside_reflectance(np.minimum(seen, 1.0 - k1), k1, k2)
    assert float(back) == pytest.approx(inside, abs=1e-12)


@given(st.floats(1e-6, 1.0))
@laws
def test_absorption_ratio_round_trips(r_infinity):
    # Near 1 the ratio is a square and half its digits go.
    back = float(infinite_reflectance(absorption_ratio(r_infinity), 1.0))
    assert back == pytest.approx(r_infinity, abs=1e-7)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: film_reflectance(-1.0, 1.0, 1.0, 0.5), "absorption"),
        (lambda: film_reflectance(1.0, math.nan, 1.0, 0.5), "scattering"),
        (lambda: film_reflectance(1.0, 1.0, [1.0, -2.0], 0.5), "thickness_um"),
        (lambda: film_reflectance(1.0, 1.0, 1.0, 1.2), "substrate"),
        (lambda: film_reflectance(1.0, 1.0, math.nan, 0.5), "thickness_um"),
        (lambda: infinite_reflectance(1.0, 0.0), "scattering"),
        (lambda: absorption_ratio(0.0), "r_infinity"),
        (lambda: outside_reflectance(1.5), "inside"),
        (lambda: inside_reflectance(0.97), "outside"),
    ],
)
def test_values_that_cannot_be_are_named(call, field):
    with pytest.raises(OutOfRangeError) as caught:
        call()
    assert [p.field for p in caught.value.problems] == [field]


def test_a_bad_value_in_an_array_is_named_with_its_place():
    with pytest.raises(OutOfRangeError, match=r"thickness_um: -2 at \[1\] must be at least 0"):
        film_reflectance(1.0, 1.0, [1.0, -2.0], 0.5)
