"""What the store hands out, and what an export holds: plain, frozen, without a database.

Times are UTC in ISO 8601, amounts of money in minor units.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from showthrough.records.store.shape.differ import Difference

State = Literal["open", "done", "archived"]


@dataclass(frozen=True, slots=True)
class Customer:
    """Whom a piece belongs to."""

    number: int
    uuid: str
    name: str
    contact: str
    version: int
    created: str
    changed: str
    erased: str | None = None
    """When name and contact were erased; None while they are kept."""


@dataclass(frozen=True, slots=True)
class ShelfPaint:
    """A paint on the shelf."""

    number: int
    uuid: str
    name: str
    topcoat: dict[str, Any]
    """As a job file says it."""
    batch: str
    density_g_ml: float | None
    size_ml: float | None
    left_ml: float | None
    price_minor: int | None
    """Of a full can."""
    currency: str | None
    opened: str | None
    """The day, ISO 8601."""
    version: int
    created: str
    changed: str
    archived: str | None = None


@dataclass(slots=True)  # not frozen: ten thousand of them are made three times as quickly
class JobLine:
    """A job in a list."""

    number: int
    uuid: str
    title: str
    piece: str
    customer: str
    """The customer's name; empty where there is none."""
    state: State
    colour_name: str
    colour_hex: str
    version: int
    created: str
    changed: str


@dataclass(frozen=True, slots=True)
class JobVersion:
    """A job as it was saved once."""

    version: int
    job: dict[str, Any]
    piece: str
    state: State
    saved: str


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """A photo of a job, without its content."""

    sha256: str
    name: str
    width: int
    height: int
    added: str


@dataclass(frozen=True, slots=True)
class StoredAnswer:
    """What a job was answered once, and by which model."""

    uuid: str
    job_version: int
    made: str
    release: str
    """Version of Showthrough."""
    model_id: str
    answer: dict[str, Any]
    """As the plan of the job, JSON."""
    finished: list[dict[str, Any]] = field(default_factory=list)
    """Finished jobs that it was learned from, beside those in the job itself."""


Result = Literal["enough", "not enough", "gave up", "did not look"]
StoppedBy = Literal["even", "colour"]
FailedBy = Literal["bleeding", "adhesion", "runs", "other"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a job came out."""

    uuid: str
    job: int
    """Its number."""
    job_version: int
    group: str | None
    """Which group of parts; None: all of the piece."""
    after: int
    """Topcoats that were laid."""
    result: Result
    stopped_by: StoppedBy | None
    """What was looked at: that no edge shows, or that it has the chip's colour."""
    failed_by: FailedBy | None
    """Why it failed, where hiding was not the reason."""
    used_ml: float | None
    area_m2: float | None
    wet_film_um: float | None
    minutes: float | None
    recoat_h: float | None
    note: str
    logged: str
    withdrawn: str | None = None
    """When it was taken back; it is kept, but teaches nothing."""


@dataclass(frozen=True, slots=True)
class StepDone:
    """A step of the plan that was done."""

    uuid: str
    job: int
    step: str
    note: str
    done: str
    withdrawn: str | None = None


@dataclass(frozen=True, slots=True)
class Finished:
    """A job, what it was answered, and how it came out: what a lesson is drawn from."""

    job: dict[str, Any]
    answer: dict[str, Any] | None
    """The answer that stood when it was done; None where none was stored."""
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class StoredJob:
    """One job, opened at one of its versions."""

    line: JobLine
    shown: JobVersion
    versions: list[int]
    photos: list[PhotoLine] = field(default_factory=list)
    answer: StoredAnswer | None = None
    """The last one up to this version."""
    outcomes: list[Outcome] = field(default_factory=list)
    """Those not taken back."""
    steps: list[StepDone] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Rerun:
    """A stored answer beside what today's model says of the same job at the same clock."""

    today: dict[str, Any]
    differs: list[Difference]
    """Fields of the answer that are not the same; before is the stored one."""
    why: list[str]
    """What changed between the models, in sentences; empty where the answers are the same."""
    planned: str = ""
    """Headline of the plan of today: with what the finished jobs of today teach."""
    taught_then: int = 0
    """Finished jobs that were taken for the stored answer, beside those in the job itself."""
    taught_now: int = 0


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did."""

    added: dict[str, int] = field(default_factory=dict)
    """Kind of record: how many are new here."""
    renumbered: list[str] = field(default_factory=list)
    """Records whose number was taken here, in sentences."""
    conflicts: list[str] = field(default_factory=list)
    """Records that differ and stay as they are here, in sentences."""
