"""Films as the tests ask about them: their colour, and what they show of black and white."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray
from showthrough.film.optics import film_reflectance
from showthrough.film.thickness import FilmTable


def film_lab(
    absorption: FloatArray, scattering: FloatArray, thickness_um: FloatArray, substrate: FloatArray
) -> FloatArray:
    """Colour of films as seen, CIELAB (D65, 2 degrees).

    Args:
        absorption: K per band, 1/µm, shape (..., 31).
        scattering: S per band, 1/µm, > 0, shape (..., 31).
        thickness_um: dry film, µm, >= 0, shape (...).
        substrate: reflectance inside of the substrate, shape (..., 31).

    Returns:
        Shape (..., 3), the shapes broadcast together.
    """
    k, s, g = np.broadcast_arrays(absorption, scattering, substrate)
    x = np.asarray(thickness_um, dtype=float)
    shape = np.broadcast_shapes(k.shape[:-1], x.shape)
    k, s, g = (
        np.broadcast_to(v, (*shape, v.shape[-1])).reshape(-1, v.shape[-1]) for v in (k, s, g)
    )
    flat = np.broadcast_to(x, shape).reshape(-1)
    return FilmTable.of(k, s, g).lab(flat).reshape(*shape, 3)


def contrast_ratio(
    absorption: ArrayLike,
    scattering: ArrayLike,
    thickness_um: ArrayLike,
    *,
    black: ArrayLike = 0.0,
    white: ArrayLike = 0.80,
) -> FloatArray:
    """Reflectance over black divided by reflectance over white, inside, per band.

    Args:
        absorption: K, 1/µm.
        scattering: S, 1/µm.
        thickness_um: dry film, µm.
        black: reflectance of the black substrate inside.
        white: reflectance of the white substrate inside; ISO 6504-1 warns that it
            must be measured, 0.80 is its example.

    Returns:
        The ratio; 1 where both are black, since nothing is left to tell them apart.

    Source:
        ISO 6504-1, ASTM D2805 (without surface correction).
    """
    over_black = film_reflectance(absorption, scattering, thickness_um, black)
    over_white = film_reflectance(absorption, scattering, thickness_um, white)
    dark = (over_black == 0.0) & (over_white == 0.0)
    return np.where(dark, 1.0, over_black / np.where(dark, 1.0, over_white))
