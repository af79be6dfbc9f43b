"""Ways, plan and headline: laws over many topcoats and grounds, from the answer alone."""

from __future__ import annotations

import itertools
import json

import pytest
from hypothesis import given

from doors.doors import by_page, client
from jobs.small_jobs import BROWN_FINISH, WHITE, YELLOW_GREEN, jobs, laws, patch, small_job
from reference.random_jobs import random_jobs
from showthrough import InputError, predict
from showthrough import plan as whole_job
from showthrough.jobs.schema.job import EXAMPLE_JOB

SHELF = ("plain", "spots", "sealer", "owned", "white", "grey", "shop-tinted", "own mix")

# Invented: whites, creams, greys, pastels, vivid and deep colours.
TOPCOATS = (
    (96, -0.5, 2),
    (92, 0, 6),
    (88, 2, 14),
    (85, -6, 4),
    (82, 6, 80),
    (78, 20, 10),
    (75, 0, 0),
    (72, -18, -8),
    (70, 25, 60),
    (66, -24, 55),
    (65, -10, 10),
    (60, 5, -30),
    (58, 40, 30),
    (55, 0, 0),
    (52, -40, 25),
    (48, 12, 35),
    (45, 10, -40),
    (42, 58, 38),
    (38, -15, -10),
    (35, 20, 5),
    (32, 0, 0),
    (30, -12, 10),
    (26, 18, 12),
    (24, 3, -22),
    (18, 0, 0),
)
GROUNDS = (
    ((38, 12, 20), "varnish"),
    ((28, 9, 12), "paint"),
    ((93, -0.5, 1.5), "melamine"),
    ((40, 11, 19), "laminate"),
    ((70, 8, 30), "wood"),
    ((60, 3, 10), "waxed"),
    ((50, -20, 15), "paint"),
    ((88, 0, 8), "gloss"),
)
APPLICATIONS = ({"tool": "spray", "wet_film_um": 45}, {"tool": "brush", "wet_film_um": 90})


def consistent(answer):
    """What any answer must hold, whatever the job."""
    ways, plan = answer.ways, answer.plan
    least = answer.coats.advised_least
    assert answer.recommendation == answer.headline
    assert [step.number for step in plan] == list(range(1, len(plan) + 1))
    topcoats = [step.coats for step in plan if step.kind == "topcoat"]
    if not ways or ways[0].topcoats is None:
        assert topcoats == []
        return
    lead = ways[0]
    expected = [way.expected_coats for way in ways]
    assert lead.expected_coats <= min(expected) + 0.2 + 1e-6
    near = [w for w in ways if w.expected_coats <= min(expected) + 0.2 - 1e-3]
    assert SHELF.index(lead.kind) <= min(SHELF.index(w.kind) for w in near)
    assert expected[1:] == sorted(expected[1:])
    assert topcoats == [lead.topcoats]
    # A range of two counts or more begins with a test piece, once the old finish is known for
    # lead; one count never has one.
    tried = [step.number for step in plan if step.kind == "test piece"]
    high = float("inf") if lead.high is None else lead.high
    first = 1 + sum(step.kind in {"lead test", "lead safety"} for step in plan)
    assert tried == ([first] if lead.low < high else [])
    assert lead.topcoats >= least
    for way in ways:
        if way.total is not None:
            assert way.total == way.undercoats + way.topcoats
            assert way.low <= way.total
            assert way.high is None or way.total <= way.high
        assert way.chance_one_more >= way.chance
    simplest = min(ways, key=lambda w: (SHELF.index(w.kind), w.expected_coats))
    for way in ways:
        assert way.saves == pytest.approx(simplest.expected_coats - way.expected_coats, abs=2e-3)
    # The undercoat that is advised saves something, or the ground needs it.
    coloured = lead.hex is not None and not answer.coats.ground_coats
    if coloured and lead is not simplest:
        assert lead.saves >= 0.2 - 2e-3
    # Undercoats are from the same reckoning.
    options = [o for o in answer.undercoats if o.meets_needs]
    assert [(o.name, o.topcoats, o.total) for o in options] == [
        (w.name, w.topcoats, w.total) for w in ways
    ]
    for option, way in zip(options, ways, strict=True):
        if option.saved:
            assert (option.saved > 0) == (way.saves > 0)
    # The headline counts what the plan puts on.
    count = lead.undercoats + lead.topcoats
    assert answer.headline.startswith(f"{count} coat")
    laid = sum(s.coats or 0 for s in plan if s.on == ["all"] and s.kind != "test piece")
    assert laid == count


@pytest.mark.parametrize("topcoat", TOPCOATS, ids=str)
def test_the_lead_is_the_simplest_of_the_best_over_every_ground(topcoat):
    for (lab, ground), application in itertools.product(GROUNDS, APPLICATIONS):
        job = small_job(topcoat, patch(lab, ground=ground), application=application)
        consistent(predict(job))


@given(jobs())
@laws
def test_no_answer_contradicts_itself(job):
    consistent(predict(job))


def test_nor_does_any_answer_on_the_page():
    http = client()
    for job in random_jobs(10, 5):
        try:
            answer = predict(job)
        except InputError:  # a colour that no paint can be
            continue
        consistent(answer)
        kind, shown = by_page(http, job)
        assert kind == "answer"
        assert shown["headline"] == answer.headline
        assert len(shown["steps"]) == len(answer.plan)


@pytest.mark.parametrize("ground", ["laminate", "melamine", "gloss", "waxed", "plastic", "glass"])
def test_where_paint_needs_a_hold_no_way_goes_without_and_no_own_mix_is_that_coat(ground):
    answer = predict(small_job(YELLOW_GREEN, patch(BROWN_FINISH, ground=ground)))
    assert answer.ways
    for way in answer.ways:
        assert way.kind not in {"plain", "spots"}
        assert way.undercoats >= (2 if way.kind == "own mix" else 1)
    assert any(step.kind == "bond" for step in answer.plan)


def test_knots_are_blocked_alone_where_they_are_few():
    pine = patch((70, 8, 30), "pine", share=0.95, ground="varnish")
    knots = patch((40, 14, 24), "knots", share=0.05, ground="knots")
    answer = predict(small_job(WHITE, pine, knots))
    block = [step for step in answer.plan if step.kind == "block"]
    assert [step.on for step in block] == [["knots"]] or answer.ways[0].spot_coats == 0
    spots = next(way for way in answer.ways if way.kind == "spots")
    assert spots.spot_coats == 2
    assert spots.undercoats == 0


@pytest.mark.parametrize("condition", ["flaking", "crazed", "soft"])
def test_a_finish_that_does_not_hold_gets_work_and_no_count(condition):
    answer = predict(small_job(YELLOW_GREEN, patch(ground="paint", condition=condition)))
    assert answer.ways == []
    assert answer.coats.likely is None
    assert answer.plan
    assert not [step for step in answer.plan if step.kind == "topcoat"]
    assert "No count yet" in answer.headline
    json.loads(answer.model_dump_json())


def test_an_unknown_ground_is_an_old_finish_and_is_asked_about():
    answer = predict(small_job(YELLOW_GREEN, patch(BROWN_FINISH)))
    kinds = [step.kind for step in answer.plan]
    assert kinds.index("lead test") < kinds.index("wash") < kinds.index("key")
    assert "bond" not in kinds
    assert any("shiny plastic" in question for question in answer.questions)


@pytest.mark.parametrize("least", [1, 2, 3])
def test_coats_to_be_expected_are_the_mean_of_those_that_are_put_on(least):
    # By hand: the least is put on whatever happens, each further one where those before it fail.
    job = small_job(YELLOW_GREEN, patch(BROWN_FINISH))
    answer = predict({**job, "application": {**job["application"], "least_topcoats": least}})
    plain = next(way for way in answer.ways if way.kind == "plain")
    chances = [answer.coats.enough.get(n, 1.0) for n in range(1, 13)]
    further = sum(1.0 - chance for chance in chances[least - 1 :])
    # Chances beyond 0.99 are not shown: what they leave out is less than a tenth of a coat.
    assert least + further - 0.002 <= plain.expected_coats <= least + further + 0.1


def test_a_painter_may_ask_for_a_single_topcoat():
    job = small_job((18, 0, 0), patch((20, 0, 0), ground="paint"))
    assert predict(job).ways[0].topcoats == 2
    job["application"] = {**job["application"], "least_topcoats": 1}
    answer = predict(job)
    assert answer.coats.advised_least == 1
    assert answer.ways[0].topcoats == 1


def test_a_test_piece_comes_early_where_counts_lie_apart_and_its_outcome_counts():
    brushed = {"tool": "brush", "wet_film_um": 90}
    job = small_job((42, 58, 38), patch((67, 12, 37), ground="varnish"), application=brushed)
    before = predict(job)
    assert before.ways[0].low < before.ways[0].high
    assert [step.kind for step in before.plan[:2]] == ["lead test", "test piece"]
    lacking = predict({**job, "test_piece": {"coats": 3, "enough": False}})
    enough = predict({**job, "test_piece": {"coats": 3, "enough": True}})
    assert lacking.coats.enough[3] == 0.0
    assert enough.coats.enough[3] == 1.0
    # Bayes' rule on the chances that the first answer showed.
    p3, p4 = before.coats.enough[3], before.coats.enough[4]
    assert lacking.coats.enough[4] == pytest.approx((p4 - p3) / (1.0 - p3), abs=2e-3)


def test_every_own_can_gets_its_verdict():
    cans = [
        {"name": "holds", "colour": "N 8", "bonds": True},
        {"name": "does not", "colour": "N 8"},
    ]
    answer = predict(
        small_job(YELLOW_GREEN, patch(BROWN_FINISH, ground="laminate"), undercoat=cans)
    )
    told = {o.name: o for o in answer.undercoats if o.kind == "owned"}
    assert told["“holds”"].meets_needs
    assert not told["“does not”"].meets_needs
    assert "hold on this surface" in told["“does not”"].why
    assert [w.kind for w in answer.ways].count("owned") == 1


def test_over_no_count_the_plan_prepares_and_says_so():
    job = small_job(
        (82, 6, 80),
        patch((18, 0, 0), ground="paint"),
        application={"tool": "brush", "wet_film_um": 5},
    )
    answer = predict(job)
    assert answer.ways[0].topcoats is None
    assert answer.headline.startswith("More than 12 coats")
    assert answer.plan
    assert all(way.expected_coats < 20 for way in answer.ways)


def test_the_lead_test_comes_before_the_test_piece_in_every_list_of_steps():
    # Common practice, no source: nothing is done to an old finish before it is known.
    job = small_job((42, 58, 38), patch((67, 12, 37), ground="varnish"), area_m2=2.0)
    answer = whole_job(job)
    for steps in (predict(job).plan, answer.plan, answer.steps):
        kinds = [step.kind for step in steps]
        assert kinds[0] == "lead test"
        assert "test piece" in kinds
    titles = [stay.title for stay in answer.days.stays]
    told = [step.kind for step in answer.steps if step.kind in titles]
    assert titles[: len(told)] == told  # the days go the way that the list goes


def test_each_way_has_the_ladder_over_its_own_undercoat():
    """Every ladder begins with what lies under the topcoat in that way, and comes to the chip."""
    answer = predict(EXAMPLE_JOB)
    beneath = {option.name: option.beneath for option in answer.undercoats}
    assert len(answer.ways) > 3
    for way in answer.ways:
        first, last = way.ladder[0], way.ladder[-1]
        if way.hex is not None:
            assert [patch.mean.hex for patch in first.patches] == beneath[way.name]
        assert [step.coat for step in way.ladder] == list(range(len(way.ladder)))
        assert last.coat == min((way.topcoats or 12) + 1, 12)
        apart = [max(patch.thin.difference for patch in step.patches) for step in way.ladder]
        assert apart == sorted(apart, reverse=True)
