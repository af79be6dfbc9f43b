"""The whole job's answer: plan, paint, days and money. Keys are a contract; more may join."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from showthrough.jobs.answers.prediction import JobShown, PlanStep, Shown


class AreaShown(Shown):
    """Painted area."""

    total_m2: float = Field(description="of all pieces")
    stated: bool = Field(description="false: no area was said, and amounts are for one m2")
    spread: float = Field(description="factor of one standard deviation")
    groups: dict[str, float] = Field(description="group: m2 of one piece")
    pieces: int


class StepShown(PlanStep):
    """One step of the whole job."""

    groups: list[str] = Field(description="groups that it is done on; all of them if empty")
    ml_50: float | None = Field(description="paint for all its coats, enough in 5 jobs of 10")
    ml_90: float | None


class CanShown(Shown):
    """Cans of one size."""

    ml: int
    count: int


class ProductShown(Shown):
    """One product: how much it takes and what to buy."""

    product: str
    used_for: list[str] = Field(description="kinds of the steps")
    colour: str | None = Field(description="hex of an undercoat; topcoat for the topcoat itself")
    coat_ml_50: float | None = Field(description="one coat, all groups that take it")
    coat_ml_90: float | None
    ml_50: float | None = Field(description="enough in 5 jobs of 10; null: no amount is")
    ml_90: float | None = Field(description="enough in 9 jobs of 10")
    thinner_ml: float = Field(description="thinner to have, for the wished chance")
    from_shelf_ml: float
    shelf_chance: float | None = Field(
        description="that the shelf alone suffices and nothing need be bought; null: nothing on it"
    )
    cans: list[CanShown] = Field(description="what to buy, for the wished chance")
    sizes_stated: bool = Field(description="false: usual sizes, a default")
    chance: float | None = Field(description="that shelf and cans suffice")
    chances: dict[int, dict[int, float]] = Field(
        description="size in ml: number of cans: chance that they suffice beside the shelf"
    )
    leftover_ml: float | None = Field(description="where the median is used")
    price: str | None = Field(description="of the cans to buy")
    advice: list[str]


class OtherShown(Shown):
    """What is used up beside paint."""

    wax_g: float | None
    wax_most_g: float | None
    sheets: dict[int, int] = Field(description="abrasive: P grade (ISO 6344): sheets")


class DatesShown(Shown):
    """A date as it may come, local time of the zone, ISO 8601."""

    early: str
    likely: str
    late: str = Field(description="in nine jobs of ten at the latest")


class StayShown(Shown):
    """One stay at the bench in the likely case."""

    title: str
    group: str
    start: str
    end: str
    minutes: int


class DaysShown(Shown):
    """Which days it takes."""

    start: str
    zone: str
    recoat: str | None = Field(description="from when the last film would take another coat")
    refit: str | None = Field(description="from when parts may be stacked and refitted")
    cure: str | None = Field(description="from when it may be washed, waxed and loaded")
    hand_over: DatesShown
    bench_minutes: int
    waiting_hours: float
    stops: list[str] = Field(description="reasons not to lay a coat in this room")
    stays: list[StayShown]


class LineShown(Shown):
    """One line of the bill at the likely count."""

    kind: str
    name: str
    amount: str


class WayCost(Shown):
    """One way in money and days."""

    key: str
    expected_cost: str | None
    days: float | None = Field(description="to the hand-over, of work that begins on a Monday")


class MoneyShown(Shown):
    """Money, each amount an exact decimal as text."""

    currency: str
    expected_cost: str = Field(description="mean over all counts")
    price: str
    tax: str
    price_with_tax: str
    one_more_coat: str
    undercoat_saves: str | None = Field(description="of the leading way against the simplest")
    clause: str
    without_price: list[str] = Field(description="used up, but in no amount here: no price known")
    lines: list[LineShown]
    by_count: dict[int, str] = Field(description="cost at each count of topcoats")


class LeadTestShown(Shown):
    """A test of the old finish for lead, as the job records it."""

    by: Literal["kit", "laboratory"]
    result: Literal["clear", "lead"]
    date: str | None = Field(description="ISO 8601; null: not said")


class WholeJob(JobShown):
    """The whole job from the lead test to the hand-over."""

    units: Literal["metric", "us"]
    enough: dict[int, float] = Field(
        description="count: chance that so many topcoats of the leading way are enough; none "
        "where there is no way"
    )
    steps: list[StepShown] = Field(description="the plans of all groups as one list")
    area: AreaShown
    paint: list[ProductShown]
    other: OtherShown
    days: DaysShown | None = Field(description="null while there is no count")
    money: MoneyShown | None = Field(description="null where no price is known")
    way_costs: list[WayCost] = Field(description="ways in money and days, where asked to rank")
    why_not: list[str] = Field(description="why paint, days or money are missing")
    lead_tests: list[LeadTestShown] = Field(description="those recorded, each once")
