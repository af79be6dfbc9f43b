"""What a job may say of the painter's earlier ones: how many coats they came to, and its logs.

An entry says what the model had expected before the job, so that it means the same whatever the
model and its defaults have become since. ``jobs.finished`` writes one from a job and its outcome.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from showthrough.film.coats import EVENNESS_CV, MOST_COATS, Coat, Tool
from showthrough.jobs.schema.base import Line, Model, Name, Number, Whole, YesNo
from showthrough.jobs.schema.bench import LEAST_WET_UM, MOST_WET_UM, Gun, Openness
from showthrough.workshop.grounds import Chemistry

MOST_FINISHED = 1000

MOST_SPREAD = 5.0

_MOST_OFF = 20.0
"""A log further than so many times from what was expected is a slip of the pen."""

Spread = Annotated[Number, Field(ge=1.0, le=MOST_SPREAD)]
_Key = Annotated[Line, Field(min_length=1, max_length=120)]
_Hours = Annotated[Number, Field(gt=0.0, le=1440.0)]


def _check_near(logged: float, expected: float, unit: str) -> None:
    """Refuse a log that would turn every later answer over."""
    if not expected / _MOST_OFF <= logged <= expected * _MOST_OFF:
        raise ValueError(
            f"{logged:g} {unit} where {expected:g} were expected: at most {_MOST_OFF:g} times more "
            "or less works"
        )


class LoggedWork(Model):
    """Time that one kind of work took, beside what was expected of it."""

    work: Name = Field(description="as the plan calls it: wash, sand, topcoat ...")
    minutes: Number = Field(gt=0.0, le=10_080.0)
    expected: Number = Field(gt=0.0, le=10_080.0, description="minutes, before the job")

    @model_validator(mode="after")
    def _near(self) -> Self:
        _check_near(self.minutes, self.expected, "min")
        return self


class Finished(Model):
    """One finished job of the same painter."""

    job: Line | None = Field(default=None, max_length=120, description="what tells it from others")
    paint: _Key = Field(description="its topcoat, as jobs.case.learned names paints")
    tool: Tool
    coat: Coat
    film_from: Literal["stated", "paint used", "tool"] = Field(
        default="tool", description="what the film of a coat rested on, without earlier jobs"
    )
    film_coats: Number | None = Field(
        default=None,
        gt=0.0,
        le=1000.0,
        description="hiding film over film of one coat, as the model had it without earlier jobs; "
        "absent where the job says nothing of hiding",
    )
    paint_spread: Spread | None = Field(
        default=None, description="factor of one standard deviation; as of this job if absent"
    )
    film_spread: Spread | None = None
    other_spread: Spread = Field(
        default=1.0, description="the same by undercoat and readings, in that job alone"
    )
    lost: Number = Field(default=0.0, ge=0.0, le=0.9)
    evenness_cv: Number = Field(default=EVENNESS_CV, ge=0.0, le=1.0)
    evidence_factor: Number = Field(
        default=1.0,
        gt=0.0,
        le=100.0,
        description="scattering by all that was known of the paint over that by its colour alone",
    )
    coats: Whole | None = Field(default=None, ge=1, le=MOST_COATS, description="topcoats")
    outcome: Literal["enough", "gave up", "did not look"] = "enough"
    stopped_by: Literal["colour", "even"] = Field(
        default="colour", description="the question that was asked of each coat, and of film_coats"
    )
    failed_by: Literal["bleeding", "adhesion"] | None = Field(
        default=None, description="such a failure says nothing of hiding"
    )
    measured: YesNo = Field(default=False, description="the paint was measured by drawdown")
    gun: Gun | None = None
    openness: Openness | None = None
    wet_film_um: Number | None = Field(
        default=None,
        ge=LEAST_WET_UM,
        le=MOST_WET_UM,
        description="of a coat, as the model had it",
    )
    gauge_um: Number | None = Field(
        default=None,
        ge=LEAST_WET_UM,
        le=MOST_WET_UM,
        description="of a coat, as a gauge read it",
    )
    paint_ml: Number | None = Field(
        default=None,
        gt=0.0,
        le=1e6,
        description="of topcoat that was used, what is left in the tool not counted",
    )
    area_m2: Number | None = Field(default=None, gt=0.0, le=1e4)
    transfer: Number | None = Field(
        default=None, gt=0.0, le=1.0, description="where it was weighed; the usual if absent"
    )
    chemistry: Chemistry | None = None
    dried_h: _Hours | None = Field(default=None, description="until the next coat could go on")
    expected_h: _Hours | None = Field(
        default=None, description="the same as the label and the room had it"
    )
    work: list[LoggedWork] = Field(default_factory=list, max_length=40)

    @model_validator(mode="after")
    def _sensible(self) -> Self:
        if self.dried_h is not None and self.expected_h is not None:
            _check_near(self.dried_h, self.expected_h, "h")
        if self.paint_ml is not None and self.area_m2 is not None and self.coats is not None:
            film = self.paint_ml * (self.transfer or 1.0) / (self.area_m2 * self.coats)
            if not LEAST_WET_UM <= film <= MOST_WET_UM:
                raise ValueError(
                    f"the paint used makes a wet film of {film:.2g} µm in a coat; a coat has "
                    f"{LEAST_WET_UM:g} to {MOST_WET_UM:g} µm, so check the amount, area and coats"
                )
        return self
