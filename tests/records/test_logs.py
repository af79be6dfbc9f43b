"""Own measurements: against the textbook's posterior, and against a grid of film and transfer."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from jobs.small_jobs import laws
from showthrough.records.learning.logs import LOG_SIGMA, laid_of, rate_of

logs = st.lists(st.floats(-0.7, 0.7), min_size=1, max_size=5)


@laws
@given(logs, st.floats(0.05, 0.6), st.floats(0.05, 0.4))
def test_a_rate_is_the_mean_weighed_by_what_each_side_knows(found, prior, job):
    # Normal mean with known variances: precisions add (any textbook on Bayesian statistics).
    weight, own = 1.0 / prior**2, len(found) / job**2
    rate = rate_of(found, prior, job)
    assert rate.jobs == len(found)
    assert rate.log_factor == pytest.approx(own * np.mean(found) / (weight + own))
    assert rate.sigma == pytest.approx((weight + own) ** -0.5)


def test_no_log_no_rate():
    assert rate_of([], 0.3, 0.2) is None
    assert laid_of([], [], 0.2, 0.2) is None


def on_grid(gauged, used, film_sigma, transfer_sigma):
    """Moments of film and transfer from a dense grid of both."""
    axis = np.linspace(-8.0, 8.0, 401)
    film, transfer = np.meshgrid(axis * film_sigma, axis * transfer_sigma, indexing="ij")
    log = norm(0, film_sigma).logpdf(film) + norm(0, transfer_sigma).logpdf(transfer)
    log += sum(norm(film, LOG_SIGMA).logpdf(x) for x in gauged)
    log += sum(norm(film - transfer, LOG_SIGMA).logpdf(x) for x in used)
    w = np.exp(log - log.max())
    w /= w.sum()
    f, t = (w * film).sum(), (w * transfer).sum()
    return f, t, (w * (film - f) ** 2).sum(), (w * (transfer - t) ** 2).sum(), (
        w * (film - f) * (transfer - t)
    ).sum()  # fmt: skip


@pytest.mark.parametrize(
    ("gauged", "used"), [([0.2], []), ([], [0.3, 0.1]), ([-0.1, 0.0], [0.4]), ([], [-0.5])]
)
def test_film_and_transfer_agree_with_a_grid_of_both(gauged, used):
    found = laid_of(gauged, used, 0.22, 0.18)
    assert found[1:] == pytest.approx(on_grid(gauged, used, 0.22, 0.18), abs=1e-6)


def test_paint_used_tells_of_film_over_transfer_and_a_gauge_tells_them_apart():
    used = laid_of([], [0.5] * 50, 0.22, 0.22)
    assert used.film - used.transfer == pytest.approx(0.5, abs=0.01)
    assert used.film == pytest.approx(0.25, abs=0.01)
    both = laid_of([0.0] * 50, [0.5] * 50, 0.22, 0.22)
    assert both.film == pytest.approx(0.0, abs=0.02)
    assert both.transfer == pytest.approx(-0.5, abs=0.04)


def test_a_transfer_that_is_stated_is_not_learned():
    found = laid_of([], [0.4] * 9, 0.22, 0.0)
    assert found.transfer == 0.0
    assert found.film == pytest.approx(rate_of([0.4] * 9, 0.22, LOG_SIGMA).log_factor)


def test_transfer_follows_where_counts_move_the_film():
    found = laid_of([], [0.4], 0.22, 0.22)
    still = found.transfer_given(found.film, found.film_var)
    assert still.log_factor == pytest.approx(found.transfer)
    assert still.sigma == pytest.approx(math.sqrt(found.transfer_var))
    # A film thicker than the logs alone say leaves more of what was used on the piece.
    assert found.transfer_given(found.film + 0.1, found.film_var).log_factor > found.transfer
