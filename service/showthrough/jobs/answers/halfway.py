"""A job in hand: what is left of it after what was seen. Keys are a contract; more may join."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from showthrough.jobs.answers.prediction import CountRange
from showthrough.jobs.answers.whole import DaysShown, ProductShown, StepShown


class HalfWay(CountRange):
    """How many more topcoats (null: no count), how much more paint, and when it is done."""

    title: str
    units: Literal["metric", "us"]
    topcoat_name: str
    group: str | None = Field(description="which group; null where the piece is one")
    way: str = Field(description="key of the way that was taken")
    way_name: str
    after: int = Field(description="topcoats that are on the piece; 0 after a test piece")
    test_piece: int | None = Field(description="topcoats tried on a test piece")
    enough: bool
    headline: str = Field(description="what is left, in one line")
    foretold: dict[int, float] = Field(
        description="topcoats in all: chance that they are enough, as told before"
    )
    foreseen: float = Field(description="chance, before, of what was seen")
    more: dict[int, float] = Field(
        description="topcoats more: chance that they are enough, given what was seen"
    )
    area_m2: float
    area_stated: bool = Field(description="false: no area was said, and amounts are for one m2")
    steps: list[StepShown] = Field(description="what is left to do")
    paint: list[ProductShown] = Field(description="what the rest takes, and what to buy for it")
    days: DaysShown | None = Field(description="from now; null while there is no count")
    advice: list[str]
    why_not: list[str] = Field(description="why count, paint or days are missing")
    cautions: list[str]
    cautions_short: list[str]
    assumptions: list[str]
