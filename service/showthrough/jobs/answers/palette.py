"""What a palette answer holds."""

from __future__ import annotations

from pydantic import Field

from showthrough.jobs.answers.prediction import ColourShown, FinishShown, Shown


class SecondShown(ColourShown):
    """A second colour or a wood beside the topcoat."""

    rank: int
    name: str
    kind: str
    basis: str
    harmony: float
    advantage: float
    beats: float
    lightness_contrast: float
    difference: float = Field(description="CIEDE2000 to the topcoat")
    too_near: bool = Field(description="so near that it reads as a bad match")
    loud: bool = Field(description="so strong that it takes the lead; behind the quieter ones")
    why: str
    caution: str | None = None


class TripleShown(Shown):
    """Topcoat, second colour and finish together."""

    rank: int
    second: str
    second_colour: ColourShown
    finish: str
    finish_colour: ColourShown
    harmony: float
    advantage: float
    weakest: str
    weakest_harmony: float
    why: str


class LampShown(Shown):
    """One pair under one light."""

    light: str
    words: str
    difference: float = Field(description="CIEDE2000 within the pair")
    harmony: float
    parts: bool = Field(description="matches by day and not under this light")


class PairShown(Shown):
    """One pair from daylight to lamps."""

    beside: str
    under: list[LampShown]
    warnings: list[str]
    remark: str | None


class Palette(Shown):
    """The whole answer."""

    topcoat: ColourShown
    topcoat_name: str
    finishes: list[FinishShown]
    finishes_summary: str
    finishes_level: int = Field(description="how many lead together; 1 is a clear winner")
    second_colours: list[SecondShown]
    second_summary: str
    woods: list[SecondShown]
    triples: list[TripleShown]
    lamps: list[PairShown]
