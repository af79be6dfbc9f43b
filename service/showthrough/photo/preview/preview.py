"""A photo of the bare surface as it would look after each coat.

Only marked areas change. In each, the light's fall-off is divided out, every pixel's
colour is the ground that the film goes over, and the fall-off is put back. Films are
mean films: thin spots show more of the ground.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showthrough.film.hiding import Paint
from showthrough.photo.preview.areas import (
    PaintedArea,
    Photo,
    Undercoat,
    check_paints,
    check_photo,
    labelled,
)
from showthrough.photo.preview.drawing import Drawing
from showthrough.photo.preview.ground import AreaGround, grounds_of, lost_parts, notes_on
from showthrough.photo.preview.model import Coating

_MOST_WORKERS = 4


@dataclass(frozen=True, slots=True)
class PreviewFrame:
    """The photo after one coat."""

    coat: int
    """Coats of topcoat; 0 is what the first one goes on: the photo itself, or the undercoat."""
    image: NDArray[np.uint8]
    """8-bit sRGB, shape (h, w, 3)."""


@dataclass(frozen=True, slots=True)
class Preview:
    """A preview that is ready to be drawn."""

    photo: Photo
    """The bare surface, shape (h, w, 3)."""
    label: NDArray[np.uint8]
    """Number of the area that each pixel lies in, from 1; 0 outside all; shape (h, w)."""
    grounds: tuple[AreaGround, ...]
    """What was read from the photo about each area."""
    coating: Coating
    exposure: float
    """Factor on the light that is put back."""
    coats: int
    """Coats of topcoat."""
    notes: tuple[str, ...]
    """Sentences on what was taken for granted and what a photo cannot tell."""

    def frames(
        self, progress: Callable[[float], None] | None = None, *, workers: int | None = None
    ) -> Iterator[PreviewFrame]:
        """The pictures: coat 0, then each coat; drop each when it is used to save memory.

        Args:
            progress: called now and then with the part of the work done, 0 to 1.
            workers: threads; one per processor, up to 4, if not given.
        """
        count = workers or min(os.cpu_count() or 1, _MOST_WORKERS)
        with ThreadPoolExecutor(count) as pool:
            drawing = Drawing(
                self.photo,
                self.label,
                self.grounds,
                self.coating,
                self.exposure,
                pool,
                progress or (lambda _: None),
            )
            for coat, image in enumerate(drawing.images(range(self.coats + 1))):
                yield PreviewFrame(coat, image)


def preview(
    photo: Photo,
    areas: Sequence[PaintedArea],
    topcoat: Paint,
    films_um: Sequence[float],
    *,
    undercoat: Undercoat | None = None,
    exposure: float = 1.0,
) -> Preview:
    """Make a preview ready: check everything and read how the light falls.

    Args:
        photo: the bare surface, 8-bit sRGB (uint8) or linear light with the sRGB
            primaries (floating, white = 1), shape (h, w, 3); up to 50 megapixels.
        areas: what is painted; where they overlap the later one is taken.
        topcoat: the paint.
        films_um: total dry film after each coat, µm, rising; mean films.
        undercoat: a film under the topcoat, over all areas.
        exposure: factor on the light of the painted areas, 0.1 to 10, as if the camera
            had been set for the paint; 1 leaves it as it was set for the bare surface.

    Raises:
        ImageError: The photo, a mask or a polygon cannot be used.
        InputError: A film, a skin or a colour cannot be.
    """
    check_photo(photo)
    check_paints(areas, films_um, undercoat, exposure)
    label, held = labelled(areas, (photo.shape[1], photo.shape[0]))
    grounds = grounds_of(photo, areas, label, held, tuple(films_um))
    paint, film_um = (undercoat.paint, undercoat.film_um) if undercoat else (None, 0.0)
    coating = Coating(topcoat, paint, film_um)
    notes = notes_on(grounds, areas, coating, exposure, lost_parts(photo, label))
    return Preview(photo, label, grounds, coating, exposure, len(films_um), notes)
