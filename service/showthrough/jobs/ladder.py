"""The ladder: how the old surface fades, coat by coat, into the chip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from pydantic import TypeAdapter

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.space import hexes_of_labs
from showthrough.film.coats import FilmBuild, mean_coats, thin_spot_coats
from showthrough.film.hiding import Paint
from showthrough.film.thickness import EVEN_TOLERANCE, FilmTable
from showthrough.jobs.answers.prediction import LadderStep
from showthrough.jobs.case.prepared import Surface


@dataclass(frozen=True, slots=True)
class Reached:
    """Colours of all patches after 0, 1, ... coats; w is 0 for the mean film, 1 for thin spots."""

    lab: FloatArray
    """Shape (2, coats, patches, 3)."""
    difference: FloatArray
    """CIEDE2000 to the chip, shape (2, coats, patches)."""
    apart: FloatArray
    """Largest CIEDE2000 between two patches, shape (2, coats); 0 for a single patch."""
    chip_lab: FloatArray

    def from_ground(self, ground_lab: FloatArray) -> Reached:
        """The same with the patches at coat 0 as they are seen, shape (p, 3).

        A bare patch meets the paint without a surface of its own, but is seen before it is
        painted.
        """
        lab, difference, apart = self.lab.copy(), self.difference.copy(), self.apart.copy()
        lab[:, 0] = ground_lab
        difference[:, 0] = ciede2000(ground_lab, self.chip_lab)
        first, second = np.triu_indices(len(ground_lab), 1)
        if first.size:
            apart[:, 0] = ciede2000(ground_lab[first], ground_lab[second]).max()
        return Reached(lab, difference, apart, self.chip_lab)

    def even_after(self) -> int | None:
        """Coats from which the thin spots of no two patches differ, None if never."""
        uneven = np.flatnonzero(self.apart[1] > EVEN_TOLERANCE)
        after = int(uneven[-1]) + 1 if uneven.size else 1
        return max(after, 1) if after < self.apart.shape[1] else None


def films_after(
    paint: Paint,
    chip_lab: FloatArray,
    grounds: FloatArray,
    lost: FloatArray,
    build: FilmBuild,
    last: int,
) -> list[Reached]:
    """Every patch after 0 to ``last`` coats, over w surfaces at once.

    Args:
        paint: the topcoat.
        chip_lab: its colour, shape (3,).
        grounds: reflectance inside of the patches, shape (w, p, 31).
        lost: part of a first coat that each patch drinks, shape (p,).
        build: film of one coat.
        last: coats.

    Returns:
        One for each surface. Coat 0 is what the topcoat meets, through the paint's surface.
    """
    n = np.arange(last + 1)[:, None]
    drunk = np.where(n > 0, lost[None], 0.0)
    thin = thin_spot_coats(n, drunk, build.evenness_cv) * build.dry_film_um
    mean = mean_coats(n, drunk, build.sanding_loss) * build.dry_film_um
    w, p, bands = grounds.shape
    k, s = (np.broadcast_to(v, (w * p, bands)) for v in (paint.absorption, paint.scattering))
    table = FilmTable.of(k, s, grounds.reshape(w * p, bands))
    films = np.broadcast_to(np.stack([mean, thin]), (w, 2, last + 1, p))
    place = np.broadcast_to(np.arange(w * p).reshape(w, 1, 1, p), films.shape)
    lab = table.take(place.ravel()).lab(films.ravel()).reshape(*films.shape, 3)
    first, second = np.triu_indices(p, 1)
    apart = (
        ciede2000(lab[..., first, :], lab[..., second, :]).max(axis=-1)
        if first.size
        else np.zeros((w, 2, last + 1))
    )
    difference = ciede2000(lab, chip_lab)
    return [Reached(lab[i], difference[i], apart[i], chip_lab) for i in range(w)]


_LADDER = TypeAdapter(list[LadderStep])


def ladder_steps(names: Sequence[str], reached: Reached, last: int) -> list[LadderStep]:
    """The first rows of the ladder in the words of the answer."""
    rows = slice(0, last + 1)
    lab = reached.lab[:, rows]
    hexes = iter(hexes_of_labs(lab))
    # Adding 0.0 turns -0.0 into 0.0.
    every = zip(
        (np.round(lab, 2) + 0.0).reshape(-1, 3).tolist(),
        np.round(reached.difference[:, rows], 3).ravel().tolist(),
        hexes,
        strict=True,
    )
    cells = [{"lab": at, "difference": gap, "hex": hex_} for at, gap, hex_ in every]
    p, thin = len(names), len(cells) // 2
    apart = np.round(reached.apart, 3).tolist()
    several = p > 1
    # One call for the whole ladder: so many small models made one by one cost more than films.
    return _LADDER.validate_python(
        [
            {
                "coat": i,
                "patches": [
                    {"name": name, "mean": cells[i * p + j], "thin": cells[thin + i * p + j]}
                    for j, name in enumerate(names)
                ],
                "show_through": apart[1][i] if several else None,
                "show_through_mean": apart[0][i] if several else None,
            }
            for i in range(last + 1)
        ]
    )


def ladder_of(
    names: Sequence[str],
    paint: Paint,
    chip_lab: FloatArray,
    surface: Surface,
    build: FilmBuild,
    last: int,
    ground_lab: FloatArray,
) -> list[LadderStep]:
    """The ladder of one paint straight onto the patches, which look as ``ground_lab`` before."""
    (reached,) = films_after(paint, chip_lab, surface.grounds[None], surface.lost, build, last)
    return ladder_steps(names, reached.from_ground(ground_lab), last)
