"""Paint for a topcoat by random draws, a second implementation.

Counts are found by trying one coat after the other; nothing is shared with the package but
the numbers of the case.
"""

from __future__ import annotations

import math

import numpy as np


def draw_ml(
    rng,
    draws,
    *,
    area,
    area_spread=1.0,
    hiding=(),
    film,
    film_spread,
    solids,
    transfer,
    transfer_spread,
    thinning=0.0,
    session_ml=0.0,
    least=1,
    cv=0.25,
):
    """Unthinned paint (ml) and coats, one for each draw; inf above 12 coats.

    ``hiding`` is rows of (film that hides in µm, spread, part of the first coat drunk);
    patches share the deviation of the paint's hiding.
    """
    deviates = rng.standard_normal((4, draws))
    wet = film * np.exp(deviates[0] * math.log(film_spread))
    dry = wet * solids / (1.0 + thinning)
    coats = np.full(draws, np.inf)
    for n in range(12, least - 1, -1):
        thin = n - 1.2816 * cv * math.sqrt(n)
        fits = np.ones(draws, dtype=bool)
        for hides, geometric_sd, lost in hiding:
            wanted = hides * np.exp(deviates[1] * math.log(geometric_sd))
            fits &= (thin - lost) * dry >= wanted
        coats[fits] = n
    stays = np.minimum(transfer * np.exp(deviates[2] * math.log(transfer_spread)), 1.0)
    surface = area * np.exp(deviates[3] * math.log(area_spread))
    mixed = (surface * wet / stays + session_ml) * coats
    return mixed / (1.0 + thinning), coats
