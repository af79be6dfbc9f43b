"""A first rule of hiding by colour, kept to compare with: S + greatest K = S0, S flat.

The findings that another program computed on this model rest on it, with S0 0.32.
"""

from __future__ import annotations

import numpy as np

from showthrough.film.optics import absorption_ratio, inside_reflectance


def flat_rule(reflectance: np.ndarray, budget: float = 0.32) -> tuple[np.ndarray, np.ndarray]:
    """K and S, 1/µm dry, of opaque colours (..., 31); K counts from 420 to 680 nm."""
    ratio = absorption_ratio(inside_reflectance(reflectance))
    s = budget / (1.0 + ratio[..., 2:29].max(axis=-1, keepdims=True))
    return ratio * s, np.broadcast_to(s, ratio.shape)
