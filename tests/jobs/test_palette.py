"""What sits beside a topcoat, for every notation, shortlist and list of seconds."""

from __future__ import annotations

import math

import pytest

from jobs.small_jobs import GREYISH_GREEN, YELLOW_GREEN, patch, small_job
from palette.paints import SPREAD
from showthrough import InputError, palette_for, predict
from showthrough.colour.difference import ciede2000
from showthrough.colour.files.swatches import shipped_swatches
from showthrough.colour.space import srgb_to_lab
from showthrough.palette.finishes import all_finishes, usual_finishes
from showthrough.palette.seconds import wood_tones


def problems(job):
    with pytest.raises(InputError) as caught:
        palette_for(job)
    return caught.value.problems


@pytest.mark.parametrize(
    "colour",
    [
        {"hex": "#94aa35"},
        {"lab": [66, -24, 55]},
        {"lch": [66, 60, 114]},
        {"xyz": [27.5, 35.3, 9.4]},
        {"munsell": "5GY 6/8"},
        {"lrv": 45},
        {"swatch": "yellow-green 54"},
        {"spectrum": {"values": [0.1 + 0.01 * i for i in range(31)]}},
        "rgb(163 184 76)",
        "N 7",
    ],
    ids=str,
)
def test_finishes_seconds_woods_triples_and_lamps_are_ranked_for_every_notation(colour):
    answer = palette_for(small_job(colour))
    assert len(answer.finishes) == len(usual_finishes())
    assert len(answer.second_colours) == len(shipped_swatches("topcoats"))
    assert len(answer.woods) == len(wood_tones())
    for ranked in (answer.finishes, answer.second_colours, answer.woods, answer.triples):
        assert [entry.rank for entry in ranked] == list(range(1, len(ranked) + 1))
        assert all(math.isfinite(entry.harmony) for entry in ranked)
        assert all(entry.why for entry in ranked)
    assert answer.triples
    for pair in answer.lamps:
        assert len(pair.under) >= 3
        assert all(math.isfinite(u.difference) for u in pair.under)


def test_finishes_are_those_of_the_prediction():
    job = small_job(YELLOW_GREEN)
    assert palette_for(job).finishes == predict(job).finishes
    assert palette_for(job).finishes_summary == predict(job).finishes_summary


@pytest.mark.parametrize("topcoat", SPREAD)
def test_both_figures_are_shown_and_the_first_gains_most(topcoat):
    finishes = palette_for(small_job(topcoat)).finishes
    gains = [f.advantage for f in finishes]
    assert gains == sorted(gains, reverse=True)
    assert len({f.harmony for f in finishes}) > 1


def test_the_raw_figure_hardly_depends_on_the_topcoat_and_the_order_shown_does():
    # In a trial bright aluminium or brass led the raw figure for 18 of 20 topcoats.
    raw, shown = set(), set()
    for topcoat in SPREAD:
        finishes = palette_for(small_job(topcoat)).finishes
        raw.add(max(finishes, key=lambda f: f.harmony).name)
        shown.add(finishes[0].name)
    assert len(shown) > len(raw)


# --- the painter's shortlist -----------------------------------------------------------


def test_a_shortlist_by_code_us_code_and_name_is_all_that_is_ranked():
    answer = palette_for(small_job(GREYISH_GREEN, finishes=["606", "US10B", "satin nickel"]))
    assert len(answer.finishes) == 3
    assert {f.code for f in answer.finishes} >= {"606"}
    assert all(t.finish.startswith(tuple(f.name for f in answer.finishes)) for t in answer.triples)


def test_an_unknown_finish_code_lists_near_ones_at_its_place():
    (problem,) = problems(small_job(GREYISH_GREEN, finishes=["606", "6O6"]))
    assert (problem.field, problem.value) == ("finishes[2]", "6O6")
    known = {f.code for f in all_finishes()}
    assert any(code in problem.message for code in known)
    assert problem.code == "unknown_finish"


def test_every_unknown_finish_is_told():
    found = problems(small_job(GREYISH_GREEN, finishes=["zz9", "606", "satin"]))
    assert {p.field: p.code for p in found} == {
        "finishes[1]": "unknown_finish",
        "finishes[3]": "ambiguous_finish",
    }


def test_a_finish_named_twice_is_ranked_once():
    assert len(palette_for(small_job(GREYISH_GREEN, finishes=["606", "606", "US4"])).finishes) == 1


def test_an_empty_shortlist_ranks_no_finish_and_breaks_nothing():
    answer = palette_for(small_job(GREYISH_GREEN, finishes=[]))
    assert (answer.finishes, answer.triples) == ([], [])
    assert answer.second_colours


# --- second colours --------------------------------------------------------------------


def test_ones_own_second_colours_and_woods_are_ranked_alone():
    own = [
        {"name": "drawers", "colour": "#d8c39a"},
        {"name": "legs", "colour": "lab(38 12 20)", "kind": "wood"},
    ]
    answer = palette_for(small_job(GREYISH_GREEN, second_colour=own))
    assert [s.name for s in answer.second_colours] == ["drawers"]
    assert [s.name for s in answer.woods] == ["legs"]
    assert {t.second for t in answer.triples} == {"drawers", "legs"}


def test_second_colours_from_the_samples_look_like_their_hex():
    answer = palette_for(small_job(GREYISH_GREEN))
    for second in answer.second_colours:
        code = second.hex.lstrip("#")
        screen = srgb_to_lab([int(code[i : i + 2], 16) / 255.0 for i in (0, 2, 4)])
        assert float(ciede2000(second.lab, screen)) <= 1.01  # L*, a*, b* to two decimals


def test_a_wrong_second_colour_is_told_at_its_place():
    (problem,) = problems(small_job(GREYISH_GREEN, second_colour=[{"name": "x", "colour": "#12"}]))
    assert problem.field == "second_colour[1].colour"


def test_a_second_colour_like_the_topcoat_reads_as_a_bad_match_and_stands_last():
    own = [
        {"name": "twin", "colour": {"lab": [65.5, -10, 10]}},
        {"name": "pale yellow", "colour": {"lab": [90, 1, 12]}},
    ]
    answer = palette_for(small_job(GREYISH_GREEN, second_colour=own))
    last = answer.second_colours[-1]
    assert (last.name, last.too_near) == ("twin", True)


def test_the_surface_has_no_say_in_what_sits_beside_the_paint():
    one = palette_for(small_job(GREYISH_GREEN, patch((20, 0, 0))))
    other = palette_for(small_job(GREYISH_GREEN, patch((90, 0, 5))))
    assert one == other
