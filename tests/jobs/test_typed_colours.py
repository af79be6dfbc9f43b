"""Colour words that people type: understood, never suggested, never repeated."""

from __future__ import annotations

import warnings

import pytest

from jobs.small_jobs import small_job
from showthrough import predict
from showthrough.colour.files.swatches import SETS, Swatch, shipped_swatches
from showthrough.colour.notation import parse_colour
from showthrough.colour.reading import Reading
from showthrough.errors import InputError
from showthrough.jobs.case.readings import reading_of
from showthrough.jobs.palette import palette
from showthrough.jobs.schema.job import ColourInput
from showthrough.jobs.soften.soften import soften
from showthrough.jobs.sweep.sweep import sweep


def read(text, **how):
    return reading_of(ColourInput(text=text, **how))


def css_words():
    """The 148 words and codes of W3C CSS Color 4, section 6.1, not from the table in use.

    CSS Color 3 as the open library colour-science carries it, and the one word that the
    later standard adds.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour.notation import CSS_COLOR_3

    return {**CSS_COLOR_3, "rebeccapurple": "#663399"}


def test_every_word_of_css_is_its_colour_in_any_case():
    assert len(css_words()) == 148
    for word, code in css_words().items():
        for typed in (word, word.upper(), f" {word.title()} "):
            assert read(typed).lab == parse_colour(code).lab


def test_a_sample_swatch_of_that_name_wins(monkeypatch):
    from showthrough.jobs.case import readings

    own = Swatch("Navy", Reading(lab=(50.0, 1.0, 2.0)))
    found = readings._swatch
    monkeypatch.setattr(readings, "_swatch", lambda n: own if n.lower() == "navy" else found(n))
    assert read("navy").lab == (50.0, 1.0, 2.0)
    assert read("teal").lab == parse_colour("#008080").lab


@pytest.mark.parametrize("word", ["navy", "Peru", "seagreen", "plum", "lime"])
def test_no_answer_repeats_the_word(word):
    job = small_job(
        word, {"colour": word, "name": "door"}, undercoat=[{"name": "can", "colour": word}]
    )
    for use in (predict, soften, palette, sweep):
        text = use(job).model_dump_json().lower()
        assert word.lower() not in text.replace(
            job["title"].lower() if "title" in job else "\0", ""
        )


def test_no_swatch_is_named_by_a_word_of_css_alone():
    grey = {"white", "black", "grey", "red", "blue", "green", "yellow", "brown", "orange"}
    plain = grey | {"purple", "pink"}  # words of hue and lightness, which the standard has too
    names = {w for s in SETS for each in shipped_swatches(s) for w in each.name.split()}
    assert not (names & set(css_words())) - plain - {"linen"}


def test_an_unknown_word_is_offered_three_of_ours_and_no_word_of_css():
    with pytest.raises(InputError) as caught:
        read("blurple")
    message = caught.value.problems[0].message
    offered = message.partition("names are: ")[2].partition(";")[0].split(", ")
    ours = {s.name for each in SETS for s in shipped_swatches(each)}
    assert len(offered) == 3
    assert set(offered) <= ours


def test_a_word_takes_no_other_light_than_its_own():
    # Source: CSS Color 4, section 6.1: named colours are sRGB, whose white is D65.
    with pytest.raises(InputError, match="defined for D65"):
        read("navy", illuminant="A")


@pytest.mark.parametrize("text", ["transparent", "currentcolor", "dark blue ish", "navy9", ""])
def test_what_is_no_colour_word_is_refused(text):
    with pytest.raises(InputError):
        read(text)


def test_sentences_call_it_by_words_of_hue_and_lightness():
    # The words are our own for #00ff00; a sentence about a colour begins with its label.
    assert read("lime").label == "vivid yellow-green"


@pytest.mark.parametrize("apart", [" ", "-", "  ", "_"])
def test_a_word_of_css_may_be_written_in_its_parts(apart):
    # Source: CSS Color 4, section 6.1 (no spaces there); painters part the words.
    parts = {"darkblue": "Dark{}blue", "lightgoldenrodyellow": "light{}Goldenrod{}yellow"}
    for word, typed in parts.items():
        assert read(typed.format(apart, apart)).lab == parse_colour(css_words()[word]).lab


@pytest.mark.parametrize("text", ["blurple", "dark blurple", "bluish-gren"])
def test_an_unknown_word_is_refused_in_two_lines_with_names_that_work(text):
    with pytest.raises(InputError) as caught:
        read(text)
    (problem,) = caught.value.problems
    assert len(problem.message) <= 200
    offered = problem.message.partition("names are: ")[2].partition(";")[0].split(", ")
    assert all(read(name).lab is not None for name in offered)
