"""How different two colours look: CIEDE2000.

Source: ISO/CIE 11664-6; Sharma, Wu, Dalal 2005, Color Res. Appl. 30(1) 21-30,
whose equation numbers stand beside the steps.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray

_25_POW_7 = 25.0**7


def _pow7(x: FloatArray) -> FloatArray:
    """Seventh power by products: several times quicker than ``x ** 7``."""
    cube = x * x * x
    return cube * cube * x


def ciede2000(lab_1: ArrayLike, lab_2: ArrayLike) -> FloatArray:
    """Colour difference CIEDE2000 with kL = kC = kH = 1.

    Args:
        lab_1: CIELAB, shape (..., 3).
        lab_2: CIELAB, shape (..., 3), broadcast against ``lab_1``.

    Returns:
        Differences, broadcast shape without the last axis.

    Example:
        >>> float(ciede2000([50, 2.6772, -79.7751], [50, 0, -82.7485]).round(4))
        2.0425
    """
    one = np.asarray(lab_1, dtype=float)
    two = np.asarray(lab_2, dtype=float)
    l1, a1, b1 = one[..., 0], one[..., 1], one[..., 2]
    l2, a2, b2 = two[..., 0], two[..., 1], two[..., 2]

    # (2)-(7): a* is stretched near the neutral axis.
    c_mean_7 = _pow7(0.5 * (np.sqrt(a1 * a1 + b1 * b1) + np.sqrt(a2 * a2 + b2 * b2)))
    stretch = 1.5 - 0.5 * np.sqrt(c_mean_7 / (c_mean_7 + _25_POW_7))
    a1 = a1 * stretch
    a2 = a2 * stretch
    c1 = np.sqrt(a1 * a1 + b1 * b1)
    c2 = np.sqrt(a2 * a2 + b2 * b2)
    h1 = np.arctan2(b1, a1)

    # (8)-(11): differences; the turn is 0 beside a neutral, which leaves hue without effect.
    turn = np.arctan2(a1 * b2 - b1 * a2, a1 * a2 + b1 * b2)
    # With hues 0 to 360 the formula takes (h1 + h2)/2 where they differ by exactly 180 degrees.
    half_turn = np.where((h1 >= 0.0) & (h1 < np.pi), np.pi, -np.pi)
    turn = np.where(np.abs(turn) == np.pi, half_turn, turn)
    d_l = l2 - l1
    d_c = c2 - c1
    d_h = 2.0 * np.sqrt(c1 * c2) * np.sin(0.5 * turn)

    # (12)-(14): means; the mean hue lies on the shorter arc.
    mean_h = h1 + 0.5 * turn
    mean_h = np.where(mean_h < 0.0, mean_h + 2.0 * np.pi, mean_h)
    mean_l = 0.5 * (l1 + l2)
    mean_c = 0.5 * (c1 + c2)

    # (15): T with its multiple angles written out is even(cos h) + sin h odd(cos h).
    cos_h = np.cos(mean_h)
    even = _EVEN[0] + cos_h * (
        _EVEN[1] + cos_h * (_EVEN[2] + cos_h * (_EVEN[3] + cos_h * _EVEN[4]))
    )
    odd = _ODD[0] + cos_h * (_ODD[1] + cos_h * (_ODD[2] + cos_h * _ODD[3]))
    t = even + np.sin(mean_h) * odd

    # (16)-(21): weighting and the blue rotation.
    lift = (mean_l - 50.0) * (mean_l - 50.0)
    s_l = 1.0 + 0.015 * lift / np.sqrt(20.0 + lift)
    s_c = 1.0 + 0.045 * mean_c
    s_h = 1.0 + 0.015 * mean_c * t
    offset = (mean_h - _275) / _25
    angle = _60 * np.exp(-offset * offset)
    mean_c_7 = _pow7(mean_c)
    r_t = -2.0 * np.sqrt(mean_c_7 / (mean_c_7 + _25_POW_7)) * np.sin(angle)

    # Equation (22): the three parts and their interplay in the blues.
    x_l, x_c, x_h = d_l / s_l, d_c / s_c, d_h / s_h
    return np.sqrt(np.maximum(x_l * x_l + x_c * x_c + x_h * x_h + r_t * x_c * x_h, 0.0))


# T = 1 + the sum of c cos(m h) + s sin(m h), m = 1 to 4.
_C1, _S1 = -0.17 * np.cos(np.radians(30.0)), -0.17 * np.sin(np.radians(30.0))
_C2 = 0.24
_C3, _S3 = 0.32 * np.cos(np.radians(6.0)), -0.32 * np.sin(np.radians(6.0))
_C4, _S4 = -0.20 * np.cos(np.radians(63.0)), -0.20 * np.sin(np.radians(63.0))
_EVEN = (1.0 - _C2 + _C4, _C1 - 3.0 * _C3, 2.0 * _C2 - 8.0 * _C4, 4.0 * _C3, 8.0 * _C4)
_ODD = (_S1 - _S3, -4.0 * _S4, 4.0 * _S3, 8.0 * _S4)
_275, _25, _60 = np.radians(275.0), np.radians(25.0), np.radians(60.0)
