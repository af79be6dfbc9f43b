"""Paint that suffices: arithmetic, and joint chances against random draws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reference.paint_draws import draw_ml
from showthrough.defaults import defaults_of
from showthrough.errors import InputError
from showthrough.film.coats import MOST_COATS
from showthrough.say.taken import taken_words
from showthrough.workshop.paint.quantity import (
    Amounts,
    Coating,
    PatchHiding,
    amounts_for_counts,
    amounts_to_hide,
)
from showthrough.workshop.paint.transfer import OPENNESS, TOOLS, TRANSFER_DEFAULTS

CUPBOARD = Coating(
    1.9,
    "hvlp",
    wet_film_um=45.0,
    volume_solids=0.38,
    session_loss_ml=0.0,
    area_spread=1.0,
    film_spread=1.25,
)
GROUND = (PatchHiding(43.0, 1.4),)
HALF_POINT = 0.005


# --- arithmetic ------------------------------------------------------------------------


def shares(counts):
    """The part of the drawn points that each count has."""
    found, points = np.unique(counts, return_counts=True)
    return dict(zip(found.tolist(), (points / counts.size).tolist(), strict=True))


def used_ml(coating, coats=1):
    """Paint for some coats where nothing varies and nothing stays in the tool."""
    sure = dict.fromkeys(("area_spread", "film_spread", "transfer_spread"), 1.0)
    amounts = amounts_for_counts(replace(coating, session_loss_ml=0.0, **sure), {coats: 1.0})
    assert np.ptp(amounts.paint_ml) == 0.0
    return amounts.ml_at(0.5)


def test_four_light_coats_on_the_piece_and_used():
    # Source: a litre over a square metre is 1000 µm (definition).
    assert used_ml(replace(CUPBOARD, transfer=1.0), 4) == pytest.approx(342.0)
    assert used_ml(CUPBOARD, 4) == pytest.approx(526.0, abs=0.5)
    chair = Coating(1.9, "hvlp", "chair or spindles", wet_film_um=45.0)
    assert used_ml(chair, 4) == pytest.approx(1368.0)


def test_a_gallon_over_feet_and_mils():
    # Source: gallons = ft2 x dry mil / (1604.17 x solids x transfer), by definition of the units.
    coating = Coating(300 * 0.3048**2, "hvlp", wet_film_um=2.0 / 0.4 * 25.4, transfer=0.65)
    gallons = 300 * 2.0 / (1604.17 * 0.4 * 0.65)
    assert used_ml(coating) / 3785.411784 == pytest.approx(gallons, rel=1e-5)


def test_an_aerosol_can_of_400_ml_does_two_square_metres_once():
    # Source: sellers' pages (secondary); 100 µm of can content, half of it on the piece.
    coating = Coating(2.0, "aerosol", "flat panel")
    assert used_ml(coating) == pytest.approx(400.0)
    assert coating.dry_film_thickness_um == pytest.approx(13.0)


def test_transfer_falls_from_flat_panels_to_spindles_and_is_a_part():
    # Common practice, no source.
    for tool in TOOLS:
        parts = [TRANSFER_DEFAULTS[tool, kind].part.value for kind in OPENNESS]
        assert parts == sorted(parts, reverse=True)
        assert 0.0 < parts[-1] <= parts[0] < 1.0
    rows = {
        "hvlp": (0.65, 0.50, 0.25),
        "conventional": (0.35, 0.25, 0.15),
        "aerosol": (0.50, 0.35, 0.20),
    }
    for tool, parts in rows.items():
        assert tuple(TRANSFER_DEFAULTS[tool, kind].part.value for kind in OPENNESS) == parts
    for tool in ("brush", "roller"):
        assert 0.90 <= TRANSFER_DEFAULTS[tool, "carcass"].part.value <= 0.97


def test_regulatory_figures_are_kept_for_comparison():
    # Source: 40 CFR 60.313 table 1, as repeated in Wis. Adm. Code NR 440.48.
    assert [row.value for row in defaults_of("regulatory transfer").values()] == [0.25, 0.60, 0.90]


def test_thinning_divides_solids_and_paint_alike():
    thinned = Coating(2.0, "hvlp", wet_film_um=60.0, volume_solids=0.44, thinning=0.1)
    assert thinned.dry_film_thickness_um == pytest.approx(60.0 * 0.44 / 1.1)
    drawn = amounts_for_counts(thinned, {2: 1.0})
    plain = amounts_for_counts(Coating(2.0, "hvlp", wet_film_um=60.0, volume_solids=0.44), {2: 1.0})
    assert np.allclose(drawn.paint_ml * 1.1, plain.paint_ml)
    assert np.allclose(drawn.thinner_ml, drawn.paint_ml * 0.1)
    assert drawn.thinner_at(0.5) == pytest.approx(drawn.ml_at(0.5) * 0.1)
    assert plain.thinner_at(0.9) == 0.0


def test_each_session_leaves_some_in_the_tool():
    # Common practice, no source: a brush keeps 15 ml, roller and tray 100 ml.
    for tool, lost in (("brush", 15.0), ("roller", 100.0), ("aerosol", 0.0)):
        with_loss = amounts_for_counts(Coating(1.0, tool), {3: 1.0})
        without = amounts_for_counts(Coating(1.0, tool, session_loss_ml=0.0), {3: 1.0})
        assert np.allclose(with_loss.paint_ml - without.paint_ml, 3 * lost)
    wet_on_wet = amounts_for_counts(Coating(1.0, "brush", coats_each_session=2), {3: 1.0})
    once = amounts_for_counts(Coating(1.0, "brush", session_loss_ml=0.0), {3: 1.0})
    assert np.allclose(wet_on_wet.paint_ml - once.paint_ml, 2 * 15.0)


# --- chances ---------------------------------------------------------------------------


def test_the_cupboard_suffices_as_often_as_reckoned():
    # Source: computed for the project by another program; area taken as sure.
    drawn = amounts_to_hide(CUPBOARD, GROUND, least_coats=1)
    for ml, chance in ((500.0, 0.563), (750.0, 0.916), (1000.0, 0.987)):
        assert drawn.chance(ml) == pytest.approx(chance, abs=HALF_POINT)
    assert drawn.chance(474.0) == pytest.approx(0.5, abs=HALF_POINT)
    assert drawn.chance(726.0) == pytest.approx(0.9, abs=HALF_POINT)
    assert drawn.ml_at(0.5) == pytest.approx(474.0, rel=HALF_POINT)
    assert drawn.ml_at(0.9) == pytest.approx(726.0, rel=HALF_POINT)
    # Independent draws of count and film would give this.
    assert abs(drawn.chance(750.0) - 0.855) > 0.05


CASES = [
    {"area": 1.9, "hiding": [(43.0, 1.4, 0.0)], "transfer": 0.65, "transfer_spread": 1.2},
    {"area": 0.6, "hiding": [(15.0, 1.2, 0.3), (12.0, 1.2, 0.0)], "least": 2, "session_ml": 45.0,
     "transfer": 0.25, "transfer_spread": 1.5, "thinning": 0.1},
    {"area": 4.0, "hiding": [(90.0, 1.6, 0.0)], "transfer": 0.95, "transfer_spread": 1.03,
     "area_spread": 1.08, "session_ml": 15.0},
    {"area": 2.0, "hiding": [(30.0, 1.0, 0.0)], "transfer": 0.9, "transfer_spread": 1.3,
     "area_spread": 1.2},
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=range(len(CASES)))
def test_chances_agree_with_random_draws_within_half_a_point(case):
    film = {"film": 45.0, "film_spread": 1.25, "solids": 0.38}
    ml, coats = draw_ml(np.random.default_rng(7), 400_000, **film, **case)
    coating = Coating(
        case["area"],
        "hvlp",
        wet_film_um=45.0,
        volume_solids=0.38,
        thinning=case.get("thinning", 0.0),
        transfer=case["transfer"],
        session_loss_ml=case.get("session_ml", 0.0),
        area_spread=case.get("area_spread", 1.0),
        film_spread=1.25,
        transfer_spread=case["transfer_spread"],
    )
    patches = tuple(PatchHiding(*row) for row in case["hiding"])
    drawn = amounts_to_hide(coating, patches, least_coats=case.get("least", 1))
    for level in (0.1, 0.25, 0.5, 0.75, 0.9, 0.95):
        at = float(np.quantile(ml, level, method="inverted_cdf"))
        if math.isfinite(at):
            assert drawn.chance(at) == pytest.approx(float(np.mean(ml <= at)), abs=HALF_POINT)
    for n, chance in shares(drawn.counts).items():
        assert chance == pytest.approx(float(np.mean(coats == n)), abs=HALF_POINT)


def test_readings_of_a_colour_are_mixed_in_equal_parts():
    both = amounts_to_hide(CUPBOARD, (PatchHiding(1.0, 1.3, films_um=(20.0, 70.0)),), least_coats=1)
    alone = [amounts_to_hide(CUPBOARD, (PatchHiding(f, 1.3),), least_coats=1) for f in (20.0, 70.0)]
    for ml in (150.0, 300.0, 600.0, 900.0):
        mean = (alone[0].chance(ml) + alone[1].chance(ml)) / 2
        assert both.chance(ml) == pytest.approx(mean, abs=0.01)


@given(st.floats(1.0, 200.0), st.floats(1.0, 2.0), st.floats(0.0, 5000.0), st.floats(0.0, 5000.0))
def test_more_paint_never_suffices_less_often(hiding, geometric_sd, ml, more):
    drawn = amounts_to_hide(CUPBOARD, (PatchHiding(hiding, geometric_sd),))
    assert 0.0 <= drawn.chance(ml) <= drawn.chance(ml + more) <= 1.0


@given(st.floats(0.01, 0.99))
def test_the_amount_at_a_chance_is_the_least_that_has_it(level):
    drawn = amounts_to_hide(CUPBOARD, GROUND)
    at = drawn.ml_at(level)
    assert drawn.chance(at) >= level - 1e-9
    assert drawn.chance(math.nextafter(at, 0.0)) < level


def test_where_no_film_hides_no_amount_suffices():
    drawn = amounts_to_hide(CUPBOARD, (PatchHiding(math.inf),))
    assert drawn.chance(1e9) == 0.0
    assert drawn.ml_at(0.5) is None
    assert drawn.thinner_at(0.5) == 0.0
    assert np.isinf(drawn.counts).all()
    thinned = amounts_to_hide(Coating(1.0, thinning=0.1), (PatchHiding(math.inf),))
    assert thinned.thinner_at(0.5) is None


def test_paint_of_one_coat_is_had_from_what_the_end_took():
    # By hand: 100 ml, 120 ml, 150 ml and 90 ml a coat; what no count ends is left out.
    ended = Amounts(
        np.array([200.0, 360.0, 150.0, math.inf, 180.0]),
        np.zeros(5),
        np.array([2.0, 3.0, 1.0, math.inf, 2.0]),
    )
    assert ended.coat_ml_at((0.1, 0.5, 0.6, 0.9, 1.0)) == (90.0, 120.0, 120.0, 150.0, 150.0)
    assert Amounts(*np.full((3, 2), math.inf)).coat_ml_at((0.5,)) is None


def test_what_takes_more_coats_than_are_counted_is_no_nearer_with_some_of_them_laid():
    # Law: the same points are out of reach, so the chance of an end is the same.
    far = (PatchHiding(300.0, 1.5),)
    none, some = (amounts_to_hide(CUPBOARD, far, laid=laid).counts for laid in (0, 3))
    within = none <= MOST_COATS
    assert 0.1 < within.mean() < 0.9
    assert (np.isfinite(some) == within).all()
    assert (some[within] == none[within] - 3.0).all()


def test_two_coats_are_laid_in_any_case_unless_one_is_asked_for():
    # Common practice, no source: two topcoats for a sound film.
    sure = (PatchHiding(0.0),)
    assert shares(amounts_to_hide(CUPBOARD, sure).counts) == {2: 1.0}
    assert shares(amounts_to_hide(CUPBOARD, sure, least_coats=1).counts) == {1: 1.0}


def test_given_counts_keep_their_chances():
    drawn = amounts_for_counts(CUPBOARD, {1: 0.25, 3: 0.5, 4: 0.25})
    assert shares(drawn.counts) == pytest.approx({1: 0.25, 3: 0.5, 4: 0.25}, abs=1e-3)
    assert drawn.mean_ml(4) == pytest.approx(drawn.mean_ml(1) * 4, rel=0.05)
    assert drawn.mean_ml(2) is None
    two = amounts_for_counts(CUPBOARD, {2: 0.75, 3: 0.25})
    assert shares(two.counts) == pytest.approx({2: 0.75, 3: 0.25}, abs=1e-3)
    assert shares(amounts_for_counts(CUPBOARD, {2: 1.0}).counts) == {2: 1.0}


def test_groups_that_share_a_product_add_up_point_by_point():
    one, two = (amounts_to_hide(Coating(a, "brush"), GROUND) for a in (1.0, 3.0))
    both = one + two
    assert np.allclose(both.paint_ml, one.paint_ml + two.paint_ml)
    assert both.ml_at(0.9) > one.ml_at(0.9) + 0.9 * two.ml_at(0.9)
    assert both.ml_at(0.5) == pytest.approx(one.ml_at(0.5) + two.ml_at(0.5), rel=0.02)


def test_defaults_are_told_and_what_is_stated_is_not():
    told = [taken_words(used) for used in Coating(1.0, "brush").used]
    assert any(line.startswith("Brush, paint that stays on the piece: 95%") for line in told)
    assert all("a default" in line for line in told)
    assert any("volume solids: 38%" in line for line in told)
    # A film that is stated varies less than one that only the tool tells.
    stated = Coating(1.0, "brush", wet_film_um=90.0)
    assert 1.0 < stated.value("film_spread") < Coating(1.0, "brush").value("film_spread")
    names = [used.name for used in CUPBOARD.used]
    assert names == ["hvlp: transfer", "hvlp: transfer spread"]


# --- what cannot be --------------------------------------------------------------------


def test_everything_wrong_with_a_coating_is_told_at_once():
    with pytest.raises(InputError) as caught:
        Coating(
            1e6,
            "mop",
            "cage",
            wet_film_um=0.0,
            volume_solids=38.0,
            thinning=3.0,
            transfer=0.0,
            session_loss_ml=-1.0,
            coats_each_session=0,
            area_spread=0.5,
            film_spread=math.nan,
        )
    found = {p.field: p.message for p in caught.value.problems}
    assert set(found) == {
        "area_m2", "tool", "openness", "wet_film_um", "volume_solids", "thinning", "transfer",
        "session_loss_ml", "coats_each_session", "area_spread", "film_spread",
    }  # fmt: skip
    assert "from 0 to 1 parts" in found["thinning"]


def test_patches_and_counts_out_of_range_are_refused():
    with pytest.raises(InputError, match="at least one patch"):
        amounts_to_hide(CUPBOARD, ())
    with pytest.raises(InputError) as caught:
        PatchHiding(-1.0, 0.5, 2.0, (math.nan,))
    assert {p.field for p in caught.value.problems} == {
        "hiding_um",
        "films_um",
        "geometric_sd",
        "lost",
    }
    for counts in ({}, {0: 1.0}, {1: 0.5}, {MOST_COATS + 1: 1.0}, {1: -0.5, 2: 1.5}, {1.5: 1.0}):
        with pytest.raises(InputError):
            amounts_for_counts(CUPBOARD, counts)
