"""The chance of one outcome: against scipy's normal distribution, and as a distribution itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from jobs.small_jobs import laws
from records.painters_jobs import count
from showthrough.records.learning.likelihood import log_likelihood

# c(n) for an evenness of 0.25 by hand: n - 0.3204 sqrt(n).
BY_HAND = {1: 0.680, 2: 1.547, 3: 2.445, 4: 3.359, 5: 4.284}
EFFECTS = np.linspace(-2.0, 2.0, 41)


def chance(job, effect=EFFECTS):
    return np.exp(log_likelihood(job, np.asarray(effect, dtype=float)))


@pytest.mark.parametrize("n", [2, 3, 4, 5])
def test_enough_lies_between_what_one_coat_fewer_and_so_many_hold(n):
    low, high = (norm(math.log(2.5) + EFFECTS, math.log(1.15)).cdf(math.log(BY_HAND[k]))
                 for k in (n - 1, n))  # fmt: skip
    np.testing.assert_allclose(chance(count(n)), 0.95 * (high - low) + 0.05 / 13.0, atol=2e-3)


def test_one_coat_was_enough_has_no_lower_end():
    below = norm(math.log(2.5) + EFFECTS, math.log(1.15)).cdf(math.log(0.680))
    np.testing.assert_allclose(chance(count(1)), 0.95 * below + 0.05 / 13.0, atol=2e-3)


def test_gave_up_says_only_more_and_did_not_look_only_that_so_many_hold():
    held = norm(math.log(2.5) + EFFECTS, math.log(1.15)).cdf(math.log(3.359))
    up, blind = chance(count(4, "gave up")), chance(count(4, "did not look"))
    np.testing.assert_allclose(up, 0.95 * (1.0 - held) + 0.05 * 9.0 / 13.0, atol=2e-3)
    np.testing.assert_allclose(blind, 0.95 * held + 0.05 * 4.0 / 13.0, atol=2e-3)


@laws
@given(
    effect=st.floats(-3.0, 3.0),
    need=st.floats(0.2, 20.0),
    cv=st.floats(0.0, 0.6),
    lost=st.floats(0.0, 0.5),
    n=st.integers(1, 12),
)
def test_whatever_the_effect_the_counts_and_giving_up_make_up_all_there_is(
    effect, need, cv, lost, n
):
    def at(k, outcome="enough"):
        return float(chance(count(k, outcome, need=need, evenness_cv=cv, lost=lost), [effect])[0])

    assert math.fsum(at(k) for k in range(1, n + 1)) + at(n, "gave up") == pytest.approx(1.0)
    assert at(n, "did not look") + at(n, "gave up") == pytest.approx(1.0)


@laws
@given(n=st.integers(1, 12), need=st.floats(0.1, 50.0))
def test_no_entry_rules_anything_out(n, need):
    assert (chance(count(n, need=need), np.linspace(-9.0, 9.0, 19)) >= 0.05 / 13.0).all()


def test_what_was_unsure_in_that_job_alone_says_less():
    sure, unsure = chance(count(4)), chance(count(4, other_sigma=0.5))
    assert np.ptp(np.log(unsure)) < np.ptp(np.log(sure))


def test_a_thirsty_first_coat_leaves_less_film():
    thirsty, plain = (chance(count(3, "did not look", lost=x)) for x in (0.3, 0.0))
    assert (thirsty <= plain).all()
    open_ = (plain > 0.02) & (plain < 0.96)
    assert open_.any()
    assert (thirsty[open_] < plain[open_]).all()
