"""The relative score: how much better a pair does than most pairs of that partner."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reference import make_reference_topcoats, ou_luo
from showthrough.errors import OutOfRangeError
from showthrough.palette.relative import (
    advantage_table,
    checked_lab,
    reference_topcoats,
    relative_scores,
)

BRASS, BLACK = (71.4, -1.3, 29.9), (25.0, 0.0, 0.0)
COLOUR = st.tuples(st.floats(0, 100), st.floats(-60, 60), st.floats(-60, 60))


def test_shipped_colours_are_what_their_script_makes():
    file = resources.files("showthrough.palette") / "data" / "reference_topcoats.csv"
    assert file.read_text("utf-8").splitlines() == make_reference_topcoats.lines()


def test_most_colours_means_all_hues_and_lightnesses():
    lab = reference_topcoats()
    hue = np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) % 360
    assert len(lab) > 200
    coloured = np.hypot(lab[:, 1], lab[:, 2]) > 5
    assert (np.histogram(hue[coloured], bins=6, range=(0, 360))[0] > 20).all()
    assert lab[:, 0].min() <= 20
    assert lab[:, 0].max() >= 92


@given(COLOUR)
def test_a_literal_second_reckoning_agrees(paint):
    """Median and count over the grid with plain loops and the literal harmony."""
    scores = relative_scores(paint, [BRASS, BLACK])
    for i, partner in enumerate((BRASS, BLACK)):
        own = ou_luo.harmony(paint, partner)[0]
        others = sorted(ou_luo.harmony(other, partner)[0] for other in reference_topcoats())
        n = len(others)
        median = 0.5 * (others[(n - 1) // 2] + others[n // 2])
        assert scores.harmony[i] == pytest.approx(own, abs=1e-6)
        assert scores.advantage[i] == pytest.approx(own - median, abs=1e-6)
        least = sum(o < own - 1e-6 for o in others)
        most = sum(o < own + 1e-6 for o in others)
        assert 100 * least / n - 1e-9 <= scores.beats[i] <= 100 * most / n + 1e-9


def test_over_the_grid_itself_half_the_colours_gain():
    _, advantage = advantage_table(reference_topcoats(), [BRASS, BLACK])
    assert np.median(advantage, axis=0) == pytest.approx([0, 0], abs=1e-12)


def test_table_holds_what_single_scores_hold():
    raw, advantage = advantage_table([(50, 10, 10), (80, 0, 0)], [BRASS, BLACK])
    single = relative_scores((80, 0, 0), [BRASS, BLACK])
    assert raw[1] == pytest.approx(single.harmony)
    assert advantage[1] == pytest.approx(single.advantage)
    assert single.lightness_step == pytest.approx([71.4 - 80, 25 - 80])


@pytest.mark.parametrize(
    ("lab", "says"),
    [
        ((50, float("nan"), 0), "three finite numbers"),
        ((50, float("inf"), 0), "three finite numbers"),
        ((50, 0), "three finite numbers"),
        ((-1, 0, 0), "between 0 and 100"),
        ((101, 0, 0), "between 0 and 100"),
    ],
)
def test_what_is_no_colour_is_named(lab, says):
    with pytest.raises(OutOfRangeError, match=says) as caught:
        relative_scores(lab, [BRASS])
    assert caught.value.problems[0].field == "topcoat"


def test_a_bad_partner_is_named_too():
    with pytest.raises(OutOfRangeError, match="between 0 and 100") as caught:
        checked_lab("partners", [BRASS, (120, 0, 0)], axes=2)
    assert caught.value.problems[0].field == "partners"
    assert "120" in caught.value.problems[0].value
