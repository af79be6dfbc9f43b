"""Coats from film: constants of the trade, the closed count, and chances against sampling."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showthrough.errors import InputError
from showthrough.film.coats import (
    ADVISED_LEAST_COATS,
    EVENNESS_CV,
    MOST_COATS,
    THIN_SPOT_Z,
    USUAL_COAT,
    WET_FILM_THICKNESS_UM,
    FilmBuild,
    PatchNeed,
    chance_enough,
    coats_needed,
    even_order,
    joint_geometric_sd,
    likely_coats,
    mean_coats,
    normal_cdf,
    outlook_of,
    thin_spot_coats,
    wet_film_from_use,
)

FT2_M2 = 0.3048**2
US_GALLON_ML = 3785.411784
IMPERIAL_GALLON_ML = 4546.09
US_QUART_ML = US_GALLON_ML / 4.0
MIL_UM = 25.4

laws = settings(deadline=None, max_examples=300)
needs = st.floats(0.0, 60.0)
losses = st.floats(0.0, 0.9)
evenness = st.floats(0.0, 0.5)


# --- film arithmetic -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("volume_ml", "area_m2", "wet_um"),
    [
        # Source: definitions of the gallon, the foot and the mil; 1604.17 = 231 / 144 x 1000.
        (US_GALLON_ML, 1604.1667 * FT2_M2, 1.0 * MIL_UM),
        (IMPERIAL_GALLON_ML, 1926.52 * FT2_M2, 1.0 * MIL_UM),
        (US_QUART_ML, 401.04 * FT2_M2, 1.0 * MIL_UM),
        (1000.0, 10.0, 100.0),
        (1000.0, 20.0, 50.0),  # ISO 6504-3:2006: 20 m2/L is 50 um wet
        # Label coverage to wet film, by the same arithmetic.
        (US_GALLON_ML, 400.0 * FT2_M2, 101.9),
        (US_GALLON_ML, 250.0 * FT2_M2, 6.42 * MIL_UM),
        (US_GALLON_ML, 300.0 * FT2_M2, 5.35 * MIL_UM),
        (US_GALLON_ML, 350.0 * FT2_M2, 4.58 * MIL_UM),
        (US_GALLON_ML, 400.0 * FT2_M2, 4.01 * MIL_UM),
        (US_GALLON_ML, 450.0 * FT2_M2, 3.56 * MIL_UM),
        (US_GALLON_ML, 500.0 * FT2_M2, 3.21 * MIL_UM),
        (1000.0, 8.0, 125.0),
        (1000.0, 12.0, 83.3),
        (1000.0, 14.0, 71.4),
        (1000.0, 16.0, 62.5),
    ],
)
def test_wet_film_from_spreading_rate(volume_ml, area_m2, wet_um):
    found = wet_film_from_use(volume_ml, area_m2, coats=1, transfer_efficiency=1.0)
    assert found == pytest.approx(wet_um, rel=1.5e-3)


def test_a_gallon_at_a_mil_covers_1604_17_square_feet_exactly():
    found = wet_film_from_use(US_GALLON_ML, 231.0 / 144.0 * 1000.0 * FT2_M2, 1, 1.0)
    assert found == pytest.approx(MIL_UM, rel=1e-12)


def test_solids_of_65_per_cent_at_125_um_dry_spread_5_2_m2_per_litre():
    # Source: m2/L = 1000 VS / DFT, worked example in a coatings text.
    wet = wet_film_from_use(1000.0, 5.2, 1, 1.0)
    assert FilmBuild(wet, 0.65, 1.15).dry_film_thickness_um == pytest.approx(125.0, rel=1e-12)


def test_spraying_at_30_per_cent_transfer_covers_167_square_feet():
    # Source: worked example in a coatings question and answer page: 1 US gallon of 52 % solids
    # at 30 % transfer makes 1.5 mil dry on 167 square feet.
    wet = wet_film_from_use(US_GALLON_ML, 167.0 * FT2_M2, 1, 0.30)
    assert FilmBuild(wet, 0.52, 1.15).dry_film_thickness_um == pytest.approx(1.5 * MIL_UM, rel=2e-3)


def test_a_small_chest_takes_about_a_half_litre_can_in_four_light_coats():
    # Common practice, no source: 1.9 m2, four sprayed coats of 45 um wet at 65 % transfer.
    found = wet_film_from_use(500.0, 1.9, coats=4, transfer_efficiency=0.65)
    assert found == pytest.approx(45.0, rel=0.06)


@given(st.floats(1.0, 1e4), st.floats(0.01, 100.0), st.integers(1, 12), st.floats(0.1, 1.0))
@laws
def test_paint_is_neither_made_nor_lost(volume_ml, area_m2, coats, transfer):
    wet = wet_film_from_use(volume_ml, area_m2, coats, transfer)
    assert wet * area_m2 * coats == pytest.approx(volume_ml * transfer, rel=1e-12)


def test_paint_used_names_all_problems_at_once():
    with pytest.raises(InputError) as caught:
        wet_film_from_use(-1.0, 0.0, 0, math.nan)
    assert [p.field for p in caught.value.problems] == [
        "volume_ml",
        "area_m2",
        "coats",
        "transfer_efficiency",
    ]


def test_every_tool_has_a_film_and_a_usual_coat():
    assert {tool for tool, _ in WET_FILM_THICKNESS_UM} == set(USUAL_COAT)
    for tool in USUAL_COAT:
        assert 0.0 < WET_FILM_THICKNESS_UM[tool, "light"] < WET_FILM_THICKNESS_UM[tool, "full"]
    # Common practice, no source: the films that the usual coats start from.
    assert WET_FILM_THICKNESS_UM["brush", "full"] == 90.0
    assert WET_FILM_THICKNESS_UM["roller", "full"] == 60.0
    assert WET_FILM_THICKNESS_UM["spray", "light"] == 45.0
    # What leaves the can holds about 13 % solids: 13 µm dry, as 34 µm of brushed paint leave.
    assert WET_FILM_THICKNESS_UM["aerosol", "light"] == 100.0
    assert ADVISED_LEAST_COATS == 2


def test_independent_spreads_join_as_the_root_of_squares_of_their_logarithms():
    # Source: variance of a sum of independent normals.
    assert joint_geometric_sd(1.4) == pytest.approx(1.4)
    assert joint_geometric_sd(1.4, 1.25) == pytest.approx(
        math.exp(math.hypot(math.log(1.4), math.log(1.25)))
    )
    assert joint_geometric_sd() == 1.0


# --- counts ----------------------------------------------------------------------------


def literal_count(need, lost, cv):
    """Coats one by one until the thin spots hold the hiding film."""
    n = 1
    while n - lost - THIN_SPOT_Z * cv * math.sqrt(n) < need - 1e-9:
        n += 1
    return n


@given(needs, losses, evenness)
@laws
def test_the_closed_count_is_the_one_by_one_count(need, lost, cv):
    assert float(coats_needed(need, lost, cv)) == literal_count(need, lost, cv)


@pytest.mark.parametrize("n", range(1, 13))
def test_a_count_that_is_met_exactly_is_enough(n):
    need = float(thin_spot_coats(n))
    assert float(coats_needed(need)) == n
    assert float(coats_needed(need * (1.0 + 1e-6))) == n + 1


def test_the_thin_spot_is_the_tenth_percentile_of_the_normal():
    # Source: tables of the normal distribution, z = 1.2816 for 10 %.
    assert normal_cdf(-THIN_SPOT_Z) == pytest.approx(0.10, abs=1e-5)
    assert normal_cdf(0.0) == 0.5
    assert normal_cdf(1.959964) == pytest.approx(0.975, abs=1e-7)


def test_a_ground_that_shows_through_for_ever_takes_no_count():
    assert math.isinf(float(coats_needed(math.inf)))


def test_a_ground_of_the_right_colour_takes_one_coat():
    assert float(coats_needed(0.0)) == 1.0


@given(needs, st.floats(1.0, 5.0), losses, evenness)
@laws
def test_more_film_never_needs_more_coats(need, more, lost, cv):
    assert float(coats_needed(need / more, lost, cv)) <= float(coats_needed(need, lost, cv))


@given(needs, losses, losses, evenness)
@laws
def test_a_thirstier_patch_never_needs_fewer_coats(need, lost, other, cv):
    low, high = sorted((lost, other))
    assert float(coats_needed(need, low, cv)) <= float(coats_needed(need, high, cv))


@given(needs, losses, evenness, evenness)
@laws
def test_an_evener_hand_never_needs_more_coats(need, lost, cv, other):
    low, high = sorted((cv, other))
    assert float(coats_needed(need, lost, low)) <= float(coats_needed(need, lost, high))


@given(st.lists(needs, min_size=1, max_size=20))
@laws
def test_counts_of_many_are_the_counts_of_each(many):
    assert coats_needed(np.array(many)).tolist() == [float(coats_needed(n)) for n in many]


def test_films_of_no_coats_are_nothing():
    assert float(thin_spot_coats(0)) == 0.0
    assert float(mean_coats(0, 0.3, 0.05)) == 0.0


def test_the_mean_film_loses_to_sanding_between_coats_but_not_after_the_last():
    assert mean_coats([1, 2, 4], 0.0, 0.05) == pytest.approx([1.0, 1.95, 3.85])
    assert mean_coats([1, 2], 0.3, 0.05) == pytest.approx([0.7, 1.65])


# --- chances ---------------------------------------------------------------------------

patches = st.builds(
    PatchNeed,
    hiding_film_um=st.one_of(st.floats(0.0, 400.0), st.just(math.inf)),
    sigma_ln=st.floats(0.0, 0.8),
    lost=losses,
)


@given(st.lists(patches, min_size=1, max_size=3), st.floats(2.0, 60.0), evenness)
@laws
def test_the_chance_that_n_coats_are_enough_never_falls_with_n(many, dry, cv):
    chances = [chance_enough(tuple(many), dry, n, cv) for n in range(1, 13)]
    assert all(0.0 <= chance <= 1.0 for chance in chances)
    assert all(b >= a for a, b in pairwise(chances))


@given(st.lists(patches, min_size=1, max_size=3), st.floats(2.0, 60.0), st.floats(1.0, 3.0))
@laws
def test_more_film_never_lowers_the_chance(many, dry, more):
    for n in (1, 3, 8):
        less = chance_enough(tuple(many), dry, n, EVENNESS_CV)
        assert chance_enough(tuple(many), dry * more, n, EVENNESS_CV) >= less - 1e-12


@given(patches, st.floats(5.0, 60.0), st.floats(1.01, 1.5))
@laws
def test_the_likely_count_is_the_closed_count(patch, wet, geometric_sd):
    build = FilmBuild(wet, 0.38, geometric_sd)
    outlook = outlook_of((patch,), build)
    closed = float(coats_needed(patch.hiding_film_um / build.dry_film_thickness_um, patch.lost))
    if patch.hiding_film_um == 0.0:  # nothing to hide, however thirsty the patch
        closed = 1.0
    assert outlook.first(0.5) == (closed if closed <= MOST_COATS else None)


@given(patches, st.floats(5.0, 60.0), st.floats(1.01, 1.5))
@laws
def test_counts_lie_in_order_and_each_is_the_first_with_its_chance(patch, wet, geometric_sd):
    outlook = outlook_of((patch,), FilmBuild(wet, 0.38, geometric_sd))
    assert len(outlook.enough) == MOST_COATS
    assert list(outlook.enough) == sorted(outlook.enough)
    found = [outlook.first(level) or 99 for level in (0.1, 0.5, 0.9, 0.99)]
    assert found == sorted(found)
    for level, first in zip((0.1, 0.5, 0.9, 0.99), found, strict=True):
        assert sum(chance < level - 1e-12 for chance in outlook.enough) == min(
            first - 1, MOST_COATS
        )


def test_the_patch_that_needs_most_rules():
    easy, hard = PatchNeed(20.0, 0.4), PatchNeed(60.0, 0.4)
    for n in range(1, 8):
        alone = chance_enough((hard,), 17.1, n, EVENNESS_CV)
        assert chance_enough((easy, hard), 17.1, n, EVENNESS_CV) == alone
        assert chance_enough((hard, easy), 17.1, n, EVENNESS_CV) == alone


def test_chances_are_the_mean_over_the_readings_of_the_patch_that_needs_most_in_each():
    one = PatchNeed(20.0, 0.4, films_um=(10.0, 40.0, 0.0, math.inf))
    two = PatchNeed(20.0, 0.4, films_um=(30.0, 5.0, 20.0, 1.0))
    sure = PatchNeed(25.0, 0.4)
    for n in range(1, 8):
        each = [
            chance_enough((PatchNeed(film, 0.4),), 17.1, n, EVENNESS_CV)
            for film in (30.0, 40.0, 25.0, math.inf)
        ]
        found = chance_enough((one, two, sure), 17.1, n, EVENNESS_CV)
        assert found == pytest.approx(sum(each) / 4.0, abs=1e-12)


def test_the_likely_count_of_unsure_readings_is_the_first_with_an_even_chance():
    need = PatchNeed(20.0, 0.4, films_um=(10.0, 60.0, 70.0))
    build = FilmBuild(45.0, 0.38, 1.2)
    assert likely_coats((need,), build) == outlook_of((need,), build).first(0.5)
    assert likely_coats((need,), build) > likely_coats((PatchNeed(20.0, 0.4),), build)


@pytest.mark.parametrize(
    ("likely", "even", "patches", "order"),
    [
        (3, None, 1, "alone"),
        (3, None, 2, "never"),
        (None, None, 2, "never"),
        (3, 2, 2, "before"),
        (None, 9, 2, "before"),
        (3, 3, 2, "together"),
        (3, 5, 2, "after"),
    ],
)
def test_evenness_may_come_before_or_after_the_full_colour(likely, even, patches, order):
    assert even_order(likely, even, patches) == order


def thin_spots(rng, n, worlds, points, draw):
    """10th percentile over the points of a piece of the film of n coats, in mean coats."""
    made = np.zeros((worlds, points))
    for _ in range(n):
        made += draw(rng, (worlds, points))
    return np.quantile(made, 0.10, axis=1)


def even_coat(rng, shape):
    """A coat of mean 1 whose thickness varies as a normal."""
    return rng.normal(1.0, EVENNESS_CV, shape)


def skewed_coat(rng, shape):
    """A coat of mean 1 and the same variation that cannot be negative: log-normal."""
    sigma = math.sqrt(math.log(1.0 + EVENNESS_CV**2))
    return rng.lognormal(-0.5 * sigma * sigma, sigma, shape)


WORLDS, POINTS = 4000, 400
DRY_UM, HIDING_FILM_UM = 17.1, 43.0
HIDING_GEOMETRIC_SD, FILM_GEOMETRIC_SD = 1.4, 1.25


def sampled_chance(rng, n, lost, draw):
    """Share of sampled painters and paints whose thin spots of n coats hold the hiding film."""
    film = thin_spots(rng, n, WORLDS, POINTS, draw) - lost
    film = film * DRY_UM * np.exp(rng.normal(0.0, math.log(FILM_GEOMETRIC_SD), WORLDS))
    need = HIDING_FILM_UM * np.exp(rng.normal(0.0, math.log(HIDING_GEOMETRIC_SD), WORLDS))
    return float((film >= need).mean())


@pytest.mark.parametrize("lost", [0.0, 0.3])
@pytest.mark.parametrize("n", [1, 2, 3, 4, 6, 9])
def test_the_chance_agrees_with_sampled_coats(n, lost):
    # Sampling error of a share is at most 0.5/sqrt(4000) = 0.008; four of it are allowed. The
    # percentile over 400 points adds less: its own error averages out over the worlds.
    rng = np.random.default_rng(20_000 + n)
    sigma_ln = math.log(joint_geometric_sd(HIDING_GEOMETRIC_SD, FILM_GEOMETRIC_SD))
    closed = chance_enough((PatchNeed(HIDING_FILM_UM, sigma_ln, lost),), DRY_UM, n, EVENNESS_CV)
    assert sampled_chance(rng, n, lost, even_coat) == pytest.approx(closed, abs=0.032)


@pytest.mark.parametrize("n", [1, 2, 3, 4, 6, 9])
def test_the_chance_holds_for_coats_that_cannot_be_negative(n):
    # A log-normal coat's 10th percentile is 0.709 of the mean, a normal one's 0.680: 4 % of one
    # coat's film, and falling with the root of n. 4 % of film is at most 0.04/0.405 x 0.40 = 0.04
    # in the chance, beside the sampling error.
    rng = np.random.default_rng(30_000 + n)
    sigma_ln = math.log(joint_geometric_sd(HIDING_GEOMETRIC_SD, FILM_GEOMETRIC_SD))
    closed = chance_enough((PatchNeed(HIDING_FILM_UM, sigma_ln),), DRY_UM, n, EVENNESS_CV)
    assert sampled_chance(rng, n, 0.0, skewed_coat) == pytest.approx(
        closed, abs=0.032 + 0.04 / math.sqrt(n)
    )


def test_thin_spots_of_a_coat_that_cannot_be_negative_are_within_four_and_a_half_per_cent():
    rng = np.random.default_rng(7)
    for n in (1, 2, 4, 9):
        film = thin_spots(rng, n, 200, 4000, skewed_coat).mean()
        assert film == pytest.approx(float(thin_spot_coats(n)), rel=0.045)
