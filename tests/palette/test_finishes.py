"""The list of hardware finishes: its codes, its colours, and how it is asked."""

from __future__ import annotations

import pytest

from reference import make_finishes
from showthrough.colour.files.shipped import swatch_text
from showthrough.colour.spectrum import spectrum_to_lab
from showthrough.errors import InputError
from showthrough.palette.finishes import (
    Finish,
    all_finishes,
    distinct_looks,
    find_finish,
    find_finishes,
    finish_spectrum,
    labs_of,
    near_finishes,
    parse_finishes,
    usual_finishes,
)

# Source: ANSI/BHMA A156.18 as listed publicly (the standard's own tables were not seen):
# code, older US code, and a word that its description holds.
STANDARD = """
600 USP primed | 602 US2C cadmium | 603 US2G zinc | 604 - zinc | 605 US3 brass | 606 US4 brass
609 US5 brass | 610 US7 brass | 611 US9 bronze | 612 US10 bronze | 613 US10B bronze
616 US11 bronze | 618 US14 nickel | 619 US15 nickel | 622 US19 black | 623 US20 bronze
624 US20A bronze | 625 US26 chromium | 626 US26D chromium | 627 US27 aluminium
628 US28 aluminium | 629 US32 stainless | 630 US32D stainless | 631 US19 black | 632 US3 brass
633 US4 brass | 637 US9 bronze | 639 US10 bronze | 640 US10B bronze | 645 US14 nickel
646 US15 nickel | 652 US26D chromium
"""
ROWS = [tuple(row.split()) for row in STANDARD.replace("\n", "|").split("|") if row.strip()]


@pytest.mark.parametrize(("code", "us", "word"), ROWS)
def test_codes_mean_what_the_standard_says(code, us, word):
    finish = find_finish(code)
    assert finish.code == code
    assert finish.us == us.strip("-")
    assert word in finish.name


def test_the_list_holds_each_code_of_the_table_once():
    assert sorted(f.code for f in all_finishes()) == sorted(code for code, _, _ in ROWS)


def test_base_metals_follow_the_standard():
    """605 brass, 632 steel for one look; 626 brass, 652 steel (BHMA summary, 2020)."""
    assert [find_finish(c).base for c in ("605", "632", "652")] == ["brass", "steel", "steel"]
    assert "brass" in find_finish("626").base


def test_one_us_code_is_one_look():
    for us in {f.us for f in all_finishes() if f.us}:
        looks = {f.lab for f in all_finishes() if f.us == us}
        assert len(looks) == 1, us


def test_bright_and_satin_stand_in_the_name_as_in_the_model():
    for finish in all_finishes():
        if finish.known == "computed" and finish.surface.split()[0] in {"bright", "satin"}:
            word = finish.surface.split()[0]
            assert word in finish.name or finish.code == "603", finish.name


def test_the_file_says_what_is_invented_and_how_it_was_measured():
    head = [line for line in swatch_text("finishes.csv").splitlines() if line.startswith("#")]
    assert any("invented" in line for line in head)
    assert any("D65, 2 degrees" in line for line in head)


def test_computed_columns_are_what_the_metal_model_makes():
    text = swatch_text("finishes.csv")
    assert make_finishes.rewritten(text) == text


def test_typical_finishes_are_marked_and_need_no_metal():
    typical = {f.code for f in all_finishes() if f.known == "typical"}
    assert typical == {"600", "602", "604", "613", "622", "631", "640"}
    assert all(f.note for f in all_finishes() if f.known == "typical")


def test_oil_rubbed_bronze_is_dark_and_warns_that_makers_differ():
    finish = find_finish("US10B")
    assert 15 <= finish.lab[0] <= 30  # from memory
    assert "between makers" in finish.note


def test_in_service_is_darker_than_clean_metal():
    for finish in all_finishes():
        if finish.clean_lab is not None:
            assert finish.lab[0] < finish.clean_lab[0]


def test_the_usual_list_has_each_look_once_and_at_least_twenty():
    usual = usual_finishes()
    assert len(usual) >= 20
    assert len({f.us for f in usual}) == len(usual)
    assert "600" not in {f.code for f in usual}


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("619", "619"),
        (" 619 ", "619"),
        ("US15", "619"),
        ("us 10-b", "613"),
        ("10B", "613"),
        ("Satin Nickel", "619"),
        ("brushed nickel", "619"),
        ("polished chrome", "625"),
        ("oil rubbed bronze", "613"),
        ("usp", "600"),
        ("statuary", "624"),
    ],
)
def test_a_finish_is_found_as_people_write_it(text, code):
    assert find_finish(text).code == code


def test_a_us_code_gives_every_base_metal():
    assert [f.code for f in find_finishes("US3")] == ["605", "632"]


def test_an_unknown_code_lists_its_neighbours():
    with pytest.raises(InputError) as caught:
        find_finish("621")
    problem = caught.value.problems[0]
    assert problem.code == "unknown_finish"
    assert problem.value == "621"
    assert all(code in problem.message for code in ("619", "622", "623"))


def test_a_misspelt_name_lists_the_one_meant_first():
    assert near_finishes("satin nikel")[0].code == "619"
    with pytest.raises(InputError, match=r"near ones: satin nickel \(619, US15\)"):
        find_finish("satin nikel")


def test_words_that_fit_several_looks_list_them():
    with pytest.raises(InputError, match="fits several finishes") as caught:
        find_finish("nickel")
    assert "619" in str(caught.value)
    assert "618" in str(caught.value)


@pytest.mark.parametrize("text", ["", "?", "9" * 5000, "zzzz", "\x00", "satin " * 1000])
def test_nonsense_gets_a_list_and_no_traceback(text):
    with pytest.raises(InputError) as caught:
        find_finish(text)
    assert len(str(caught.value)) < 1200


def test_spectra_have_the_listed_colour():
    for finish in all_finishes():
        lab = spectrum_to_lab(finish_spectrum(finish))
        assert lab == pytest.approx(finish.lab, abs=0.06), finish.code


def test_a_finish_without_codes_goes_by_its_name():
    iron = (30.0, 0.5, 1.0)
    mine = Finish(
        "", "", "hammered iron", "", "", "", iron, None, "given", on_furniture=True, note=""
    )
    assert mine.label == "hammered iron"
    assert distinct_looks([mine, *usual_finishes()])[0] is mine
    assert labs_of([mine]).shape == (1, 3)
    assert labs_of([]).shape == (0, 3)


def test_a_row_without_a_colour_is_named():
    header = swatch_text("finishes.csv").splitlines()
    columns = next(line for line in header if line.startswith("code,"))
    with pytest.raises(InputError, match="finish 777 has no colour"):
        parse_finishes(columns + "\n777,US77,x,y,,z,,,,,,,typical,yes,\n")
