"""Second colours and wood tones beside a paint."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from palette.paints import SPREAD, SYMBOLS_AND_JARGON
from showthrough.colour.difference import ciede2000
from showthrough.colour.names import describe_colour
from showthrough.colour.space import hex_of_lab, lch_to_lab, srgb_to_lab
from showthrough.palette.harmony import harmony
from showthrough.palette.seconds import (
    WOOD,
    Second,
    on_screen,
    rank_second_colours,
    suggestible,
    wood_tones,
)

PAINTS = [
    Second(f"{describe_colour(lab)} {lab[0]:.0f}", tuple(float(v) for v in lab)) for lab in SPREAD
]


def test_wood_tones_of_published_tables_are_shipped_as_published():
    """Source: means of a study of spruce and fir (Wood Research); spectra in Glassner 1995."""
    woods = {w.name: w for w in wood_tones()}
    assert woods["spruce"].lab == pytest.approx((80.08, 7.55, 21.56), abs=0.06)
    assert woods["fir"].lab == pytest.approx((80.46, 6.84, 18.90), abs=0.06)
    assert woods["oak"].lab == pytest.approx((64.8, 8.5, 34.9))
    assert woods["walnut"].lab == pytest.approx((43.1, 4.3, 10.4))
    assert {w.known for w in woods.values()} == {"published", "typical"}
    assert all(w.kind == WOOD and w.note for w in woods.values())


def test_typical_woods_lie_in_their_usual_ranges():
    """From memory: freshly planed L* of pine 78-83, maple 78-82, beech 72-77, cherry 58-65,
    mahogany 48-58."""
    woods = {w.name: w.lab[0] for w in wood_tones()}
    assert 78 <= woods["fresh pine"] <= 83
    assert 78 <= woods["maple"] <= 82
    assert 72 <= woods["beech"] <= 77
    assert 58 <= woods["cherry"] <= 65
    assert 48 <= woods["mahogany"] <= 58


@pytest.mark.parametrize("paint", SPREAD)
def test_order_is_by_advantage_with_near_misses_last(paint):
    ranked = rank_second_colours(paint, [*PAINTS, *wood_tones()]).ranked
    keys = [(r.too_near, r.loud, -r.score.advantage) for r in ranked]
    assert keys == sorted(keys)
    assert next(r for r in ranked if r.second.lab == paint).too_near


def test_figures_are_those_of_the_pair():
    entry = rank_second_colours((66, -24, 55), [Second("x", (40.0, 11.0, 19.0))]).ranked[0]
    total = harmony((66, -24, 55), (40, 11, 19)).total
    assert entry.score.harmony == pytest.approx(float(total))
    assert entry.delta_e == pytest.approx(float(ciede2000((66, -24, 55), (40, 11, 19))))


def test_a_near_miss_is_called_a_bad_match():
    near = Second("almost", (67.0, -24.0, 54.0))
    entry = rank_second_colours((66, -24, 55), [near]).ranked[0]
    assert entry.delta_e < 5.0  # common practice, no source
    assert "bad match" in entry.reason


def test_the_order_changes_with_the_paint():
    leaders = {
        rank_second_colours(p, [*PAINTS, *wood_tones()]).ranked[0].second.name for p in SPREAD
    }
    assert len(leaders) >= 8


def test_wood_is_named_and_its_clear_coat_mentioned():
    entry = rank_second_colours((65, -10, 10), wood_tones()).ranked[0]
    assert entry.reason.startswith(entry.second.name.capitalize())
    assert "clear coat darkens wood" in entry.caution
    plain = rank_second_colours((65, -10, 10), [Second("plank", (60.0, 8.0, 20.0), WOOD)])
    assert plain.ranked[0].caution == "A clear coat darkens wood and makes its colour stronger."


def test_the_same_words_twice_become_another():
    entry = rank_second_colours((66, -24, 55), [Second("x", (80.0, -26.0, 60.0))]).ranked[0]
    assert entry.reason.startswith("Another vivid yellow-green beside a vivid yellow-green")


def test_reasons_are_plain_words():
    for paint in SPREAD:
        ranking = rank_second_colours(paint, [*PAINTS, *wood_tones()])
        for sentence in (ranking.summary, *(r.reason for r in ranking.ranked)):
            assert not re.search(SYMBOLS_AND_JARGON, sentence, re.IGNORECASE), sentence


VIVID = Second("vivid cyan", (60.0, -45.0, -30.0), known="invented")


def shown(second):
    """What a screen makes of a hex code (IEC 61966-2-1)."""
    code = hex_of_lab(second.lab).lstrip("#")
    return srgb_to_lab([int(code[i : i + 2], 16) / 255.0 for i in (0, 2, 4)])


@given(st.floats(5.0, 95.0), st.floats(0.0, 110.0), st.floats(0.0, 360.0))
def test_a_second_colour_looks_like_its_hex(light, chroma, hue):
    lab = tuple(lch_to_lab([light, chroma, hue]).tolist())
    (moved,) = on_screen([Second("x", lab, known="invented")])
    assert float(ciede2000(moved.lab, shown(moved))) <= 1.0
    given_one = rank_second_colours((66, -24, 55), [Second("x", lab)]).ranked[0]
    says = "A screen cannot show this colour" in given_one.caution
    assert says == (float(ciede2000(lab, shown(Second("x", lab)))) > 1.0)


def test_what_a_screen_shows_is_not_moved_and_a_given_colour_never():
    own = Second("can", VIVID.lab)
    plain = Second("plain", (50.0, 5.0, 5.0), known="invented")
    assert on_screen([plain, own]) == [plain, own]
    (moved,) = on_screen([VIVID])
    assert moved.lab == pytest.approx(shown(VIVID).tolist())
    assert hex_of_lab(moved.lab) == hex_of_lab(VIVID.lab)


def test_no_candidates_no_ranking():
    assert rank_second_colours(np.array([50.0, 0, 0]), []).ranked == ()


@pytest.mark.parametrize("topcoat", [(66, -24, 55), (55, 0, 0), (42, 58, 38), (24, 3, -22)])
def test_the_first_suggested_is_quieter_than_the_topcoat_or_pale(topcoat):
    chroma = float(np.hypot(topcoat[1], topcoat[2]))
    loudest = Second("loudest", (60.0, 0.9 * max(chroma, 30.0), 1.0))
    quiet = Second("quiet", (90.0, 1.0, 9.0))
    ranking = rank_second_colours(topcoat, [loudest, quiet])
    assert [r.second.name for r in ranking.ranked] == ["quiet", "loudest"]
    assert [r.loud for r in ranking.ranked] == [False, True]
    assert "takes the lead" in ranking.ranked[1].reason
    assert suggestible(topcoat, [loudest, quiet]).tolist() == [False, True]


def test_a_colour_that_paint_cannot_be_is_not_suggested_first():
    no = Second("no paint", (80.0, 1.0, 8.0), possible=False)
    yes = Second("paint", (30.0, 0.0, -1.0))
    ranking = rank_second_colours((85.0, -2.0, 12.0), [no, yes])
    assert [r.second.name for r in ranking.ranked] == ["paint", "no paint"]


def test_a_wood_is_never_loud():
    wood = Second("strong wood", (60.0, 20.0, 45.0), WOOD)
    assert not rank_second_colours((55.0, 0.0, 0.0), [wood]).ranked[0].loud
