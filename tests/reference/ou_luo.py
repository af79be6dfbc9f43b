"""Two-colour harmony written out with plain floats, straight from the equations.

Slow and literal on purpose: the second opinion on the vectorised one.

Source: Ou, Luo 2006, Color Res. Appl. 31(3) 191-204.
"""

from __future__ import annotations

import math


def hue_of(a, b):
    """Hue angle in degrees, 0 to 360; 0 for a neutral."""
    if a == 0 and b == 0:
        return 0.0
    angle = math.degrees(math.atan2(b, a))
    return angle + 360.0 if angle < 0 else angle


def single_hue(lightness, a, b):
    """HSY, as one long line of arithmetic."""
    c = math.sqrt(a**2 + b**2)
    h = hue_of(a, b)
    ec = 0.5 + 0.5 * math.tanh(-2 + 0.5 * c)
    sine_1 = math.sin((h + 50) * math.pi / 180)
    sine_2 = math.sin((2 * h + 90) * math.pi / 180)
    hs = -0.08 - 0.14 * sine_1 - 0.07 * sine_2
    inner = (90 - h) / 10
    ey = ((0.22 * lightness - 12.8) / 10) * math.exp(inner - math.exp(inner))
    return ec * (hs + ey)


def harmony(lab_1, lab_2):
    """CH, HC, HLsum, HdL, HH of two colours."""
    l1, a1, b1 = lab_1
    l2, a2, b2 = lab_2
    c1, c2 = math.sqrt(a1**2 + b1**2), math.sqrt(a2**2 + b2**2)
    # dH*ab = 2 sqrt(C1 C2) sin(dh / 2), not the difference of hue angles.
    turn = math.radians(hue_of(a2, b2) - hue_of(a1, b1))
    d_hue = 2 * math.sqrt(c1 * c2) * math.sin(turn / 2)
    d_c = math.sqrt(d_hue**2 + ((c1 - c2) / 1.46) ** 2)
    h_c = 0.04 + 0.53 * math.tanh(0.8 - 0.045 * d_c)
    h_l_sum = 0.28 + 0.54 * math.tanh(-3.88 + 0.029 * (l1 + l2))
    h_l_gap = 0.14 + 0.15 * math.tanh(-2 + 0.2 * abs(l1 - l2))
    h_h = single_hue(*lab_1) + single_hue(*lab_2)
    return h_c + h_l_sum + h_l_gap + h_h, h_c, h_l_sum, h_l_gap, h_h
