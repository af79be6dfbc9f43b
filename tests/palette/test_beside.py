"""Finishes ranked beside a paint."""

from __future__ import annotations

import re
from collections import Counter

import numpy as np
import pytest

from palette.paints import SPREAD, SYMBOLS_AND_JARGON
from reference import ou_luo
from showthrough.errors import OutOfRangeError
from showthrough.palette.beside import CLEAR_GAP, rank_finishes
from showthrough.palette.finishes import Finish, all_finishes, find_finish, usual_finishes
from showthrough.palette.relative import reference_topcoats

RANKINGS = [rank_finishes(lab) for lab in SPREAD]


def test_ranking_is_by_advantage_and_holds_the_whole_shortlist():
    for ranking in RANKINGS:
        figures = [r.score.advantage for r in ranking.ranked]
        assert figures == sorted(figures, reverse=True)
        assert [r.rank for r in ranking.ranked] == list(range(1, len(figures) + 1))
        assert {r.finish for r in ranking.ranked} == set(usual_finishes())


def test_the_best_finish_depends_on_the_paint():
    """No finish leads for more than a third of twenty spread topcoats."""
    leaders = Counter(r.ranked[0].finish.code for r in RANKINGS)
    assert max(leaders.values()) <= len(SPREAD) // 3
    assert len(leaders) >= 7


def test_raw_harmony_would_have_named_one_metal_nearly_everywhere():
    """Why the ranking is relative: the raw figure hardly depends on the paint."""
    leaders = Counter(max(r.ranked, key=lambda x: x.score.harmony).finish.metal for r in RANKINGS)
    assert max(leaders.values()) >= len(SPREAD) // 2


def mean_advantage(paint, metals):
    """Over all looks of some metals."""
    ranked = rank_finishes(paint).ranked
    return np.mean([r.score.advantage for r in ranked if r.finish.metal in metals])


def test_yellow_metals_gain_beside_yellow_green_and_white_metals_beside_blue():
    """The model always favours what is near in hue."""
    yellow, white = {"brass 70/30"}, {"aluminium", "chromium", "zinc"}
    assert mean_advantage((66, -24, 55), yellow) > mean_advantage((66, -24, 55), white)
    assert mean_advantage((60, 0, -25), yellow) < mean_advantage((60, 0, -25), white)


def test_scores_are_those_of_the_literal_formula_on_in_service_colours():
    ranked = rank_finishes((65, -10, 10)).ranked
    for entry in ranked:
        total = ou_luo.harmony((65, -10, 10), entry.finish.lab)[0]
        assert entry.score.harmony == pytest.approx(total, abs=1e-9)
        assert entry.score.lightness_contrast == pytest.approx(abs(65 - entry.finish.lab[0]))


def own_finish(name, lab):
    return Finish("", "", name, "", "", "", lab, None, "given", on_furniture=True, note="")


def test_a_shortlist_is_respected_and_equal_looks_keep_their_order():
    mine = [find_finish(c) for c in ("645", "618", "613")] + [own_finish("iron", (28, 0, 1))]
    ranked = rank_finishes((42, 58, 38), mine).ranked
    assert {r.finish.code for r in ranked} == {"645", "618", "613", ""}
    order = [r.finish.code for r in ranked]
    assert order.index("645") == order.index("618") - 1


def test_adding_finishes_does_not_change_the_figures_of_the_others():
    few = {r.finish: r.score for r in rank_finishes((42, 58, 38)).ranked}
    many = {r.finish: r.score for r in rank_finishes((42, 58, 38), all_finishes()).ranked}
    for finish, score in few.items():
        assert many[finish] == score


def test_typical_colours_are_called_typical():
    for entry in RANKINGS[0].ranked:
        assert ("typical" in entry.caution) == (entry.finish.known == "typical")


def test_reasons_and_summaries_are_plain_words():
    for ranking in RANKINGS:
        sentences = [ranking.summary, *(r.reason for r in ranking.ranked)]
        for sentence in sentences:
            assert not re.search(SYMBOLS_AND_JARGON, sentence, re.IGNORECASE), sentence


def test_black_handles_on_white_are_said_to_stand_out():
    ranked = rank_finishes((96, -0.5, 2), [find_finish("622")]).ranked
    assert "much darker than the paint, so the handles stand out strongly" in ranked[0].reason


def test_red_is_called_hard_and_white_easy():
    assert "hard to match" in rank_finishes((42, 58, 38)).summary
    assert "easy to match" in rank_finishes((96, -0.5, 2)).summary


def test_an_empty_shortlist_is_answered_not_crashed():
    assert rank_finishes((50, 0, 0), []).ranked == ()


def test_not_a_number_is_refused():
    with pytest.raises(OutOfRangeError):
        rank_finishes((np.nan, 0, 0))


def test_a_lead_that_the_score_cannot_tell_is_no_winner():
    # Seventeen observers on ten steps over a range of 2.6 units (Ou, Luo 2006): the difference
    # of two mean answers is known to 0.26 * sqrt(2 / 17) = 0.09 at best.
    assert pytest.approx(2.6 / 10 * (2 / 17) ** 0.5, abs=0.02) == CLEAR_GAP
    for lab in reference_topcoats()[::13]:
        ranking = rank_finishes(lab)
        lead = [ranking.ranked[0].score.advantage - r.score.advantage for r in ranking.ranked]
        assert ranking.level == sum(gap < CLEAR_GAP for gap in lead) >= 1
        assert ranking.summary.startswith("No clear winner: ") == (ranking.level > 1)
        if ranking.level > 1:
            assert ranking.ranked[0].finish.name in ranking.summary


def test_a_finish_far_ahead_is_a_clear_winner():
    bright, dull = (
        own_finish("fitting", (80.0, -10.0, 40.0)),
        own_finish("far", (20.0, 60.0, -60.0)),
    )
    ranking = rank_finishes((66.0, -24.0, 55.0), [dull, bright])
    assert ranking.level == 1
    assert "No clear winner" not in ranking.summary
    assert rank_finishes((66.0, -24.0, 55.0), []).level == 0
