"""Sentences for a painter agree with the figures beside them."""

from __future__ import annotations

import pytest

from showthrough.jobs.predict import predict
from showthrough.jobs.soften.soften import soften
from showthrough.say.words import off, parts_words


def answer(topcoat, ground, **application):
    return predict(
        {
            "topcoat": {"colour": topcoat, "volume_solids": 0.38},
            "surface": [{"colour": ground}],
            "application": application,
        }
    )


# Once: black and dark blue, which cover in a coat, were said to hide poorly.
@pytest.mark.parametrize("dark", ["#111111", "#16233f", "lab(24 3 -22)"])
def test_a_dark_paint_that_needs_one_or_two_coats_is_said_to_cover(dark):
    told = answer(dark, "white melamine", tool="brush")
    assert told.coats.likely <= 2
    assert "poorly" not in told.reasons[0]


@pytest.mark.parametrize("vivid", ["lab(66 -24 55)", "lab(42 58 38)", "lab(82 6 80)"])
def test_a_vivid_paint_that_needs_many_coats_is_said_to_cover_poorly(vivid):
    told = answer(vivid, "lab(40 11 19)", tool="spray")
    assert told.coats.likely >= 4
    assert "covers poorly" in told.reasons[0]


def test_the_film_at_the_thin_spots_explains_the_count():
    told = answer("lab(66 -24 55)", "lab(38 12 20)", tool="spray", wet_film_um=45)
    # 4 coats of 17.1 µm less 1.2816 x 0.25 x sqrt(4) of them: 57 µm.
    needed = told.patches[0].critical_um
    assert needed < 57.0
    text = " ".join(told.reasons)
    assert f"thinnest tenth needs {needed:.0f} µm" in text
    assert "4 topcoats leave about 57 µm" in text


def test_a_coat_that_the_surface_needs_is_in_the_headline():
    told = answer("lab(42 58 38)", "brown laminate", tool="brush")
    assert told.coats.ground_coats == 1
    assert "1 " + told.ways[0].name in told.headline
    assert "bonding coat" in told.headline
    clear = next(o for o in told.undercoats if o.kind == "clear")
    assert clear.total == told.coats.likely + told.coats.ground_coats


def test_a_headline_says_how_sure_it_is_and_what_it_may_come_to():
    told = answer("lab(66 -24 55)", "lab(38 12 20)", tool="spray", wet_film_um=45)
    assert " in 10 sure" in told.headline
    assert ", perhaps " in told.headline or "Perhaps " in told.headline


def test_a_colour_that_was_moved_is_named_beside_the_headline():
    assert "97.0 of 100" in answer("#ffffff", "walnut finish dark").topcoat_note
    assert answer("lab(66 -24 55)", "walnut finish dark").topcoat_note is None


def test_a_clear_sealer_leaves_what_is_seen_and_a_white_undercoat_hides_it():
    told = predict(
        {
            "topcoat": {"colour": "lab(66 -24 55)"},
            "surface": [
                {"name": "finish", "colour": "lab(38 12 20)", "share": 0.9, "ground": "paint"},
                {"name": "spot", "colour": "#806040", "share": 0.1, "ground": "filler"},
            ],
        }
    )
    white = next(o for o in told.undercoats if o.kind == "white")
    clear = next(o for o in told.undercoats if o.kind == "clear")
    assert clear.beneath == [p.hex for p in told.patches]
    for under, bare in zip(white.beneath, clear.beneath, strict=True):
        assert int(under[1:3], 16) > int(bare[1:3], 16) + 60


def test_a_coat_too_thick_to_hold_is_warned_of():
    thick = answer("#a3b84c", "#6b4a2a", tool="spray", wet_film_um=250)
    assert any("without runs" in caution for caution in thick.cautions)
    thin = answer("#a3b84c", "#6b4a2a", tool="spray", wet_film_um=45)
    assert not any("without runs" in caution for caution in thin.cautions)


def test_a_softer_colour_stands_beside_the_chance_of_the_wished_one():
    job = {
        "topcoat": {"colour": "lab(66 -24 55)", "volume_solids": 0.38},
        "surface": [{"colour": "lab(38 12 20)"}],
        "application": {"tool": "spray", "wet_film_um": 45},
    }
    plain = predict(job).coats.enough
    for goal in soften(job).goals:
        assert goal.wished_chance == pytest.approx(plain[goal.coats], abs=2e-4)
        for way in goal.answers:
            if way.difference is not None:
                assert ("not to be seen." in way.why) == (way.difference <= 1.0)


def test_a_difference_just_above_one_does_not_read_as_one():
    assert [off(d) for d in (0.96, 1.0, 1.004, 1.04, 1.06)] == ["1.0", "1.0", "1.01", "1.04", "1.1"]


def test_a_mix_is_told_to_the_nearest_twentieth():
    parts = {"topcoat": 0.75, "white": 0.217, "black": 0.033}
    assert parts_words(parts) == "15 parts topcoat, 4 parts white, 1 part black"


def test_a_surface_has_the_colour_already_only_where_every_patch_has_it():
    said = "The surface has this colour already."
    same = {"name": "painted before", "colour": "lab(55 0 0)"}
    other = {"name": "bare door", "colour": "lab(30 10 15)"}
    for surface, whole in (([same], True), ([same, other], False), ([other, same], False)):
        answer = predict({"topcoat": {"colour": "lab(55 0 0)"}, "surface": surface})
        assert any(said in reason for reason in answer.reasons) is whole
