"""Pairs under daylight and lamps."""

from __future__ import annotations

import re
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from palette.paints import SPREAD, SYMBOLS_AND_JARGON
from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import WAVELENGTHS, lights, weights
from showthrough.colour.spectrum import recover_spectra, spectrum_to_lab
from showthrough.errors import InputError, OutOfRangeError
from showthrough.palette.finishes import finish_spectrum, usual_finishes
from showthrough.palette.harmony import harmony
from showthrough.palette.lamps import (
    DAY,
    EVENING,
    GUESSED,
    LIGHT_WORDS,
    light_shifts,
    pair_shifts,
)

GREY = np.full(31, 0.35)
LAMPS = tuple(name for name in lights() if name != DAY)


def metamer(base, size):
    """The same colour by day with another spectrum: a bump no D65 eye can see is added.

    The bump is what is left of a wave after its part in the span of the three
    D65 weights is taken out, so that it adds nothing to X, Y or Z.
    """
    wave = np.sin((WAVELENGTHS - 400.0) / 300.0 * 3.0 * np.pi)
    basis, _ = np.linalg.qr(weights("D65"))
    unseen = wave - basis @ (basis.T @ wave)
    return base + size * unseen / np.abs(unseen).max()


def test_a_metameric_pair_matches_by_day_and_parts_under_the_lamp():
    other = metamer(GREY, 0.12)
    assert (other > 0).all()
    found = light_shifts(GREY, other)
    assert found.lights == (DAY, *EVENING)
    assert found.delta_e[0, 0] == pytest.approx(0, abs=1e-9)
    # Half of viewers accept 1.8 (Paravina et al. 2015); this is past all of them.
    assert found.delta_e[1, 0] > 2 * 1.8
    assert found.parts[:, 0].tolist()[:2] == [False, True]


def test_the_warning_names_both_and_the_lamp():
    shift = pair_shifts("the paint", GREY, ["the drawer"], metamer(GREY, 0.12)[None])[0]
    assert shift.warnings[0].startswith("The paint and the drawer match by day but part under")
    assert "incandescent light" in shift.warnings[0]
    assert shift.remark == ""


def test_a_pair_that_already_differs_by_day_does_not_part():
    dark = 0.5 * metamer(GREY, 0.12)
    assert not light_shifts(GREY, dark).parts.any()


def test_a_grey_does_not_move_in_any_light():
    """An even grey is neutral in every light's own white."""
    found = light_shifts(GREY, 0.8 * GREY, LAMPS)
    assert found.delta_e.max() > 0.0
    assert found.delta_e == pytest.approx(np.full_like(found.delta_e, found.delta_e[0, 0]))


@settings(max_examples=40)
@given(st.lists(st.floats(0.01, 0.95), min_size=31, max_size=31))
def test_identical_spectra_never_part(values):
    found = light_shifts(values, values, LAMPS)
    assert found.delta_e == pytest.approx(np.zeros_like(found.delta_e), abs=1e-9)
    assert not found.parts.any()


@settings(max_examples=40)
@given(
    st.lists(st.floats(0.01, 0.95), min_size=31, max_size=31),
    st.lists(st.floats(0.01, 0.95), min_size=31, max_size=31),
)
def test_order_of_the_pair_does_not_matter(one, two):
    there, back = light_shifts(one, two), light_shifts(two, one)
    assert there.delta_e == pytest.approx(back.delta_e)
    assert there.harmony == pytest.approx(back.harmony)


def test_values_are_those_of_single_conversions():
    paint = recover_spectra([[66, -24, 55]]).reflectance[0]
    brass = finish_spectrum(usual_finishes()[1])
    found = light_shifts(paint, brass, ("A",))
    one, two = spectrum_to_lab(paint, "A"), spectrum_to_lab(brass, "A")
    assert found.delta_e[1, 0] == pytest.approx(float(ciede2000(one, two)))
    assert found.harmony[1, 0] == pytest.approx(float(harmony(one, two).total))


def test_one_paint_is_shown_beside_many():
    paint = recover_spectra([[66, -24, 55]]).reflectance[0]
    finishes = usual_finishes()
    spectra = [finish_spectrum(f) for f in finishes]
    found = light_shifts(paint, spectra, LAMPS)
    shape = (1 + len(LAMPS), len(finishes))
    for array in (found.delta_e, found.harmony, found.parts):
        assert array.shape == shape
    shifts = pair_shifts("the paint", paint, [f.name for f in finishes], spectra)
    assert len(shifts) == len(finishes)
    assert shifts[3].under[2].delta_e == pytest.approx(
        float(light_shifts(paint, spectra[3]).delta_e[2, 0])
    )


def test_a_large_change_of_harmony_is_told():
    """Searched among the spread topcoats: at least one goes worse or better under a lamp."""
    spectra = recover_spectra(np.array(SPREAD)).reflectance
    finishes = usual_finishes()
    metal = [finish_spectrum(f) for f in finishes]
    told = []
    for spectrum in spectra:
        for shift in pair_shifts("the paint", spectrum, [f.name for f in finishes], metal, ("A",)):
            change = abs(shift.under[1].harmony - shift.under[0].harmony)
            # No source: a tenth of the figure's range is worth a word.
            assert bool(shift.warnings) == (change >= 0.25)
            told += shift.warnings
    assert told
    assert any("less well together under incandescent light" in text for text in told)
    for text in told:
        assert not re.search(SYMBOLS_AND_JARGON, text, re.IGNORECASE)


def test_guessed_spectra_are_owned_up_to():
    assert pair_shifts("a", 0.8 * GREY, ["b"], GREY, guessed=True)[0].remark == GUESSED
    assert not pair_shifts("a", 0.8 * GREY, ["b"], GREY)[0].remark


def test_every_light_has_a_name_in_words():
    assert set(LIGHT_WORDS) == set(lights())


def test_led_words_follow_their_colour_temperatures():
    """Source: CIE 15:2018, as carried by colour-science; warm below 3300 K, cool above 5000 K
    (common practice: EN 12464-1 groups, from memory)."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

        kelvin = {}
        for name in ("LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5"):
            xy = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][name]
            kelvin[name] = colour.temperature.xy_to_CCT_McCamy1992(xy)
    assert list(kelvin.values()) == sorted(kelvin.values())
    for name, value in kelvin.items():
        words = LIGHT_WORDS[name]
        assert ("warm" in words) == (value < 3300)
        assert ("neutral" in words) == (3300 <= value <= 5000)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (np.full(30, 0.5), "31 finite reflectances"),
        (np.full(31, np.nan), "31 finite reflectances"),
        (np.full(31, -0.1), "cannot be below 0"),
    ],
)
def test_what_is_no_spectrum_is_refused(wrong, says):
    with pytest.raises(OutOfRangeError, match=says):
        light_shifts(GREY, wrong)


def test_other_bad_input_is_named():
    with pytest.raises(InputError, match="not known; use one of"):
        light_shifts(GREY, GREY, ("candle",))
    with pytest.raises(InputError, match="give one name each"):
        pair_shifts("a", GREY, ["b", "c"], GREY)
