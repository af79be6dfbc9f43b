"""Paint, second colour and finish together."""

from __future__ import annotations

import itertools
import re
from collections import Counter

import numpy as np
import pytest

from palette.paints import SPREAD, SYMBOLS_AND_JARGON
from showthrough.colour.difference import ciede2000
from showthrough.errors import InputError
from showthrough.palette.finishes import find_finish, usual_finishes
from showthrough.palette.harmony import harmony
from showthrough.palette.relative import relative_scores
from showthrough.palette.seconds import Second, wood_tones
from showthrough.palette.triples import PAIRS, rank_triples

SECONDS = [*(Second(f"paint {i}", tuple(map(float, p))) for i, p in enumerate(SPREAD))]
PAINT = (65.0, -10.0, 10.0)


def mean_advantage(paint, second, finish):
    """The figure with three separate calls: the slow way."""
    return np.mean(
        [
            relative_scores(paint, [second.lab]).advantage[0],
            relative_scores(paint, [finish.lab]).advantage[0],
            relative_scores(second.lab, [finish.lab]).advantage[0],
        ]
    )


def test_the_best_triple_is_the_best_of_all_by_brute_force():
    # A nearer one than 5 looks like a miss (common practice, no source).
    fits = [s for s in SECONDS if ciede2000(PAINT, s.lab) >= 5.0]
    figures = {
        (s.name, f.code): mean_advantage(PAINT, s, f)
        for s, f in itertools.product(fits, usual_finishes())
    }
    best = rank_triples(PAINT, SECONDS, limit=1000, per_second=1000)
    assert len(best) == len(figures)
    found = {(t.second.name, t.finish.code): t.advantage for t in best}
    assert found == pytest.approx(figures)
    assert (best[0].second.name, best[0].finish.code) == max(figures, key=figures.get)


def test_figures_are_the_means_of_the_three_pairs():
    for triple in rank_triples(PAINT, SECONDS):
        pairs = (
            harmony(PAINT, triple.second.lab).total,
            harmony(PAINT, triple.finish.lab).total,
            harmony(triple.second.lab, triple.finish.lab).total,
        )
        assert triple.harmony == pytest.approx(float(np.mean(pairs)))
        assert triple.weakest == PAIRS[int(np.argmin(pairs))]
        assert triple.weakest_harmony == pytest.approx(float(min(pairs)))


def test_no_second_colour_fills_the_list():
    shown = rank_triples(PAINT, SECONDS, limit=8, per_second=2)
    assert len(shown) == 8
    assert max(Counter(t.second.name for t in shown).values()) <= 2
    assert [t.rank for t in shown] == list(range(1, 9))
    figures = [t.advantage for t in shown]
    assert figures == sorted(figures, reverse=True)


def test_near_misses_of_the_paint_are_left_out():
    near = Second("almost", (66.0, -10.0, 10.0))
    assert rank_triples(PAINT, [near]) == ()
    assert rank_triples(PAINT, []) == ()
    assert rank_triples(PAINT, SECONDS, []) == ()


def test_reasons_name_the_weakest_pair_in_plain_words():
    for paint in SPREAD:
        for triple in rank_triples(paint, [*SECONDS, *wood_tones()]):
            assert f"The weakest pair is {triple.weakest}" in triple.reason
            assert not re.search(SYMBOLS_AND_JARGON, triple.reason, re.IGNORECASE), triple.reason


@pytest.mark.parametrize(
    ("second", "finish", "says"),
    [
        ((90.0, 0.0, 0.0), "622", "a light, a middle and a dark one"),
        ((68.0, 0.0, 0.0), "619", "all three are about equally light"),
        ((68.0, 0.0, 0.0), "622", "two are about equally light and the third stands out"),
    ],
)
def test_lightness_of_the_three_is_told(second, finish, says):
    found = rank_triples((60.0, 0.0, 15.0), [Second("x", second)], [find_finish(finish)])
    assert says in found[0].reason


@pytest.mark.parametrize("wrong", [{"limit": 0}, {"per_second": -1}])
def test_counts_below_one_are_refused(wrong):
    with pytest.raises(InputError, match="must be 1 or more") as caught:
        rank_triples(PAINT, SECONDS, **wrong)
    assert caught.value.problems[0].field in wrong
