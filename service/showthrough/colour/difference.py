"""How different two colours look: CIEDE2000.

Source: ISO/CIE 11664-6; Sharma, Wu, Dalal 2005, Color Res. Appl. 30(1) 21-30,
whose equation numbers stand beside the steps.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray

# Constants stand as arrays of no axis: as plain numbers each would be made one again and again.
_50_POW_7 = np.array(50.0**7)
_TINY = np.finfo(float).tiny
_NOISE = 1e-15


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
    bb1, bb2 = b1 * b1, b2 * b2
    c_7 = _pow7(np.sqrt(a1 * a1 + bb1) + np.sqrt(a2 * a2 + bb2))
    stretch = 1.5 - 0.5 * np.sqrt(c_7 / (c_7 + _50_POW_7))
    a1, a2 = a1 * stretch, a2 * stretch
    c1, c2 = np.sqrt(a1 * a1 + bb1), np.sqrt(a2 * a2 + bb2)

    # (8)-(14) without angles: the sum of the unit vectors points at the mean hue, on the shorter
    # arc, and its length holds the cosine of half the turn.
    x, y = a1 * c2 + a2 * c1, b1 * c2 + b2 * c1
    cross = a1 * b2 - b1 * a2
    both, length = c1 * c2, np.hypot(x, y)
    if np.count_nonzero(length > _NOISE * both) < length.size:
        x, y, cross = _opposite(x, y, cross, a1, b1, b2, both, length)
        length = np.maximum(np.hypot(x, y), _TINY)
    cos_h = x / length
    # From behind, so that hues count from 0 to 360 without a turn to be mended.
    from_275 = np.arctan2(-y, -x) - _95
    c_sum = c1 + c2

    # (15): T with its multiple angles written out is even(cos h) + sin h odd(cos h).
    even = _EVEN[0] + cos_h * (
        _EVEN[1] + cos_h * (_EVEN[2] + cos_h * (_EVEN[3] + cos_h * _EVEN[4]))
    )
    odd = _ODD[0] + cos_h * (_ODD[1] + cos_h * (_ODD[2] + cos_h * _ODD[3]))
    t = even + y / length * odd

    # (16)-(21): weighting and the blue rotation.
    lift = l1 + l2 - 100.0  # twice what it is in the formula
    lift = lift * lift
    x_l = (l2 - l1) / (1.0 + 0.0075 * lift / np.sqrt(80.0 + lift))
    x_c = (c2 - c1) / (1.0 + 0.0225 * c_sum)
    x_h = np.sqrt(both) * cross / (length * (0.5 + 0.00375 * c_sum * t))
    offset = from_275 / _25
    c_7 = _pow7(c_sum)
    turned = np.sqrt(c_7 / (c_7 + _50_POW_7)) * np.sin(_60 * np.exp(-offset * offset))

    # Equation (22): the three parts and their interplay in the blues, which is the smaller:
    # ``turned`` is at most sin 60.
    return np.sqrt(x_l * x_l + x_c * x_c + x_h * x_h - 2.0 * turned * x_c * x_h)


def _opposite(
    x: FloatArray,
    y: FloatArray,
    cross: FloatArray,
    a: FloatArray,
    b: FloatArray,
    other_b: FloatArray,
    both: FloatArray,
    length: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean direction and turn where hues differ by 180 degrees, else as they are.

    With hues 0 to 360 the formula takes (h1 + h2)/2 there: a quarter turn on from a first hue
    below 180 degrees, a quarter turn back from one above. A neutral has no hue to differ by.
    """
    half = (length <= _NOISE * both) & (both > 0.0)
    # Told by both b*, so that the order of the two does not matter where one of them is 0.
    upper = np.where(b == other_b, a, b - other_b)
    sign = np.where(upper > 0.0, 1.0, -1.0)
    return (
        np.where(half, -sign * b, x),
        np.where(half, sign * a, y),
        np.where(half, sign * np.hypot(a, b), cross),
    )


# T = 1 + the sum of c cos(m h) + s sin(m h), m = 1 to 4.
_C1, _S1 = -0.17 * np.cos(np.radians(30.0)), -0.17 * np.sin(np.radians(30.0))
_C2 = 0.24
_C3, _S3 = 0.32 * np.cos(np.radians(6.0)), -0.32 * np.sin(np.radians(6.0))
_C4, _S4 = -0.20 * np.cos(np.radians(63.0)), -0.20 * np.sin(np.radians(63.0))
_EVEN = tuple(
    map(np.array, (1.0 - _C2 + _C4, _C1 - 3.0 * _C3, 2.0 * _C2 - 8.0 * _C4, 4.0 * _C3, 8.0 * _C4))
)
_ODD = tuple(map(np.array, (_S1 - _S3, -4.0 * _S4, 4.0 * _S3, 8.0 * _S4)))
_95, _25, _60 = (np.array(np.radians(angle)) for angle in (95.0, 25.0, 60.0))
