"""Robust means: glare and specks set aside, everything else counted."""

from __future__ import annotations

import numpy as np
import pytest

from showthrough.photo.sample import robust_mean

COLOUR = np.array([0.4, 0.3, 0.2])


def noisy(rng, count=20_000, spread=0.02):
    return COLOUR * (1.0 + spread * rng.standard_normal((count, 3)))


def test_clean_noise_gives_the_plain_mean_and_its_standard_error():
    values = noisy(np.random.default_rng(1))
    mean = robust_mean(values)
    np.testing.assert_allclose(mean.values, COLOUR, rtol=1e-3)
    np.testing.assert_allclose(mean.error, 0.02 * COLOUR / np.sqrt(20_000), rtol=0.05)
    assert mean.kept.mean() > 0.97


@pytest.mark.parametrize("share", [0.05, 0.15, 0.3])
def test_glare_moves_the_mean_by_less_than_one_percent(share):
    rng = np.random.default_rng(2)
    values = noisy(rng)
    lit = rng.random(values.shape[0]) < share
    values[lit] += rng.exponential(0.3, lit.sum())[:, None]
    naive = values.mean(axis=0)
    mean = robust_mean(values)
    assert (naive / COLOUR - 1.0).min() > 0.03
    np.testing.assert_allclose(mean.values, COLOUR, rtol=0.01)


def test_dark_specks_are_set_aside():
    rng = np.random.default_rng(3)
    values = noisy(rng)
    values[:1000] *= 0.2
    mean = robust_mean(values)
    np.testing.assert_allclose(mean.values, COLOUR, rtol=0.005)
    assert not mean.kept[:1000].any()


def test_grain_of_two_tones_is_counted_whole():
    rng = np.random.default_rng(4)
    values = noisy(rng, spread=0.05)
    dark = rng.random(values.shape[0]) < 0.4
    values[dark] *= 0.85
    np.testing.assert_allclose(robust_mean(values).values, values.mean(axis=0), rtol=0.02)


def test_one_colour_without_any_noise_is_its_own_mean():
    mean = robust_mean(np.tile(COLOUR, (50, 1)))
    np.testing.assert_allclose(mean.values, COLOUR)
    np.testing.assert_allclose(mean.error, 0.0, atol=1e-12)


def test_black_is_read_without_a_warning():
    np.testing.assert_array_equal(robust_mean(np.zeros((50, 3))).values, np.zeros(3))
