"""What the store hands out, and what an export holds: plain, frozen, without a database.

Times are UTC in ISO 8601, amounts of money in minor units.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

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


@dataclass(frozen=True, slots=True)
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
class StoredJob:
    """One job, opened at one of its versions."""

    line: JobLine
    shown: JobVersion
    versions: list[int]
    photos: list[PhotoLine] = field(default_factory=list)
