"""Paint over one pixel at a time, written out: no table, no shortcuts.

The two-flux equations are in their hyperbolic form (Kubelka 1948), the surface after
Saunderson 1942, colours through colour-science; only the spectrum of a colour comes
from the project, because there its definition lives.
"""

import math

import numpy as np

from showthrough.colour.lights import weights
from showthrough.colour.spectrum import SURFACE_BOUNDS, recover_spectra

K1, K2 = 0.04, 0.55
GLARE = 0.94


def film_over(k, s, x, ground):
    """Reflectance inside of a film over a ground, one band (Kubelka 1948)."""
    if x == 0.0:
        return ground
    a = 1.0 + k / s
    b = math.sqrt(a * a - 1.0)
    if b * s * x > 300.0:
        return 1.0 / (a + b)
    b_coth = 1.0 / (s * x) if b == 0.0 else b / math.tanh(b * s * x)
    return (1.0 - ground * (a - b_coth)) / (a - ground + b_coth)


def reachable_spectrum(lab):
    """The smoothest spectrum of a colour, or of the purest like it that a surface can have."""
    found = recover_spectra([lab], SURFACE_BOUNDS)
    if found.reachable[0]:
        return found.reflectance[0]
    low, high = 0.0, 1.0
    for _ in range(30):
        middle = (low + high) / 2.0
        if recover_spectra([[lab[0], lab[1] * middle, lab[2] * middle]], SURFACE_BOUNDS).reachable[
            0
        ]:
            low = middle
        else:
            high = middle
    return recover_spectra([[lab[0], lab[1] * low, lab[2] * low]], SURFACE_BOUNDS).reflectance[0]


def painted(light, bare, paints_and_films):
    """Linear sRGB of one pixel under films, lowest first.

    light: linear sRGB of the surface, three numbers. bare: no surface of its own.
    paints_and_films: (K per band, S per band, film) each.
    """
    import colour

    light = [min(max(float(v), 0.0), GLARE) for v in light]
    xyz = colour.RGB_to_XYZ(light, "sRGB", apply_cctf_decoding=False)
    lab = colour.XYZ_to_Lab(xyz, colour.CCS_ILLUMINANTS[
        "CIE 1931 2 Degree Standard Observer"]["D65"])  # fmt: skip
    spectrum = reachable_spectrum(lab)
    seen = []
    for band in range(31):
        r = float(spectrum[band])
        inside = r if bare else r / ((1.0 - K1) * (1.0 - K2) + K2 * r)
        for k, s, x in paints_and_films:
            inside = film_over(float(k[band]), float(s[band]), x, inside)
        seen.append((1.0 - K1) * (1.0 - K2) * inside / (1.0 - K2 * inside))
    return colour.XYZ_to_RGB(np.array(seen) @ weights() / 100.0, "sRGB")
