"""Exact radiative transfer through a slab over an evenly scattering ground.

Two general solvers, neither made for paint: adding-doubling (iadpython, after Prahl 1995)
and discrete ordinates (PythonicDISORT, after Stamnes et al. 1988). The light comes in
evenly diffuse and the refractive indices match, as Kubelka and Munk suppose; the phase
function is Henyey-Greenstein's.
"""

from __future__ import annotations

from functools import cache

import numpy as np

QUADRATURE = 12
"""Angles; with more than 24 the library's own quadrature loses digits."""


@cache
def _sample(anisotropy, index):
    """One slab for each phase function: the library keeps its angles and phase matrix."""
    import iadpython

    return iadpython.Sample(g=anisotropy, n=index, quad_pts=QUADRATURE)


def doubling(albedo, anisotropy, depth, index=1.0):
    """Reflectance and transmittance of the slab alone for evenly diffuse light.

    ``index`` other than 1 gives both faces a surface that reflects after Fresnel.
    """
    slab = _sample(anisotropy, index)
    slab.a, slab.b = albedo, depth
    _, _, reflected, passed = slab.rt()
    return float(reflected), float(passed)


def over_substrate(slab, substrate):
    """Reflectance of a slab (reflectance, transmittance) over an evenly scattering ground.

    Exact: what the ground sends up is evenly diffuse, as the light from above was.
    """
    reflected, passed = slab
    return reflected + passed * passed * substrate / (1.0 - reflected * substrate)


def ordinates(albedo, anisotropy, depth, substrate, streams=32):
    """The same by discrete ordinates, the ground as the solver's own boundary."""
    from PythonicDISORT.pydisort import pydisort

    moments = anisotropy ** np.arange(streams)
    found = pydisort(
        np.array([depth]),
        np.array([albedo]),
        streams,
        moments[None],
        1.0,  # direction and strength of a beam: there is none
        0.0,
        0.0,
        NFourier=1,
        only_flux=True,
        b_neg=1.0 / np.pi,  # evenly diffuse light of flux 1
        BDRF_Fourier_modes=[substrate] if substrate else [],
    )
    upward = found[1]
    return float(upward(0.0))
