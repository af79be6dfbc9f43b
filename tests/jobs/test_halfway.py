"""Half way: what is left once coats were seen, against plain draws and by hand."""

from __future__ import annotations

import math
from datetime import datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.small_jobs import (
    BROWN_FINISH,
    BROWN_LAMINATE,
    BRUSH,
    DARK_WALNUT,
    GREYISH_GREEN,
    LIGHT_SPRAY,
    RED,
    VIVID_YELLOW,
    WHITE,
    YELLOW_GREEN,
    laws,
    patch,
    small_job,
)
from jobs.whole_jobs import NOW, numbers, priced_job, reckoned
from reference.paint_draws import draw_ml
from showthrough import InputError, half_way, plan
from showthrough.film.coats import coats_needed
from showthrough.say.chances import chance_words
from showthrough.say.halfway import amount_left, foretold_line, more_headline
from showthrough.say.whole import buy_line, day_words, days_lines, volume_words

VARNISH = patch(BROWN_FINISH, ground="varnish")
CUPBOARD = small_job(YELLOW_GREEN, VARNISH, area_m2=2.0)
DRAWS = 400_000


def seen(job, **what):
    return half_way(job, now=NOW, **what)


# --- by plain draws --------------------------------------------------------------------

PLAIN = {
    "one patch": CUPBOARD,
    "two patches": small_job(
        YELLOW_GREEN,
        patch(DARK_WALNUT, "dark", ground="varnish", share=0.6),
        patch((80, 2, 20), "pale", ground="varnish", share=0.4),
        area_m2=2.0,
    ),
    "brushed yellow": small_job(
        VIVID_YELLOW, patch(BROWN_LAMINATE, ground="varnish"), area_m2=1.0, application=BRUSH
    ),
}


def drawn(job, key="plain"):
    """Paint and coats of many random jobs of this kind, and what one coat takes."""
    (case,) = reckoned(job).cases
    way = next(w for w in case.ways.ways if w.under.key == key)
    paint = case.job.topcoat.paint.sigma_ln
    rows = [
        (film, math.exp(math.hypot(paint, sigma)), 0.0)
        for film, sigma in zip(way.under.hiding_um, way.under.sigma_ln, strict=True)
    ]
    from showthrough.workshop.paint.transfer import SESSION_LOSS_ML, TRANSFER_DEFAULTS

    tool = case.part.tool
    usual = TRANSFER_DEFAULTS[tool, "flat panel"]
    return draw_ml(
        np.random.default_rng(20261126),
        DRAWS,
        area=case.part.size.area_m2,
        area_spread=case.part.size.area_spread,
        hiding=rows,
        film=case.job.build.wet_film_thickness_um,
        film_spread=case.job.build.geometric_sd,  # volume solids are stated
        solids=0.38,
        transfer=usual.part.value,
        transfer_spread=usual.geometric_sd.value,
        session_ml=SESSION_LOSS_ML[tool].value,
    )


@pytest.mark.parametrize("after", [1, 2, 3, 4])
@pytest.mark.parametrize("job", PLAIN.values(), ids=PLAIN)
def test_what_is_left_is_what_is_left_of_random_jobs_that_looked_so(job, after):
    # A second implementation: coats tried one by one in 400,000 random jobs, and of those the
    # ones kept that still showed.
    paint, coats = drawn(job)
    kept = coats > after
    answer = seen(job, after=after, enough=False, way="plain")
    error = 4 * math.sqrt(0.25 / kept.sum()) + 0.002
    assert answer.foreseen == pytest.approx(kept.mean(), abs=0.003)
    assert answer.more
    for n, chance in answer.more.items():
        assert chance == pytest.approx((coats[kept] <= after + n).mean(), abs=error)
    # Paint of the rest: that of all coats less that of the coats that are on.
    counted = kept & np.isfinite(coats)
    once = paint[counted] / coats[counted]
    rest = np.maximum(coats[counted] - after, max(2 - after, 1)) * once
    never = np.full((kept & ~np.isfinite(coats)).sum(), np.inf)
    (topcoat,) = answer.paint
    half = np.quantile(np.concatenate([rest, never]), 0.5, method="inverted_cdf")
    assert topcoat.ml_50 == pytest.approx(half, rel=0.04)
    assert topcoat.coat_ml_50 == pytest.approx(np.median(once), rel=0.03)


def test_a_test_piece_is_what_random_jobs_leave_too():
    _, coats = drawn(CUPBOARD)
    for tried, enough in ((1, False), (2, False), (3, True)):
        kept = (coats <= tried) if enough else (coats > tried)
        answer = seen(CUPBOARD, test_piece=tried, enough=enough, way="plain")
        assert answer.foreseen == pytest.approx(kept.mean(), abs=0.003)
        for n, chance in answer.more.items():
            assert chance == pytest.approx((coats[kept] <= n).mean(), abs=0.012)


def test_readings_of_a_doubtful_colour_are_weighed_by_what_was_seen():
    # Each reading counts by how well it foretold what was seen: Bayes by hand over readings.
    job = small_job(YELLOW_GREEN, patch(
        {"lab": list(BROWN_FINISH), "radius": 12}, ground="varnish"), area_m2=2.0)  # fmt: skip
    (case,) = reckoned(job).cases
    way = next(w for w in case.ways.ways if w.under.key == "plain")
    films = np.asarray(way.under.films_um)[:, 0]
    sigma = math.hypot(case.job.topcoat.paint.sigma_ln, math.log(case.job.build.geometric_sd))
    sigma = math.hypot(sigma, float(way.under.sigma_ln[0]))
    rng = np.random.default_rng(7)
    need = rng.choice(films, DRAWS) * np.exp(sigma * rng.standard_normal(DRAWS))
    coats = coats_needed(need / case.job.build.dry_film_thickness_um)
    kept = coats[coats > 2]
    answer = seen(job, after=2, enough=False, way="plain")
    for n, chance in answer.more.items():
        assert chance == pytest.approx((kept <= 2 + n).mean(), abs=0.006)


# --- laws ------------------------------------------------------------------------------

COLOURS = st.sampled_from([YELLOW_GREEN, WHITE, GREYISH_GREEN, VIVID_YELLOW, (24, 3, -22)])
GROUNDS = st.sampled_from([BROWN_FINISH, BROWN_LAMINATE, DARK_WALNUT, (93, -0.5, 1.5)])


@laws
@given(COLOURS, GROUNDS, st.sampled_from([LIGHT_SPRAY, BRUSH]), st.integers(1, 12), st.booleans())
def test_no_answer_contradicts_itself(topcoat, ground, how, after, enough):
    job = small_job(topcoat, patch(ground, ground="varnish"), application=how, area_m2=1.5)
    answer = seen(job, after=after, enough=enough)
    assert all(math.isfinite(n) for n in numbers(answer.model_dump()))
    assert answer.headline.startswith(f"{after} topcoat")
    chances = list(answer.more.values())
    assert chances == sorted(chances)
    topcoats = [step.coats for step in answer.steps if step.kind == "topcoat"]
    if enough:
        assert answer.likely == max(2 - after, 0)
        assert topcoats == ([answer.likely] if answer.likely else [])
        assert answer.steps[-1].kind == "cure"
        return
    if answer.likely is None:
        assert not answer.steps
        assert not answer.paint
        assert answer.days is None
        assert answer.why_not
        return
    assert after + answer.likely <= 12
    assert topcoats == [answer.likely]
    assert answer.low <= answer.likely
    assert answer.more[max(answer.likely, 1)] >= 0.5
    # The sanding between the last coat and the next is a step of its own, before it.
    kinds = [step.kind for step in answer.steps]
    assert kinds.index("denib") < kinds.index("topcoat")
    assert "lead test" not in kinds
    assert datetime.fromisoformat(answer.days.hand_over.likely) > NOW


@laws
@given(COLOURS, GROUNDS, st.integers(1, 5))
def test_seeing_less_never_promises_more(topcoat, ground, after):
    # "After two it still shows" and then "after three it still shows" agree with each other:
    # in all no fewer coats, by each chance.
    job = small_job(topcoat, patch(ground, ground="varnish"), area_m2=1.5)
    one, two = (seen(job, after=n, enough=False) for n in (after, after + 1))
    if one.likely is not None and two.likely is not None:
        assert after + 1 + two.likely >= after + one.likely
    total = {after + n: p for n, p in one.more.items()}
    for n, p in two.more.items():
        assert p <= total.get(after + 1 + n, 1.0) + 1e-3


def test_coats_on_leave_what_was_told_before_in_the_same_proportions():
    answer = seen(CUPBOARD, after=2, enough=False, way="plain")
    told = plan(CUPBOARD, now=NOW)
    assert told.ways[0].key in {"plain", answer.way} or answer.foretold
    before = answer.foretold
    assert answer.more[1] == pytest.approx(
        (before[3] - before[2]) / (1.0 - before[2]), abs=2e-4
    )  # Bayes' rule


# --- what it says ----------------------------------------------------------------------


def test_what_is_left_in_the_tins_comes_off():
    full = seen(priced_job(YELLOW_GREEN), after=2, enough=False)
    left = seen(priced_job(YELLOW_GREEN), after=2, enough=False, left_ml=5000)
    assert sum(can.count for p in full.paint for can in p.cans)
    assert not any(p.cans for p in left.paint)
    assert any("left in your tins" in told for told in full.advice)
    assert not any("left in your tins" in told for told in left.advice)
    # What the shelf held before the first coat is not counted a second time.
    shelf = priced_job(YELLOW_GREEN, paint={"shelf_ml": [5000]})
    assert seen(shelf, after=2, enough=False, left_ml=0).paint[0].cans
    unsaid = seen(shelf, after=2, enough=False)
    assert unsaid.paint[0].from_shelf_ml == 0.0
    assert unsaid.paint[0].cans
    # A test piece takes next to nothing of it.
    assert not seen(shelf, test_piece=1, enough=False, way="plain").paint[0].cans


def test_the_headline_ends_where_it_is_sure_enough():
    more = {1: 0.3, 2: 0.6, 3: 0.9, 4: 0.97}
    told = "2 more, about 6 in 10 sure; or 3, about 9 in 10 sure."
    assert more_headline(2, more, 2) == f"2 topcoats are on and it still shows: {told}"
    assert more_headline(1, {1: 0.9, 2: 0.95}, 1).endswith(": 1 more, about 9 in 10 sure.")


def test_an_amount_for_more_coats_is_not_told_as_that_of_one():
    answer = seen(CUPBOARD, after=2, enough=False)
    (step,) = [step for step in answer.steps if step.kind == "topcoat"]
    assert answer.high > answer.likely == step.coats == 1
    assert f"; {volume_words(step.ml_90, 'metric')} if it takes {answer.high}" in amount_left(
        step, answer
    )
    # As many as that are in the headline, so that count and paint speak of the same coats.
    assert f"or {answer.high}, " in answer.headline
    doubtful = seen(small_job(RED, area_m2=1.5), after=3, enough=False, way="plain")
    (step,) = [step for step in doubtful.steps if step.kind == "topcoat"]
    assert doubtful.high is None
    assert amount_left(step, doubtful).endswith(" l; far more if it takes more coats")
    (paint,) = doubtful.paint
    assert buy_line(paint, "metric", "").endswith("; buy for one coat and look again")
    # Where no count is open the greater amount is a thicker hand's.
    sure = seen(CUPBOARD, after=1, enough=True)
    (step,) = [step for step in sure.steps if step.kind == "topcoat"]
    assert ", perhaps " in amount_left(step, sure)


def test_what_was_foretold_is_told_about_the_coats_that_are_on():
    # Once: of six coats the chances of one to four were told, and a plan with an undercoat was
    # held against a test piece that had none.
    job = small_job(WHITE, VARNISH, application=BRUSH, area_m2=1.0)
    six = seen(job, after=6, enough=False, way="plain")
    assert f"6: {chance_words(six.foretold.get(6, 0.999))}" in foretold_line(six)
    assert "; 1: " not in foretold_line(six)
    assert f"What was seen had {_chance(six.foreseen)}." in foretold_line(six)
    tried = seen(CUPBOARD, test_piece=1, enough=False)
    assert tried.foreseen > 1.0 - tried.foretold[1]
    assert "On a test piece, straight onto the prepared surface, what was seen had" in (
        foretold_line(tried)
    )


def _chance(chance):
    words = chance_words(chance)
    return words if words.startswith("hardly") else f"a chance of {words}"


def test_the_headline_after_a_test_piece_names_every_coat():
    answer = seen(CUPBOARD, test_piece=1, enough=False)
    under, topcoat = (s for s in answer.steps if s.coats and s.kind in {"undercoat", "topcoat"})
    assert f"on the piece 1 {under.product} and {topcoat.coats} topcoats, " in answer.headline


def test_who_tried_a_test_piece_is_not_told_to_lay_one():
    answer = seen(small_job(RED, area_m2=1.5), test_piece=2, enough=False)
    told = " ".join(a for p in answer.paint for a in p.advice)
    assert "lay a test piece" not in told
    assert "lay one coat more on the test piece" in told
    text = " ".join(buy_line(p, "metric", "") for p in answer.paint)
    assert "lay a test piece" not in text
    assert "lay one coat more on the test piece" in text


def test_chances_that_are_told_alike_are_told_once():
    more = {1: 0.3, 2: 0.55, 3: 0.68, 4: 0.72, 5: 0.8, 6: 0.88, 7: 0.92}
    told = "2 more, about 6 in 10 sure; or 3, about 7 in 10 sure; or 7, about 9 in 10 sure."
    assert more_headline(2, more, 2) == f"2 topcoats are on and it still shows: {told}"


def test_what_hardly_any_job_shows_is_told_to_look_for_another_cause():
    answer = seen(CUPBOARD, after=3, enough=False)
    assert answer.likely is not None
    assert answer.foreseen < 0.05
    assert any("another cause" in told for told in answer.advice)
    assert not any("another cause" in t for t in seen(CUPBOARD, after=1, enough=False).advice)


def test_tins_are_asked_for_wherever_paint_is_still_to_be_laid():
    one = seen(CUPBOARD, after=1, enough=True)
    assert one.likely == 1
    assert any("left in your tins" in told for told in one.advice)
    assert not seen(CUPBOARD, after=1, enough=True, left_ml=200).advice
    assert not seen(CUPBOARD, after=2, enough=True).advice
    beyond = seen(small_job(RED, area_m2=1.5), after=11, enough=False)
    assert beyond.likely is None
    assert not any("left in your tins" in told for told in beyond.advice)


def test_what_no_such_job_shows_is_no_ground_for_a_count():
    answer = seen(small_job((18, 0, 0), VARNISH, area_m2=1.0), after=11, enough=False)
    assert answer.foreseen < 0.005
    assert answer.more == {}
    assert answer.likely is None
    assert "no count" in answer.headline
    assert any("another cause" in told for told in answer.advice)


def test_no_advice_half_way_speaks_of_a_test_piece():
    answer = seen(CUPBOARD, after=2, enough=False)
    told = " ".join([*answer.advice, *(a for p in answer.paint for a in p.advice)])
    assert "test piece" not in told
    assert "look again" in told.lower()


def test_a_group_is_asked_by_name_and_said_to_stand_alone():
    job = priced_job(YELLOW_GREEN, VARNISH, group=[
        {"name": "carcass", "area_m2": 2.0}, {"name": "doors", "area_m2": 1.0},
    ])  # fmt: skip
    assert seen(job, after=2, enough=False).group == "carcass"
    doors = seen(job, after=2, enough=False, group="doors")
    assert doors.group == "doors"
    assert doors.area_m2 == 1.0
    assert any("“doors” alone" in told for told in doors.assumptions)
    # As a job of its own the group has the same chances.
    alone = seen({**{k: v for k, v in job.items() if k != "group"}, "area_m2": 1.0}, after=2,
                 enough=False)  # fmt: skip
    assert doors.more == alone.more


def test_dry_coats_harden_before_hardware_and_clear_go_on():
    bare = seen(CUPBOARD, after=2, enough=True)
    assert (datetime.fromisoformat(bare.days.hand_over.likely) - NOW).total_seconds() >= 24 * 3600
    assert [stay.title for stay in bare.days.stays] == ["hardware on"]
    clear = seen({**CUPBOARD, "finish": {"kind": "clear"}}, after=2, enough=True)
    first = next(stay for stay in clear.days.stays if "clear" in stay.title)
    # 48 h between colour and clear (common practice, no source).
    assert (datetime.fromisoformat(first.start) - NOW).total_seconds() >= 48 * 3600


def test_the_least_coats_of_a_sound_film_are_kept():
    # Black hides in one coat; four are asked for in all.
    job = small_job((18, 0, 0), VARNISH, area_m2=1.0)
    job["application"] = {**LIGHT_SPRAY, "least_topcoats": 4}
    for enough in (True, False):
        answer = seen(job, after=1, enough=enough)
        assert (answer.low, answer.likely) == (3, 3)
        assert [step.coats for step in answer.steps if step.kind == "topcoat"] == [3]
    assert seen(job, after=1, enough=True).high == 3


def test_on_the_piece_the_work_goes_on_now_whatever_start_was_planned():
    job = {**CUPBOARD, "days": {"start": "2090-03-01"}}
    now = seen(job, after=2, enough=False).days
    assert datetime.fromisoformat(now.start) == NOW
    later = seen(job, test_piece=1, enough=False).days
    assert later.start.startswith("2090-03-01")


# --- what cannot be --------------------------------------------------------------------

WRONG = {
    "neither": ({}, {"after"}),
    "both": ({"after": 2, "test_piece": 1}, {"after"}),
    "no coats": ({"after": 0}, {"after"}),
    "thirteen": ({"after": 13}, {"after"}),
    "a part of a coat": ({"after": 1.5}, {"after"}),
    "yes for a count": ({"after": True}, {"after"}),
    "less than nothing": ({"after": 1, "left_ml": -1}, {"left_ml"}),
    "no number": ({"after": 1, "left_ml": "a lot"}, {"left_ml"}),
    "no such way": ({"after": 1, "way": "gold leaf"}, {"way"}),
    "no such group": ({"after": 1, "group": "legs"}, {"group"}),
    "two at once": ({"after": 0, "left_ml": math.nan}, {"after", "left_ml"}),
}


@pytest.mark.parametrize(("what", "fields"), WRONG.values(), ids=WRONG)
def test_what_cannot_be_is_refused_by_name(what, fields):
    with pytest.raises(InputError) as caught:
        seen(CUPBOARD, enough=False, **what)
    assert {p.field for p in caught.value.problems} == fields


def test_a_wrong_job_is_told_beside_what_else_is_wrong():
    with pytest.raises(InputError) as caught:
        seen({**CUPBOARD, "area_m2": -1}, after=0, enough=False)
    assert {p.field for p in caught.value.problems} == {"after", "area_m2"}


def test_nothing_is_counted_over_a_finish_that_does_not_hold():
    job = small_job(WHITE, patch(ground="paint", condition="flaking"))
    with pytest.raises(InputError, match="does not hold"):
        seen(job, after=1, enough=False)


def test_a_hand_over_on_the_day_of_the_work_is_no_span():
    start = datetime.fromisoformat("2090-03-01T08:00:00+01:00")
    done = half_way(
        {**CUPBOARD, "days": {"zone": "Europe/Berlin"}}, after=2, enough=True, now=start
    )
    assert done.days is not None
    first = days_lines(done.days, waxed=False)[0]
    day = day_words(done.days.hand_over.likely)
    assert first.count(day) == 1
