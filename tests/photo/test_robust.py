"""The robust regression against SciPy's general minimiser, plain least squares and the truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.sparse import csr_array

from showthrough.photo.robust import cauchy_squared, huber, robust_fit

TRUTH = np.array([0.3, -0.7, 1.1])
FREE = np.full(3, 1e4)


def heard(size, _turn):
    return huber(size, 1.5)


def plainly(size, _turn):
    return np.ones_like(size)


def spoilt(share, seed=5, n=400):
    """A noisy plane of which a share of the points is lifted far above it."""
    rng = np.random.default_rng(seed)
    design = np.column_stack([np.ones(n), rng.uniform(-1.0, 1.0, (n, 2))])
    target = design @ TRUTH + rng.normal(0.0, 0.02, n)
    target[: int(share * n)] += rng.uniform(0.5, 3.0, int(share * n))
    return design, target


@pytest.mark.parametrize("weigh", [heard, cauchy_squared])
def test_what_lies_far_out_hardly_bends_the_fit(weigh):
    design, target = spoilt(0.2)
    found = robust_fit(design, target, FREE, weigh, 20, least=1e-4)
    plain = np.linalg.lstsq(design, target, rcond=None)[0]
    assert np.abs(found.answer - TRUTH).max() < 0.02, "less than the noise of one point"
    assert np.abs(plain - TRUTH).max() > 0.1
    assert found.spread == pytest.approx(0.02, rel=0.5)


def test_hubers_weights_end_where_the_least_of_hubers_loss_is():
    design, target = spoilt(0.2)
    found = robust_fit(design, target, FREE, heard, 60, least=1e-4)
    # scipy.optimize.least_squares with the same loss at the spread that was found.
    other = least_squares(
        lambda x: design @ x - target, TRUTH, loss="huber", f_scale=1.5 * found.spread, xtol=1e-12
    )
    np.testing.assert_allclose(found.answer, other.x, atol=1e-5)


def test_a_prior_holds_as_rows_of_its_own_would():
    design, target = spoilt(0.0, n=12)
    prior = np.array([0.1, 0.2, 0.05])
    found = robust_fit(design, target, prior, plainly, 1, spread=0.3)
    rows = np.vstack([design / 0.3, np.diag(1.0 / prior)])
    answer = np.linalg.lstsq(rows, np.concatenate([target / 0.3, np.zeros(3)]), rcond=None)[0]
    np.testing.assert_allclose(found.answer, answer, rtol=1e-9)
    np.testing.assert_allclose(found.covariance, np.linalg.inv(rows.T @ rows), rtol=1e-9)


def test_noise_of_each_row_counts():
    design, target = spoilt(0.2)
    noise = np.where(np.arange(target.size) < 80, 50.0, 0.02)
    plain = robust_fit(design, target, FREE, plainly, 3, noise=noise, least=1.0)
    assert np.abs(plain.answer - TRUTH).max() < 0.01


def test_sparse_rows_give_what_dense_ones_give():
    design, target = spoilt(0.2)
    dense, sparse = (
        robust_fit(rows, target, FREE, heard, 8) for rows in (design, csr_array(design))
    )
    np.testing.assert_allclose(sparse.answer, dense.answer, rtol=1e-9)
    np.testing.assert_allclose(sparse.covariance, dense.covariance, rtol=1e-9)


def test_levels_of_kinds_are_as_free_as_columns_for_each():
    design, target = spoilt(0.1)
    kind = np.random.default_rng(6).integers(0, 4, target.size)
    target = target + np.array([0.0, 5.0, -2.0, 1.0])[kind]
    levels = (kind[:, None] == np.arange(4)).astype(float)
    found = robust_fit(design[:, 1:], target, FREE[1:], heard, 8, kind=kind)
    whole = robust_fit(
        np.hstack([design[:, 1:], levels]), target, np.full(6, 1e4), heard, 8
    )  # fmt: skip
    np.testing.assert_allclose(found.answer, whole.answer[:2], atol=1e-6)
    assert found.spread == pytest.approx(whole.spread, abs=1e-6)


def test_the_spread_of_normal_noise_is_its_standard_deviation():
    design, target = spoilt(0.0, n=4000)
    found = robust_fit(design, target, FREE, heard, 8, least=1e-4)
    assert found.spread == pytest.approx(0.02, rel=0.06)
