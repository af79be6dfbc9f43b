"""The smallest change of a colour that saves coats, against plain predictions."""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from jobs.small_jobs import (
    BROWN_LAMINATE,
    GREYISH_GREEN,
    RED,
    VIVID_YELLOW,
    WHITE,
    YELLOW_GREEN,
    paint_labs,
    patch,
    small_job,
)
from showthrough import InputError, predict
from showthrough.colour.difference import ciede2000
from showthrough.colour.files.swatches import parse_swatches, shipped_swatches
from showthrough.colour.space import lab_to_lch
from showthrough.colour.spectrum import recover_spectra
from showthrough.film.hiding import constants_from_colour
from showthrough.film.undercoat import opaque_lab
from showthrough.jobs.soften.soften import soften

PATHS = {"grey", "white", "pastel", "deep", "swatch"}
SHOWN = 0.011
"""Colours are shown with two decimals, differences with three."""


def over_laminate(topcoat, **more):
    return small_job(topcoat, patch(BROWN_LAMINATE), **more)


def with_colour(job, lab):
    """The same job with another topcoat."""
    return {**job, "topcoat": {**job["topcoat"], "colour": {"lab": list(lab)}}}


def coats(job, lab):
    likely = predict(with_colour(job, lab)).coats.likely
    return 99 if likely is None else likely


SURE = 0.75
"""A softer colour counts from this chance of the smaller number of coats (our own choice)."""


def chance(job, lab, count):
    """The chance that a plain prediction gives a count."""
    enough = predict(with_colour(job, lab)).coats.enough  # as far as it still grows
    return enough.get(count, max(enough.values()))


def reached(answer):
    """Every way that leads to its goal: (goal, way)."""
    return [
        (goal, way) for goal in answer.goals for way in goal.answers if way.difference is not None
    ]


def way_of(answer, goal, path):
    (found,) = [g for g in answer.goals if g.coats == goal]
    return next(a for a in found.answers if a.path == path)


def towards_grey(lab, difference):
    """The colour on the way to the grey of the same lightness that differs so much."""
    end = np.array([lab[0], 0.0, 0.0])
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        on_way = np.array(lab) + middle * (end - np.array(lab))
        if float(ciede2000(np.array(lab, dtype=float), on_way)) < difference:
            low = middle
        else:
            high = middle
    return tuple(np.array(lab) + low * (end - np.array(lab)))


# --- what was found, reproduced --------------------------------------------------------


def test_five_and_a_half_units_halve_the_film_of_a_yellow_green():
    # Computed for brown laminate with one scattering for all paints: 43 -> 22 µm. White carries
    # pale colours, so a paint that is greyed gains at least as much.
    films = [
        predict(over_laminate(lab)).patches[0].critical_um
        for lab in (YELLOW_GREEN, towards_grey(YELLOW_GREEN, 5.5))
    ]
    assert films[1] <= 0.55 * films[0]


@pytest.mark.parametrize(("topcoat", "difference"), [(RED, 3.6), (VIVID_YELLOW, 3.8)])
def test_a_few_units_save_a_red_and_a_yellow_half_their_light_coats(topcoat, difference):
    # Computed for brown laminate, light sprayed coats: 8 -> 4 and 12 -> 7 likely coats.
    job = over_laminate(topcoat)
    after = coats(job, towards_grey(topcoat, difference))
    assert after <= 0.6 * coats(job, topcoat)


@pytest.mark.parametrize("topcoat", [YELLOW_GREEN, RED, VIVID_YELLOW])
def test_towards_white_costs_a_greater_change_than_towards_grey(topcoat):
    answer = soften(over_laminate(topcoat))
    assert answer.goals
    for goal in answer.goals:
        ways = [way_of(answer, goal.coats, path).difference for path in ("white", "grey")]
        assert ways[0] > ways[1]


# --- every answer is what it says ------------------------------------------------------

few = settings(deadline=None, max_examples=12)
grounds = st.sampled_from([BROWN_LAMINATE, (92.0, 0.0, 4.0), (20.0, 0.0, 0.0)])


def softened(topcoat, ground, skin):
    """A job and its answer."""
    job = small_job(topcoat, patch(ground, skin=skin))
    return job, soften(job)


# Near the wanted colour a ground is made as the topcoat is: beside another colour it is another.
@example((12.0, 23.8, 37.0), (40, 11, 19), "coated")
@given(paint_labs(60.0), grounds, st.sampled_from(["coated", "bare"]))
@few
def test_each_way_needs_the_coats_it_promises_by_a_plain_prediction(topcoat, ground, skin):
    job, answer = softened(topcoat, ground, skin)
    assert answer.coats == predict(job).coats.likely
    for goal, way in reached(answer):
        assert way.coats == goal.coats
        # The colour as it is shown: what a painter copies.
        plain = predict(with_colour(job, way.lab))
        assert plain.coats.likely <= way.coats
        assert way.chance >= SURE > 0.5 > goal.wished_chance
        if way.coats in plain.coats.enough:  # it is listed as far as it still grows
            assert plain.coats.enough[way.coats] == pytest.approx(way.chance, abs=2e-3)
        assert plain.patches[0].critical_um == pytest.approx(way.critical_um, abs=2e-3)
        assert [step.coat for step in way.ladder] == list(range(way.coats + 1))
        for one, two in zip(plain.ladder, way.ladder, strict=False):
            thin = [step.patches[0].thin.difference for step in (one, two)]
            assert thin[0] == pytest.approx(thin[1], abs=1.01e-3)  # both are rounded


@given(paint_labs(60.0), grounds, st.sampled_from(["coated", "bare"]))
@few
def test_differences_are_those_of_the_colours_shown_and_the_best_is_the_least(
    topcoat, ground, skin
):
    _, answer = softened(topcoat, ground, skin)
    wished = np.array(answer.wished.lab)
    for goal in answer.goals:
        assert {a.path for a in goal.answers} == PATHS
        known = {}
        for way in goal.answers:
            if way.lab is None:
                assert way.difference is None
                assert "Nothing on the way" in way.why
                continue
            apart = float(ciede2000(wished, np.array(way.lab)))
            assert way.difference == pytest.approx(apart, abs=SHOWN)
            known[way.path] = way.difference
        assert known[goal.best] == min(known.values())


@given(paint_labs(60.0), grounds)
@few
def test_a_little_less_of_the_same_change_is_not_enough(topcoat, ground):
    job, answer = softened(topcoat, ground, "coated")
    wished = np.array(answer.wished.lab)
    for goal, way in reached(answer):
        if way.path not in {"grey", "white"}:
            continue
        # The search ends with steps of a 2880th of the way; colours round to 0.01 in each of
        # three coordinates, which on a flat way (little film saved a step) is a few steps more.
        end = {"grey": np.array([wished[0], 0.0, 0.0]), "white": np.array([96.0, -0.5, 2.0])}
        step = np.abs(end[way.path] - wished).max() / 2880.0
        back = wished - np.array(way.lab)
        length = float(np.abs(back).max())
        slack = 4.0 * (step + 0.01)
        if length <= slack:
            continue  # the change itself is no larger
        less = np.array(way.lab) + back * slack / length
        assert chance(job, less, goal.coats) < SURE


@pytest.mark.parametrize(("path", "end"), [("pastel", (96.0, -0.5, 2.0)), ("deep", (18, 0, 0))])
def test_pastel_and_deep_are_mixtures_with_white_and_with_black(path, end):
    # Source: two-constant theory, K and S of a mixture add by parts (Duncan 1940); the white and
    # the black of a mixing shelf, from memory.
    found = 0
    for topcoat in (RED, VIVID_YELLOW, YELLOW_GREEN):
        colours = recover_spectra(np.array([topcoat, end], dtype=float)).reflectance
        k, s = constants_from_colour(colours)
        part = np.linspace(0.0, 1.0, 4001)[:, None] ** 3  # a little black does much
        mixed = opaque_lab(k[0] + part * (k[1] - k[0]), s[0] + part * (s[1] - s[0]))
        for _, way in reached(soften(over_laminate(topcoat))):
            if way.path == path:
                found += 1
                assert ciede2000(mixed, np.array(way.lab)).min() < 0.05
    assert found


def test_goals_are_one_and_two_coats_fewer_and_the_budget():
    now = coats(over_laminate(RED), RED)

    def goals(**more):
        return [(now - g.coats, g.saves) for g in soften(over_laminate(RED), **more).goals]

    assert goals() == [(1, 1), (2, 2)]
    assert goals(budget=now - 4) == [(1, 1), (2, 2), (4, 4)]
    assert goals(budget=now - 2) == goals()


def test_a_count_that_no_softer_colour_makes_sure_is_no_goal_and_is_said():
    # A film so thin that no colour at all hides both a black and a white patch with one coat.
    thin = {"tool": "spray", "wet_film_um": 5}
    job = small_job(WHITE, patch((18, 0, 0), "a"), patch((96, 0, 0), "b"), application=thin)
    answer = soften(job, budget=1, swatches=parse_swatches("name,L,a,b\nas hard,96,-0.5,2\n"))
    assert 1 not in [goal.coats for goal in answer.goals]
    (note,) = [n for n in answer.notes if n.startswith("Nothing useful for ")]
    assert re.search(r"\b1\b", note.partition(":")[0])
    assert "use the undercoat" in note
    for goal in answer.goals:
        assert goal.best is not None


def test_fewer_coats_never_cost_a_smaller_change():
    answer = soften(over_laminate(RED), budget=4)
    for more, fewer in itertools.pairwise(answer.goals):
        for path in ("grey", "white", "pastel"):
            ways = [way_of(answer, goal.coats, path) for goal in (more, fewer)]
            if None not in [w.difference for w in ways]:
                assert ways[0].difference < ways[1].difference


def test_each_way_has_its_ladder_from_the_ground_to_its_own_colour():
    for _, way in reached(soften(over_laminate(RED))):
        assert [step.coat for step in way.ladder] == list(range(way.coats + 1))
        assert way.ladder[0].patches[0].mean.lab == pytest.approx(BROWN_LAMINATE, abs=SHOWN)
        assert way.ladder[-1].patches[0].thin.difference <= 1.001


def test_a_porous_patch_is_reckoned_as_in_a_prediction():
    job = small_job(RED, patch((69, 12, 31), skin="bare", porous=True))
    for goal, way in reached(soften(job)):
        assert chance(job, way.lab, goal.coats) == pytest.approx(way.chance, abs=0.01)


def test_the_hiding_that_a_label_tells_of_holds_for_the_softened_colours_too():
    label = {"contrast_ratio": 0.95, "spreading_rate_m2_l": 6}
    job = over_laminate(RED, paint={"label": label})
    answer = soften(job)
    assert answer.coats == predict(job).coats.likely
    for goal, way in reached(answer):
        assert chance(job, way.lab, goal.coats) == pytest.approx(way.chance, abs=0.01)


# --- more vivid ------------------------------------------------------------------------


@given(paint_labs(45.0), grounds)
@few
def test_the_most_vivid_colour_needs_no_more_coats_and_a_little_more_does(topcoat, ground):
    job, answer = softened(topcoat, ground, "coated")
    vivid = answer.vivid
    assume(vivid is not None)
    assert coats(job, vivid.lab) == vivid.coats <= answer.coats
    wished, most = (lab_to_lch(np.array(c.lab)) for c in (answer.wished, vivid))
    assert most[1] >= wished[1] - 0.02
    assert most[0] == pytest.approx(wished[0], abs=0.02)
    assert vivid.chroma_to == pytest.approx(most[1], abs=0.02)
    if vivid.chroma_to >= 2.49 * vivid.chroma_from:
        return  # the search goes no further
    # Two grids of 24 steps from once to two and a half times the chroma.
    beyond = np.array(vivid.lab)
    beyond[1:] *= 1.0 + (2.0 * 1.5 / 24**2 * wished[1] + 0.03) / most[1]
    # A colour moved by less than is worth a word is past the limits of paint all the same.
    possible = recover_spectra(beyond, move=False).reachable[0]
    assert not possible or coats(job, beyond) > answer.coats


def test_a_neutral_colour_has_nothing_to_be_more_vivid_in():
    assert soften(over_laminate((55, 0, 0))).vivid is None


# --- one's own swatches ----------------------------------------------------------------

MINE = "name,L,a,b\nmine near,66,-20,44\nmine far,60,0,0\nmine worse,66,-25,57\n"


def test_the_nearest_of_ones_own_swatches_is_offered_and_no_other():
    job = over_laminate(YELLOW_GREEN)
    answer = soften(job, swatches=parse_swatches(MINE))
    ways = [way for _, way in reached(answer) if way.path == "swatch"]
    assert ways
    for goal, way in reached(answer):
        if way.path != "swatch":
            continue
        fits = [
            (float(ciede2000(np.array(YELLOW_GREEN, float), np.array(s.reading.lab))), s.name)
            for s in parse_swatches(MINE)
            if chance(job, s.reading.lab, goal.coats) >= SURE
        ]
        assert way.swatch == min(fits)[1]


def test_without_ones_own_the_sample_swatches_are_tried():
    names = {s.name for s in shipped_swatches("topcoats")}
    for _, way in reached(soften(over_laminate(YELLOW_GREEN))):
        assert (way.swatch in names) == (way.path == "swatch")


def test_swatches_that_no_paint_can_be_are_named_by_their_place():
    bad = parse_swatches("name,L,a,b\nfine,50,0,0\nneon,60,200,10\n")
    with pytest.raises(InputError) as caught:
        soften(over_laminate(RED), swatches=bad)
    (problem,) = caught.value.problems
    assert problem.field == "swatches[2]"


def test_where_no_swatch_is_better_it_says_so():
    bad = parse_swatches("name,L,a,b\nas hard,42,58,38\n")
    answer = soften(over_laminate(RED), swatches=bad)
    for goal in answer.goals:
        (way,) = [a for a in goal.answers if a.path == "swatch"]
        assert way.lab is None


# --- budget ----------------------------------------------------------------------------


@pytest.mark.parametrize("budget", [0, 13, -1, 2.5])
def test_a_budget_that_is_none_is_refused(budget):
    with pytest.raises(InputError) as caught:
        soften(over_laminate(RED), budget=budget)
    (problem,) = caught.value.problems
    assert problem.field == "budget"
    assert "1 to 12 coats" in problem.message


def test_a_wrong_budget_hides_no_problem_of_the_job():
    with pytest.raises(InputError) as caught:
        soften(over_laminate((60, 200, 10)), budget=99)
    assert {p.field for p in caught.value.problems} == {"budget", "topcoat.colour"}


def test_a_budget_that_the_wished_colour_meets_is_answered_in_words():
    answer = soften(over_laminate(GREYISH_GREEN), budget=5)
    assert any("5 coats" in note and "no change" in note for note in answer.notes)


def test_a_colour_that_one_coat_covers_has_no_goal():
    answer = soften(over_laminate(GREYISH_GREEN))
    assert (answer.coats, answer.goals) == (1, [])
    assert any("nothing is to be saved" in note for note in answer.notes)


def test_a_colour_beyond_twelve_coats_is_brought_within_them():
    thin = {"tool": "spray", "wet_film_um": 30}
    job = small_job(VIVID_YELLOW, patch((18, 0, 0)), application=thin)
    answer = soften(job)
    assert answer.coats is None
    assert [g.coats for g in answer.goals] == [12, 11]
    assert all(g.saves is None for g in answer.goals)
    for goal, way in reached(answer):
        assert chance(job, way.lab, goal.coats) == pytest.approx(way.chance, abs=0.01)
    assert any("more than 12 coats" in note for note in answer.notes)


def test_white_paint_has_no_way_to_white():
    answer = soften(small_job(WHITE, patch((28, 9, 12))))
    for goal in answer.goals:
        assert way_of(answer, goal.coats, "white").lab is None


def test_a_painter_understands_each_sentence():
    for topcoat in (YELLOW_GREEN, RED, VIVID_YELLOW, GREYISH_GREEN):
        answer = soften(over_laminate(topcoat))
        for goal in answer.goals:
            for way in goal.answers:
                assert not re.search(r"L\*|CIE|chroma|[<>=~±]", way.why + way.words)


def test_fewer_topcoats_than_are_laid_in_any_case_are_no_goal():
    # Common practice, no source: two topcoats are the least for a sound, washable film.
    job = small_job((75.0, 0.0, 0.0), patch(BROWN_LAMINATE), application={"tool": "brush"})
    assert predict(job).coats.likely <= 2
    answer = soften(job)
    assert answer.goals == []
    one = small_job(YELLOW_GREEN, patch(BROWN_LAMINATE), application={"tool": "brush"})
    assert predict(one).coats.likely == 2
    told = soften(one)
    assert told.goals == []
    assert any("laid in any case" in note for note in told.notes)
    permitted = {**one, "application": {"tool": "brush", "least_topcoats": 1}}
    assert [goal.coats for goal in soften(permitted).goals] in ([1], [])
    assert all(goal.coats >= 2 for goal in soften(one).goals)


def test_the_least_that_are_laid_in_any_case_are_themselves_a_goal():
    job = small_job(YELLOW_GREEN, patch(BROWN_LAMINATE))  # four light sprayed coats
    assert [goal.coats for goal in soften(job).goals] == [3, 2]
