"""The ladder: how the old surface fades, coat by coat, into the chip."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.space import hexes_of_labs
from showthrough.film.build import FilmBuild, mean_coats, thin_spot_coats
from showthrough.film.hiding import Paint
from showthrough.film.opacity import film_lab
from showthrough.jobs.result import ColourReached, LadderStep, PatchStep
from showthrough.jobs.undercoats import Surface


def ladder_of(
    names: Sequence[str],
    paint: Paint,
    chip_lab: FloatArray,
    surface: Surface,
    build: FilmBuild,
    last: int,
    ground_lab: FloatArray | None = None,
) -> list[LadderStep]:
    """Colours after 0, 1, ... coats, one film table for all of them.

    A bare patch meets the paint without a surface of its own, but is seen before it is
    painted: ``ground_lab``, shape (p, 3), is how it looks then.
    """
    steps = np.arange(last + 1)
    lost = surface.lost[None]
    n = steps[:, None]
    thin = thin_spot_coats(n, np.where(n > 0, lost, 0.0), build.evenness_cv) * build.dry_film_um
    mean = mean_coats(n, np.where(n > 0, lost, 0.0), build.sanding_loss) * build.dry_film_um
    lab = film_lab(
        paint.absorption,
        paint.scattering,
        np.stack([mean, thin]),
        np.broadcast_to(surface.grounds, (2, len(steps), *surface.grounds.shape)),
    )
    if ground_lab is not None:
        lab[:, 0] = ground_lab
    gap = np.round(ciede2000(lab, chip_lab), 3)
    first, second = np.triu_indices(len(names), 1)
    apart = ciede2000(lab[1][:, first], lab[1][:, second]) if len(first) else None
    hexes = iter(hexes_of_labs(lab))
    # Adding 0.0 turns -0.0 into 0.0.
    rounded = (np.round(lab, 2) + 0.0).tolist()
    reached = [
        [
            [
                ColourReached(lab=rounded[w][i][p], hex=next(hexes), difference=float(gap[w, i, p]))
                for p in range(len(names))
            ]
            for i in range(len(steps))
        ]
        for w in (0, 1)
    ]
    return [
        LadderStep(
            coat=int(step),
            patches=[
                PatchStep(name=name, mean=reached[0][i][p], thin=reached[1][i][p])
                for p, name in enumerate(names)
            ],
            show_through=None if apart is None else round(float(apart[i].max()), 3),
        )
        for i, step in enumerate(steps)
    ]
