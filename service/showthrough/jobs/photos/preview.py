"""A photo of the bare piece as it would look after each coat."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from showthrough.colour.space import linear_to_srgb
from showthrough.errors import InputError, ProblemList
from showthrough.film.coats import MOST_COATS, mean_coats
from showthrough.jobs.answers.photos import PreviewAnswer
from showthrough.jobs.case.prepared import PreparedJob, prepare
from showthrough.jobs.photos.references import checked, named_as_requested
from showthrough.jobs.predict import predicted
from showthrough.jobs.schema.photo import PreviewRequest
from showthrough.photo.picture.load import load_picture
from showthrough.photo.place import Region
from showthrough.photo.preview.areas import PaintedArea, Undercoat
from showthrough.photo.preview.picture import side_by_side
from showthrough.photo.preview.preview import Preview, PreviewFrame, preview
from showthrough.say.chances import count_words

MOST_PIXELS = 12_000_000
"""Larger photos are averaged down to this before they are painted."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A preview that is ready: what it shows, and its pictures when they are asked for."""

    answer: PreviewAnswer
    preview: Preview

    def side_by_side(self, progress: Callable[[float], None] | None = None) -> np.ndarray:
        """The bare piece and all coats in one picture, edge to edge, (h, w, 3), 8-bit sRGB."""

        def images() -> Iterator[np.ndarray]:
            # As many as there are captions.
            if self.answer.undercoat is not None:
                # Coat 0 is then the undercoat; the piece as it was comes before it.
                bare = linear_to_srgb(np.clip(self.preview.photo, 0.0, 1.0))
                yield np.rint(255.0 * bare).astype(np.uint8)
            yield from (frame.image for frame in self.frames(progress))

        return side_by_side(images())

    def frames(self, progress: Callable[[float], None] | None = None) -> Iterator[PreviewFrame]:
        """The pictures, coat 0 first; ``progress`` gets the part done, 0 to 1."""
        return self.preview.frames(progress)


def draw_preview(
    photo: bytes,
    request: Mapping[str, Any] | PreviewRequest,
    folder: Path | None = None,
    *,
    name: str = "photo",
    most_pixels: int = MOST_PIXELS,
) -> Drawn:
    """Make a preview ready.

    Args:
        photo: the file's bytes: JPEG, PNG, WebP or HEIC.
        request: a ``PreviewRequest`` or its mapping.
        folder: where files that the job names are looked for; None refuses files.
        name: what to call the file in messages.
        most_pixels: larger photos are averaged down to this.

    Raises:
        InputError: the picture or the request cannot be used; all problems.
    """
    wanted, job = _checked(request, folder)
    answer, found = predicted(job)
    ways = found.ways
    place = None if ways is None or not wanted.undercoat else ways.best_coloured
    best = None if place is None else answer.ways[place]
    laid = None if place is None or ways is None else ways.paint_of(ways.ways[place].under)
    likely = answer.coats.likely if best is None else best.topcoats
    coats = wanted.coats or min((likely or MOST_COATS), MOST_COATS)
    areas = _areas(job, wanted, coats)
    # A working copy holds linear light; the preview paints whole 8-bit pixels.
    picture = load_picture(photo, name=name, max_pixels=most_pixels)
    with named_as_requested():
        ready = preview(
            picture.linear,
            areas,
            job.topcoat.paint,
            _films(job, coats),
            undercoat=None if laid is None else Undercoat(*laid),
        )
    return Drawn(
        PreviewAnswer(
            prediction=answer,
            undercoat=None if best is None else best.name,
            coats=coats,
            captions=[
                "bare",
                *([] if best is None else ["undercoat"]),
                *map(count_words, range(1, coats + 1)),
            ],
            notes=[*picture.notes, *ready.notes],
        ),
        ready,
    )


def _checked(
    request: Mapping[str, Any] | PreviewRequest, folder: Path | None
) -> tuple[PreviewRequest, PreparedJob]:
    """The request and its job, ready; the job's fields are told as in a job file."""
    wanted = prepared = raw = None
    with ProblemList() as problems:
        try:
            wanted = checked(PreviewRequest, request)
            raw = wanted.job.model_dump(exclude_unset=True)
        except InputError as error:
            raw = request.get("job") if isinstance(request, Mapping) else None
            told = isinstance(raw, Mapping)
            problems.problems.extend(
                p for p in error.problems if not (told and p.field.startswith("job."))
            )
        if isinstance(raw, Mapping):
            with problems.collecting():
                prepared = prepare(raw, folder)
    assert wanted is not None
    assert prepared is not None
    return wanted, prepared


def _films(job: PreparedJob, coats: int) -> tuple[float, ...]:
    mean = mean_coats(np.arange(1, coats + 1), 0.0, job.build.sanding_loss)
    return tuple(float(v) for v in mean * job.build.dry_film_thickness_um)


def _areas(job: PreparedJob, wanted: PreviewRequest, coats: int) -> list[PaintedArea]:
    areas = []
    names = {name.casefold(): i for i, name in enumerate(job.names)}
    with ProblemList() as problems:
        for i, area in enumerate(wanted.areas):
            key = (area.patch or job.names[0]).casefold()
            if key not in names:
                problems.add(
                    f"areas[{i + 1}].patch",
                    area.patch,
                    f"the job has no patch “{area.patch}”; it has {', '.join(job.names)}",
                )
                continue
            patch = names[key]
            lab = job.seen.lab[patch]
            areas.append(
                PaintedArea(
                    Region.polygon(area.region),
                    job.substrates[patch].skin,
                    # A named patch is painted from its own colour; else the photo tells it.
                    None if area.patch is None else (float(lab[0]), float(lab[1]), float(lab[2])),
                    _films(job, coats),
                    area.face,
                )
            )
    return areas
