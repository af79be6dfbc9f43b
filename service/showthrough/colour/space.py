"""CIE XYZ, CIELAB, LCh and sRGB, as arrays.

XYZ is scaled so that white has Y = 100. All functions take arrays whose last
axis holds the three coordinates and return the same shape.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray, white_point

_EPSILON = 216.0 / 24389.0
_KAPPA = 24389.0 / 27.0

# IEC 61966-2-1: chromaticities of the sRGB primaries and of its D65 white.
_SRGB_PRIMARIES = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
_SRGB_WHITE = np.array([0.3127, 0.3290])


def _srgb_matrix() -> FloatArray:
    """Linear sRGB to XYZ with equal channels exactly neutral.

    Derived from the primaries; each row is then scaled by the ratio of our D65
    white to the rounded white of the standard (less than 0.02 %), so that a
    grey in hex is a grey in CIELAB.
    """
    xyz = np.column_stack([_SRGB_PRIMARIES, 1.0 - _SRGB_PRIMARIES.sum(axis=1)]).T
    x, y = _SRGB_WHITE
    white = np.array([x / y, 1.0, (1.0 - x - y) / y])
    matrix = 100.0 * xyz * np.linalg.solve(xyz, white)
    return matrix * (white_point() / (100.0 * white))[:, None]


_RGB_TO_XYZ = _srgb_matrix()
_XYZ_TO_RGB = np.linalg.inv(_RGB_TO_XYZ)


def xyz_to_lab(xyz: ArrayLike, white: FloatArray | None = None) -> FloatArray:
    """CIELAB of tristimulus values.

    Args:
        xyz: XYZ, shape (..., 3), white Y = 100.
        white: XYZ of white, shape (3,); D65 and 2 degrees where not given.

    Returns:
        L*, a*, b*, shape (..., 3).

    Source:
        ISO/CIE 11664-4 (cube root above Y/Yn = 216/24389, a straight line below).
    """
    ratio = np.asarray(xyz, dtype=float) / (white_point() if white is None else white)
    f = np.cbrt(ratio)
    low = ratio <= _EPSILON
    if np.count_nonzero(low):
        f = np.where(low, (_KAPPA * ratio + 16.0) / 116.0, f)
    lab = np.empty_like(f)
    lab[..., 0] = 116.0 * f[..., 1] - 16.0
    lab[..., 1] = 500.0 * (f[..., 0] - f[..., 1])
    lab[..., 2] = 200.0 * (f[..., 1] - f[..., 2])
    return lab


def lab_to_xyz(lab: ArrayLike, white: FloatArray | None = None) -> FloatArray:
    """Tristimulus values of CIELAB; the inverse of ``xyz_to_lab``.

    Source: ISO/CIE 11664-4.
    """
    lab = np.asarray(lab, dtype=float)
    fy = (lab[..., 0] + 16.0) / 116.0
    f = np.empty_like(lab)
    f[..., 0], f[..., 1] = fy + lab[..., 1] / 500.0, fy
    f[..., 2] = fy - lab[..., 2] / 200.0
    ratio = f * f * f
    low = ratio <= _EPSILON
    if np.count_nonzero(low):
        ratio = np.where(low, (116.0 * f - 16.0) / _KAPPA, ratio)
    return ratio * (white_point() if white is None else white)


def lab_to_lch(lab: ArrayLike) -> FloatArray:
    """L*, C*ab and hue angle in degrees, 0 to 360 (0 for an exact neutral)."""
    lab = np.asarray(lab, dtype=float)
    chroma = np.hypot(lab[..., 1], lab[..., 2])
    hue = np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) % 360.0
    return np.stack([lab[..., 0], chroma, np.where(chroma == 0.0, 0.0, hue)], axis=-1)


def lch_to_lab(lch: ArrayLike) -> FloatArray:
    """CIELAB from L*, C*ab and hue angle in degrees."""
    lch = np.asarray(lch, dtype=float)
    hue = np.radians(lch[..., 2])
    return np.stack([lch[..., 0], lch[..., 1] * np.cos(hue), lch[..., 1] * np.sin(hue)], axis=-1)


def srgb_to_linear(rgb: ArrayLike) -> FloatArray:
    """Undo the sRGB transfer curve; values 0 to 1 (IEC 61966-2-1)."""
    rgb = np.asarray(rgb, dtype=float)
    return np.where(rgb <= 0.04045, rgb / 12.92, ((np.maximum(rgb, 0.0) + 0.055) / 1.055) ** 2.4)


def linear_to_srgb(linear: ArrayLike) -> FloatArray:
    """Apply the sRGB transfer curve; values 0 to 1 (IEC 61966-2-1)."""
    linear = np.asarray(linear, dtype=float)
    return np.where(
        linear <= 0.0031308,
        12.92 * linear,
        1.055 * np.maximum(linear, 0.0031308) ** (1 / 2.4) - 0.055,
    )


def linear_rgb_to_xyz(linear: ArrayLike) -> FloatArray:
    """XYZ (D65, white Y = 100) of linear sRGB light, shape (..., 3)."""
    return np.asarray(linear, dtype=float) @ _RGB_TO_XYZ.T


def xyz_to_linear_rgb(xyz: ArrayLike) -> FloatArray:
    """Linear sRGB of XYZ (D65, white Y = 100); not clipped."""
    return np.asarray(xyz, dtype=float) @ _XYZ_TO_RGB.T


def srgb_to_lab(rgb: ArrayLike) -> FloatArray:
    """CIELAB (D65, 2 degrees) of sRGB values 0 to 1, shape (..., 3)."""
    return xyz_to_lab(linear_rgb_to_xyz(srgb_to_linear(rgb)))


def lab_to_srgb(lab: ArrayLike) -> FloatArray:
    """SRGB values of CIELAB (D65, 2 degrees), clipped to 0 to 1."""
    return np.clip(linear_to_srgb(xyz_to_linear_rgb(lab_to_xyz(lab))), 0.0, 1.0)


def hex_of_lab(lab: ArrayLike) -> str:
    """The hex text of one CIELAB colour, shape (3,), clipped to what a screen shows."""
    return hexes_of_labs(lab)[0]


_STEPS = srgb_to_linear((np.arange(255) + 0.5) / 255.0)
"""Linear light from which a channel of eight bits takes its next value."""


def hexes_of_labs(lab: ArrayLike) -> list[str]:
    """The hex texts of CIELAB colours, shape (..., 3), flattened in order."""
    linear = xyz_to_linear_rgb(lab_to_xyz(lab))
    channels = np.searchsorted(_STEPS, linear.ravel()).astype(np.uint8).tobytes()
    return ("#" + channels.hex(" ", 3).replace(" ", " #")).split() if channels else []
