"""One colour in every notation, as the command prints it."""

from __future__ import annotations

import pytest

from showthrough import InputError, colour_of, parse_colour
from showthrough.colour.difference import ciede2000
from showthrough.colour.notation import NOTATIONS
from showthrough.jobs.case.readings import notations


def test_every_notation_is_there_and_reads_back_as_the_same_colour():
    rows = dict(notations("lab(66 -24 55)"))
    assert set(NOTATIONS) <= set(rows)
    for name in ("hex", "lab", "lch", "xyz", "munsell"):
        again = colour_of(parse_colour(rows[name])).lab
        # Hex and Munsell are printed coarsely.
        assert float(ciede2000(again, [66.0, -24.0, 55.0])) < 1.0, name
    assert "yellow-green" in rows["words"]


def test_a_reading_in_another_light_is_shown_as_it_looks_by_day():
    day = dict(notations("lab(60 20 30)"))["lab"]
    lamp = dict(notations("lab(60 20 30)", "A", 10))["lab"]
    assert lamp != day


def test_a_colour_that_is_moved_says_so():
    assert any(
        "modelled as lightness" in text for name, text in notations("#ffffff") if name == "note"
    )


@pytest.mark.parametrize("text", ["#12", "5ZZ 4/6", "", "a" * 300, "lab(50 nan 0)"])
def test_what_is_no_colour_is_refused(text):
    with pytest.raises(InputError) as caught:
        notations(text)
    assert all(p.message for p in caught.value.problems)


@pytest.mark.parametrize(("light", "observer"), [("D99", 2), ("A", 7), (None, 7)])
def test_a_light_that_is_none_is_refused(light, observer):
    with pytest.raises(InputError):
        notations("lab(50 0 0)", light, observer)
