"""Undercoats as they are listed: needs, savings, shades and own cans."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given

from jobs.small_jobs import (
    BROWN_FINISH,
    BROWN_LAMINATE,
    BRUSH,
    GREYISH_GREEN,
    RED,
    VIVID_YELLOW,
    WHITE,
    YELLOW_GREEN,
    jobs,
    laws,
    paint_labs,
    patch,
    small_job,
)
from palette.paints import SPREAD
from showthrough import predict
from showthrough.colour.difference import ciede2000
from showthrough.film.coats import coats_needed

# Simpler to come by first: common practice, no source.
SHELF = ("none", "spot sealing", "clear", "owned", "white", "grey", "shop-tinted", "tint")
UNDERCOAT_UM = 90.0
"""Undercoats are brushed in full coats whatever the topcoat's tool, µm wet (from memory)."""
SLICK = ("gloss", "laminate", "melamine", "metal", "waxed", "polished")


def options(job):
    return predict(job).undercoats


def kinds(job):
    return [option.kind for option in options(job)]


def one(found, kind):
    return next(option for option in found if option.kind == kind)


# --- needs come before optics ----------------------------------------------------------


@pytest.mark.parametrize("ground", SLICK)
def test_on_a_slick_ground_going_without_a_coat_is_not_offered(ground):
    answer = predict(small_job(GREYISH_GREEN, patch(BROWN_LAMINATE, ground=ground)))
    (need,) = answer.needs
    # A primer made for a metal holds on it and keeps it from corroding.
    assert (need.kind, need.coat) == ("corrosion" if ground == "metal" else "adhesion", True)
    assert all(option.undercoats >= 1 for option in answer.undercoats)
    assert {"none", "spot sealing"}.isdisjoint(o.kind for o in answer.undercoats)


def test_on_a_bleeding_wood_going_without_a_coat_is_not_offered():
    answer = predict(small_job(WHITE, patch("pine wood knot")))
    assert {need.kind for need in answer.needs if need.coat} == {"blocking"}
    assert "none" not in [o.kind for o in answer.undercoats]


def test_one_patch_that_needs_a_coat_is_enough_to_need_it():
    surface = (patch(BROWN_FINISH, "door"), patch(BROWN_LAMINATE, "side", ground="laminate"))
    assert "none" not in kinds(small_job(GREYISH_GREEN, *surface))
    assert "none" in kinds(small_job(GREYISH_GREEN, surface[0]))


def test_a_topcoat_that_bonds_by_its_own_label_needs_no_coat_and_it_is_said():
    ground = patch(BROWN_LAMINATE, ground="laminate")
    answer = predict(small_job(GREYISH_GREEN, ground, paint={"bonds": True}))
    assert answer.needs == []
    assert any(step.kind == "test spot" and "label" in step.why for step in answer.plan)
    assert "none" in [o.kind for o in answer.undercoats]


def test_a_label_that_bonds_blocks_no_stain():
    knot = patch("pine wood knot", "knot", ground="laminate")
    answer = predict(small_job(GREYISH_GREEN, knot, paint={"bonds": True}))
    assert {need.kind: need.coat for need in answer.needs} == {"blocking": True}
    assert "none" not in [o.kind for o in answer.undercoats]


def test_savings_are_counted_against_what_the_ground_allows():
    on_laminate = options(small_job(RED, patch(BROWN_LAMINATE, ground="laminate")))
    on_varnish = options(small_job(RED, patch(BROWN_LAMINATE, ground="varnish")))
    clear, none = one(on_laminate, "clear"), one(on_varnish, "none")
    assert (clear.topcoats, clear.total) == (none.topcoats, none.topcoats + 1)
    assert (clear.saved, none.saved) == (0, 0)
    assert one(on_laminate, "grey").saved == one(on_varnish, "grey").saved + 1


@given(jobs())
@laws
def test_a_needed_coat_is_never_skipped_and_its_duty_is_in_the_name(job):
    answer = predict(job)
    needed = {need.kind for need in answer.needs if need.coat}
    for option in answer.undercoats:
        if needed:
            assert option.undercoats >= 1
        if needed == {"adhesion"} and option.kind in {"grey", "white", "tint"}:
            assert "bonding" in option.name


# --- order, savings, ties --------------------------------------------------------------


@given(jobs(paint_labs()))
@laws
def test_totals_savings_and_paint_add_up(job):
    answer = predict(job)
    simplest = min(answer.undercoats, key=lambda o: (SHELF.index(o.kind), o.rank))
    for option in answer.undercoats:
        if option.topcoats is None:
            assert (option.total, option.saved, option.paint_um) == (None, None, None)
            continue
        assert option.total == option.topcoats + option.undercoats
        assert option.chance >= 0.5 - 1e-4
        if simplest.total is not None:
            # Whole coats, unless the coats to be expected say otherwise.
            assert option.saved in {simplest.total - option.total, 0}
        topcoats = option.topcoats * answer.film.wet_film_um
        assert option.paint_um - topcoats == pytest.approx(UNDERCOAT_UM * option.undercoats)
    if simplest.kind == "none" and answer.coats.likely is not None:
        assert simplest.topcoats == max(answer.coats.likely, answer.coats.advised_least)


def test_in_whole_brushed_coats_the_best_grey_and_the_best_tint_need_as_many():
    # Computed, over brown laminate.
    found = options(small_job(YELLOW_GREEN, patch(BROWN_LAMINATE), application=BRUSH))
    assert one(found, "grey").total == one(found, "tint").total


def test_without_any_saving_the_reasons_say_so():
    answer = predict(small_job((55, 0, 0), patch((55, 2, 2))))
    assert not any((o.saved or 0) > 0 for o in answer.undercoats)
    assert "No shade under the topcoat saves a coat here." in answer.reasons
    assert answer.undercoat_ladder is None


# --- shades ----------------------------------------------------------------------------


@pytest.mark.parametrize("topcoat", SPREAD)
def test_a_shade_is_given_exactly(topcoat):
    found = {o.kind: o for o in options(small_job(topcoat, patch(BROWN_LAMINATE)))}
    grey, white = found["grey"], found["white"]
    # Ready-made greys are sold in whole steps of Munsell value; what lies between is tinted.
    assert re.fullmatch(r"N [2-9]/", grey.munsell)
    if "tint" in found:
        tint = found["tint"]
        assert sum(tint.parts.values()) == pytest.approx(1.0, abs=2e-3)
        assert set(tint.parts) == {"topcoat", "white", "black"}
        assert tint.parts["topcoat"] >= 0.15
        # A mix next to the topcoat or to white is no coat but these (CIEDE2000 3, from memory).
        for lab in (topcoat, WHITE):
            assert float(ciede2000(np.array(tint.lab), np.array(lab, dtype=float))) >= 2.99
    for option in found.values():
        assert (option.lab is None) == (option.hex is None)
        assert option.why
    for option in (grey, white):
        assert re.fullmatch(r"#[0-9a-f]{6}", option.hex)


def test_mixes_are_among_what_is_offered():
    offered = [kinds(small_job(topcoat, patch(BROWN_LAMINATE))) for topcoat in SPREAD]
    assert sum("tint" in found for found in offered) > len(SPREAD) / 2


# --- the grey curve --------------------------------------------------------------------


@given(jobs(paint_labs()))
@laws
def test_the_grey_curve_has_its_lowest_point_where_it_says_and_its_range_holds(job):
    answer = predict(job)
    curve = answer.grey_curve
    points = {p.munsell_value: p for p in curve.points}
    assert list(points) == list(np.arange(2.0, 9.51, 0.25))
    if curve.best_value is None:
        assert curve.good_from is None
        return
    films = {v: p.critical_um for v, p in points.items() if p.critical_um is not None}
    assert films[curve.best_value] == pytest.approx(min(films.values()), abs=2e-3)
    least = points[curve.best_value].topcoats
    if least is None:
        assert curve.good_from is curve.good_to is None
        return
    assert curve.good_from <= curve.best_value <= curve.good_to
    for value, point in points.items():
        if point.topcoats is not None:
            assert point.topcoats >= least
        if curve.good_from <= value <= curve.good_to:
            assert point.topcoats == least, "any grey of the range needs as few"


def test_of_ready_made_greys_the_one_is_offered_that_asks_for_least_film():
    for topcoat in SPREAD:
        answer = predict(small_job(topcoat, patch(BROWN_LAMINATE)))
        grey = one(answer.undercoats, "grey")
        whole = [p for p in answer.grey_curve.points if p.munsell_value % 1.0 == 0.0]
        films = {p.munsell_value: p.critical_um for p in whole if p.critical_um is not None}
        assert grey.critical_um == pytest.approx(min(films.values()), abs=1e-3)
        assert films[float(grey.munsell[2:-1])] == pytest.approx(grey.critical_um, abs=1e-3)
        coats = int(coats_needed(grey.critical_um / answer.film.dry_film_um))
        assert grey.topcoats == (max(coats, answer.coats.advised_least) if coats <= 12 else None)


# --- cans that the painter owns --------------------------------------------------------


def can(colour, name="my can", **more):
    return {"name": name, "colour": colour, **more}


def test_an_owned_can_like_the_best_grey_does_as_well_and_comes_first_of_the_two():
    job = small_job(YELLOW_GREEN, patch(BROWN_LAMINATE), application=BRUSH)
    grey = one(options(job), "grey")
    found = options({**job, "undercoat": [can({"munsell": grey.munsell})]})
    owned, grey = one(found, "owned"), one(found, "grey")
    assert owned.topcoats == grey.topcoats
    assert owned.critical_um == pytest.approx(grey.critical_um, rel=0.02)
    assert owned.total == grey.total


def test_an_owned_can_that_hides_poorly_takes_more_than_one_that_hides_well():
    # Under white: a clear colour may ask for the darker grey that a poor can leaves.
    job = small_job(WHITE, patch((18, 0, 0)))
    well = {"contrast_ratio": 0.99, "spreading_rate_m2_l": 10}
    poor = {"contrast_ratio": 0.8, "spreading_rate_m2_l": 10}
    cans = [can("N 9", "well", label=well), can("N 9", "poor", label=poor)]
    films = {o.name: o.critical_um for o in options({**job, "undercoat": cans})}
    assert films["“well”"] < films["“poor”"]


def test_an_owned_can_laid_twice_as_thick_leaves_as_much_as_one_of_twice_the_solids():
    # What is left of a wet film is its part of solids, by definition.
    job = small_job(WHITE, patch((18, 0, 0)))
    sizes = [("thick", 40, 0.3), ("rich", 20, 0.6), ("thin", 20, 0.3)]
    cans = [can("N 9", name, wet_film_um=wet, volume_solids=part) for name, wet, part in sizes]
    films = {o.name: o.critical_um for o in options({**job, "undercoat": cans})}
    assert films["“thick”"] == pytest.approx(films["“rich”"], rel=1e-3)
    assert films["“thin”"] > 1.03 * films["“thick”"]


def test_an_owned_can_that_neither_bonds_nor_blocks_is_never_first_where_that_is_needed():
    for ground, flag in ((patch(BROWN_LAMINATE, ground="laminate"), "bonds"),):
        job = small_job(YELLOW_GREEN, ground)
        plain = one(options({**job, "undercoat": [can("N 7")]}), "owned")
        fit = one(options({**job, "undercoat": [can("N 7", **{flag: True})]}), "owned")
        assert (plain.meets_needs, fit.meets_needs) == (False, True)
        assert plain.rank > fit.rank
        assert plain.rank == len(options({**job, "undercoat": [can("N 7")]}))


def test_on_a_knot_a_can_must_block():
    job = small_job(WHITE, patch("pine wood knot"))
    cans = [can("N 9", "bonds", bonds=True), can("N 9", "blocks", blocks=True)]
    fits = {o.name: o.meets_needs for o in options({**job, "undercoat": cans}) if o.kind == "owned"}
    assert fits == {"“bonds”": False, "“blocks”": True}


# --- the ladder over the undercoat -----------------------------------------------------


def test_the_ladder_over_the_best_undercoat_begins_near_its_shade_and_ends_at_the_chip():
    answer = predict(small_job(RED, patch(BROWN_LAMINATE)))
    option = answer.undercoats[answer.best_undercoat - 1]
    assert option.saved > 0
    first, *_ = answer.undercoat_ladder
    rows = {step.coat: step.patches[0].thin.difference for step in answer.undercoat_ladder}
    # One real coat lets a little of the brown through.
    assert first.patches[0].mean.lab[0] == pytest.approx(option.lab[0], abs=6.0)
    assert rows[option.topcoats] <= 1.001
    least = answer.coats.advised_least
    assert option.topcoats == least or rows[option.topcoats - 1] > 1.0


def test_where_only_an_undercoat_brings_the_colour_within_reach_its_ladder_is_shown():
    answer = predict(
        small_job(VIVID_YELLOW, patch((18, 0, 0)), application={"tool": "spray", "wet_film_um": 30})
    )
    assert answer.coats.likely is None
    option = answer.undercoats[0]
    assert answer.best_undercoat == 1
    rows = {step.coat: step.patches[0].thin.difference for step in answer.undercoat_ladder}
    assert rows[option.topcoats] <= 1.001
    assert any(option.name in reason for reason in answer.reasons)


# --- words -----------------------------------------------------------------------------


@pytest.mark.parametrize("topcoat", SPREAD)
def test_a_painter_understands_why(topcoat):
    job = small_job(topcoat, patch(BROWN_LAMINATE), undercoat=[can("#777777")])
    for option in options(job):
        # No symbol and no jargon without its plain word.
        assert not re.search(r"L\*|CIE|chroma|Munsell|[<>=~±]|K/S", option.why), option.why
        assert option.why.endswith(".")
