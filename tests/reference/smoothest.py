"""The smoothest spectrum of a colour, found by a general optimiser.

The same problem as ``showthrough.colour.spectrum`` states, written down literally:
the least sum of squared first differences of z, subject to three equations for XYZ,
with R = low + (high - low) / (1 + exp(-z)). Slow, and shares no code with it.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import minimize


def smoothest_spectrum(xyz, weights, bounds, start=0.0):
    """Reflectance, shape (31,), by sequential quadratic programming."""
    low, high = bounds

    def reflectance(z):
        return low + (high - low) / (1.0 + np.exp(-z))

    def roughness(z):
        return float(np.sum((z[1:] - z[:-1]) ** 2))

    def miss(z):
        return np.array([sum(reflectance(z) * weights[:, k]) - xyz[k] for k in range(3)])

    found = minimize(
        roughness,
        np.full(31, start),
        method="SLSQP",
        constraints=[{"type": "eq", "fun": miss}],
        options={"maxiter": 2000, "ftol": 1e-12},
    )
    assert found.success, found.message
    assert np.abs(miss(found.x)).max() < 1e-6
    return reflectance(found.x)
