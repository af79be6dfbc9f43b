"""The answer: one set of words for the four doors. Keys are a contract; more may join."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import hex_of_lab, hexes_of_labs
from showthrough.film.coats import Outlook
from showthrough.film.knowledge import Fact


class Shown(BaseModel):
    """Frozen, and nothing that was not foreseen."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


def rounded_lab(lab: FloatArray | tuple[float, float, float]) -> tuple[float, float, float]:
    """CIELAB rounded to what means anything; adding 0.0 turns -0.0 into 0.0."""
    return (
        round(float(lab[0]), 2) + 0.0,
        round(float(lab[1]), 2) + 0.0,
        round(float(lab[2]), 2) + 0.0,
    )


class ColourShown(Shown):
    """A colour as CIELAB (D65, 2 degrees) and as a screen shows it."""

    lab: tuple[float, float, float]
    hex: str

    @classmethod
    def of(cls, lab: FloatArray | tuple[float, float, float]) -> ColourShown:
        """A colour for the answer."""
        return cls(lab=rounded_lab(lab), hex=hex_of_lab(lab))

    @classmethod
    def of_each(cls, labs: Sequence[FloatArray | tuple[float, float, float]]) -> list[ColourShown]:
        """Several colours for the answer."""
        hexes = hexes_of_labs(np.array(labs, dtype=float).reshape(-1, 3))
        return [cls(lab=rounded_lab(lab), hex=h) for lab, h in zip(labs, hexes, strict=True)]


_LEAF = ConfigDict(extra="forbid")
"""An answer holds hundreds of colours after so many coats: as plain records they cost an eighth of
what models cost, and are read and written like those."""


@dataclass(slots=True)
class ColourReached:
    """A colour on its way to the chip."""

    __pydantic_config__: ClassVar[ConfigDict] = _LEAF

    lab: tuple[float, float, float]
    hex: str
    difference: Annotated[float, Field(description="CIEDE2000 to the chip")]


class CountRange(Shown):
    """Counts without more ado."""

    likely: int | None = Field(description="smallest count enough with probability 1/2 or more")
    low: int | None = Field(description="the same with 10%")
    high: int | None = Field(description="the same with 90%")

    @classmethod
    def of(cls, outlook: Outlook) -> CountRange:
        """Counts for the answer."""
        return cls(likely=outlook.first(0.5), low=outlook.first(0.1), high=outlook.first(0.9))


class Coats(CountRange):
    """How many topcoats, by the optics."""

    enough: dict[int, float] = Field(description="count: probability that this many are enough")
    even_after: int | None = Field(description="coats until no difference between patches shows")
    reason: str | None = Field(default=None, description="why a count is null")
    even_reason: str | None = None
    advised_least: int = Field(description="for a sound film whatever the optics say")
    ground_coats: int = Field(
        description="coats that the ground needs before the first topcoat, not counted above"
    )


class FilmShown(Shown):
    """What one coat lays down."""

    tool: str
    coat: str
    wet_film_um: float
    volume_solids: float
    dry_film_um: float
    spread: float = Field(description="factor of one standard deviation")
    evenness_cv: float
    sanding_loss: float
    basis: Literal["stated", "paint used", "tool", "finished jobs"]


class IfKnown(CountRange):
    """Counts without an undercoat if a fact of the topcoat were this."""

    answer: Literal["opaque", "transparent", "pastel", "deep"] | float = Field(
        description="as the job would state it"
    )


class Narrowing(Shown):
    """The one fact of the topcoat that would tell most about its hiding power."""

    fact: Fact = Field(description="key of the topcoat")
    question: str = Field(description="what there is to find out, to stand after 'know'")
    answers: list[IfKnown]


class HidingShown(Shown):
    """Hiding power and its evidence."""

    scattering_per_um: float = Field(description="mean S over 420-680 nm, 1/µm dry")
    evidence: Literal["colour", "label", "drawdown", "spectrum", "jobs"]
    spread: float = Field(description="factor of one standard deviation")
    colour_spread: float = Field(description="what it would be from the colour alone")
    measured: bool
    rests_on: str = Field(description="the evidence and the facts that were used, in words")
    by_colour_alone: CountRange | None = Field(
        description="what the colour alone would have said; null where nothing better is known, "
        "and where finished jobs are: then see learned"
    )
    would_narrow: Narrowing | None = Field(
        description="null where the paint was measured or no fact would change a count"
    )


class LearnedShown(Shown):
    """How the painter's finished jobs moved the count of topcoats without an undercoat."""

    jobs: int = Field(description="how many of them say something of it")
    before: CountRange
    after: CountRange
    sentence: str


class PatchShown(ColourShown):
    """One patch of the surface."""

    name: str
    share: float
    skin: str
    critical_um: float | None = Field(description="dry film that hides it, µm; null: none does")
    coats: int | None = Field(description="likely count on this patch alone")


@dataclass(slots=True)
class PatchStep:
    """One patch after some coats."""

    __pydantic_config__: ClassVar[ConfigDict] = _LEAF

    name: str
    mean: ColourReached
    thin: ColourReached


@dataclass(slots=True)
class LadderStep:
    """All patches after some coats; coat 0 is the ground."""

    __pydantic_config__: ClassVar[ConfigDict] = _LEAF

    coat: int
    patches: list[PatchStep]
    show_through: Annotated[
        float | None,
        Field(
            description="largest CIEDE2000 between patches at the thin spots; null for one patch"
        ),
    ]
    show_through_mean: Annotated[float | None, Field(description="the same at the mean film")]


WayKind = Literal["plain", "spots", "sealer", "owned", "white", "grey", "shop-tinted", "own mix"]


class PlanStep(Shown):
    """One step of the plan."""

    number: int
    kind: str = Field(description="wash, key, dust off, spot seal, block, bond, topcoat, cure ...")
    on: list[str] = Field(description="names of patches, or all")
    product: str = Field(description="what it is done with")
    colour: str | None = Field(description="hex of an undercoat; topcoat for the topcoat itself")
    coats: int | None
    why: str
    source: str


class WayShown(Shown):
    """A complete way to do the job."""

    key: str
    kind: WayKind
    name: str
    steps: list[str] = Field(description="its coats in order, in words")
    spot_coats: int = Field(description="coats on spots alone, not counted in the totals")
    undercoats: int = Field(description="coats over the whole surface under the topcoat")
    topcoats: int | None = Field(description="likely count, at least the least; null: over 12")
    total: int | None
    low: int | None
    high: int | None
    expected_coats: float = Field(description="mean of all coats, spots by their share")
    chance: float = Field(description="that the topcoats are enough; of 12 where there is no count")
    chance_one_more: float
    saves: float = Field(description="expected coats of the simplest way less its own")
    hex: str | None = Field(description="of the last coat under the topcoat")
    ladder: list[LadderStep]


OptionKind = Literal[
    "none", "spot sealing", "clear", "grey", "white", "shop-tinted", "tint", "owned"
]


class UndercoatOption(Shown):
    """One way to prepare the ground."""

    rank: int
    kind: OptionKind
    name: str
    lab: tuple[float, float, float] | None = None
    hex: str | None = None
    munsell: str | None = None
    parts: dict[str, float] | None = Field(
        default=None, description="a tint's mix, parts of topcoat, white and black by volume"
    )
    undercoats: int
    topcoats: int | None
    total: int | None
    saved: int | None = Field(description="coats saved against going without; may be negative")
    chance: float = Field(description="probability that the topcoats given are enough")
    critical_um: float | None
    paint_um: float | None = Field(description="wet film of all coats together, µm")
    tie: bool = Field(default=False, description="the rank above needs as many coats")
    meets_needs: bool
    beneath: list[str] = Field(description="hex of each patch as the topcoat meets it")
    why: str


@dataclass(slots=True)
class GreyPoint:
    """Topcoat film over one grey undercoat."""

    __pydantic_config__: ClassVar[ConfigDict] = _LEAF

    munsell_value: float
    hex: str
    critical_um: float | None
    topcoats: int | None


class GreyCurve(Shown):
    """How topcoat film depends on the grey under it."""

    points: list[GreyPoint]
    best_value: float | None
    good_from: float | None = Field(description="darkest grey that needs no more topcoats")
    good_to: float | None
    closed_rule_value: float


class NeedShown(Shown):
    """Something the ground asks for."""

    kind: str
    patches: list[str]
    coat: bool
    sentence: str


@dataclass(slots=True)
class FinishShown:
    """A hardware finish beside the topcoat."""

    __pydantic_config__: ClassVar[ConfigDict] = _LEAF

    lab: tuple[float, float, float]
    hex: str
    rank: int
    code: Annotated[str | None, Field(description="of the open standard ANSI/BHMA A156.18")]
    us_code: str | None
    name: str
    basis: Annotated[
        str, Field(description="computed from optical constants, typical (invented), or given")
    ]
    harmony: Annotated[float, Field(description="two-colour harmony, about -1.3 to +1.5")]
    advantage: Annotated[
        float, Field(description="harmony less its median with most paint colours")
    ]
    beats: Annotated[float, Field(description="of 100 paint colours, how many it does worse with")]
    lightness_contrast: Annotated[float, Field(description="difference of L*")]
    why: str
    caution: str | None = None


class PlanShown(Shown):
    """What is told of a group and of a job alike."""

    topcoat: ColourShown
    topcoat_name: str
    headline: str = Field(description="the plan in one line")
    coats: Coats
    ways: list[WayShown] = Field(description="complete ways to do it, best first")
    plan: list[PlanStep] = Field(description="the steps of the leading way")


class GroupShown(PlanShown):
    """Parts that are painted alike, in the shape of the answer itself."""

    name: str
    area_m2: float


class JobShown(PlanShown):
    """What every answer to a job tells; of one with groups most of it is of the largest."""

    title: str
    topcoat_note: str | None = Field(
        description="how the colour was moved to one that paint can be"
    )
    learned: LearnedShown | None = Field(
        default=None, description="null where no finished job says anything of the coats"
    )
    patches: list[PatchShown]
    groups: list[GroupShown] = Field(
        default=[], description="every group; the answer itself is that of the largest"
    )
    questions: list[str] = Field(description="what a painter is asked, most telling first")
    cautions: list[str]
    cautions_short: list[str] = Field(description="a line each, in the same order")
    assumptions: list[str]


class Prediction(JobShown):
    """The whole answer to a job."""

    recommendation: str = Field(description="the same as the headline")
    ladder: list[LadderStep]
    hiding: HidingShown
    film: FilmShown
    undercoats: list[UndercoatOption]
    grey_curve: GreyCurve
    best_undercoat: int | None = Field(
        description="rank of the best coat with a colour that gives the ground what it needs"
    )
    undercoat_ladder: list[LadderStep] | None = Field(
        description="the ladder over that undercoat; null where it saves no coat"
    )
    needs: list[NeedShown]
    finishes: list[FinishShown]
    finishes_summary: str
    reasons: list[str]


class ProblemShown(Shown):
    """One thing wrong with the input."""

    field: str
    value: str
    message: str
    code: str


class ProblemsShown(Shown):
    """The one body of every refusal."""

    error: str
    problems: list[ProblemShown]
