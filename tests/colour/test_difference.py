"""CIEDE2000 against the published pairs and against other programs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from reference.csv_table import rows
from showthrough.colour.difference import ciede2000

PAIRS = np.array([[float(v) for v in row.values()] for row in rows("ciede2000_pairs.csv")])

labs = st.tuples(st.floats(0.0, 100.0), st.floats(-120.0, 120.0), st.floats(-120.0, 120.0)).map(
    list
)


def random_pairs(n):
    """Pairs over the whole space, many close together, some exactly neutral."""
    draw = np.random.default_rng(20)
    one = draw.uniform([0.0, -110.0, -110.0], [100.0, 110.0, 110.0], (n, 3))
    near = one + draw.normal(0.0, 2.0, (n, 3))
    far = draw.uniform([0.0, -110.0, -110.0], [100.0, 110.0, 110.0], (n, 3))
    two = np.where(draw.random((n, 1)) < 0.5, near, far)
    one[: n // 10, 1:] = 0.0
    two[n // 20 : n // 8, 1:] = 0.0
    return one, two


def test_there_are_all_34_published_pairs():
    assert PAIRS.shape == (34, 7)


@pytest.mark.parametrize("pair", PAIRS, ids=range(1, 35))
def test_a_published_pair_has_its_published_difference(pair):
    # Source: Sharma, Wu, Dalal 2005, Table 1; four decimals are printed.
    assert ciede2000(pair[:3], pair[3:6]) == pytest.approx(pair[6], abs=5e-5)


def test_all_published_pairs_at_once_give_the_same_numbers():
    together = ciede2000(PAIRS[:, :3], PAIRS[:, 3:6])
    one_by_one = [float(ciede2000(p[:3], p[3:6])) for p in PAIRS]
    assert together.tolist() == one_by_one


def test_it_agrees_with_scikit_image_on_random_pairs_and_neutrals():
    # Source: scikit-image 0.26, skimage.color.deltaE_ciede2000.
    from skimage.color import deltaE_ciede2000

    one, two = random_pairs(4000)
    np.testing.assert_allclose(ciede2000(one, two), deltaE_ciede2000(one, two), atol=1e-9)


def test_it_broadcasts_one_colour_against_many():
    one, two = random_pairs(50)
    against = ciede2000(one[0], two)
    assert against.shape == (50,)
    assert against[7] == ciede2000(one[0], two[7])
    assert ciede2000(one[:, None], two[None, :4]).shape == (50, 4)


# Opposite hues, one of them next below 360 degrees: which is the upper one must not matter.
@example([0.0, 1.0, -1.5e-123], [0.0, -1.0, 0.0])
@given(labs, labs)
def test_it_is_symmetric(one, two):
    assert ciede2000(one, two) == pytest.approx(float(ciede2000(two, one)), abs=1e-9)


@given(labs)
def test_a_colour_differs_from_itself_by_nothing(lab):
    assert ciede2000(lab, lab) == 0.0


@given(labs, labs)
def test_it_is_never_negative_and_always_a_number(one, two):
    difference = float(ciede2000(one, two))
    assert np.isfinite(difference)
    assert difference >= 0.0


@given(st.floats(0.0, 99.0), st.floats(0.1, 1.0))
def test_a_pair_of_neutrals_differs_by_weighted_lightness_alone(lightness, step):
    # (50 - mean L*) weighting written out, ISO/CIE 11664-6.
    lift = (lightness + 0.5 * step - 50.0) ** 2
    expected = step / (1.0 + 0.015 * lift / np.sqrt(20.0 + lift))
    got = ciede2000([lightness, 0.0, 0.0], [lightness + step, 0.0, 0.0])
    assert got == pytest.approx(expected, rel=1e-9)
