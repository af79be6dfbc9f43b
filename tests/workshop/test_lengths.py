"""Lengths as painters write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showthrough.errors import InputError
from showthrough.workshop.size.lengths import FT2_M2, GALLON_ML, length_m


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        # Source: the inch of 25.4 mm and the foot of 12 inches, by definition.
        ("2 ft 3 1/2 in", 27.5 * 0.0254),
        ("2' 3 1/2\"", 27.5 * 0.0254),
        ("2′3½″", 27.5 * 0.0254),
        ("2 feet 3.5 inches", 27.5 * 0.0254),
        ("27-1/2 in", 27.5 * 0.0254),
        ("3/4 in", 0.01905),
        ("1 ft", 0.3048),
        ("80 cm", 0.8),
        ("80CM", 0.8),
        ("1,25 m", 1.25),
        ("0,125 m", 0.125),
        ("1.250 m", 1.25),
        (".5 m", 0.5),
        ("900mm", 0.9),
    ],
)
def test_a_length_is_read_in_any_unit(text, metres):
    assert length_m(text) == pytest.approx(metres, rel=1e-12)


def test_a_bare_number_takes_the_unit_that_is_set():
    assert length_m(80, "cm") == pytest.approx(0.8)
    assert length_m("80", "in") == pytest.approx(80 * 0.0254)


@pytest.mark.parametrize(
    ("value", "code"),
    [
        ("80", "no_unit"),
        (80, "no_unit"),
        ("1,250 mm", "ambiguous"),
        ("0 cm", "out_of_range"),
        ("99 m", "out_of_range"),
        ("9" * 50 + " m", "out_of_range"),
        ("1.234,5 cm", "not_a_number"),
        ("-5 cm", "not_a_number"),
        ("3 in 2 ft", "not_a_number"),
        ("3 in 2 in", "not_a_number"),
        ("1/0 in", "not_a_number"),
        ("wide", "not_a_number"),
        ("", "not_a_number"),
        ("9" * 500 + " m", "not_a_number"),
        (10**400, "not_a_number"),
        (float("nan"), "not_a_number"),
        (True, "not_a_number"),
        (None, "not_a_number"),
    ],
)
def test_what_is_no_length_is_refused_by_field_with_its_reason(value, code):
    with pytest.raises(InputError) as caught:
        length_m(value, field="width")
    (problem,) = caught.value.problems
    assert (problem.field, problem.code) == ("width", code)


def test_an_ambiguous_comma_is_told_both_ways():
    with pytest.raises(InputError, match=r"1\.250 or 1250"):
        length_m("1,250 mm")


def test_an_unknown_unit_is_refused():
    with pytest.raises(InputError, match="unit must be one of"):
        length_m(3, "yd")


@given(st.integers(0, 40), st.integers(0, 11), st.integers(0, 15))
def test_feet_inches_and_sixteenths_add_up(feet, inches, sixteenths):
    total = feet * 12 + inches + sixteenths / 16
    if total:
        read = length_m(f"{feet} ft {inches} {sixteenths}/16 in")
        assert read == pytest.approx(total * 0.0254, rel=1e-12)


@given(st.integers(1, 1_999_999))
def test_a_decimal_comma_reads_as_a_decimal_point(hundredths):
    whole, rest = divmod(hundredths, 100)
    assert length_m(f"{whole},{rest:02d} mm") == length_m(f"{whole}.{rest:02d} mm")


def test_four_hundred_square_feet_a_gallon():
    # Source: definitions of foot, gallon and mil; 9.817 m2/l and 101.9 µm wet by arithmetic.
    litres = GALLON_ML / 1000.0
    area = 400.0 * FT2_M2
    assert area / litres == pytest.approx(9.817, abs=5e-4)
    assert 1000.0 * litres / area == pytest.approx(101.9, abs=0.05)
    # 1604.17 ft2 mil in a gallon; a mil is a thousandth of an inch, 25.4 µm.
    assert pytest.approx(1604.17, abs=0.005) == GALLON_ML / (FT2_M2 * 25.4)
