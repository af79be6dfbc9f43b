"""A stated radius, a needed coat and a thirsty patch mean the same in every answer."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.small_jobs import BROWN_FINISH, YELLOW_GREEN, dull_labs, jobs, patch, small_job
from reference.random_jobs import random_jobs
from showthrough import InputError, predict, soften, sweep
from showthrough.colour.files.swatches import Swatch
from showthrough.colour.reading import Reading


def _swatch_of(job):
    return Swatch("wished", Reading(lab=tuple(job["topcoat"]["colour"]["lab"])))


def _radii(job, topcoat, ground):
    """The job with radii on its topcoat and its first patch."""
    job["topcoat"]["colour"]["radius"] = topcoat
    job["surface"][0]["colour"]["radius"] = ground
    return job


def _check(job):
    answer = predict(job)
    enough = answer.coats.enough

    def chance(count):
        return enough.get(count, 1.0)

    softening = soften(job)
    assert softening.coats == answer.coats.likely
    for goal in softening.goals:
        assert goal.wished_chance == pytest.approx(chance(goal.coats), abs=1e-4)
    (row,) = sweep(job, (_swatch_of(job),)).rows
    assert row.coats == answer.coats.likely
    if row.coats is not None:
        assert row.chance == pytest.approx(chance(row.coats), abs=1e-4)
    return softening


@given(jobs(), st.floats(0.0, 6.0), st.floats(0.0, 6.0))
@settings(deadline=None, max_examples=12)
def test_softening_sweep_and_prediction_give_one_chance(job, topcoat, ground):
    _check(_radii(job, topcoat, ground))


def test_so_they_do_for_jobs_of_every_kind():
    told = 0
    for plain in random_jobs(16, 3):
        # With one topcoat permitted, since fewer than the least are no goal.
        job = {**plain, "application": {**plain.get("application", {}), "least_topcoats": 1}}
        try:
            told += bool(_check(job).goals)
        except InputError:  # a colour that no paint can be
            continue
    assert told >= 6


def test_a_radius_is_felt_in_softening_and_sweep():
    # A white, whose hiding is well known: beside a spread of three and more a radius is lost.
    white = (92.0, 0.0, 6.0)
    sure = small_job(white, patch(BROWN_FINISH))
    doubtful = _radii(small_job(white, patch(BROWN_FINISH)), 5.0, 5.0)
    (before,), (after,) = (sweep(j, (_swatch_of(j),)).rows for j in (sure, doubtful))
    assert abs(after.chance - before.chance) > 0.005
    goals = [soften(j).goals[-1] for j in (sure, doubtful)]
    assert abs(goals[0].wished_chance - goals[1].wished_chance) > 0.01


@given(dull_labs())
@settings(deadline=None, max_examples=10)
def test_a_ground_that_drinks_and_needs_a_coat_is_sealed_by_it(ground):
    thirsty = {"skin": "bare", "ground": "laminate"}
    dry = predict(small_job(YELLOW_GREEN, patch(ground, porous=False, **thirsty)))
    wet = predict(small_job(YELLOW_GREEN, patch(ground, porous=True, **thirsty)))
    assert wet.coats.ground_coats == 1
    assert wet.coats.enough == dry.coats.enough
    clear = next(o for o in wet.undercoats if o.kind == "clear")
    assert clear.topcoats == wet.coats.likely
    saved = sweep(small_job(YELLOW_GREEN, patch(ground, porous=True, **thirsty))).rows[0]
    if saved.saved is not None:
        assert saved.saved == max(saved.coats, 2) + 1 - saved.total  # two topcoats at least


def test_the_grey_curve_counts_no_further_than_twelve():
    job = small_job((82, 6, 80), patch((18, 0, 0)), application={"tool": "aerosol"})
    curve = predict(job).grey_curve
    counts = [p.topcoats for p in curve.points]
    assert None in counts
    assert all(c is None or c <= 12 for c in counts)
    assert (curve.good_from is None) == all(c is None for c in counts)
