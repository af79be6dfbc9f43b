"""What a softening answer holds."""

from __future__ import annotations

from pydantic import Field

from showthrough.jobs.answers.prediction import ColourShown, LadderStep, Shown


class PathAnswer(Shown):
    """One way to a colour that needs few enough coats; nulls where there is none."""

    path: str = Field(description="grey, white, pastel, deep or swatch")
    words: str
    swatch: str | None = None
    lab: tuple[float, float, float] | None = None
    hex: str | None = None
    difference: float | None = Field(default=None, description="CIEDE2000 to the wanted colour")
    coats: int | None = None
    chance: float | None = None
    critical_um: float | None = None
    ladder: list[LadderStep] = Field(default_factory=list)
    why: str


class SofteningGoal(Shown):
    """All ways to one count."""

    coats: int
    saves: int | None
    wished_chance: float = Field(description="chance that the wanted colour does with this count")
    answers: list[PathAnswer]
    best: str | None = Field(description="the path with the smallest change")
    saves_money: str | None = Field(
        default=None, description="straight onto the surface, exact decimal; null without prices"
    )


class Vivid(ColourShown):
    """The most vivid colour that needs no more coats."""

    chroma_from: float
    chroma_to: float
    difference: float
    coats: int


class Softening(Shown):
    """The whole answer."""

    title: str
    wished: ColourShown
    wished_name: str
    coats: int | None
    goals: list[SofteningGoal]
    vivid: Vivid | None
    notes: list[str]
    currency: str | None = None
