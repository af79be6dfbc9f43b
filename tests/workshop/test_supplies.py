"""Wax and abrasives by the rules of the trade."""

from __future__ import annotations

import pytest

from showthrough.errors import InputError
from showthrough.workshop.paint.supplies import abrasive_sheets, wax_g


def test_wax_is_ten_to_twenty_grams_a_square_metre():
    # Common practice, no source.
    need = wax_g(2.0)
    assert 20.0 <= need.likely_g <= need.most_g == 40.0
    assert wax_g(2.0, 2).most_g == 80.0


def test_a_sheet_does_half_a_square_metre_of_one_grit():
    # Common practice, no source.
    assert abrasive_sheets(0.5, (180, 220)) == {180: 1, 220: 1}
    assert abrasive_sheets(1.9, (320,), times=3) == {320: 12}
    assert abrasive_sheets(1.9, (320,), times=0) == {320: 0}


def test_what_cannot_be_is_told_at_once():
    with pytest.raises(InputError) as caught:
        abrasive_sheets(0.0, (180, 7), times=-1)
    assert {p.field for p in caught.value.problems} == {"area_m2", "times", "grits[2]"}
    with pytest.raises(InputError) as caught:
        wax_g(-1.0, 0)
    assert {p.field for p in caught.value.problems} == {"area_m2", "coats"}
