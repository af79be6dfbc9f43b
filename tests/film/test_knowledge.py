"""What is known of a paint besides its colour: spreads, facts, and the question that tells most."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reference import crossing_scan
from showthrough.colour.space import lch_to_lab
from showthrough.colour.spectrum import recover_spectra
from showthrough.errors import InputError
from showthrough.film.hiding import (
    OpaqueColour,
    budget_of,
    constants_from_colour,
    label_budget_per_um,
    paint_from_colour,
    paint_of_colour,
)
from showthrough.film.knowledge import NOTHING_KNOWN, PaintFacts, carbon_share, colour_sigma_ln
from showthrough.film.optics import inside_reflectance
from showthrough.film.questions import open_questions

laws = settings(deadline=None, max_examples=60)

PIGMENTS = (None, "opaque", "transparent")
BODIES = (None, "pastel", "deep")

YELLOW_GREEN, GREYISH_GREEN, RED = (66.0, -24.0, 55.0), (65.0, -10.0, 10.0), (42.0, 58.0, 38.0)


def _paint_of(reflectance, facts):
    return paint_from_colour(reflectance, facts=facts)


def _questions(reflectance, facts):
    guesses = OpaqueColour.of(reflectance).paints
    return open_questions(guesses, _paint_of(reflectance, facts))


def film_between(lab, difference, white=0.94, **facts):
    """Dry film that shows this CIEDE2000 between black and white below it, µm."""
    paint = paint_of_colour([lab], **facts)
    over = np.full(31, float(inside_reflectance(white)))
    k, s = paint.absorption[0], paint.scattering[0]
    return crossing_scan.even(k, s, np.zeros(31), over, difference)


# --- measured films --------------------------------------------------------------------

# Source: films of artists' acrylics, figures after Levinson, Berdahl and Akbari 2005 (Solar
# Energy Materials and Solar Cells 89, 319-389): dry film, CIEDE2000 between black and white
# below it, CIELAB of the opaque colour.
TINT = (24.0, 4.26, (92.4, -10.1, 43.6))  # arylide yellow PY74, 1 part in 10 of white
ALONE = [
    (12.0, 46.0, (68.0, -12.1, 88.7), "transparent"),  # arylide yellow PY74
    (20.0, 12.23, (60.0, 10.7, 56.3), "opaque"),  # yellow iron oxide PY42
    (13.0, 3.0, (34.2, 40.2, 43.5), "opaque"),  # red iron oxide PR101
    (24.0, 30.84, (25.6, 44.0, 22.7), "transparent"),  # quinacridone red PR209
    (14.0, 21.73, (3.6, 0.7, -15.5), "transparent"),  # phthalocyanine blue PB15
    (18.0, 8.22, (24.9, 27.0, 31.2), "opaque"),  # calcined sienna PBr7
]


def test_a_measured_tint_lies_within_two_spreads():
    film_um, difference, lab = TINT
    miss = math.log(film_between(lab, difference) / film_um)
    assert abs(miss) <= 2.0 * float(paint_of_colour(lab).log_spread)


@pytest.mark.parametrize(("film_um", "difference", "lab", "pigment"), ALONE)
def test_measured_pigments_alone_lie_within_two_spreads(film_um, difference, lab, pigment):
    for facts in ({}, {"pigment": pigment}, {"pigment": pigment, "body": "deep"}):
        spread = float(paint_of_colour(lab, **facts).log_spread)
        assert math.isfinite(spread)
        miss = math.log(film_between(lab, difference, **facts) / film_um)
        assert abs(miss) <= 2.0 * spread, facts


def test_the_pigment_stated_brings_measured_films_nearer():
    def missed(told):
        gaps = [
            math.log(film_between(lab, difference, **({"pigment": p} if told else {})) / film_um)
            for film_um, difference, lab, p in ALONE
        ]
        return float(np.std(gaps))

    assert missed(told=True) < 0.8 * missed(told=False)


@pytest.mark.parametrize(
    ("told", "kinds"),
    [(False, {"opaque", "transparent"}), (True, {"opaque"}), (True, {"transparent"})],
)
def test_no_spread_of_pigments_alone_is_narrower_than_one_left_out(told, kinds):
    gaps, stated = [], []
    for film_um, difference, lab, pigment in ALONE:
        if pigment not in kinds:
            continue
        facts = {"pigment": pigment} if told else {}
        gaps.append(math.log(film_between(lab, difference, **facts) / film_um))
        stated.append(float(paint_of_colour(lab, **facts).log_spread))
    missed = [
        gap - np.mean([other for j, other in enumerate(gaps) if j != i])
        for i, gap in enumerate(gaps)
    ]
    assert np.sqrt(np.mean(np.square(stated))) >= np.sqrt(np.mean(np.square(missed)))
    # Nor are they so wide that the films fall well inside.
    assert np.sqrt(np.mean(np.square(stated))) <= 1.4 * np.sqrt(np.mean(np.square(missed)))


def test_a_tint_is_known_to_a_quarter_at_most():
    # Source: twelve measured tints, one pigment left out, x/÷ 1.18 to 1.19 (the same films).
    for lab in (TINT[2], GREYISH_GREEN, (96.0, -0.5, 2.0)):
        assert math.log(1.18) <= float(paint_of_colour(lab).log_spread) <= math.log(1.25)


def test_two_per_cent_of_titanium_dioxide_needs_five_times_the_film():
    # Source: the same films, 2.0 % by volume, S(550) 0.082 against 0.54 of a usual white; 19 µm
    # differ by 19.32.
    lab = (89.2, -1.0, -1.9)
    assert film_between(lab, 19.32) < 0.3 * 19.0
    assert film_between(lab, 19.32, tio2_share=0.02) == pytest.approx(19.0, rel=0.7)


def test_white_scatters_by_its_share_as_measured():
    # Source: the same films, S(550) 0.629 at 22.8 % and 0.082 at 2.0 %.
    few, many = (
        paint_of_colour((96.0, -0.5, 2.0), tio2_share=v).scattering[15] for v in (0.020, 0.228)
    )
    assert many / few == pytest.approx(0.629 / 0.082, rel=0.02)


# --- laws ------------------------------------------------------------------------------


@given(
    st.floats(3.0, 97.0),
    st.floats(0.0, 90.0),
    st.floats(0.0, 360.0),
    st.sampled_from(PIGMENTS),
    st.sampled_from(BODIES),
)
@laws
def test_every_colour_that_is_answered_has_a_finite_film_and_spread(
    light, chroma, hue, pigment, body
):
    lab = lch_to_lab([light, chroma, hue])
    if not recover_spectra([lab]).reachable[0]:
        return
    found = paint_of_colour(lab, pigment, body)
    assert np.isfinite(found.absorption).all()
    assert (found.scattering > 0.0).all()
    assert 0.0 < float(found.log_spread) < math.log(5.0)
    film = crossing_scan.even(found.absorption, found.scattering, np.zeros(31), np.ones(31))
    assert 0.0 < film < 20_000.0


@given(st.floats(0.0, 300.0))
@laws
def test_a_fact_never_widens_the_spread(strength):
    def of(**facts):
        return float(colour_sigma_ln(strength, PaintFacts(**facts)))

    for pigment in PIGMENTS:
        for body in BODIES:
            known = of(pigment=pigment, body=body)
            assert known <= of(pigment=pigment) <= of()
            assert known <= of(body=body) <= of()
            for more in ({"tio2_share": 0.18}, {"label": "base"}, {"label": "this colour"}):
                assert of(pigment=pigment, body=body, **more) < known


def test_the_spread_grows_with_the_strength_of_a_colour():
    strength = np.geomspace(0.01, 300.0, 50)
    assert (np.diff(colour_sigma_ln(strength)) > 0.0).all()


def test_a_dark_neutral_is_carbon_black_unless_its_painter_knows_better():
    # From memory: blacks and dark greys are mixed with carbon black, which is opaque.
    for lab in ((18.0, 0.0, 0.0), (24.0, 6.0, 8.0)):
        plain, opaque = paint_of_colour(lab), paint_of_colour(lab, "opaque")
        assert plain.scattering == pytest.approx(opaque.scattering)
        assert float(plain.log_spread) == pytest.approx(float(opaque.log_spread))
        clear = paint_of_colour(lab, "transparent")
        assert (clear.scattering < plain.scattering).all()
        asked = {q.fact for q in _questions(plain.reflectance, NOTHING_KNOWN)}
        assert asked == {"body", "tio2_share"}


def test_a_dark_blue_is_no_carbon_black_and_nothing_jumps_on_the_way_to_it():
    # Source: a measured film of phthalocyanine blue alone (see above), transparent, has C* 15.5.
    for lab in ((3.6, 0.7, -15.5), (24.0, 3.0, -22.0)):
        plain, opaque = paint_of_colour(lab), paint_of_colour(lab, "opaque")
        assert float(plain.log_spread) > float(opaque.log_spread)
    way = paint_of_colour([(24.0, 0.0, -c) for c in np.arange(0.0, 25.0, 0.1)])
    assert np.abs(np.diff(way.log_spread)).max() < 0.03
    assert np.abs(np.diff(np.log(way.scattering), axis=0)).max() < 0.05


def test_pastel_hides_better_than_unknown_and_deep_worse():
    pastel, unknown, deep = (
        film_between(YELLOW_GREEN, 1.0, body=b) for b in ("pastel", None, "deep")
    )
    assert pastel < 0.7 * unknown
    assert deep > 1.2 * unknown


def test_body_and_pigment_say_nothing_of_a_pale_colour():
    plain = film_between(GREYISH_GREEN, 1.0)
    for facts in ({"body": "deep"}, {"body": "pastel"}, {"pigment": "opaque"}):
        assert film_between(GREYISH_GREEN, 1.0, **facts) == pytest.approx(plain, rel=0.02)


def test_many_colours_at_once_are_the_same_as_one_by_one():
    labs = np.array([[YELLOW_GREEN, GREYISH_GREEN], [RED, (24.0, 3.0, -22.0)]])
    many = paint_of_colour(labs, "opaque", "deep", 0.1)
    assert many.absorption.shape == (2, 2, 31)
    assert many.log_spread.shape == many.strength.shape == many.moved.shape == (2, 2)
    for place in np.ndindex(2, 2):
        one = paint_of_colour(labs[place], "opaque", "deep", 0.1)
        assert one.scattering == pytest.approx(many.scattering[place], rel=1e-6)
        assert float(one.log_spread) == pytest.approx(float(many.log_spread[place]))


@pytest.mark.parametrize(
    "facts", [NOTHING_KNOWN, PaintFacts("opaque"), PaintFacts(None, "deep", 0.1)]
)
@pytest.mark.parametrize("lab", [YELLOW_GREEN, GREYISH_GREEN, RED])
def test_the_budget_of_a_paint_is_the_one_that_it_was_made_with(lab, facts):
    reflectance = recover_spectra([lab]).reflectance[0]
    paint = paint_from_colour(reflectance, 0.21, facts=facts)
    assert budget_of(paint) == pytest.approx(0.21, rel=1e-6)
    again, _ = constants_from_colour(reflectance, budget_of(paint), paint.facts)
    assert again == pytest.approx(paint.absorption, rel=1e-6)


def test_a_label_of_this_colour_says_what_its_film_shows_whatever_else_is_known():
    reflectance = recover_spectra([RED]).reflectance[0]
    films = []
    for facts in (
        PaintFacts(label="this colour"),
        PaintFacts("opaque", "deep", 0.1, "this colour"),
    ):
        budget = label_budget_per_um(0.95, 8.0, 0.38, reflectance, facts=facts)
        paint = paint_from_colour(reflectance, budget, evidence="label", facts=facts)
        black, white = np.zeros(31), np.full(31, float(inside_reflectance(0.80)))
        films.append(crossing_scan.even(paint.absorption, paint.scattering, black, white))
    assert films[1] == pytest.approx(films[0], rel=0.35)


@pytest.mark.parametrize(("chroma", "share"), [(0, 1), (10, 1), (12.5, 0.5), (15, 0), (60, 0)])
def test_a_dark_colour_is_black_pigment_up_to_a_chroma_of_ten_and_none_from_fifteen(chroma, share):
    # From memory: nobody mixes a black or a dark grey from bright pigments.
    assert float(carbon_share(chroma)) == share


# --- refusals --------------------------------------------------------------------------


def test_facts_that_cannot_be_are_told_all_at_once():
    with pytest.raises(InputError) as caught:
        paint_of_colour(GREYISH_GREEN, "shiny", "thick", 18.0)
    assert {p.field for p in caught.value.problems} == {"pigment", "body", "tio2_share"}
    assert "opaque, transparent" in str(caught.value)
    assert "18% is 0.18" in str(caught.value)


@pytest.mark.parametrize("share", [0.0, math.nan, math.inf, -0.1])
def test_a_share_that_no_paint_has_is_refused(share):
    with pytest.raises(InputError, match="titanium dioxide"):
        paint_of_colour(GREYISH_GREEN, tio2_share=share)


@pytest.mark.parametrize(("share", "taken"), [(0.0099, 0), (0.01, 1), (0.35, 1), (0.3501, 0)])
def test_a_share_of_one_to_thirty_five_per_cent_is_taken(share, taken):
    # From memory: 35 % by volume is the most that a dry film holds; the ends are within.
    if taken:
        assert paint_of_colour(GREYISH_GREEN, tio2_share=share).scattering.min() > 0.0
    else:
        with pytest.raises(InputError, match=r"between 0\.01 and 0\.35"):
            paint_of_colour(GREYISH_GREEN, tio2_share=share)


def test_colours_beyond_any_paint_are_told_by_place():
    with pytest.raises(InputError) as caught:
        paint_of_colour([GREYISH_GREEN, (90.0, 80.0, -80.0), (50.0, 180.0, 0.0)])
    assert [p.field for p in caught.value.problems] == ["lab[1]", "lab[2]"]


# --- the question that tells most ------------------------------------------------------


@pytest.mark.parametrize(
    ("lab", "fact"),
    [(GREYISH_GREEN, "tio2_share"), (YELLOW_GREEN, "body"), ((40.9, 63.0, 69.8), "pigment")],
)
def test_the_fact_that_tells_most_depends_on_the_colour(lab, fact):
    paint = paint_of_colour(lab)
    questions = _questions(paint.reflectance, NOTHING_KNOWN)
    assert [q.tells for q in questions] == sorted((q.tells for q in questions), reverse=True)
    assert questions[0].fact == fact
    for answer in questions[0].answers:
        assert answer.paint.sigma_ln <= float(paint.log_spread)
        assert answer.film_factor != pytest.approx(1.0, abs=0.05)


def test_what_is_known_is_not_asked():
    paint = paint_of_colour(YELLOW_GREEN)
    for facts, left in (
        (PaintFacts(body="deep"), {"pigment", "tio2_share"}),
        (PaintFacts("opaque", "deep", 0.1), set()),
        (PaintFacts(label="base"), {"pigment", "body"}),
        (PaintFacts(label="this colour"), set()),
    ):
        assert {q.fact for q in _questions(paint.reflectance, facts)} == left


def test_what_a_guess_rests_on_is_said_in_words():
    assert NOTHING_KNOWN.in_words() == "its colour alone"
    assert PaintFacts(label="base").in_words() == "its colour and its label"
    said = PaintFacts("opaque", "deep", 0.12, "base").in_words()
    assert all(word in said for word in ("opaque", "strong colours", "12%", "label"))
