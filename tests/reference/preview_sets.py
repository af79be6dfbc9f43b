"""Colours that a preview may meet, and the table against the direct model on them."""

import numpy as np

from showthrough.colour.space import (
    lab_to_srgb,
    linear_rgb_to_xyz,
    linear_to_srgb,
    srgb_to_linear,
    xyz_to_lab,
)
from showthrough.colour.spectrum import recover_spectra
from showthrough.film.hiding import paint_from_colour
from showthrough.photo.preview.model import painted_light, surface_spectra
from showthrough.photo.preview.table import (
    SEEN_SIZE,
    Cells,
    ColourTable,
    coordinates,
    lattice_light,
    nodes_seen,
)

PAINT_LABS = {
    "yellow-green": (66, -24, 55),
    "white": (96, -0.5, 2),
    "red": (42, 58, 38),
    "dark blue": (24, 3, -22),
    "black": (18, 0, 0),
    "vivid yellow": (82, 6, 80),
}
PAINTS = {
    name: paint_from_colour(recover_spectra([lab]).reflectance[0])
    for name, lab in PAINT_LABS.items()
}


def light_of(*labs):
    """Linear sRGB of CIELAB values, shape (n, 3)."""
    return srgb_to_linear(lab_to_srgb(np.array(labs, dtype=float)))


def colour_sets(rng, count):
    """Linear sRGB, shape (count, 3) each: random numbers, and surfaces as photographed."""
    return {
        "random": srgb_to_linear(rng.integers(0, 256, (count, 3)) / 255.0),
        "dark": srgb_to_linear(rng.integers(0, 64, (count, 3)) / 255.0),
        "bright": srgb_to_linear(rng.integers(200, 256, (count, 3)) / 255.0),
        "pine": _photographed(rng, count, [(72, 10, 32), (62, 14, 34), (82, 2, 20)]),
        "white": _photographed(rng, count, [(93, -0.5, 1.5), (96, 0, 3), (90, 0, 6)]),
        "walnut": _photographed(rng, count, [(28, 9, 12), (14, 5, 6), (5, 1, 2)]),
        "enamel": _photographed(
            rng, count, [(42, 58, 38), (30, 15, -50), (82, 6, 85), (50, -45, 30)]
        ),
    }


def _photographed(rng, count, labs):
    """Colours about some Lab values, as 8-bit numbers with noise, shading divided out."""
    lab = np.array(labs, dtype=float)[rng.integers(0, len(labs), count)]
    lab += rng.normal(0, 1, (count, 1)) * (5.0, 1.5, 3.0) + rng.normal(0, 0.7, (count, 3))
    shading = rng.uniform(0.5, 1.2, (count, 1))
    light = np.clip(srgb_to_linear(lab_to_srgb(lab)) * shading, 0.0, 1.0)
    codes = np.clip(np.rint(255 * linear_to_srgb(light) + rng.normal(0, 2.5, light.shape)), 0, 255)
    return srgb_to_linear(codes / 255.0) / shading


class Table:
    """The table for some colours, linear sRGB of shape (n, 3)."""

    def __init__(self, light):
        self.count = len(light)
        self.cells = Cells.of(coordinates(light.T))
        seen = np.zeros(SEEN_SIZE, dtype=bool)
        self.cells.mark(seen)
        self.nodes = nodes_seen(seen)
        self.known = surface_spectra(lattice_light(self.nodes))

    def codes(self, skin, coating, films_um):
        """8-bit numbers under m films before rounding, shape (n, m, 3)."""
        painted = painted_light(self.known, skin, coating, films_um)
        table = ColourTable.of(self.nodes, painted)
        codes = table.codes(self.cells, np.ones(self.count, dtype=np.float32))
        return codes.reshape(self.count, -1, 3).astype(float)


def direct_codes(light):
    """8-bit numbers of linear light, not rounded."""
    return 255.0 * linear_to_srgb(np.clip(light, 0.0, 1.0))


def seen_lab(codes):
    """CIELAB of 8-bit numbers, rounded or not."""
    return xyz_to_lab(linear_rgb_to_xyz(srgb_to_linear(np.clip(codes, 0.0, 255.0) / 255.0)))
