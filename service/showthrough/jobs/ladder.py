"""The ladder: how the old surface fades, coat by coat, into the chip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate, count, islice, pairwise
from typing import NamedTuple

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.space import hexes_of_labs
from showthrough.film.coats import FilmBuild, mean_coats, thin_spot_coats
from showthrough.film.hiding import Paint
from showthrough.film.thickness import EVEN_TOLERANCE, FilmTable
from showthrough.jobs.answers.prediction import ColourReached, LadderStep, PatchStep


class Reached(NamedTuple):
    """Colours of all patches after 0, 1, ... coats; w is 0 for the mean film, 1 for thin spots."""

    mean: list[list[ColourReached]]
    """As they are shown, of the mean film: a row for each coat that is shown, a colour for each
    patch."""
    thin: list[list[ColourReached]]
    """The same of the thin spots."""
    delta_e: FloatArray
    """CIEDE2000 to the chip, shape (2, coats, patches)."""
    delta_e_of_patches: FloatArray
    """Largest CIEDE2000 between two patches, shape (2, coats); 0 for a single patch."""

    @property
    def beneath(self) -> list[str]:
        """Hex of each patch before the first coat."""
        return [colour.hex for colour in self.mean[0]]

    def even_after(self) -> int | None:
        """Coats from which the thin spots of no two patches differ, None if never."""
        uneven = np.flatnonzero(self.delta_e_of_patches[1] > EVEN_TOLERANCE)
        after = int(uneven[-1]) + 1 if uneven.size else 1
        return max(after, 1) if after < self.delta_e_of_patches.shape[1] else None


@dataclass(frozen=True, slots=True)
class Onto:
    """A topcoat over p patches, for as many coats as are asked for."""

    substrates: FloatArray
    """What the topcoat meets, reflectance inside, shape (p, 31)."""
    last: int
    """Coats."""
    shown: int
    """Coats of which the colours are shown, at most ``last``."""
    substrate_lab: FloatArray | None = None
    """How the patches look before the first coat, shape (p, 3); what the topcoat meets, seen
    through the paint's surface, where not given. A bare patch meets the paint without a surface
    of its own, but is seen before it is painted."""


def films_after(
    paint: Paint, chip_lab: FloatArray, over: Sequence[Onto], build: FilmBuild
) -> list[Reached]:
    """Every patch after 0, 1, ... coats, over several surfaces at once.

    Args:
        paint: the topcoat.
        chip_lab: its colour, shape (3,).
        over: the surfaces, of p patches each.
        build: film of one coat.

    Returns:
        One for each surface.
    """
    n = np.arange(max(one.last for one in over) + 1)[:, None]
    p = len(over[0].substrates)
    thin = thin_spot_coats(n, np.zeros(p), build.evenness_cv) * build.dry_film_thickness_um
    mean = mean_coats(n, np.zeros(p), build.sanding_loss) * build.dry_film_thickness_um
    k, s = (v[None] for v in (paint.absorption, paint.scattering))
    table = FilmTable.of(k, s, np.concatenate([one.substrates for one in over]))
    surface = np.repeat(np.arange(len(over)), [one.last + 1 for one in over])
    coat = np.concatenate([n[: one.last + 1, 0] for one in over])
    films = np.stack([mean, thin])[:, coat]
    place = np.broadcast_to(surface[:, None] * p + np.arange(p), films.shape)
    lab = table.take(place.ravel()).lab(films.ravel()).reshape(*films.shape, 3)
    for bare in np.flatnonzero(coat == 0):
        before = over[surface[bare]].substrate_lab
        if before is not None:
            lab[:, bare] = before
    first, second = _every_two(p)
    chips = np.broadcast_to(chip_lab, lab.shape)
    one = np.concatenate([lab, lab[..., first, :]], axis=2)
    every = ciede2000(one, np.concatenate([chips, lab[..., second, :]], axis=2))
    delta_e_of_patches = every[..., p:].max(axis=-1, initial=0.0)
    starts = list(accumulate((one.last + 1 for one in over), initial=0))
    rows = [np.arange(i, i + one.shown + 1) for i, one in zip(starts, over, strict=False)]
    row = np.concatenate(rows)
    # Rounded and written down for all surfaces at once; adding 0.0 turns -0.0 into 0.0.
    seen = lab[:, row]
    lightness, a, b = (np.round(seen, 2) + 0.0).reshape(-1, 3).T.tolist()
    to_chip = np.round(every[:, row, :p], 3).ravel().tolist()
    labs = zip(lightness, a, b, strict=True)
    colours = list(map(ColourReached, labs, hexes_of_labs(seen), to_chip))
    patches = [colours[i : i + p] for i in range(0, len(colours), p)]
    of_mean, of_thin = iter(patches[: len(row)]), iter(patches[len(row) :])
    return [
        Reached(
            list(islice(of_mean, one.shown + 1)),
            list(islice(of_thin, one.shown + 1)),
            every[:, i:j, :p],
            delta_e_of_patches[:, i:j],
        )
        for one, (i, j) in zip(over, pairwise(starts), strict=True)
    ]


@cache
def _every_two(patches: int) -> tuple[np.ndarray, np.ndarray]:
    """Places of every two of so many patches."""
    first, second = np.triu_indices(patches, 1)
    return first, second


def ladder_steps(names: Sequence[str], reached: Reached, last: int) -> list[LadderStep]:
    """The first rows of the ladder in the words of the answer."""
    mean, thin = reached.mean[: last + 1], reached.thin[: last + 1]
    uneven: Sequence[Sequence[float | None]]
    if len(names) > 1:
        uneven = np.round(reached.delta_e_of_patches[:, : last + 1], 3).tolist()
    else:
        uneven = [[None] * len(mean)] * 2
    patches = [list(map(PatchStep, names, *row)) for row in zip(mean, thin, strict=True)]
    return list(map(LadderStep, count(), patches, *uneven[::-1]))
