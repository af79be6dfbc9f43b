"""What a painter knows of the paint moves and narrows the answer, and is told by every door."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from doors.doors import by_command, by_http, by_library, by_page, client, shown_of
from jobs.small_jobs import (
    BROWN_LAMINATE,
    BRUSH,
    GREYISH_GREEN,
    RED,
    VIVID_YELLOW,
    WHITE,
    YELLOW_GREEN,
    jobs,
    laws,
    patch,
    small_job,
)
from showthrough import predict
from showthrough.film.hiding import paint_of_colour
from showthrough.film.knowledge import COLOURED_CHROMA
from showthrough.say.words import QUESTIONS
from web.tree import read_html

LABEL = {"contrast_ratio": 0.97, "spreading_rate_m2_l": 8}

FACTS = {
    "pigment": ("opaque", "transparent"),
    "body": ("pastel", "deep"),
    "tio2_share": (0.02, 0.10, 0.22, 0.30),
}
ONE_FACT = [(fact, value) for fact, values in FACTS.items() for value in values]

facts = st.fixed_dictionaries(
    {}, optional={fact: st.sampled_from(values) for fact, values in FACTS.items()}
)


def brushed(topcoat, **paint):
    return small_job(topcoat, patch(BROWN_LAMINATE), application=BRUSH, paint=paint)


def range_of(counts):
    return counts.likely, counts.low, counts.high


# --- facts reach the paint -------------------------------------------------------------


@pytest.mark.parametrize(("fact", "value"), ONE_FACT)
@pytest.mark.parametrize("topcoat", [YELLOW_GREEN, RED, WHITE])
def test_a_fact_moves_and_narrows_a_job_as_the_model_says(topcoat, fact, value):
    answer = predict(brushed(topcoat, **{fact: value}))
    paint = paint_of_colour(topcoat, **{fact: value})
    assert answer.hiding.spread == pytest.approx(math.exp(float(paint.log_spread)), abs=1e-4)
    shown = float(paint.scattering[2:29].mean())  # 420-680 nm
    assert answer.hiding.scattering_per_um == pytest.approx(shown, abs=1e-5)
    assert answer.hiding.spread <= answer.hiding.colour_spread


@pytest.mark.parametrize(
    ("topcoat", "fact", "fewer", "more"),
    [
        # Sources: opaque oxides hide better than organic pigments of their colour, and white hides
        # where coloured pigments do not (films of artists' acrylics, Levinson et al. 2005).
        (RED, "pigment", "opaque", "transparent"),
        (YELLOW_GREEN, "body", "pastel", "deep"),
        (WHITE, "tio2_share", 0.22, 0.10),
    ],
)
def test_a_fact_tells_paints_of_one_colour_apart(topcoat, fact, fewer, more):
    few, plain, many = (
        predict(brushed(topcoat, **known)) for known in ({fact: fewer}, {}, {fact: more})
    )
    films = [a.patches[0].critical_um for a in (few, plain, many)]
    assert films == sorted(films)
    assert few.coats.likely < many.coats.likely


def surprises(job, known):
    """Whether a dark neutral, taken to be carbon black, is said to be transparent.

    Nobody mixes a black from bright pigments: that fact contradicts the guess, and so widens it.
    """
    a, b = job["topcoat"]["colour"]["lab"][1:]
    return known.get("pigment") == "transparent" and math.hypot(a, b) < COLOURED_CHROMA


def test_a_black_said_to_be_transparent_is_less_sure_than_one_that_is_taken_for_carbon():
    black = brushed((25.0, 0.0, 0.0))
    told = brushed((25.0, 0.0, 0.0), pigment="transparent")
    assert surprises(told, {"pigment": "transparent"})
    assert predict(told).hiding.spread > predict(black).hiding.spread


@given(jobs(), facts, st.booleans())
@laws
def test_what_is_known_never_widens_the_spread(job, known, labelled):
    if labelled:
        known = {**known, "label": LABEL}
    plain = predict(job)
    told = predict({**job, "topcoat": {**job["topcoat"], **known}})
    assert plain.hiding.spread == plain.hiding.colour_spread
    assert told.hiding.spread <= plain.hiding.spread or surprises(job, known)
    assert (told.hiding.by_colour_alone is None) == (not known)
    if known:
        assert range_of(told.hiding.by_colour_alone) == range_of(plain.coats)


# --- what one more fact would tell -----------------------------------------------------


@given(jobs(), facts, st.booleans())
@laws
def test_counts_by_one_more_fact_are_those_of_the_job_that_states_it(job, known, labelled):
    topcoat = {**job["topcoat"], **known, **({"label": LABEL} if labelled else {})}
    answer = predict({**job, "topcoat": topcoat})
    fact = answer.hiding.would_narrow
    if fact is None:
        return
    assert fact.fact not in known
    assert not (labelled and fact.fact == "tio2_share")
    assert len(fact.answers) == 2
    for told in fact.answers:
        stated = predict({**job, "topcoat": {**topcoat, fact.fact: told.answer}})
        assert range_of(stated.coats) == range_of(told)
        surprise = surprises(job, {fact.fact: told.answer})
        assert stated.hiding.spread <= answer.hiding.spread or surprise
    assert any(range_of(told) != range_of(answer.coats) for told in fact.answers)


@pytest.mark.parametrize("topcoat", [YELLOW_GREEN, RED])
def test_counts_by_one_more_fact_know_that_readings_are_unsure(topcoat):
    unsure = small_job(
        {"lab": list(topcoat), "radius": 3.0}, patch({"lab": list(BROWN_LAMINATE), "radius": 2.0})
    )
    fact = predict(unsure).hiding.would_narrow
    for told in fact.answers:
        unsure["topcoat"][fact.fact] = told.answer
        assert range_of(predict(unsure).coats) == range_of(told)


@pytest.mark.parametrize(
    ("topcoat", "fact"),
    [(RED, "pigment"), (YELLOW_GREEN, "body"), (VIVID_YELLOW, "body"), (WHITE, "tio2_share")],
)
def test_the_fact_that_tells_most_is_asked_for_with_its_counts(topcoat, fact):
    answer = predict(brushed(topcoat))
    narrow = answer.hiding.would_narrow
    assert narrow.fact == fact
    assert narrow.question == QUESTIONS[fact]
    (told,) = [text for text in answer.reasons if text.startswith("If you knew")]
    assert narrow.question in told
    for counts in (*narrow.answers, answer.coats):
        assert f"{counts.likely} coat" in told
        assert f"({counts.low} to {counts.high or 'more than 12'})" in told


def test_nothing_is_asked_where_no_answer_would_change_a_count():
    answer = predict(brushed(GREYISH_GREEN))
    for fact, value in ONE_FACT:
        if value != 0.02:  # a lean white is no usual furniture paint
            assert range_of(predict(brushed(GREYISH_GREEN, **{fact: value})).coats) == range_of(
                answer.coats
            )
    assert answer.hiding.would_narrow is None
    assert not any("If you knew" in text for text in answer.reasons)


def test_a_label_of_this_very_colour_leaves_nothing_to_ask():
    answer = predict(brushed(RED, label={**LABEL, "tested": "this colour"}))
    assert answer.hiding.would_narrow is None


def test_a_drawdown_is_named_where_colour_leaves_a_wide_spread_and_nothing_else_is_known():
    def named(answer):
        return any("Surest" in text and "drawdown" in text for text in answer.reasons)

    assert named(predict(brushed(RED)))
    assert named(predict(brushed(RED, pigment="opaque")))
    assert not named(predict(brushed(GREYISH_GREEN)))
    assert not named(predict(brushed(RED, label=LABEL)))


# --- every answer says what it rests on ------------------------------------------------


@pytest.mark.parametrize(
    ("known", "words"),
    [
        ({}, ["its colour alone"]),
        ({"pigment": "opaque"}, ["its colour", "pigment is opaque"]),
        ({"body": "deep", "tio2_share": 0.12}, ["its colour", "strong colours", "12%"]),
        ({"label": LABEL, "body": "pastel"}, ["its label", "pale paint"]),
    ],
)
@pytest.mark.parametrize("topcoat", [YELLOW_GREEN, WHITE])
def test_each_answer_says_what_its_hiding_rests_on_and_how_well(topcoat, known, words):
    answer = predict(brushed(topcoat, **known))
    assert all(word in answer.hiding.rests_on for word in words)
    factor = answer.hiding.spread
    told = f"{factor:.2f}" if factor < 1.5 else f"{factor:.1f}"
    assert f"rests on {answer.hiding.rests_on}: one time in three" in answer.reasons[0]
    assert f"more than {told} times thinner or thicker" in answer.reasons[0]


# --- through every door ----------------------------------------------------------------


@pytest.mark.parametrize(("fact", "value"), ONE_FACT)
def test_a_fact_gives_one_answer_through_every_door(fact, value, tmp_path):
    job, http = brushed(YELLOW_GREEN, **{fact: value}), client()
    kind, answer = by_library(predict, job)
    assert kind == "answer"
    assert by_http(http, "predict", job) == ("answer", answer)
    assert by_command("predict", job, tmp_path) == ("answer", answer)
    assert by_page(http, job) == ("answer", shown_of(answer))


def test_facts_that_cannot_be_are_refused_alike_by_every_door(tmp_path):
    job, http = brushed(GREYISH_GREEN, pigment="shiny", body="thick", tio2_share=0.6), client()
    kind, problems = by_library(predict, job)
    assert kind == "problems"
    assert {p["field"] for p in problems} == {
        "topcoat.pigment",
        "topcoat.body",
        "topcoat.tio2_share",
    }
    assert by_http(http, "predict", job) == ("problems", problems)
    assert by_command("predict", job, tmp_path)[0] == "problems"
    kind, told = by_page(http, job)
    assert kind == "problems"
    assert len(told) == len(problems)


def test_the_page_shows_the_facts_that_a_link_holds():
    link = (
        "/?topcoat.colour=lab(42 58 38)&topcoat.pigment=opaque&topcoat.body=deep"
        "&topcoat.tio2_share=12 %&surface.1.colour=6b4a2a"
    )
    bench = client().get(link)
    assert bench.status_code == 200
    assert "12% of titanium dioxide" in bench.text
    assert "Hiding power rests on its colour" in bench.text
    for sheet, said in (("paint", "opaque"), ("topcoat", "deep")):
        page = read_html(client().get(f"{link}&word={sheet}").text)
        chosen = page.all("input", lambda e: "checked" in e.attrs)
        chosen += page.all("option", lambda e: "selected" in e.attrs)
        assert said in {e.attrs["value"] for e in chosen}


def test_a_usual_transfer_makes_the_film_from_paint_used_less_sure():
    use = {"paint_used": {"ml": 200, "area_m2": 2.0}, "tool": "spray"}
    usual = predict(small_job(application=use)).film
    share = usual.wet_film_um / 100.0  # 200 ml over 2 m2 are 100 um
    stated = predict(small_job(application={**use, "transfer_efficiency": share})).film
    assert stated.wet_film_um == pytest.approx(usual.wet_film_um)
    assert stated.spread < usual.spread
