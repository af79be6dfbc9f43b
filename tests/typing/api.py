"""Typed calls of the public library; checked by mypy, never run."""

from __future__ import annotations

from pathlib import Path
from typing import assert_type

import numpy as np

from showthrough import (
    Colour,
    HalfWay,
    InputError,
    Prediction,
    Reading,
    ShowthroughError,
    WholeJob,
    calendar,
    ciede2000,
    colour_of,
    format_colour,
    half_way,
    paint_of_colour,
    palette_for,
    parse_colour,
    plan,
    plan_file,
    predict,
    predict_file,
    sheet,
    soften,
    sweep,
)
from showthrough.colour.files.swatches import Swatch
from showthrough.errors import Problem
from showthrough.film.hiding import ColourPaint
from showthrough.jobs.answers.palette import Palette
from showthrough.jobs.answers.softening import Softening
from showthrough.jobs.sweep.sweep import Sweep

JOB: dict[str, object] = {"topcoat": {"colour": "a3b84c"}, "surface": [{"colour": "6b4a2a"}]}


def told(done: int, every: int) -> None:
    """Progress of a sweep."""


answer = assert_type(predict(JOB), Prediction)
assert_type(predict(JOB, Path()), Prediction)
assert_type(predict_file("job.toml"), Prediction)
assert_type(predict_file(Path("job.toml")), Prediction)
assert_type(answer.coats.likely, int | None)
assert_type(answer.coats.enough, dict[int, float])
assert_type(answer.coats.even_after, int | None)
assert_type(answer.ladder[0].patches[0].thin.difference, float)
assert_type(answer.undercoats[0].saved, int | None)

assert_type(plan(JOB), WholeJob)
assert_type(plan_file("job.toml"), WholeJob)
assert_type(calendar(JOB), str)
assert_type(half_way(JOB, after=2, enough=False), HalfWay)
assert_type(sheet(JOB, Path(), pages="bench", paper="letter", money=True), str)
sheet(JOB, pages="cook")  # type: ignore[arg-type]

assert_type(palette_for(JOB), Palette)
assert_type(soften(JOB, budget=3), Softening)
own = (Swatch("mine", Reading(lab=(50.0, 0.0, 0.0))),)
assert_type(soften(JOB, Path(), swatches=own), Softening)
assert_type(sweep(JOB, own, sort="harmony", progress=told), Sweep)

reading = assert_type(parse_colour("lab(66 -24 55)", "D50", 10, specular_included=True), Reading)
colour = assert_type(colour_of(reading), Colour)
assert_type(colour_of(reading, (0.005, 0.95)), Colour)
assert_type(format_colour(colour.lab), str)
assert_type(format_colour([66.0, -24.0, 55.0], "munsell", colour.reflectance), str)
ciede2000(colour.lab, np.zeros(3))
ciede2000([66.0, -24.0, 55.0], (50.0, 0.0, 0.0))
assert_type(paint_of_colour((66.0, -24.0, 55.0), "opaque", "deep", 0.1), ColourPaint)
paint_of_colour(colour.lab, "shiny")  # type: ignore[arg-type]

try:
    predict(JOB)
except InputError as error:
    assert_type(error.problems, tuple[Problem, ...])
    base: ShowthroughError = error
    also: ValueError = error

predict()  # type: ignore[call-arg]
predict(["job"])  # type: ignore[arg-type]
soften(JOB, budget="three")  # type: ignore[arg-type]
