"""The model of one painted pixel, and the table that stands in for it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reference import direct_preview
from reference.preview_sets import (
    PAINT_LABS,
    PAINTS,
    Table,
    colour_sets,
    direct_codes,
    light_of,
    seen_lab,
)
from showthrough.colour.difference import ciede2000
from showthrough.colour.space import (
    lab_to_lch,
    lch_to_lab,
    linear_rgb_to_xyz,
    linear_to_srgb,
    srgb_to_linear,
    xyz_to_lab,
)
from showthrough.colour.spectrum import (
    SURFACE_BOUNDS,
    reachable_chroma,
    recover_spectra,
    spectrum_to_lab,
)
from showthrough.film.optics import outside_reflectance
from showthrough.photo.preview import model as preview_model
from showthrough.photo.preview.model import (
    GLARE,
    Coating,
    nearest_chroma,
    painted_light,
    surface_spectra,
)
from showthrough.photo.preview.table import (
    STEPS,
    Cells,
    ColourTable,
    coarser,
    coordinates,
    encoded,
    lattice_light,
)

COATS_UM = (17.0, 34.0, 51.0)
OPAQUE_UM = (2000.0,)


class TestModelOfOnePixel:
    @pytest.mark.parametrize("bare", [False, True])
    def test_agrees_with_the_equations_written_out_band_by_band(self, bare):
        # Kubelka 1948 (hyperbolic form), Saunderson 1942, colour-science for sRGB and CIELAB.
        rng = np.random.default_rng(3)
        top, under = PAINTS["red"], PAINTS["white"]
        lights = [*srgb_to_linear(rng.random((10, 3))), (0.0, 0.0, 0.0), (1.0, 1.0, 1.0)]
        layers = [
            (under.absorption, under.scattering, 12.0),
            (top.absorption, top.scattering, 17.0),
        ]
        wanted = [direct_preview.painted(light, bare, layers) for light in lights]
        spectra = surface_spectra(np.array(lights))
        skin = "bare" if bare else "coated"
        got = painted_light(spectra, skin, Coating(top, under, 12.0), (17.0,))[:, 0]
        apart = ciede2000(seen_lab(direct_codes(got)), seen_lab(direct_codes(np.array(wanted))))
        # The white of the standard is rounded to four digits; ours is not.
        assert apart.max() < 0.05

    def test_no_film_gives_back_a_coated_surface(self):
        light = light_of((62, 14, 34), (38, 12, 20), (93, -0.5, 1.5))
        got = painted_light(surface_spectra(light), "coated", Coating(PAINTS["red"]), (0.0,))
        assert np.allclose(got[:, 0], light, atol=1e-6)

    def test_bare_wood_darkens_when_a_film_without_thickness_wets_it(self):
        light = light_of((62, 14, 34))
        spectra = surface_spectra(light)
        got = painted_light(spectra, "bare", Coating(PAINTS["red"]), (0.0,))[:, 0]
        wetted = spectrum_to_lab(outside_reflectance(spectra))
        assert np.allclose(seen_lab(direct_codes(got)), wetted, atol=1e-6)
        assert wetted[0, 0] < 62.0 - 5.0

    def test_an_opaque_film_gives_the_chip_whatever_the_ground(self):
        grounds = surface_spectra(light_of((20, 5, 8), (90, 0, 4)))
        for name, lab in PAINT_LABS.items():
            got = painted_light(grounds, "bare", Coating(PAINTS[name]), OPAQUE_UM)[:, 0]
            chip = xyz_to_lab(linear_rgb_to_xyz(got))
            assert ciede2000(chip, np.array(lab, dtype=float)).max() < 0.05

    def test_glare_is_taken_as_the_brightest_surface(self):
        spectra = surface_spectra(np.array([[1.0, 1.0, 1.0], [3.0, 9.0, 2.0], [GLARE] * 3]))
        assert np.allclose(spectra, spectra[2])
        assert np.allclose(spectra, GLARE, atol=1e-3)

    def test_light_below_nothing_is_taken_as_nothing(self):
        dark, black = surface_spectra(np.array([[-0.2, -0.1, -0.4], [0.0, 0.0, 0.0]]))
        assert np.array_equal(dark, black)


class TestColoursThatNoSurfaceHas:
    LABS = np.array([[50.0, 150.0, 0.0], [70.0, -20.0, -110.0], [90.0, 0.0, 170.0]])

    def test_keep_their_hue_and_get_the_greatest_chroma_on_the_way_to_grey(self):
        assert not recover_spectra(self.LABS, SURFACE_BOUNDS).reachable.any()
        for seen, wanted in zip(spectrum_to_lab(nearest_chroma(self.LABS)), self.LABS, strict=True):
            self.is_moved_inwards(seen, wanted, SURFACE_BOUNDS)

    @staticmethod
    def is_moved_inwards(seen, wanted, bounds):
        # What cannot be is moved towards the middle grey: that changes the colour less than to
        # give up chroma alone. So the lightness may change, but never past the grey's.
        (light, chroma, hue), (asked, most, wanted_hue) = lab_to_lch(seen), lab_to_lch(wanted)
        assert abs((hue - wanted_hue + 180.0) % 360.0 - 180.0) < 1.0
        assert min(asked, 50.0) - 1e-3 <= light <= max(asked, 50.0) + 1e-3
        assert chroma == pytest.approx(reachable_chroma(seen, bounds), abs=0.5)
        assert chroma < most
        duller = lch_to_lab([asked, reachable_chroma(wanted, bounds), wanted_hue])
        assert ciede2000(wanted, seen) < ciede2000(wanted, duller) + 0.05

    def test_are_replaced_in_photos_and_no_others(self, monkeypatch):
        # Nearly every screen colour is one that some surface has; narrower bounds show the rest.
        narrow = (0.08, 0.9)
        monkeypatch.setattr(preview_model, "SURFACE_BOUNDS", narrow)
        light = srgb_to_linear(np.array([[200, 20, 30], [10, 30, 230], [120, 110, 100]]) / 255.0)
        lab = xyz_to_lab(linear_rgb_to_xyz(light))
        as_they_are = recover_spectra(lab, narrow, move=False)
        assert as_they_are.reachable.tolist() == [False, False, True]
        found = spectrum_to_lab(surface_spectra(light))
        assert np.abs(found[2] - lab[2]).max() < 1e-4
        for seen, wanted in zip(found[:2], lab[:2], strict=True):
            self.is_moved_inwards(seen, wanted, narrow)

    def test_leave_no_node_of_the_lattice_without_a_spectrum(self):
        every_eighth = np.arange(0, STEPS + 1, 8)
        x, y, z = np.meshgrid(every_eighth, every_eighth, every_eighth, indexing="ij")
        nodes = (x * (STEPS + 1) + y) * (STEPS + 1) + z
        spectra = surface_spectra(lattice_light(nodes.ravel()))
        assert spectra.min() >= SURFACE_BOUNDS[0]
        assert spectra.max() <= SURFACE_BOUNDS[1]


class TestTable:
    @pytest.mark.parametrize(
        "name", ["random", "dark", "bright", "pine", "white", "walnut", "enamel"]
    )
    def test_is_close_to_the_direct_model(self, name):
        # The project's own bound: 0.5 CIEDE2000 at the 99.9th percentile and 1.5 at most.
        colours = colour_sets(np.random.default_rng(7), 2500)[name]
        spectra = surface_spectra(colours)
        table = Table(colours)
        apart = []
        for paint, skin in (("red", "coated"), ("white", "bare"), ("dark blue", "coated")):
            coating = Coating(PAINTS[paint])
            films = (7.6, 17.0, 34.0, 51.0, 68.0, 85.0)
            true = direct_codes(painted_light(spectra, skin, coating, films))
            got = table.codes(skin, coating, films)
            apart.append(ciede2000(seen_lab(got), seen_lab(true)))
        assert np.quantile(apart, 0.999) <= 0.5
        assert np.max(apart) <= 1.5

    def test_is_exact_at_its_nodes(self):
        rng = np.random.default_rng(2)
        nodes = (rng.integers(5, STEPS + 1, (200, 3)) * ((STEPS + 1) ** 2, STEPS + 1, 1)).sum(1)
        light = lattice_light(nodes)
        coating = Coating(PAINTS["yellow-green"])
        true = direct_codes(painted_light(surface_spectra(light), "bare", coating, COATS_UM))
        assert np.abs(Table(light).codes("bare", coating, COATS_UM) - true).max() < 0.01

    @given(st.lists(st.floats(0.0, STEPS), min_size=3, max_size=3))
    def test_finds_each_place_again_from_its_corners(self, place):
        wanted = np.array(place, dtype=np.float32)
        cells = Cells.of(wanted[:, None].copy())
        shares = cells.shares(np.ones(1, dtype=np.float32))[0].astype(float)
        nodes = cells.corners()[0].astype(int)
        side = STEPS + 1
        corners = np.stack([nodes // side**2, nodes // side % side, nodes % side], axis=-1)
        assert shares.min() >= -1e-5
        assert abs(shares.sum() - 1.0) < 1e-5
        assert np.abs(shares @ corners - wanted).max() < 1e-4
        assert np.ptp(corners, axis=0).max() == 1

    def test_numbers_follow_the_srgb_curve_to_the_dark_end(self):
        # IEC 61966-2-1 by way of colour.space, which is tested against it.
        light = np.linspace(0.0, 1.0, 20_001)
        wanted = np.rint(255.0 * linear_to_srgb(light))
        got = encoded(light.astype(np.float32))
        assert np.abs(got - wanted).max() <= 1.0
        assert (got != wanted).mean() < 1e-3

    def test_coordinates_and_lattice_are_each_others_inverse(self):
        light = lattice_light(np.arange(0, (STEPS + 1) ** 3, 997))
        place = coordinates(light)
        assert np.abs(place - np.rint(place)).max() < 1e-3


@pytest.mark.parametrize("step", [1, 2, 4])
def test_a_coarser_table_is_interpolated_trilinearly_between_its_own_nodes(step):
    # The second implementation is scipy's RegularGridInterpolator.
    from scipy.interpolate import RegularGridInterpolator

    rng = np.random.default_rng(step)
    side = STEPS + 1
    place = rng.integers(0, side, (300, 3))
    place[:2] = (0, 0, 0), (STEPS, STEPS, STEPS)
    nodes = place @ (side * side, side, 1)
    reckoned = coarser(nodes, step)
    axis = np.arange(0, side, step)
    light = rng.random((axis.size,) * 3 + (2, 3))
    at = np.stack([reckoned // side**2, reckoned // side % side, reckoned % side])
    table = ColourTable.of(reckoned, light[tuple(at // step)])
    known = RegularGridInterpolator([axis] * 3, light.reshape((axis.size,) * 3 + (6,)) ** (1 / 2.4))
    np.testing.assert_allclose(table.filled(step).rows[nodes], known(place), atol=1e-5)
