"""The two-colour harmony model against published constants, worked pairs and itself."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reference import ou_luo
from showthrough.colour.space import srgb_to_lab
from showthrough.palette import harmony as model
from showthrough.palette.harmony import HarmonyColours, harmony, harmony_of

# Source: Ou, Luo 2006, Color Res. Appl. 31(3) 191-204, worked from its equations
# outside this project and printed to five decimals. Columns: two colours, dH*ab,
# dC of the model, HC, HLsum, HdL, HH, CH.
WORKED = [
    ((95, 0, 0), (30, 0, 0), 0, 0, 0.39194, 0.14521, 0.29000, -0.00925, 0.81789),
    ((50, 0, 0), (50, 0, 0), 0, 0, 0.39194, -0.12666, -0.00460, -0.00925, 0.25143),
    ((90, 0, 20), (35, 5, -30), 49.1584, 49.6732, -0.43316, 0.14521, 0.29, 0.21488, 0.21693),
    ((70, -20, 10), (40, 30, 20), 49.1167, 50.0044, -0.43474, -0.04291, 0.2899, -0.31194, -0.49969),
    ((80, 5, 60), (40, 20, -50), 110.8359, 110.9214, -0.48976, 0.07483, 0.29, 0.05932, -0.06561),
    (
        *((50, 60, 40), (50, -50, 30), 109.5879, 109.9949),
        *(-0.48974, -0.12666, -0.0046, -0.31384, -0.93484),
    ),
    (
        *((85, -2, 12), (90.8, -2.5, 28.6), 1.4565, 11.4244),
        *(0.18753, 0.73313, 0.03713, 0.21640, 1.17418),
    ),
]

COLOUR = st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))


@pytest.mark.parametrize("row", WORKED)
def test_worked_pairs_are_met_to_the_last_printed_figure(row):
    lab_1, lab_2, _, _, chromatic, light_sum, light_gap, hue, total = row
    terms = harmony(lab_1, lab_2)
    assert terms.chromatic == pytest.approx(chromatic, abs=6e-6)
    assert terms.lightness_sum == pytest.approx(light_sum, abs=6e-6)
    assert terms.lightness_difference == pytest.approx(light_gap, abs=6e-6)
    assert terms.lightness_sum + terms.lightness_difference == pytest.approx(
        light_sum + light_gap, abs=1.2e-5
    )
    assert terms.hue == pytest.approx(hue, abs=6e-6)
    assert terms.total == pytest.approx(total, abs=6e-6)


@pytest.mark.parametrize("row", WORKED)
def test_chromatic_difference_uses_the_metric_hue_difference(row):
    """dH*ab, not the hue angle in degrees, a mistake that public copies make."""
    lab_1, lab_2, hue_difference, difference, *_ = row
    chroma_gap = np.hypot(*lab_1[1:]) - np.hypot(*lab_2[1:])
    found = model.chromatic_difference(hue_difference**2, chroma_gap)
    assert found == pytest.approx(difference, abs=1e-4)


def test_range_over_a_grid_of_screen_colours_is_the_one_worked_outside():
    """-1.217 to +1.464 over all pairs of a 9-level sRGB grid, worked outside this project.

    A secondary text gives -1.24 to +1.39, so nothing may be clamped at 1.39.
    """
    levels = np.linspace(0.0, 1.0, 9)
    grid = np.stack(np.meshgrid(levels, levels, levels), axis=-1).reshape(-1, 3)
    colours = HarmonyColours.from_lab(srgb_to_lab(grid))
    total = harmony_of(colours[:, None], colours[None]).total
    assert total.min() == pytest.approx(-1.217, abs=1e-3)
    assert total.max() == pytest.approx(1.464, abs=1e-3)


@given(COLOUR, COLOUR)
def test_order_of_the_two_colours_does_not_matter(lab_1, lab_2):
    there, back = harmony(lab_1, lab_2), harmony(lab_2, lab_1)
    assert there.total == pytest.approx(float(back.total), abs=1e-12)
    assert there.chromatic == pytest.approx(float(back.chromatic), abs=1e-12)


@given(COLOUR, COLOUR)
def test_the_literal_second_implementation_agrees(lab_1, lab_2):
    terms = harmony(lab_1, lab_2)
    expected = ou_luo.harmony(lab_1, lab_2)
    found = (
        terms.total,
        terms.chromatic,
        terms.lightness_sum,
        terms.lightness_difference,
        terms.hue,
    )
    assert [float(x) for x in found] == pytest.approx(list(expected), abs=1e-6)


@given(COLOUR, COLOUR)
def test_terms_add_up_and_stay_within_their_bounds(lab_1, lab_2):
    """Bounds follow from tanh between -1 and 1."""
    terms = harmony(lab_1, lab_2)
    assert terms.total == pytest.approx(float(sum(terms[1:])))
    assert -0.49 <= terms.chromatic <= 0.392
    assert -0.26 <= terms.lightness_sum <= 0.82
    assert -0.01 <= terms.lightness_difference <= 0.29


def test_tables_broadcast_like_single_pairs():
    rng = np.random.default_rng(3)
    tops = rng.uniform([0, -60, -60], [100, 60, 60], (7, 3))
    others = rng.uniform([0, -60, -60], [100, 60, 60], (5, 3))
    table = harmony(tops[:, None], others[None]).total
    assert table.shape == (7, 5)
    assert table[3, 2] == pytest.approx(float(harmony(tops[3], others[2]).total), abs=1e-12)
    ready = harmony_of(
        HarmonyColours.from_lab(tops)[:, None], HarmonyColours.from_lab(others)[None]
    )
    assert np.array_equal(ready.total, table)


def test_a_different_hue_lowers_harmony_at_equal_lightness_and_chroma():
    """The model always penalises chromatic difference."""
    hues = np.radians(np.arange(0.0, 181.0, 15.0))
    turned = np.stack([np.full_like(hues, 60.0), 30 * np.cos(hues), 30 * np.sin(hues)], axis=-1)
    assert (np.diff(harmony([60, 30, 0], turned).chromatic) < 0).all()
