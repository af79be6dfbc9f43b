"""Effects of paint and tool after finished jobs: against every effect on one dense grid."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from jobs.small_jobs import laws
from records.painters_jobs import PAINT, TOOL, count
from reference.simulate_painters import JOB, coverage, painter
from showthrough.records.learning.posterior import MOST_JOBS, learn, relevant


def every_effect(jobs, names, sigmas, points=81):
    """Posterior mean and covariance of all named effects at once, on a grid of every one.

    A second implementation: no star, no messages, the likelihood by scipy.
    """
    axes = [np.linspace(-6.0, 6.0, points) * sigma for sigma in sigmas]
    mesh = np.meshgrid(*axes, indexing="ij")
    log = sum(norm(0.0, sigma).logpdf(x) for sigma, x in zip(sigmas, mesh, strict=True))

    def held(job, n, effect):
        film = n - job.lost - 1.2816 * job.evenness_cv * math.sqrt(n)
        if film <= 0.0:
            return 0.0 * effect
        sigma = math.hypot(math.log(1.15), job.other_sigma)
        return norm(job.log_need + effect, sigma).cdf(math.log(film))

    for job in jobs:
        effect = mesh[names.index(job.paint)] + mesh[names.index(job.tool)]
        n = job.coats
        sound, wild = {
            "enough": (held(job, n, effect) - held(job, n - 1, effect), 1 / 13),
            "gave up": (1 - held(job, n, effect), (13 - n) / 13),
            "did not look": (held(job, n, effect), n / 13),
        }[job.outcome]
        log = log + np.log(0.95 * sound + 0.05 * wild)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    mean = [float((weight * x).sum()) for x in mesh]
    spread = [
        [float((weight * (x - a) * (y - b)).sum()) for y, b in zip(mesh, mean, strict=True)]
        for x, a in zip(mesh, mean, strict=True)
    ]
    return mean, spread


def assert_equal(found, brute, paint=0, tool=1):
    mean, spread = brute
    assert found.paint == pytest.approx(mean[paint], abs=1e-3)
    assert found.tool == pytest.approx(mean[tool], abs=1e-3)
    assert found.paint_var == pytest.approx(spread[paint][paint], abs=1e-3)
    assert found.tool_var == pytest.approx(spread[tool][tool], abs=1e-3)
    assert found.covariance == pytest.approx(spread[paint][tool], abs=1e-3)


OWN = [count(4), count(3), count(5, "did not look", need=3.0), count(2, "gave up")]


@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_jobs_of_one_paint_and_tool_agree_with_the_whole_grid(n):
    brute = every_effect(OWN[:n], ["green", "gun"], [PAINT, TOOL], 241)
    assert_equal(learn(OWN[:n], "green", "gun", PAINT, TOOL), brute)


def test_a_star_of_paints_and_tools_agrees_with_the_whole_grid():
    jobs = [
        count(5),
        count(6, paint="white", need=4.0),
        count(5, paint="white", need=4.0),
        count(3, tool="roller", need=1.5),
        count(2, "did not look", tool="roller", need=1.5, other_sigma=0.2),
    ]
    brute = every_effect(jobs, ["green", "gun", "white", "roller"], [PAINT, TOOL, PAINT, TOOL], 41)
    assert_equal(learn(jobs, "green", "gun", PAINT, TOOL), brute)


def test_other_spreads_of_the_tips_agree_too():
    jobs = [count(6, paint="red", need=3.0, paint_sigma=1.0), count(4)]
    brute = every_effect(jobs, ["green", "gun", "red"], [0.2, 0.1, 1.0], 101)
    assert_equal(learn(jobs, "green", "gun", 0.2, 0.1), brute)


def test_a_measured_paint_teaches_the_tool_alone():
    jobs = [count(6), count(6), count(5)]
    found = learn(jobs, "green", "gun", PAINT, TOOL, measured=True)
    # The same jobs of any other paint as well known.
    other = [replace(job, paint="another") for job in jobs]
    assert found is not None
    assert not found.of_paint
    assert found.paint == pytest.approx(0.0, abs=1e-12)
    assert found.paint_var == pytest.approx(PAINT**2, rel=1e-6)
    assert found.covariance == pytest.approx(0.0, abs=1e-12)
    assert found.tool == pytest.approx(learn(other, "green", "gun", PAINT, TOOL).tool)
    assert found.tool > 0.0
    brushed = [replace(job, tool="brush") for job in jobs]
    assert learn(brushed, "green", "gun", PAINT, TOOL, measured=True) is None


@pytest.mark.parametrize("mean", [-0.3, 0.2])
def test_a_tool_known_to_lay_less_is_as_a_need_for_so_much_more(mean):
    jobs = [count(4), count(5), count(6, paint="white", need=4.0), count(3, tool="roller")]
    found = learn(jobs, "green", "gun", PAINT, TOOL, tool_mean=mean)
    shifted = [
        replace(job, log_need=job.log_need + mean) if job.tool == "gun" else job for job in jobs
    ]
    same = learn(shifted, "green", "gun", PAINT, TOOL)
    assert found[1:6] == pytest.approx(
        (same.paint, same.tool + mean, same.paint_var, same.tool_var, same.covariance)
    )


def test_jobs_of_neither_paint_nor_tool_say_nothing():
    assert learn([count(9, paint="white", tool="brush")], "green", "gun", PAINT, TOOL) is None
    assert learn([], "green", "gun", PAINT, TOOL) is None
    # One that joins another paint to another tool is left out of the star.
    near = [count(5), count(5, paint="white")]
    far = [*near, count(12, paint="white", tool="brush")]
    assert learn(near, "green", "gun", PAINT, TOOL) == learn(far, "green", "gun", PAINT, TOOL)


def test_of_too_many_jobs_those_nearest_and_latest_count():
    tool_only = [count(4, paint=f"p{i}") for i in range(MOST_JOBS)]
    jobs = [count(4), count(5, tool="brush"), *tool_only]
    kept = relevant(jobs, "green", "gun", measured=False)
    assert len(kept) == MOST_JOBS
    assert kept == sorted(kept)
    assert {0, 1} <= set(kept)
    assert not {2, 3} & set(kept)  # the oldest of those with the tool alone


def moved(*jobs):
    """What paint and tool add to u together, mean and standard deviation."""
    found = learn(jobs, "green", "gun", PAINT, TOOL)
    together = found.paint_var + found.tool_var + 2.0 * found.covariance
    return found.paint + found.tool, math.sqrt(together)


def coats_of(u):
    """Coats, with their fraction, whose thin spots hold exp(u) coats of film."""
    half = 1.2816 * 0.25 / 2.0
    return (half + math.sqrt(half**2 + math.exp(u))) ** 2


@pytest.mark.parametrize("wild", range(1, 13))
@pytest.mark.parametrize("outcome", ["enough", "gave up", "did not look"])
def test_one_wild_entry_among_five_of_four_coats_moves_the_median_by_less_than_half_a_coat(
    wild, outcome
):
    five = [count(4)] * 5
    before, after = (moved(*jobs)[0] for jobs in (five, [*five, count(wild, outcome)]))
    need = math.log(2.5)
    assert abs(coats_of(need + after) - coats_of(need + before)) < 0.5


@laws
@given(st.lists(st.integers(1, 12), min_size=1, max_size=8), st.randoms(use_true_random=False))
def test_the_order_of_jobs_does_not_matter_and_none_makes_a_spread_out_of_bounds(coats, shuffled):
    jobs = [count(n) for n in coats]
    mean, sigma = moved(*jobs)
    mixed = [*jobs]
    shuffled.shuffle(mixed)
    assert moved(*mixed) == (pytest.approx(mean), pytest.approx(sigma))
    assert math.isfinite(mean)
    # Entries that contradict each other leave two readings, far apart.
    assert 0.0 < sigma < 3.0 * math.hypot(PAINT, TOOL)


@laws
@given(n=st.integers(2, 11), need=st.floats(0.8, 8.0))
def test_more_coats_never_say_that_the_paint_hides_better(n, need):
    fewer, more = (moved(count(k, need=need), count(k, need=need))[0] for k in (n, n + 1))
    # Against the model by far both are taken to be wild, and each says nothing.
    if abs(math.log(n / need)) < 0.8:
        assert more > fewer


def test_jobs_that_agree_narrow_the_range_to_what_changes_from_job_to_job():
    sigmas = [moved(*[count(3)] * n)[1] for n in (1, 3, 10, 30)]
    assert sigmas == sorted(sigmas, reverse=True)
    assert sigmas[-1] < 0.5 * math.hypot(PAINT, TOOL)


def test_the_same_jobs_give_the_same_bits():
    jobs = painter(np.random.default_rng(7), 0.05)[0]
    assert learn(jobs, "paint 0", "tool 0", PAINT, TOOL) == learn(
        list(jobs), "paint 0", "tool 0", PAINT, TOOL
    )


@pytest.mark.parametrize("wild", [0.0, 0.05])
def test_ranges_hold_the_truth_of_simulated_painters(wild):
    # 80 % within three standard errors of 300 draws; the full 2,000 are run by hand.
    held, before, after = coverage(300, wild, seed=5)
    assert abs(held - 0.8) < 3.0 * math.sqrt(0.8 * 0.2 / 300)
    assert after < before


def test_the_simulation_would_see_a_range_that_is_too_narrow(monkeypatch):
    import reference.simulate_painters as simulation

    monkeypatch.setattr(simulation, "EIGHTY", 1.2816 / 1.35)
    assert simulation.coverage(300, 0.0, seed=5)[0] < 0.8 - 3.0 * math.sqrt(0.8 * 0.2 / 300)


def test_the_simulated_counts_are_those_of_the_table():
    # c(n) of the trade for an evenness of 0.25.
    for n, held in itertools.starmap(lambda n, c: (n, c), [(1, 0.680), (4, 3.359), (5, 4.284)]):
        from reference.simulate_painters import count_of

        assert count_of(math.log(held) - 1e-3) == n
        assert count_of(math.log(held) + 1e-3) == n + 1
    assert pytest.approx(math.log(1.15)) == JOB
