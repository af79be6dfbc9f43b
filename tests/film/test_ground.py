"""What each kind of ground needs before any thought of colour."""

from __future__ import annotations

import pytest
from showthrough.workshop.ground import GROUND_KINDS, Ground, needs_of

# Common practice, no source: closed, slick or greasy grounds give paint no hold.
SLICK = ("gloss", "laminate", "melamine", "metal", "waxed", "polished")


@pytest.mark.parametrize("kind", SLICK)
def test_slick_grounds_need_a_bonding_coat(kind):
    (need,) = needs_of([Ground("door", kind)])
    assert need.kind == "adhesion"
    assert need.coat
    assert need.patches == ("door",)
    assert need.sentence.startswith("“door”: ")
    assert "bonding coat" in need.sentence


@pytest.mark.parametrize("kind", SLICK)
def test_a_label_that_promises_hold_spares_the_coat_but_not_the_cleaning(kind):
    (need,) = needs_of([Ground("door", kind)], topcoat_bonds=True)
    assert need.kind == "adhesion"
    assert not need.coat
    assert "scuff it" in need.sentence
    assert "label" in need.sentence


@pytest.mark.parametrize("kind", [kind for kind in GROUND_KINDS if kind not in SLICK])
def test_other_sound_grounds_need_nothing(kind):
    assert needs_of([Ground("door", kind)]) == ()


def test_every_kind_is_either_slick_or_not():
    assert set(SLICK) < set(GROUND_KINDS)
    assert len(GROUND_KINDS) == len(set(GROUND_KINDS)) == 11


@pytest.mark.parametrize(("kind", "word"), [("waxed", "wax"), ("polished", "silicone")])
def test_wax_and_polish_have_to_come_off(kind, word):
    (need,) = needs_of([Ground("top", kind)])
    assert word in need.sentence
    assert "sanding before that rubs it in" in need.sentence  # common practice, no source


def test_bleeding_wood_needs_a_blocking_coat_whatever_the_topcoat_promises():
    # Source: Wood Handbook (FPL-GTR-190, 2010) ch. 16: extractives and knots bleed; blocking knots
    # under white is difficult.
    for bonds in (False, True):
        (need,) = needs_of([Ground("knots", "wood", bare=True, bleeds=True)], topcoat_bonds=bonds)
        assert need.kind == "blocking"
        assert need.coat
        assert "stain-blocking" in need.sentence
        assert "knots may still show under white" in need.sentence


@pytest.mark.parametrize("fact", ["porous", "sanded_through"])
def test_thirsty_spots_want_sealing_but_not_a_whole_coat(fact):
    (need,) = needs_of([Ground("edge", "wood", **{fact: True})])
    assert need.kind == "spot sealing"
    assert not need.coat


def test_needs_come_in_the_order_of_work_and_name_their_patches():
    found = needs_of(
        [
            Ground("shelf", "filler", porous=True),
            Ground("frame", "wood", bleeds=True, sanded_through=True),
            Ground("left door", "laminate"),
            Ground("right door", "laminate"),
            Ground("back", "laminate"),
            Ground("hinge", "metal"),
        ]
    )
    assert [(need.kind, need.patches) for need in found] == [
        ("adhesion", ("left door", "right door", "back")),
        ("adhesion", ("hinge",)),
        ("blocking", ("frame",)),
        ("spot sealing", ("shelf", "frame")),
    ]
    assert found[0].sentence.startswith("“left door”, “right door” and “back”: laminate")
    assert found[3].sentence.startswith("“shelf” and “frame”: ")


def test_no_patches_need_nothing():
    assert needs_of([]) == ()
