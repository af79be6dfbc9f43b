"""How the topcoat's film depends on the grey under it."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from showthrough.colour.lights import FloatArray, white_point
from showthrough.colour.munsell.scale import luminance_of_value, value_of_luminance
from showthrough.colour.space import hexes_of_labs, xyz_to_lab
from showthrough.film import undercoat as uc
from showthrough.film.coats import MOST_COATS, FilmBuild, coats_needed
from showthrough.jobs.answers.prediction import GreyCurve, GreyPoint


@cache
def _grey_hexes() -> list[str]:
    luminance = luminance_of_value(uc.GREY_VALUES)
    return hexes_of_labs(xyz_to_lab(luminance[:, None] / 100.0 * white_point()))


def no_curve() -> GreyCurve:
    """The curve where nothing is counted."""
    return GreyCurve(
        points=[], best_value=None, good_from=None, good_to=None, closed_rule_value=0.0
    )


def grey_curve(worst: FloatArray, build: FilmBuild, closed: float) -> GreyCurve:
    """The curve from the largest hiding film over each grey of ``GREY_VALUES``.

    ``closed`` is the luminance factor of the grey by the closed rule, 0 to 100.
    """
    counts = coats_needed(worst / build.dry_film_thickness_um, 0.0, build.evenness_cv)
    films = [round(film, 3) if math.isfinite(film) else None for film in worst.tolist()]
    coats = [int(count) if count <= MOST_COATS else None for count in counts.tolist()]
    points = list(map(GreyPoint, uc.GREY_VALUES.tolist(), _grey_hexes(), films, coats))
    best = int(np.argmin(worst))
    good = np.flatnonzero((counts == counts[best]) & (counts <= MOST_COATS))
    return GreyCurve(
        points=points,
        best_value=float(uc.GREY_VALUES[best]) if np.isfinite(worst[best]) else None,
        good_from=float(uc.GREY_VALUES[good[0]]) if good.size else None,
        good_to=float(uc.GREY_VALUES[good[-1]]) if good.size else None,
        closed_rule_value=round(float(value_of_luminance(closed)), 2),
    )
