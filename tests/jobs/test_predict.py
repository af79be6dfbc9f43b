"""What a prediction says: counts, ladder, patches, evidence; and what moves them."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from jobs.small_jobs import (
    BROWN_FINISH,
    BROWN_LAMINATE,
    BRUSH,
    DARK_WALNUT,
    GREYISH_GREEN,
    RED,
    VIVID_YELLOW,
    WHITE,
    YELLOW_GREEN,
    dull_labs,
    jobs,
    laws,
    paint_labs,
    patch,
    small_job,
)
from showthrough import predict, predict_file
from showthrough.colour.difference import ciede2000
from showthrough.colour.files.swatches import shipped_swatches
from showthrough.film.coats import coats_needed
from showthrough.workshop.grounds import GROUND_KINDS

EXAMPLE = Path(__file__).parents[2] / "examples" / "linen-cupboard.toml"
ROUNDING = 5.1e-5
"""Chances are shown with four decimals."""


def test_the_linen_cupboard_takes_four_light_coats():
    # Common practice, no source: a bright yellow-green over a mid-brown finish, light sprayed.
    assert predict_file(EXAMPLE).coats.likely == 4


# --- counts and chances ----------------------------------------------------------------


def check_counts(coats):
    counts = list(coats.enough)
    chances = list(coats.enough.values())
    assert counts == list(range(1, len(counts) + 1))
    assert all(0.0 <= p <= 1.0 for p in chances)
    assert chances == sorted(chances), "more coats are never less likely to be enough"
    assert chances[-1] >= 0.99 - ROUNDING or counts[-1] == 12
    assert all(p < 0.99 + ROUNDING for p in chances[:-1])
    for shown, level in ((coats.low, 0.1), (coats.likely, 0.5), (coats.high, 0.9)):
        if shown is None:
            assert counts[-1] == 12
            assert chances[-1] < level + ROUNDING
            assert coats.reason
        else:
            assert coats.enough[shown] >= level - ROUNDING
            assert shown == 1 or coats.enough[shown - 1] < level + ROUNDING


@given(jobs(paint_labs()))
@laws
def test_chances_never_fall_and_the_counts_follow_from_them(job):
    check_counts(predict(job).coats)


@given(jobs(), st.floats(1.05, 4.0))
@laws
def test_more_film_never_needs_more_coats(job, factor):
    wet = predict(job).film.wet_film_um
    application = {**job["application"], "wet_film_um": wet}
    thin = predict({**job, "application": application}).coats
    application = {**job["application"], "wet_film_um": min(wet * factor, 1000.0)}
    thick = predict({**job, "application": application}).coats
    assert (thick.likely or 13) <= (thin.likely or 13)
    assert (thick.high or 13) <= (thin.high or 13)
    assert (thick.even_after or 13) <= (thin.even_after or 13)
    for n in set(thick.enough) & set(thin.enough):
        assert thick.enough[n] >= thin.enough[n] - ROUNDING


@given(jobs())
@laws
def test_one_more_patch_never_needs_fewer_coats(job):
    more = [*job["surface"], patch((20, 0, 0), "dark edge")]
    assert (predict({**job, "surface": more}).coats.likely or 13) >= (
        predict(job).coats.likely or 13
    )


def test_a_count_that_is_never_reached_is_null_with_its_reason():
    answer = predict(
        small_job(VIVID_YELLOW, patch((18, 0, 0)), application={"tool": "aerosol"}),
    )
    assert answer.coats.likely is None
    assert answer.coats.high is None
    assert "12 topcoats are probably not enough" in answer.coats.reason
    assert list(answer.coats.enough) == list(range(1, 13))
    assert answer.patches[0].coats is None
    check_counts(answer.coats)


def test_a_high_count_that_is_not_reached_says_so_beside_a_likely_one():
    coats = predict(
        small_job(VIVID_YELLOW, patch(BROWN_LAMINATE), application={"tool": "spray"}),
    ).coats
    assert coats.likely is not None
    assert coats.high is None
    assert coats.reason == (
        "Straight onto the prepared surface, to be 9 in 10 sure takes more than 12 topcoats."
    )


def numbers(value, place=""):
    if isinstance(value, float):
        yield place, value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from numbers(inner, f"{place}.{key}")
    elif isinstance(value, list | tuple):
        for i, inner in enumerate(value):
            yield from numbers(inner, f"{place}[{i}]")


@given(jobs(paint_labs(70.0)))
@laws
def test_no_answer_holds_a_number_that_is_none(job):
    for place, number in numbers(predict(job).model_dump()):
        assert math.isfinite(number), place


def test_the_same_colour_over_itself_is_one_coat_and_two_are_advised_all_the_same():
    answer = predict(small_job(GREYISH_GREEN, patch(GREYISH_GREEN)))
    assert answer.coats.likely == 1
    # Common practice, no source: two coats make a sound film, whatever the optics say.
    assert answer.coats.advised_least == 2
    assert any("2 topcoats are planned" in sentence for sentence in answer.reasons)
    assert answer.ways[0].topcoats == 2


# --- evenness --------------------------------------------------------------------------


def test_a_single_patch_has_nothing_to_compare_and_says_why():
    coats = predict(small_job()).coats
    assert coats.even_after is None
    assert "one patch only" in coats.even_reason


def test_patches_are_even_when_the_ladder_shows_no_difference_between_them():
    answer = predict(
        small_job(RED, patch((30, 9, 12), "a"), patch((75, 5, 20), "b"), application=BRUSH)
    )
    even = answer.coats.even_after
    shown = {step.coat: step.show_through for step in answer.ladder}
    assert even > 1
    assert shown[even] <= 1.001
    assert shown[even - 1] > 1.0


def test_white_over_two_walnuts_is_even_long_before_it_is_white():
    # Computed for two walnut tones (L* 30 and 48): optical thickness 7 against 28.
    coats = predict(
        small_job(WHITE, patch((30, 9, 12), "a"), patch((48, 11, 20), "b"), application=BRUSH)
    ).coats
    assert coats.even_after < coats.likely


def test_patches_that_never_become_even_say_so():
    coats = predict(
        small_job(
            VIVID_YELLOW,
            patch((18, 0, 0), "black"),
            patch((94, 0, 3), "white"),
            application={"tool": "aerosol", "wet_film_um": 5},
        )
    ).coats
    assert coats.even_after is None
    assert coats.even_reason == "The patches still differ after 12 coats."


# --- the ladder ------------------------------------------------------------------------


@pytest.mark.parametrize("skin", ["coated", "bare"])
def test_the_ladder_begins_with_the_ground_as_the_painter_sees_it(skin):
    answer = predict(small_job(YELLOW_GREEN, patch(skin=skin), patch((83, 2, 13), "filler")))
    first = answer.ladder[0]
    assert first.coat == 0
    for step, shown in zip(first.patches, answer.patches, strict=True):
        assert step.mean.lab == pytest.approx(shown.lab, abs=0.011)
        assert step.thin.lab == pytest.approx(shown.lab, abs=0.011)
    apart = ciede2000(np.array(answer.patches[0].lab), np.array(answer.patches[1].lab))
    assert first.show_through == pytest.approx(float(apart), abs=0.02)


def test_what_shows_between_patches_is_told_of_thin_spots_and_of_the_mean_film():
    answer = predict(small_job(YELLOW_GREEN, patch(BROWN_FINISH), patch((83, 2, 13), "filler")))
    assert len(answer.ladder) > 2
    for step in answer.ladder:
        one, other = step.patches
        apart = float(ciede2000(one.thin.lab, other.thin.lab))
        assert step.show_through == pytest.approx(apart, abs=0.02)
        apart = float(ciede2000(one.mean.lab, other.mean.lab))
        assert step.show_through_mean == pytest.approx(apart, abs=0.02)


@pytest.mark.parametrize("topcoat", [YELLOW_GREEN, RED, WHITE, GREYISH_GREEN, (24, 3, -22)])
@pytest.mark.parametrize("skin", ["coated", "bare"])
def test_at_the_likely_count_even_the_thin_spots_look_like_the_chip(topcoat, skin):
    answer = predict(small_job(topcoat, patch(skin=skin), patch((83, 2, 13), "filler", skin=skin)))
    rows = {step.coat: max(p.thin.difference for p in step.patches) for step in answer.ladder}
    likely = answer.coats.likely
    assert rows[likely] <= 1.001
    assert likely == 1 or rows[likely - 1] > 1.0
    assert max(rows) == likely + 1


def test_the_mean_film_alone_would_call_it_done_a_coat_early():
    answer = predict(small_job(YELLOW_GREEN, patch(BROWN_FINISH)))
    early = answer.ladder[answer.coats.likely - 1].patches[0]
    assert early.mean.difference <= 1.0 < early.thin.difference


def test_differences_of_the_ladder_are_those_of_its_own_colours():
    answer = predict(small_job(RED, patch(), patch((83, 2, 13), "filler")))
    chip = np.array(answer.topcoat.lab)
    for step in answer.ladder:
        for one in step.patches:
            for reached in (one.mean, one.thin):
                # Colours are shown with two decimals.
                apart = float(ciede2000(np.array(reached.lab), chip))
                assert reached.difference == pytest.approx(apart, abs=0.015)


# --- skin and suction ------------------------------------------------------------------


def test_bare_wood_asks_for_more_of_a_clear_yellow_than_the_same_colour_coated():
    # Computed: leaving out the air gap can double the film a yellow needs over pine.
    wood = (81, 6, 24)
    film = {
        skin: predict(small_job(VIVID_YELLOW, patch(wood, skin=skin))).patches[0].critical_um
        for skin in ("coated", "bare")
    }
    assert film["bare"] > 1.5 * film["coated"]


@pytest.mark.parametrize("cause", ["porous", "sanded_through"])
def test_a_thirsty_patch_is_sealed_and_costs_that_coat_and_no_topcoat(cause):
    # Common practice, no source: what drinks is sealed before the topcoat.
    wood = {"lab": (69, 12, 31), "ground": "wood"}
    sealed = predict(small_job(RED, patch(**wood, porous=False), application=BRUSH))
    thirsty = predict(small_job(RED, patch(**{**wood, cause: True}), application=BRUSH))
    assert sealed.needs == []
    (need,) = thirsty.needs
    assert (need.kind, need.coat) == ("sealing", True)
    assert thirsty.coats.likely == sealed.coats.likely
    clear = next(o for o in thirsty.undercoats if o.kind == "clear")
    none = next(o for o in sealed.undercoats if o.kind == "none")
    assert (clear.topcoats, clear.total) == (none.topcoats, none.total + 1)
    assert any("drinks 30% of the first coat" in text for text in thirsty.assumptions)


def test_one_thirsty_patch_among_others_is_told_of():
    job = small_job(GREYISH_GREEN, patch(), patch(name="spot", skin="bare", porous=True))
    assert any("drinks 30% of the first coat" in text for text in predict(job).assumptions)


def test_over_an_undercoat_a_thirsty_patch_drinks_none_of_the_topcoat():
    wood = {"lab": (69, 12, 31), "skin": "bare", "porous": True}
    answer = predict(small_job(RED, patch(**wood), application=BRUSH))
    least = answer.coats.advised_least
    for option in answer.undercoats:
        if option.lab is not None:
            coats = coats_needed(option.critical_um / answer.film.dry_film_um)
            assert option.topcoats == max(int(coats), least)


# --- evidence --------------------------------------------------------------------------


def test_a_label_narrows_the_spread_and_is_named_as_the_evidence():
    plain = predict(small_job())
    label = {"contrast_ratio": 0.98, "spreading_rate_m2_l": 8}
    told = predict(small_job(paint={"label": label}))
    assert (plain.hiding.evidence, told.hiding.evidence) == ("colour", "label")
    assert told.hiding.spread < plain.hiding.spread == plain.hiding.colour_spread
    assert "rests on its colour alone" in plain.reasons[0]
    assert "its label" in told.reasons[0]
    assert any("bench film" in text for text in told.assumptions)


def test_a_better_label_never_asks_for_more_coats():
    def coats(ratio, rate):
        label = {"contrast_ratio": ratio, "spreading_rate_m2_l": rate}
        return predict(small_job(paint={"label": label})).patches[0].critical_um

    films = [coats(r, s) for r, s in ((0.9, 6), (0.95, 6), (0.98, 6), (0.98, 8), (0.98, 12))]
    assert films == sorted(films, reverse=True)


def test_an_estimate_says_that_it_is_one():
    answer = predict(small_job(application={"tool": "brush"}))
    assert not answer.hiding.measured
    told = " ".join(answer.assumptions)
    assert "Wet film 90 µm: a default" in told
    assert "Hiding is guessed" in told
    stated = predict(small_job(application=BRUSH))
    assert "Wet film" not in " ".join(stated.assumptions)
    assert stated.film.spread < answer.film.spread


@given(jobs(), st.floats(0.5, 12.0), st.booleans())
@laws
def test_an_uncertain_reading_gives_counts_that_follow_from_their_chances(job, radius, topcoat):
    # Not that the likely count stays: where film need bends over the colour, it does not.
    def with_radius(colour):
        return {**colour, "radius": radius}

    if topcoat:
        job["topcoat"] = {**job["topcoat"], "colour": with_radius(job["topcoat"]["colour"])}
    else:
        job["surface"] = [{**p, "colour": with_radius(p["colour"])} for p in job["surface"]]
    answer = predict(job)
    check_counts(answer.coats)
    # Where the ground needs a coat, or a spot does, none is no choice.
    plain = next((o for o in answer.undercoats if o.kind == "none"), None)
    assert (plain is None) == bool(answer.needs)
    if plain is not None and plain.topcoats is not None:
        assert plain.topcoats == max(answer.coats.likely, answer.coats.advised_least)
        assert plain.chance == pytest.approx(
            # The list ends where one more coat makes no odds.
            answer.coats.enough.get(plain.topcoats, 1.0),
            abs=0.01,
        )


@pytest.mark.parametrize("topcoat", [YELLOW_GREEN, RED, VIVID_YELLOW, WHITE])
def test_a_radius_of_next_to_nothing_changes_next_to_nothing(topcoat):
    sure = predict(small_job(topcoat)).coats
    for unsure in (
        small_job({"lab": list(topcoat), "radius": 1e-3}),
        small_job(topcoat, patch({"lab": list(BROWN_FINISH), "radius": 1e-3})),
    ):
        coats = predict(unsure).coats
        assert coats.likely == sure.likely
        # Films of single readings are found to 0.1 %.
        assert list(coats.enough.values()) == pytest.approx(list(sure.enough.values()), abs=1e-3)


# --- the film that is laid -------------------------------------------------------------


@pytest.mark.parametrize(
    "used",
    [
        {"ml": 90, "area_m2": 1.0},
        {"ml": 180, "area_m2": 0.5, "coats": 4},
        {"g": 117, "area_m2": 1.0, "density_g_ml": 1.3},
    ],
)
def test_paint_used_over_an_area_is_the_wet_film_that_it_makes(used):
    # 1 litre over 10 m2 is a film of 100 µm.
    stated = predict(small_job(application=BRUSH))
    spent = predict(
        small_job(application={"tool": "brush", "transfer_efficiency": 1.0, "paint_used": used})
    )
    assert spent.film.wet_film_um == pytest.approx(90.0)
    assert spent.coats == stated.coats
    assert (spent.film.basis, stated.film.basis) == ("paint used", "stated")


def test_part_of_the_paint_that_is_sprayed_misses_the_piece_and_the_answer_says_so():
    used = {"ml": 100, "area_m2": 1.0}
    answer = predict(small_job(application={"tool": "spray", "paint_used": used}))
    # From memory: about 65 % stays on the piece.
    assert answer.film.wet_film_um == pytest.approx(65.0)
    assert any("65% of the paint used stays" in text for text in answer.assumptions)


# --- the end of the scale --------------------------------------------------------------


def test_film_need_never_falls_as_a_white_gets_whiter_across_what_paint_can_be():
    films = []
    for light in np.arange(88.0, 100.01, 0.5):
        answer = predict(small_job((round(float(light), 1), 0, 0), patch(DARK_WALNUT)))
        films.append(answer.patches[0].critical_um)
    steps = np.diff(films)
    assert (steps >= -0.02).all(), films


@pytest.mark.parametrize("ends", ["#ffffff", "#000000"])
def test_paper_white_and_pitch_black_are_moved_and_named(ends):
    answer = predict(small_job(ends))
    assert answer.coats.likely is not None
    named = [text for text in answer.assumptions if ends in text]
    assert len(named) == 1
    assert "modelled as lightness" in named[0]


# --- what a swatch knows ---------------------------------------------------------------


def test_every_sample_surface_is_a_ground_that_the_rules_know():
    for swatch in shipped_swatches("surfaces"):
        assert swatch.ground in GROUND_KINDS, swatch.name
        assert swatch.skin in {"coated", "bare"}, swatch.name


@pytest.mark.parametrize(
    "swatch", shipped_swatches("surfaces"), ids=lambda s: s.name.replace(" ", "-")
)
def test_naming_a_sample_surface_brings_what_is_known_of_it(swatch):
    answer = predict(small_job(GREYISH_GREEN, patch(swatch.name)))
    kinds = {need.kind for need in answer.needs}
    assert answer.patches[0].skin == swatch.skin
    assert ("blocking" in kinds) == bool(swatch.bleeds)
    # What blocks seals as well; a metal's own primer holds on it and keeps it from corroding.
    assert bool(kinds & {"sealing", "blocking"}) == bool(swatch.porous or swatch.bleeds)
    slick = {"gloss", "laminate", "melamine", "waxed", "polished"}
    assert ("adhesion" in kinds) == (swatch.ground in slick)
    assert ("corrosion" in kinds) == (swatch.ground == "metal")


def test_a_sample_beside_a_typed_colour_brings_what_is_known_of_it_all_the_same():
    typed = patch((83, 2, 13), "typed")
    answer = predict(small_job(GREYISH_GREEN, patch("pine wood knot", "knot"), typed))
    assert [one.skin for one in answer.patches] == ["bare", "coated"]
    assert any(need.kind == "blocking" and need.patches == ["knot"] for need in answer.needs)


def test_what_the_job_says_goes_before_what_the_swatch_knows():
    plain = predict(small_job(GREYISH_GREEN, patch("pine wood knot")))
    said = predict(small_job(GREYISH_GREEN, patch("pine wood knot", skin="coated", bleeds=False)))
    assert plain.patches[0].skin == "bare"
    assert said.patches[0].skin == "coated"
    assert not any(need.kind == "blocking" for need in said.needs)


@given(dull_labs(), dull_labs())
@laws
def test_a_colour_says_the_same_in_whatever_notation(topcoat, ground):
    light, a, b = topcoat
    chroma, hue = float(np.hypot(a, b)), float(np.degrees(np.arctan2(b, a)))
    # CIEDE2000 itself jumps where two hues are exactly opposite (Sharma et al. 2005).
    assume(abs(a * ground[2] - b * ground[1]) > 1e-6 or a * ground[1] + b * ground[2] >= 0.0)
    ways = [
        {"lab": [light, a, b]},
        f"lab({light} {a} {b})",
        {"lch": [light, chroma, hue]},
        [light, a, b],
    ]
    answers = [predict(small_job(way, patch(ground))) for way in ways]
    for answer in answers[1:]:
        assert answer.coats == answers[0].coats
        assert answer.ladder == answers[0].ladder
