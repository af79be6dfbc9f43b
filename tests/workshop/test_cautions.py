"""Which fact of a job brings which caution, and which does not."""

from __future__ import annotations

from datetime import date
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showthrough.workshop.cautions import About, cautions_for
from showthrough.workshop.grounds import (
    GROUND_KINDS,
    Chemistry,
    Condition,
    Ground,
    LeadTest,
    Stain,
    preparation_of,
)

DAY = date(2026, 3, 14)
COATINGS = {"unknown", "varnish", "lacquer", "shellac", "sealed", "paint", "gloss", "two-pack"} | {
    "mineral paint",
    "waxed",
    "oiled",
    "polished",
}
PLATED = {"metal", "galvanised", "aluminium", "brass"}


def cautions(*grounds, tool="brush", **facts):
    return cautions_for(grounds or (Ground("door", "laminate"),), tool=tool, **facts)


def about(*grounds, **facts):
    return [caution.about for caution in cautions(*grounds, **facts)]


def one(name, *grounds, **facts):
    (found,) = [c for c in cautions(*grounds, **facts) if c.about == name]
    return found


PAINT = Ground("door", "paint")
LAMINATE = Ground("door", "laminate")
# The caution, a job that must show it and one that must not; sources stand in the module.
CASES = [
    ("lead", (PAINT, {}), (LAMINATE, {})),
    ("plating", (Ground("hinge", "metal"), {}), (Ground("leg", "steel"), {})),
    ("stripper", (LAMINATE, {"stripping": True}), (LAMINATE, {})),
    ("stripper", (Ground("door", "paint", condition="soft"), {}), (PAINT, {})),
    ("flammable", (LAMINATE, {"topcoat_chemistry": "shellac"}), (LAMINATE, {})),
    ("flammable", (LAMINATE, {"topcoat_chemistry": "lacquer"}), (PAINT, {})),
    (
        "flammable",
        (LAMINATE, {"topcoat_chemistry": "alkyd"}),
        (PAINT, {"topcoat_chemistry": "water-borne"}),
    ),
    ("flammable", (Ground("door", "waxed"), {}), (Ground("door", "varnish"), {})),
    ("flammable", (Ground("door", "shellac"), {}), (Ground("door", "sealed"), {})),
    ("flammable", (Ground("door", "oak"), {}), (Ground("door", "wood"), {})),
    ("flammable", (LAMINATE, {"tool": "aerosol"}), (LAMINATE, {"tool": "spray"})),
    ("aerosol", (LAMINATE, {"tool": "aerosol"}), (LAMINATE, {"tool": "spray"})),
    ("rags", (LAMINATE, {"oils": True}), (LAMINATE, {})),
    ("rags", (Ground("door", "oiled"), {}), (Ground("door", "waxed"), {})),
    (
        "rags",
        (LAMINATE, {"topcoat_chemistry": "alkyd"}),
        (LAMINATE, {"topcoat_chemistry": "lacquer"}),
    ),
    ("spraying", (LAMINATE, {"tool": "spray"}), (LAMINATE, {"tool": "roller"})),
    ("spraying", (LAMINATE, {"tool": "aerosol"}), (LAMINATE, {"tool": "brush"})),
    (
        "isocyanates",
        (LAMINATE, {"topcoat_chemistry": "two-pack"}),
        (LAMINATE, {"topcoat_chemistry": "lacquer", "tool": "spray"}),
    ),
    ("board dust", (Ground("top", "mdf"), {}), (Ground("top", "plywood"), {})),
    ("board dust", (Ground("top", "chipboard"), {}), (Ground("top", "mdf", bare=False), {})),
    ("wood dust", (Ground("top", "veneer"), {}), (LAMINATE, {})),
    ("wood dust", (Ground("top", "varnish", sanded_through=True), {}), (PAINT, {})),
    ("wood dust", (Ground("top", "oak"), {}), (Ground("top", "oak", bare=False), {})),
    ("dust", (PAINT, {}), (Ground("top", "oak"), {})),
    ("gloves", (Ground("door", "waxed"), {}), (PAINT, {})),
    ("gloves", (LAMINATE, {"stripping": True}), (LAMINATE, {"oils": True})),
    (
        "runs",
        (LAMINATE, {"wet_film_thickness_um": 151}),
        (LAMINATE, {"wet_film_thickness_um": 150}),
    ),
    (
        "runs",
        (LAMINATE, {"wet_film_thickness_um": 121, "tool": "spray"}),
        (LAMINATE, {"wet_film_thickness_um": 120, "tool": "spray"}),
    ),
    ("child", (LAMINATE, {"child": True}), (LAMINATE, {})),
    ("antique", (LAMINATE, {"antique": True}), (LAMINATE, {})),
    ("antique", (Ground("top", "veneer", bare=False), {}), (Ground("top", "wood"), {})),
]


@pytest.mark.parametrize(("name", "must", "must_not"), CASES)
def test_a_fact_brings_its_caution_and_another_does_not(name, must, must_not):
    assert name in about(must[0], **must[1])
    assert name not in about(must_not[0], **must_not[1])


def test_every_caution_has_a_case():
    assert {name for name, *_ in CASES} | {"reminder"} == set(get_args(About))


@pytest.mark.parametrize("kind", GROUND_KINDS)
def test_lead_and_plating_are_told_of_every_ground_that_may_hold_them_and_no_other(kind):
    # 16 CFR 1303 speaks of paint and like coatings; plating: from memory.
    found = about(Ground("door", kind))
    assert ("lead" in found) == (kind in COATINGS)
    assert ("plating" in found) == (kind in PLATED)


@pytest.mark.parametrize(
    ("ground", "told"),
    [
        (Ground("top"), True),
        (Ground("top", bare=True), False),
        (Ground("top", "wood"), False),
        (Ground("top", "wood", bare=False), True),
        (Ground("top", "wood", condition="flaking"), True),
        (Ground("top", "waxed", bare=True), False),
        (Ground("top", "waxed", bare=True, condition="flaking"), True),
    ],
)
def test_wood_and_wax_hold_lead_only_with_an_old_film(ground, told):
    assert ("lead" in about(ground)) == told


def test_lead_dates_and_limits_are_those_of_the_rules():
    # 16 CFR 1303 and 73 FR 77492; SOR/2016-193; 40 CFR 745.85(a)(3) from memory.
    lead = one("lead", PAINT)
    for told in (
        "0.06% lead",
        "28 February 1978",
        "90 ppm (0.009%) since 14 August 2009",
        "16 CFR 1303; 73 FR 77492",
        "90 mg/kg (SOR/2016-193)",
        "built before 1978 may fall under 40 CFR 745",
        "at or above 1100 °F (593 °C)",
        "745.85(a)(3)",
    ):
        assert told in lead.whole
    assert round((1100 - 32) / 1.8) == 593


def test_a_lead_test_is_recorded_and_changes_the_text():
    forbidden = "no dry or power sanding, no heat gun, no torch"
    texts = {}
    for test in (
        None,
        LeadTest("kit", "clear", DAY),
        LeadTest("kit", "lead", DAY),
        LeadTest("laboratory", "clear", DAY),
        LeadTest("laboratory", "lead"),
    ):
        lead = one("lead", PAINT, lead_test=test)
        texts[test] = lead.whole
        cleared = test is not None and (test.kind, test.result) == ("laboratory", "clear")
        assert (forbidden in lead.whole) != cleared
        assert ("wet work" in lead.short) != cleared
        if test is not None:
            day = "14 March 2026" if test.date else "date not given"
            assert day in lead.whole
            assert ("home kit" if test.kind == "kit" else "laboratory") in lead.whole.lower()
            assert "{" not in lead.whole
            assert ("certified practice" in lead.short) == (test.result == "lead")
    assert len(set(texts.values())) == 5
    assert "lead" not in about(LAMINATE, lead_test=LeadTest("kit", "clear", DAY))


def test_a_recommendation_is_not_called_a_limit():
    wood = one("wood dust", Ground("top", "oak")).whole
    # NIOSH recommends 1; OSHA's limits for nuisance dust are 15 total and 5 respirable;
    # Directive (EU) 2017/2398: hardwood 2 mg/m3, inhalable.
    assert "NIOSH recommends 1 mg/m3" in wood
    assert "legal limit for nuisance dust is 15 mg/m3 total and 5 mg/m3 respirable" in wood
    assert "EU limit for hardwood dust is 2 mg/m3 (inhalable)" in wood


def test_a_gun_brings_what_an_aerosol_does_not():
    assert "hospital" in one("spraying", tool="spray").whole
    assert "hospital" not in one("spraying", tool="aerosol").whole


def test_poison_stands_first_then_fire_lungs_skin_the_piece_and_the_reminder_last():
    found = about(
        Ground("top", "veneer"),
        Ground("door", "oiled"),
        Ground("side", "mdf"),
        Ground("hinge", "galvanised"),
        tool="aerosol",
        wet_film_thickness_um=60,
        topcoat_chemistry="two-pack",
        stripping=True,
        child=True,
    )
    assert found == [name for name in get_args(About) if name != "dust"]
    fixed = ["lead", "stripper", "flammable", "rags", "spraying", "wood dust", "gloves", "runs"]
    assert [name for name in found if name in fixed] == fixed


grounds_drawn = st.builds(
    Ground,
    share=st.none(),
    name=st.just("door"),
    kind=st.sampled_from(GROUND_KINDS),
    condition=st.sampled_from((None, *get_args(Condition))),
    stain=st.sampled_from((None, *get_args(Stain))),
    bare=st.sampled_from((None, True, False)),
)
lead_tests = st.none() | st.builds(
    LeadTest, st.sampled_from(("kit", "laboratory")), st.sampled_from(("clear", "lead"))
)


@settings(deadline=None, max_examples=200)
@given(
    st.lists(grounds_drawn, min_size=1, max_size=3),
    st.sampled_from(("brush", "roller", "spray", "aerosol")),
    st.none() | st.sampled_from(get_args(Chemistry)),
    lead_tests,
    st.booleans(),
)
def test_preparation_never_does_what_a_caution_forbids(grounds, tool, chemistry, test, more):
    found = cautions_for(
        grounds,
        tool=tool,
        topcoat_chemistry=chemistry,
        lead_test=test,
        stripping=more,
        oils=more,
        child=more,
        antique=more,
        wet_film_thickness_um=200 * more,
    )
    works = preparation_of(grounds, lead_test=test, topcoat_chemistry=chemistry)
    texts = {caution.about: caution.whole for caution in found}
    assert len(texts) == len(found)
    assert found[-1].about == "reminder"
    assert "labels" in found[-1].whole
    for caution in found:
        assert len(caution.short) <= 80
        assert caution.short[-1] == caution.whole[-1] == "."
        assert caution.source
    sanding = [w for w in works if w.kind in {"sand", "key", "knock back", "feather", "rust off"}]
    if "no dry or power sanding" in texts.get("lead", ""):
        assert all("wet" in work.product for work in sanding)
        assert not any(word in w.product for w in works for word in ("heat", "torch", "power"))
    dissolves = {"wax off", "silicone off", "solvent wipe", "test wipe"}
    if "flammable" not in texts:
        assert not any(work.kind in dissolves for work in works)
    if "stripper" not in texts:
        assert not any("stripper" in work.product for work in works)
