"""What each kind of ground is prepared with and needs.

Source of the table: common practice, no source; for knots and woods that bleed the Wood Handbook
(FPL-GTR-282) ch. 16, from memory.
"""

from __future__ import annotations

import re
from datetime import date
from itertools import pairwise
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showthrough.workshop.grounds import (
    GROUND_KINDS,
    Bleeds,
    Condition,
    Ground,
    LeadTest,
    Stain,
    needs_of,
    preparation_of,
    questions_of,
    unsound,
)

CLEARED = LeadTest("laboratory", "clear", date(2026, 3, 14))
KIT_CLEAR = LeadTest("kit", "clear")
FINISH = ("lead test", "wash", "key P180-220, wet", "dust off")
SLICK_COAT = ("lead test", "wash", "key P180-240, wet", "dust off")
SLICK = ("wash", "key P180-240", "dust off")
WOOD = ("sand P120-150-180-220", "raise grain", "knock back P240-320", "dust off")
WAXED = ("lead test", "wax off", "wash", "key P180-220, wet", "dust off")
PLATE = ("degrease", "key P240-320, lightly, wet", "dust off")
LOOSE = ("lead test", "strip", "feather", "wash", "key P180-220, wet", "dust off")
CHALKY = ("lead test", "brush off", "wash", "chalk test")
KINDS_OF_OLD_JOB_FILES = (
    "wood",
    "varnish",
    "paint",
    "gloss",
    "laminate",
    "melamine",
    "metal",
    "waxed",
    "polished",
    "filler",
    "sealed",
)
ABRASIVE = {"sand", "key", "knock back", "feather", "rust off"}

# Kind, facts, preparation in order, then each need as kind, product and coats.
BOND = ("adhesion", "bonding coat", 1)
BLOCK = ("blocking", "stain-blocking", 1)
GLASS = ("adhesion", "bonding coat made for glass", 1)
SEAL = ("sealing", "sealer", 1)
ROWS = [
    ("unknown", {}, FINISH, []),
    ("filler", {}, ("sand P180-220", "dust off"), [SEAL]),
    ("varnish", {}, (*FINISH, "bleed test"), []),
    ("lacquer", {}, (*FINISH, "bleed test"), []),
    ("varnish", {"bleeds": "no"}, FINISH, []),
    ("varnish", {"bleeds": "may"}, (*FINISH, "bleed test"), []),
    ("varnish", {"bleeds": "yes"}, FINISH, [BLOCK]),
    ("varnish", {"sanded_through": True, "bleeds": "no"}, FINISH, [SEAL]),
    ("sealed", {}, FINISH, []),
    ("paint", {}, FINISH, []),
    ("paint", {"condition": "flaking"}, LOOSE, []),
    ("paint", {"condition": "crazed"}, LOOSE, []),
    ("paint", {"condition": "soft"}, LOOSE, []),
    ("gloss", {"condition": "flaking"}, (*LOOSE[:4], *SLICK_COAT[2:]), []),
    ("wood", {"condition": "flaking"}, LOOSE, []),
    ("paint", {"condition": "chalking"}, CHALKY, [("binding", "binding sealer", 1)]),
    ("gloss", {"condition": "chalking"}, CHALKY, [("binding", "binding sealer", 1)]),
    ("mineral paint", {}, CHALKY, [("binding", "binding sealer", 1)]),
    ("mineral paint", {"condition": "sound"}, CHALKY, []),
    (
        "plastic",
        {},
        ("degrease", "key P240-320", "dust off", "test spot"),
        [("adhesion", "bonding coat made for plastic", 1)],
    ),
    ("veneer", {"condition": "loose"}, ("glue", *WOOD), [SEAL]),
    ("varnish", {"condition": "sound", "bleeds": "no"}, FINISH, []),
    ("varnish", {"condition": "loose", "bleeds": "no"}, ("lead test", "glue", *FINISH[1:]), []),
    ("gloss", {}, SLICK_COAT, [BOND]),
    ("two-pack", {}, SLICK_COAT, [BOND]),
    ("melamine", {}, SLICK, [BOND]),
    ("laminate", {}, SLICK, [BOND]),
    ("foil", {}, SLICK, [BOND]),
    ("waxed", {}, WAXED, [BOND]),
    ("oiled", {}, WAXED, [BOND]),
    ("waxed", {"bare": True}, ("wax off", "wash", "key P180-220", "dust off"), [BOND]),
    (
        "polished",
        {},
        ("lead test", "silicone off", "key P180-220, wet", "dust off"),
        [("adhesion", "shellac-based sealer", 1)],
    ),
    ("shellac", {}, ("lead test", "test wipe", "key P240-320, lightly, wet", "dust off"), []),
    ("wood", {}, WOOD, [SEAL]),
    ("unknown", {"bare": True}, WOOD, [SEAL]),
    ("wood", {"bare": False}, FINISH, []),
    ("plywood", {}, WOOD, [SEAL]),
    ("veneer", {}, WOOD, [SEAL]),
    ("knots", {}, WOOD, [BLOCK]),
    ("oak", {}, WOOD, [BLOCK]),
    ("oak", {"bare": False}, (*FINISH, "bleed test"), []),
    ("oak", {"bleeds": "no"}, WOOD, [SEAL]),
    ("walnut", {}, WOOD, [BLOCK]),
    ("mahogany", {}, WOOD, [BLOCK]),
    ("cherry", {}, WOOD, [BLOCK]),
    ("wood", {"stain": "old stain"}, ("wash", *WOOD), [BLOCK]),
    ("wood", {"stain": "tannin"}, ("wash", *WOOD), [BLOCK]),
    ("paint", {"stain": "nicotine"}, FINISH, [BLOCK]),
    ("paint", {"stain": "water"}, FINISH, [BLOCK]),
    ("paint", {"stain": "ink"}, FINISH, [BLOCK]),
    (
        "paint",
        {"stain": "grease"},
        ("lead test", "wash", "degrease degreaser, twice", *FINISH[2:]),
        [BLOCK],
    ),
    ("glass", {"stain": "grease"}, ("wash", "degrease degreaser, twice"), [BLOCK, GLASS]),
    ("mdf", {}, ("sand P180-220", "dust off"), []),
    ("mdf edge", {}, ("sand P180", "dust off"), [("sealing", "sealer for board edges", 2)]),
    ("mdf", {"edge": True}, ("sand P180", "dust off"), [("sealing", "board edges", 2)]),
    ("plywood", {"edge": True}, ("sand P180", "dust off"), [("sealing", "board edges", 2)]),
    ("chipboard", {}, ("sand P180-220", "dust off"), [SEAL]),
    ("steel", {}, ("rust off", "solvent wipe"), [("corrosion", "anti-corrosion primer", 1)]),
    ("metal", {}, PLATE, [("corrosion", "made for metal", 1)]),
    ("galvanised", {}, PLATE, [("corrosion", "made for galvanised steel", 1)]),
    ("aluminium", {}, PLATE, [("corrosion", "made for aluminium", 1)]),
    ("brass", {}, PLATE, [("corrosion", "made for brass", 1)]),
    ("glass", {}, ("degrease",), [GLASS]),
]


def kinds(works):
    return [work.kind for work in works]


def said(works):
    return [f"{work.kind} {work.product}" for work in works]


@pytest.mark.parametrize(("kind", "facts", "steps", "needs"), ROWS)
def test_each_ground_has_its_preparation_in_order_and_its_needs(kind, facts, steps, needs):
    patch = Ground("door", kind, **facts)
    works = preparation_of([patch])
    told = said(works)
    assert len(told) == len(steps), told
    assert all(work.on == ("door",) and work.everywhere for work in works)
    for work, step in zip(told, steps, strict=True):
        assert re.match(re.escape(step) + "($|[ ,])", work), told
    found = needs_of([patch])
    assert [need.kind for need in found] == [need[0] for need in needs]
    for need, (_, product, coats) in zip(found, needs, strict=True):
        assert product in need.product.name
        assert need.coats == coats
        assert need.patches == ("door",)
        assert need.all_over  # What every patch asks for is a whole coat.
        assert need.share == 1.0
        assert need.kind in need.product.serves
        assert need.why
        assert need.source


def test_every_kind_condition_and_stain_has_a_row_and_old_job_files_stay_valid():
    assert {kind for kind, *_ in ROWS} == set(GROUND_KINDS) > set(KINDS_OF_OLD_JOB_FILES)
    facts = [facts for _, facts, *_ in ROWS]
    said_of = {fact: {f.get(fact) for f in facts} - {None} for fact in ("condition", "stain")}
    assert said_of == {"condition": set(get_args(Condition)), "stain": set(get_args(Stain))}
    assert {f.get("bleeds") for f in facts} - {None} == set(get_args(Bleeds))


# --- lead ---------------------------------------------------------------------------------------


def test_a_laboratory_lifts_wet_sanding_and_a_home_kit_does_not():
    # Common practice, no source: home kits miss lead.
    grounds = [Ground("door", "gloss"), Ground("ring", "filler")]
    for test in (None, KIT_CLEAR, LeadTest("kit", "lead"), LeadTest("laboratory", "lead")):
        works = preparation_of(grounds, lead_test=test)
        assert all("wet" in w.product for w in works if w.kind in ABRASIVE), said(works)
        assert works[-1].product == "HEPA vacuum and a damp cloth, no brush"
    cleared = preparation_of(grounds, lead_test=CLEARED)
    assert not any("wet" in w.product for w in cleared)
    assert kinds(cleared) == ["wash", "sand", "key", "dust off"]


def test_what_a_test_found_decides_the_first_step():
    door = [Ground("door", "varnish", bleeds="no")]
    assert kinds(preparation_of(door))[0] == "lead test"
    assert kinds(preparation_of(door, lead_test=KIT_CLEAR))[0] == "wash"
    assert kinds(preparation_of(door, lead_test=LeadTest("kit", "lead")))[0] == "lead safety"
    assert "mask" in preparation_of(door, lead_test=KIT_CLEAR)[1].why


def test_old_plating_is_keyed_wet_whatever_was_found_of_lead():
    works = preparation_of([Ground("hinge", "galvanised"), Ground("d", "paint")], lead_test=CLEARED)
    assert [w.product for w in works if w.kind == "key"] == ["P240-320, lightly, wet", "P180-220"]


# --- merged over patches ------------------------------------------------------------------------

grounds_drawn = st.lists(
    st.builds(
        Ground,
        share=st.none(),
        name=st.just("patch"),
        kind=st.sampled_from(GROUND_KINDS),
        condition=st.sampled_from((None, *get_args(Condition))),
        stain=st.sampled_from((None, *get_args(Stain))),
        bleeds=st.sampled_from((None, *get_args(Bleeds))),
        porous=st.sampled_from((None, True, False)),
        sanded_through=st.booleans(),
        bare=st.sampled_from((None, True, False)),
        edge=st.booleans(),
    ),
    min_size=1,
    max_size=5,
).map(lambda found: [g._replace(name=f"patch {i}") for i, g in enumerate(found)])
laws = settings(deadline=None, max_examples=150)


@laws
@given(grounds_drawn, st.sampled_from((None, KIT_CLEAR, CLEARED, LeadTest("kit", "lead"))))
def test_no_step_comes_twice_and_what_dissolves_comes_before_what_sands(grounds, test):
    works = preparation_of(grounds, lead_test=test)
    assert len(set(said(works))) == len(works)
    order = kinds(works)
    sanding = [i for i, kind in enumerate(order) if kind in ABRASIVE]
    for early in ("lead test", "glue", "wax off", "silicone off"):
        assert all(i < min(sanding, default=99) for i, kind in enumerate(order) if kind == early)
    assert "lead test" not in order[1:]
    for early, late in pairwise(("sand", "raise grain", "knock back", "dust off")):
        if early in order and late in order:
            assert max(i for i, k in enumerate(order) if k == early) < order.index(late)
    assert all(w.everywhere == (len(w.on) == len(grounds)) for w in works)


@laws
@given(grounds_drawn, st.booleans())
def test_needs_hold_together(grounds, bonds):
    needs = needs_of(grounds, topcoat_bonds=bonds)
    loose = {name for found in unsound(grounds) for name in found.patches}
    for need in needs:
        assert not loose & set(need.patches)
        assert need.all_over or len(need.patches) < len(grounds)
        assert (need.share == 1.0) if need.all_over else 0 < need.share < 1 + 1e-9
        assert {need.kind, *need.also} <= set(need.product.serves)
        assert need.product.clear or need.product.white
    # A whole coat that seals makes sealing of spots needless; a board's edge still wants one.
    if any(n.all_over and n.kind != "sealing" and "sealing" in n.product.serves for n in needs):
        assert all(n.coats == 1 and n.between for n in needs if n.kind == "sealing")
    # One whole coat is enough wherever one product can do all of it.
    whole = [n for n in needs if n.all_over and n.kind in {"blocking", "adhesion"}]
    assert len([n for n in whole if "made for" not in n.product.name]) <= 1


def test_the_same_work_on_several_patches_is_one_step():
    works = preparation_of(
        [Ground("left", "gloss"), Ground("right", "gloss"), Ground("top", "varnish", bleeds="no")]
    )
    assert [(w.kind, w.on) for w in works] == [
        ("lead test", ("left", "right", "top")),
        ("wash", ("left", "right", "top")),
        ("key", ("left", "right")),
        ("key", ("top",)),
        ("dust off", ("left", "right", "top")),
    ]


# --- where a coat goes --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("share", "all_over", "coats"), [(0.05, False, 2), (0.19, False, 2), (0.2, True, 1)]
)
def test_knots_alone_take_two_thin_coats_until_they_are_a_fifth_of_the_area(share, all_over, coats):
    # Common practice, no source.
    grounds = [Ground("knot", "knots", share), Ground("finish", "paint", 1 - share)]
    (need,) = needs_of(grounds)
    assert (need.kind, need.all_over, need.coats) == ("blocking", all_over, coats)
    assert need.share == (1.0 if all_over else share)
    assert need.patches == ("knot",)


def test_shares_of_several_spots_add_up_and_what_is_not_said_is_divided_evenly():
    spots = [Ground("ink", "paint", 0.1, stain="ink"), Ground("ring", "paint", 0.1, stain="water")]
    assert needs_of([*spots, Ground("rest", "paint")])[0].all_over
    assert not needs_of([spots[0], Ground("rest", "paint")])[0].all_over
    (need,) = needs_of([Ground("ink", "paint", stain="ink")] + [Ground("rest", "paint")] * 5)
    assert need.share == pytest.approx(1 / 6)


def test_nicotine_is_blocked_all_over_however_small_the_mark():
    (need,) = needs_of(
        [Ground("mark", "paint", 0.05, stain="nicotine"), Ground("rest", "paint", 0.95)]
    )
    assert need.all_over


def test_one_mark_of_nicotine_among_other_stains_is_enough_to_block_all_over():
    marks = [Ground("smoke", "paint", 0.05, stain="nicotine")]
    marks += [Ground("ring", "paint", 0.05, stain="water"), Ground("rest", "paint", 0.9)]
    (need,) = needs_of(marks)
    assert (need.all_over, need.share, need.coats) == (True, 1.0, 1)
    (spots,) = needs_of([marks[1], marks[2]])
    assert not spots.all_over


def test_one_product_that_blocks_and_bonds_goes_all_over_once():
    (need,) = needs_of([Ground("frame", "oak", 0.5), Ground("door", "laminate", 0.5)])
    assert (need.kind, need.also, need.coats) == ("blocking", ("adhesion",), 1)
    assert "label says that it bonds" in need.product.name
    assert set(need.patches) == {"frame", "door"}


def test_knots_are_still_blocked_where_one_bonding_coat_seals_all_the_rest():
    # Common practice, no source: a bonding coat holds on laminate and seals wood, but bleeds.
    front, side = Ground("front", "laminate", 0.1), Ground("side", "wood", 0.85)
    needs = needs_of([front, side, Ground("knot", "knots", 0.05)])
    assert [(n.kind, n.all_over, n.coats) for n in needs] == [
        ("blocking", False, 2),
        ("adhesion", True, 1),
    ]
    assert needs[1].also == ("sealing",)


def test_what_blocks_knots_is_in_the_wood_handbook_and_what_bonds_is_common_practice():
    # The Wood Handbook (FPL-GTR-282) ch. 16 has knots and woods that bleed, from memory.
    sources = {
        kind: needs_of([Ground("top", kind)])[0].source
        for kind in ("knots", "oak", "laminate", "steel", "mdf edge")
    }
    blocked = {kind for kind, source in sources.items() if "Wood Handbook" in source}
    assert blocked == {"knots", "oak"}
    assert {sources[kind] for kind in set(sources) - blocked} == {"common practice, no source"}


def test_what_blocks_stains_is_to_be_had_clear_and_in_every_shade():
    # Common practice, no source: clear sealers block knots under a clear finish.
    (need,) = needs_of([Ground("top", "knots")])
    assert (need.product.clear, need.product.white, need.product.grey) == (True, True, True)


def test_what_seals_bare_wood_is_to_be_had_clear_and_white():
    # Common practice, no source: so that a clear or a pale finish can follow it.
    (need,) = needs_of([Ground("top", "wood")])
    assert need.product.clear
    assert need.product.white


def test_a_primer_for_metal_stays_on_its_metal_and_comes_first():
    needs = needs_of([Ground("frame", "oak", 0.6), Ground("legs", "steel", 0.4)])
    assert [(n.kind, n.all_over, n.share) for n in needs] == [
        ("corrosion", False, 0.4),
        ("blocking", True, 1.0),
    ]


def test_spots_are_blocked_before_the_coat_that_bonds_all_over():
    needs = needs_of([Ground("mark", "gloss", 0.1, stain="ink"), Ground("door", "gloss", 0.9)])
    assert [(n.kind, n.all_over) for n in needs] == [("blocking", False), ("adhesion", True)]


def test_spots_that_drink_are_sealed_alone_and_wood_bare_all_over_may_have_a_thinned_coat():
    (spot,) = needs_of([Ground("ring", "filler", 0.1), Ground("finish", "paint", 0.9)])
    assert (spot.all_over, spot.share, spot.instead) == (False, 0.1, "")
    (whole,) = needs_of([Ground("ring", "filler", 0.1), Ground("pine", "wood", 0.9)])
    assert whole.all_over
    assert "thinned" in whole.instead
    knots, sealed = needs_of([Ground("knot", "knots", 0.1), Ground("pine", "wood", 0.9)])
    assert (knots.all_over, knots.coats, sealed.all_over) == (False, 2, True)
    assert "thinned" in sealed.instead
    assert needs_of([Ground("pine", "wood", porous=False)]) == ()


def test_a_bonding_coat_seals_spots_too_and_leaves_a_boards_edge_one_coat():
    (need,) = needs_of([Ground("ring", "filler", 0.1), Ground("door", "laminate", 0.9)])
    assert (need.kind, need.also) == ("adhesion", ("sealing",))
    (need,) = needs_of([Ground("top", "laminate", 0.1), Ground("pine", "wood", 0.9)])
    assert (need.kind, need.also, need.all_over) == ("adhesion", ("sealing",), True)
    edge, bond = needs_of([Ground("edge", "mdf edge", 0.1), Ground("door", "melamine", 0.9)])
    assert (edge.kind, edge.coats, edge.all_over) == ("sealing", 1, False)
    assert (bond.kind, bond.all_over) == ("adhesion", True)
    (alone,) = needs_of([Ground("edge", "mdf edge", 0.1), Ground("face", "mdf", 0.9)])
    assert (alone.coats, alone.all_over, alone.between) == (2, False, "P240")


def test_what_drinks_is_what_lies_open():
    face = Ground("face", "mdf", 0.8)
    (spot,) = needs_of([face, Ground("ring", "filler", 0.2)])
    assert (spot.all_over, spot.instead) == (False, "")  # The face of MDF drinks nothing.
    through = [Ground("edge", "varnish", bleeds="no", porous=False, sanded_through=True)]
    assert kinds(needs_of(through)) == ["sealing"]
    assert needs_of(through)[0].instead == ""
    (mixed,) = needs_of([*through, Ground("pine", "wood")])
    assert (mixed.all_over, mixed.instead) == (True, "")  # A film lies on one of them.
    assert needs_of([Ground("top", "mdf", bare=False, edge=True)]) == ()
    (edge,) = needs_of([Ground("edge", "mdf edge", porous=False)])
    assert edge.coats == 2
    # The sealer all over may give way to a thinned coat, so that edges keep both of theirs.
    needs = needs_of([Ground("face", "plywood"), Ground("edge", "plywood", edge=True)])
    assert [(n.patches, n.all_over, n.coats) for n in needs] == [
        (("edge",), False, 2),
        (("face",), True, 1),
    ]


def test_silicone_stain_and_gloss_are_met_by_one_sealer_of_shellac():
    polished, gloss = Ground("top", "polished", 0.5), Ground("door", "gloss", 0.5)
    for grounds in ([polished, gloss], [polished, Ground("frame", "oak", 0.5)]):
        (need,) = needs_of(grounds)
        assert need.product.name.startswith("shellac-based")
    # Plain sealer over silicone is not said to bond to gloss.
    assert "bonds" in needs_of([polished, gloss])[0].product.name
    assert (
        "bonds"
        in needs_of([Ground("frame", "oak", 0.9), Ground("door", "gloss", 0.1)])[0].product.name
    )


def test_rust_and_chalk_are_met_before_any_other_coat():
    needs = needs_of(
        [Ground("mark", "paint", 0.1, stain="ink"), Ground("wall", "mineral paint", 0.9)]
    )
    assert kinds(needs) == ["blocking", "binding"][::-1]
    both = needs_of([Ground("wall", "mineral paint", stain="ink")])
    assert kinds(both) == ["binding", "blocking"]
    chalk = [Ground("wall", "mineral paint", 0.9), Ground("m", "mineral paint", 0.1, stain="ink")]
    assert [(n.kind, n.all_over) for n in needs_of(chalk)] == [
        ("binding", True),
        ("blocking", False),
    ]
    legs = needs_of([Ground("legs", "steel", 0.5), Ground("back", "mineral paint", 0.5)])
    assert kinds(legs) == ["corrosion", "binding"]


def test_edges_stay_their_own_spot_beside_wood_that_is_sealed():
    grounds = [Ground("pine", "wood", 0.8), Ground("edge", "mdf edge", 0.1)]
    needs = needs_of([*grounds, Ground("insert", "laminate", 0.1)])
    assert sorted((n.kind, n.all_over, n.coats) for n in needs) == [
        ("adhesion", False, 1),
        ("sealing", False, 1),
        ("sealing", False, 2),
    ]


def test_more_said_than_there_is_leaves_nothing_and_no_share_below():
    over = [Ground("a", "paint", 0.7), Ground("b", "paint", 0.4), Ground("ink", "oak")]
    (need,) = needs_of(over)
    assert (need.all_over, need.share) == (False, 0.0)


# --- the topcoat --------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["gloss", "two-pack", "melamine", "laminate", "foil", "waxed"])
def test_a_label_that_bonds_replaces_the_bonding_coat_and_is_tried_first(kind):
    door = [Ground("door", kind)]
    assert needs_of(door, topcoat_bonds=True) == ()
    assert kinds(preparation_of(door, topcoat_bonds=True)) == [
        *kinds(preparation_of(door)),
        "test spot",
    ]


@pytest.mark.parametrize("kind", ["plastic", "glass", "polished", "steel", "brass", "oak"])
def test_a_label_that_bonds_replaces_no_other_coat(kind):
    door = [Ground("door", kind)]
    assert needs_of(door, topcoat_bonds=True) == needs_of(door) != ()
    assert preparation_of(door, topcoat_bonds=True) == preparation_of(door)


@pytest.mark.parametrize(
    ("chemistry", "oak", "knots"),
    [
        (None, "blocking", "blocking"),
        ("water-borne", "blocking", "blocking"),
        ("mineral", "blocking", "blocking"),
        ("lacquer", "blocking", "blocking"),
        ("two-pack", "blocking", "blocking"),
        ("alkyd", "bleed test", "blocking"),
        ("shellac", "", ""),
    ],
)
def test_what_bleeds_depends_on_the_topcoat(chemistry, oak, knots):
    # Common practice, no source: tannin dissolves in water, resin does not; shellac blocks both.
    for kind, expected in (("oak", oak), ("knots", knots)):
        patch = [Ground("door", kind)]
        blocked = any(n.kind == "blocking" for n in needs_of(patch, topcoat_chemistry=chemistry))
        tested = "bleed test" in kinds(preparation_of(patch, topcoat_chemistry=chemistry))
        assert (blocked, tested) == (expected == "blocking", expected == "bleed test")


def test_wood_is_sanded_finer_below_water_borne_paint():
    def grit(chemistry):
        return preparation_of([Ground("d", "wood")], topcoat_chemistry=chemistry)[0].product

    assert grit("alkyd") == "P120-150-180"
    assert grit("water-borne") == grit(None) == "P120-150-180-220"


def test_strong_solvents_ask_for_a_coat_over_shellac():
    patch = [Ground("top", "shellac")]
    for chemistry, needed in (("water-borne", 0), ("shellac", 0), ("lacquer", 1), ("two-pack", 1)):
        assert len(needs_of(patch, topcoat_chemistry=chemistry)) == needed


# --- what does not hold, and what to ask --------------------------------------------------------


def test_a_loose_film_gets_work_and_no_coat():
    grounds = [
        Ground("door", "gloss", condition="flaking"),
        Ground("side", "paint", condition="flaking"),
        Ground("top", "varnish", condition="soft"),
        Ground("leg", "veneer", condition="loose"),
        Ground("back", "mineral paint", condition="chalking"),
    ]
    found = unsound(grounds)
    assert [(u.patches, u.condition) for u in found] == [
        (("door", "side"), "flaking"),
        (("top",), "soft"),
    ]
    assert "feather" in found[0].work
    assert unsound([Ground("door", "gloss", condition="sound"), Ground("side")]) == ()
    assert needs_of(grounds[:3]) == ()


@pytest.mark.parametrize(
    ("ground", "asked"),
    [
        (Ground("p"), {"shiny plastic", "tested for lead"}),
        (Ground("p", bare=True), set()),
        (Ground("p", "metal"), {"Which metal"}),
        (Ground("p", "steel"), set()),
        (Ground("p", "mineral paint"), {"come away white", "tested for lead"}),
        (Ground("p", "mineral paint", condition="sound"), {"tested for lead"}),
        (Ground("p", "varnish"), {"colour come through", "tested for lead"}),
        (Ground("p", "mdf"), {"edges"}),
        (Ground("p", "mdf", edge=True), set()),
        (Ground("p", "laminate"), set()),
    ],
)
def test_what_is_not_said_is_asked(ground, asked):
    found = questions_of([ground, Ground("other", "wood")])
    assert len(found) == len(asked)
    for words in asked:
        (question,) = [q for q in found if words in q.text]
        assert question.patches == ("p",)


def test_a_home_kit_is_followed_by_a_laboratory_and_a_laboratory_by_nothing():
    door = [Ground("door", "paint")]
    (question,) = questions_of(door, lead_test=KIT_CLEAR)
    assert "laboratory" in question.text
    assert questions_of(door, lead_test=CLEARED) == ()


def test_no_patches_need_nothing():
    assert needs_of([]) == preparation_of([]) == questions_of([]) == unsound([]) == ()
