"""Tristimulus weights against the program that makes them, and measured spectra."""

from __future__ import annotations

import warnings
from importlib import resources

import numpy as np
import pytest

from reference.csv_table import rows
from reference.make_weights import lines
from showthrough.colour.bands import to_bands
from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import (
    OBSERVERS,
    READING_ILLUMINANTS,
    lights,
    weights,
    white_point,
)
from showthrough.colour.space import xyz_to_lab
from showthrough.colour.spectrum import spectrum_to_lab, spectrum_to_xyz
from showthrough.errors import InputError


@pytest.fixture(scope="module")
def charts():
    """The measured spectra of 24-patch charts that colour-science holds."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

        held = colour.SDS_COLOURCHECKERS
    return {"average": next(iter(held.values())), "ISO 17321-1": held["ISO 17321-1"]}


def test_the_table_is_what_its_maker_makes():
    # Source: ASTM E2022 and E308 by colour-science 0.4.7.
    shipped = (resources.files("showthrough.colour") / "data" / "weights.csv").read_text("utf-8")
    assert shipped.splitlines() == lines()


def test_every_light_that_a_reading_may_state_has_weights_for_both_observers():
    for light in READING_ILLUMINANTS:
        for observer in OBSERVERS:
            assert weights(light, observer).shape == (31, 3)
            assert white_point(light, observer)[1] == pytest.approx(100.0, abs=1e-4)
    assert set(READING_ILLUMINANTS) < set(lights())


@pytest.mark.parametrize(
    ("light", "observer", "white"),
    [
        # Source: ASTM E308 table 5 and CIE 15, white points to 2 or 3 decimals.
        ("D65", 2, (95.047, 100.0, 108.883)),
        ("D65", 10, (94.811, 100.0, 107.304)),
        ("D50", 2, (96.422, 100.0, 82.521)),
        ("A", 2, (109.850, 100.0, 35.585)),
        ("C", 2, (98.074, 100.0, 118.232)),
    ],
)
def test_white_is_the_published_white(light, observer, white):
    # The published whites are sums by 5 nm; the weights come from 1 nm, as ASTM E2022 asks.
    # Summed by 1 nm, colour-science's illuminant C has Z 118.175, all others are within 0.015.
    np.testing.assert_allclose(white_point(light, observer), white, atol=0.02, rtol=5e-4)


@pytest.mark.parametrize(
    ("light", "observer", "field"), [("F99", 2, "illuminant"), ("D65", 4, "observer")]
)
def test_an_unknown_light_is_named_with_what_would_work(light, observer, field):
    with pytest.raises(InputError, match="is not known; use") as caught:
        weights(light, observer)
    assert caught.value.problems[0].field == field


def test_weights_cannot_be_changed_by_accident():
    with pytest.raises(ValueError, match="read-only"):
        weights()[0, 0] = 1.0


@pytest.mark.parametrize(
    "row", rows("e308.csv"), ids=lambda r: f"{r['patch']} {r['step']} nm {r['illuminant']}"
)
def test_a_measured_spectrum_has_the_xyz_of_astm_e308(charts, row):
    spectrum = charts[row["set"]][row["patch"]]
    nm, values = spectrum.wavelengths, spectrum.values
    if row["step"] == "20":
        nm, values = nm[::4], values[::4]  # from 5 nm, as the published row was made
    expected = np.array([float(row[axis]) for axis in "xyz"])
    got = spectrum_to_xyz(to_bands(nm, values)[0], row["illuminant"])
    # Bands below 400 and above 700 nm are folded into the end bands here, and readings by 5
    # or 20 nm are brought to 10 nm: both cost a few hundredths at most. The naive sum of 20 nm
    # readings is out by 0.24 in Z.
    assert np.abs(got - expected).max() < 0.02
    white = white_point(row["illuminant"])
    assert ciede2000(xyz_to_lab(got, white), xyz_to_lab(expected, white)) < 0.03


def test_readings_by_20_nm_are_not_summed_naively(charts):
    # Source: ISO 17321-1 cyan, colour-science 0.4.7: by 5 nm with ASTM E308, and by 20 nm as a
    # plain sum of products with the observer and the light at those wavelengths.
    import colour

    spectrum = charts["ISO 17321-1"]["cyan"]
    nm, values = spectrum.wavelengths[::4], spectrum.values[::4]
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    products = np.array([observer[w] * colour.SDS_ILLUMINANTS["D65"][w] for w in nm])
    naive = 100.0 * values @ products / products[:, 1].sum()
    np.testing.assert_allclose(naive, [14.5305, 19.8062, 39.7772], atol=6e-5)
    truth = xyz_to_lab([14.4768, 19.8668, 39.5357])
    ours = spectrum_to_lab(to_bands(nm, values)[0])
    assert ciede2000(xyz_to_lab(naive), truth) == pytest.approx(0.419, abs=2e-3)
    assert ciede2000(ours, truth) < 0.03


def test_the_neutral_row_of_the_chart_has_its_luminances_and_lightnesses(charts):
    # Source: 24-patch chart, spectral average set of colour-science 0.4.7, ASTM E308, D65, 2°.
    spectra = list(charts["average"].values())[18:]
    reflectance = np.array([to_bands(s.wavelengths, s.values)[0] for s in spectra])
    luminance = [91.237, 58.862, 35.958, 19.129, 8.948, 3.201]
    lightness = [96.51, 81.22, 66.49, 50.84, 35.88, 20.83]
    np.testing.assert_allclose(spectrum_to_xyz(reflectance)[:, 1], luminance, atol=2e-3)
    np.testing.assert_allclose(spectrum_to_lab(reflectance)[:, 0], lightness, atol=6e-3)
