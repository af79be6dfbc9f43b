"""The sentences: plain words, and true to the colours they speak of."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from palette.paints import SPREAD, SYMBOLS_AND_JARGON
from showthrough.palette.reasons import (
    Seen,
    colour_relation,
    lightness_relation,
    metal_words,
    paint_summary,
    pair_sentence,
    standing,
)

GREEN, RED, BLUE = (66, -24, 55), (42, 58, 38), (24, 3, -22)
BRASS, NICKEL, CHROMIUM = (71.4, -1.3, 29.9), (66.6, 0.5, 6.2), (66.0, -0.7, -0.8)
COLOUR = st.tuples(st.floats(0, 100), st.floats(-90, 90), st.floats(-90, 90))


def relation(one, two):
    return colour_relation(Seen.from_lab(one), Seen.from_lab(two))


@pytest.mark.parametrize(
    ("paint", "other", "says"),
    [
        (GREEN, BRASS, "they share the yellow side"),
        (RED, BRASS, "their colours have little in common"),
        (BLUE, BRASS, "opposites"),
        (GREEN, CHROMIUM, "it has no colour to set against so strong a yellow-green"),
        (BLUE, CHROMIUM, "leaves the blue in peace"),
        ((85, 5, 20), NICKEL, "both are on the warm side"),
        ((55, 0, 0), BRASS, "it brings some warmth to the paint"),
        ((55, 0, 0), (60, -5, -15), "it brings some colour to the paint"),
        ((55, 0, 0), CHROMIUM, "nothing quarrels"),
        ((92, 0, 6), NICKEL, "both are a little warm"),
        ((90, 0, -5), NICKEL, "the paint is a little cool and it is a little warm"),
        ((82, 6, 80), BRASS, "though the paint is much stronger"),
        ((70, 1, 25), (72, 5, 80), "though it is much stronger"),
        ((60, -30, 20), (60, -30, 22), "both are of one family, green"),
        ((60, 40, 36), (75, 11, 52), "neighbours"),
    ],
)
def test_relation_of_two_colours_in_words(paint, other, says):
    assert says in relation(paint, other)


def test_names_can_be_given_to_both():
    words = colour_relation(
        Seen.from_lab((55, 0, 0)), Seen.from_lab(BRASS), ("the drawer", "the knob")
    )
    assert words.startswith("the knob brings some warmth to the drawer")


@pytest.mark.parametrize(
    ("metal", "words"),
    [
        (BRASS, "a warm yellow metal"),
        ((52, 2.4, 26.9), "a warm yellow metal"),
        ((72.4, 5.4, 21.6), "a warm light brown metal"),
        ((30, 6.8, 15.4), "a dark brown metal"),
        (NICKEL, "a faintly warm grey metal"),
        (CHROMIUM, "a plain grey metal"),
        ((79.5, -0.2, -0.5), "a pale grey metal"),
        ((25, 0, 0), "a nearly black metal"),
    ],
)
def test_metals_are_called_what_shops_call_them(metal, words):
    assert metal_words(Seen.from_lab(metal)) == words


def test_steps_of_lightness_grow_in_words():
    """Common practice, no source."""
    said = [lightness_relation(step, "handles") for step in (-50, -30, -10, 0, 10, 30, 50)]
    assert len(set(said)) == 7
    assert [("darker" in s, "lighter" in s) for s in said[:2]] == [(True, False)] * 2
    assert said[0] == "much darker than the paint, so the handles stand out strongly"
    assert said[3] == "about as light as the paint, so the handles keep quiet"


def test_standing_is_told_without_figures_at_its_ends():
    assert "nearly every other" in standing(100)
    assert "83 of 100" in standing(83)
    assert "most paint colours" in standing(50)
    assert "only 4 of 100" in standing(4)
    assert standing(0) == "nearly every other paint colour suits it better"


def test_summary_tells_easy_from_difficult_colours():
    red = Seen.from_lab(RED)
    assert "hard to match" in paint_summary(red, [-0.4, -0.6, -0.7])
    assert "easy to match" in paint_summary(red, [0.9, 0.8, 0.6])
    assert "hardly differ" in paint_summary(red, [0.1, 0.12, 0.15])
    assert "lose by it" in paint_summary(red, [0.3, 0.1, -0.1])
    assert "gain least" in paint_summary(red, [0.4, 0.2, 0.1])


@given(COLOUR, COLOUR, st.floats(0, 100))
def test_every_sentence_is_free_of_symbols_and_jargon(one, two, beats):
    paint, other = Seen.from_lab(one), Seen.from_lab(two)
    sentence = pair_sentence(metal_words(other), paint, other, "handles", beats)
    assert not re.search(SYMBOLS_AND_JARGON, sentence, re.IGNORECASE), sentence
    assert sentence.endswith(".")
    assert sentence[0].isupper()


def test_the_guard_against_jargon_can_fail():
    assert re.search(SYMBOLS_AND_JARGON, "CIEDE2000 is 3", re.IGNORECASE)
    assert re.search(SYMBOLS_AND_JARGON, "a* is low", re.IGNORECASE)


def test_sentences_differ_between_paints():
    brass = Seen.from_lab(BRASS)
    said = {pair_sentence("brass", Seen.from_lab(p), brass, "handles", 50) for p in SPREAD}
    assert len(said) >= 18


def test_relation_has_the_same_sides_in_either_order():
    for one, two in itertools.combinations((GREEN, RED, BLUE, BRASS, (70, 20, 5)), 2):
        assert relation(one, two).split(",")[0] == relation(two, one).split(",")[0]
