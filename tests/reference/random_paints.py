"""Random paints drawn over a black and white card, with known K and S.

A second way from K and S to readings, written out plainly: hyperbolic Kubelka-Munk, Saunderson
term by term, noise from a CIEDE2000 ellipsoid found by trial steps. Only the colour tables
and CIEDE2000 are the project's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import WAVELENGTHS, weights
from showthrough.colour.space import lch_to_lab
from showthrough.colour.spectrum import recover_spectra, spectrum_to_lab, spectrum_to_xyz

K1, K2 = 0.04, 0.55
MOST_DRY_UM = 300.0


@dataclass
class Draw:
    absorption: np.ndarray
    scattering: np.ndarray
    dry_um: float
    card: np.ndarray
    films: np.ndarray

    @property
    def scattering_per_um(self):
        shown = (WAVELENGTHS >= 420) & (WAVELENGTHS <= 680)
        return float(self.scattering[shown].mean())


def inside(outside):
    return outside / ((1 - K1) * (1 - K2) + K2 * outside)


def outside(inside_):
    return (1 - K1) * (1 - K2) * inside_ / (1 - K2 * inside_)


def film(absorption, scattering, dry_um, ground):
    """Kubelka 1948, hyperbolic form, as seen from outside; the ground too is given outside."""
    a = 1 + absorption / scattering
    b = np.sqrt(a * a - 1)
    coth = 1 / np.tanh(np.minimum(b * scattering * dry_um, 300))
    below = inside(ground)
    return outside((1 - below * (a - b * coth)) / (a - below + b * coth))


def smooth_spectra(random, n):
    """Smoothest spectra of colours spread evenly over lightness, hue and chroma.

    Only colours that real surfaces have: Pointer 1980, Color Res. Appl. 5(3) 145-155, as
    colour-science holds it.
    """
    import colour

    found = np.empty((0, 31))
    while len(found) < n:
        lch = np.column_stack(
            [random.uniform(18, 96, n), random.uniform(0, 95, n), random.uniform(0, 360, n)]
        )
        spectra = recover_spectra(lch_to_lab(lch))
        as_they_are = spectra.reflectance[spectra.reachable & (spectra.moved == 0)]
        real = colour.is_within_pointer_gamut(spectrum_to_xyz(as_they_are, "C") / 100)
        found = np.vstack([found, as_they_are[real]])
    return found[:n]


def wavy_spectra(random, n):
    """Smooth random curves (Gaussian process, 50 to 120 nm) squeezed into what paint can be."""
    apart = np.subtract.outer(WAVELENGTHS, WAVELENGTHS)
    found = []
    for _ in range(n):
        length, height = random.uniform(50, 120), random.uniform(0.2, 1.8)
        root = np.linalg.cholesky(np.exp(-0.5 * (apart / length) ** 2) + 1e-8 * np.eye(31))
        z = random.normal(0, 1.6) + height * (root @ random.normal(size=31))
        found.append(0.012 + 0.915 / (1 + np.exp(-z)))
    return np.array(found)


def measured_spectra(random, n):
    """Measured reflectances: the 99 colour evaluation samples of CIE 224:2017 (colour-science)."""
    from colour.quality.cfi2017 import load_TCS_CIE2017

    import colour

    samples = load_TCS_CIE2017(colour.SpectralShape(380, 780, 5))
    places = [int(np.flatnonzero(samples.wavelengths == nm)[0]) for nm in WAVELENGTHS]
    return samples.values[places].T[random.integers(0, 99, n)]


def draw(random, r_infinity):
    """A paint of this opaque colour, drawn so thin that black and white differ usefully.

    S is the guess from the colour (S0 0.32, written out) times a lognormal factor 1.4, falling
    or rising along the spectrum; the contrast ratio of Y lies evenly between 0.6 and 0.97.
    """
    r = inside(r_infinity)
    ratio = (1 - r) ** 2 / (2 * r)
    shown = (WAVELENGTHS >= 420) & (WAVELENGTHS <= 680)
    level = 0.32 / (1 + ratio[shown].max()) * random.lognormal(0, np.log(1.4))
    scattering = level * np.exp(random.uniform(-0.45, 0.05) * (WAVELENGTHS - 550) / 100)
    absorption = ratio * scattering
    fall = 0.3 * np.exp(-(WAVELENGTHS - 400) / random.uniform(5, 12))
    card = np.stack([np.full(31, random.uniform(0.004, 0.012)), random.uniform(0.81, 0.9) - fall])
    wanted = random.uniform(0.6, 0.97)
    low, high = 0.01, 2000.0
    for _ in range(50):
        middle = np.sqrt(low * high)
        black, white = film(absorption, scattering, middle, card) @ weights()[:, 1]
        low, high = (middle, high) if black / white < wanted else (low, middle)
    films = film(absorption, scattering, middle, card)
    return Draw(absorption, scattering, middle, card, films)


def draws(random, spectra):
    """Draws of paints, without the few that would have to be thicker than anybody draws."""
    for r_infinity in spectra:
        one = draw(random, r_infinity)
        if one.dry_um < MOST_DRY_UM:
            yield one


def noisy_lab(random, spectrum, root_mean_square):
    """CIELAB of a spectrum, off by this much CIEDE2000 root mean square, in any direction."""
    lab = spectrum_to_lab(spectrum)
    step = 0.01
    square = np.zeros((3, 3))
    axes = np.eye(3) * step
    for i in range(3):
        for j in range(3):
            both = float(ciede2000(lab, lab + axes[i] + axes[j])) ** 2
            single = (float(ciede2000(lab, lab + axes[k])) ** 2 for k in (i, j))
            square[i, j] = (both - sum(single)) / (2 * step * step)
    root = np.linalg.cholesky(np.linalg.inv(0.5 * (square + square.T)))
    off = root @ random.normal(size=3) * root_mean_square / np.sqrt(3)
    off_lab = lab + off
    off_lab[0] = np.clip(off_lab[0], 0, 100)
    return off_lab
