"""The kinds of ground, and what a painter may know about a patch of it.

One row of ``KINDS`` for each kind: its preparation in order, the coat it needs, whether it
drinks, bleeds or may hold lead. All of it is common practice without a source, unless a line
names one.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Literal, NamedTuple, get_args

GroundKind = Literal[
    "unknown",
    "wood",
    "plywood",
    "veneer",
    "knots",
    "oak",
    "walnut",
    "mahogany",
    "cherry",
    "mdf",
    "mdf edge",
    "chipboard",
    "filler",
    "varnish",
    "lacquer",
    "shellac",
    "sealed",
    "paint",
    "gloss",
    "two-pack",
    "mineral paint",
    "waxed",
    "oiled",
    "polished",
    "laminate",
    "melamine",
    "foil",
    "plastic",
    "metal",
    "steel",
    "galvanised",
    "aluminium",
    "brass",
    "glass",
]
GROUND_KINDS: tuple[str, ...] = get_args(GroundKind)

Condition = Literal["sound", "chalking", "flaking", "crazed", "soft", "loose"]
"""``loose`` is veneer that has lifted; a film that lifts is ``flaking``."""
Stain = Literal["nicotine", "water", "ink", "grease", "tannin", "old stain"]
"""``old stain`` is an old red or dark wood stain."""
Bleeds = Literal["no", "may", "yes"]
Chemistry = Literal["water-borne", "alkyd", "shellac", "lacquer", "mineral", "two-pack"]

NeedKind = Literal["corrosion", "binding", "blocking", "adhesion", "sealing"]
WorkKind = Literal[
    "lead test",
    "lead safety",
    "glue",
    "test wipe",
    "wax off",
    "silicone off",
    "brush off",
    "strip",
    "feather",
    "wash",
    "degrease",
    "chalk test",
    "rust off",
    "solvent wipe",
    "sand",
    "raise grain",
    "knock back",
    "key",
    "dust off",
    "test spot",
    "bleed test",
]
"""In the order of work: what loosens or dissolves comes before anything is sanded."""

BEFORE_ALL: tuple[WorkKind, ...] = ("lead test", "lead safety")
"""Before anything else is done to the piece, a test piece on it included."""

COMMON = "common practice, no source"
WOOD_HANDBOOK = "Wood Handbook (FPL-GTR-282) ch. 16, from memory"


KEPT = 256
"""Surfaces whose preparation, needs and cautions are kept: a painter asks of one piece again and
again, with other topcoats."""


class LeadTest(NamedTuple):
    """What a test of the old finish found; a home kit's "clear" is no proof."""

    kind: Literal["kit", "laboratory"]
    result: Literal["clear", "lead"]
    date: date | None = None


class Ground(NamedTuple):
    """One patch of the surface, as far as it is not colour. None is "not said"."""

    name: str
    kind: GroundKind = "unknown"
    share: float | None = None
    """Part of the area, 0 to 1."""
    condition: Condition | None = None
    stain: Stain | None = None
    bleeds: Bleeds | None = None
    porous: bool | None = None
    sanded_through: bool = False
    bare: bool | None = None
    """False for wood, board or filler under an old finish; True for wax, oil or polish with
    no film of finish below it. Other kinds say it themselves."""
    edge: bool = False
    """A cut edge of MDF, plywood or chipboard."""


class Primer(NamedTuple):
    """A coat that can be bought: what it does, and which shades it exists in."""

    name: str
    serves: tuple[NeedKind, ...]
    clear: bool = False
    white: bool = False
    grey: bool = False
    """Whether it is sold ready-made in grey."""
    tinted: bool = False
    """Whether a shop tints it to a wished shade."""
    flammable: bool = False
    """Whether it is thinned with alcohol or another solvent."""


BONDING = Primer("bonding coat", ("adhesion", "sealing"), True, True, True, True)
BONDING_PLASTIC = Primer("bonding coat made for plastic", ("adhesion",), True, True, True)
BONDING_GLASS = Primer("bonding coat made for glass", ("adhesion",), True, True)
SILICONE_SEALER = Primer(
    "shellac-based sealer", ("adhesion", "blocking", "sealing"), True, True, flammable=True
)
BLOCKER = Primer(
    "shellac- or solvent-based stain-blocking sealer",
    ("blocking", "sealing"),
    True,
    True,
    True,
    flammable=True,
)
BLOCKER_THAT_BONDS = Primer(
    "shellac-based stain-blocking sealer whose label says that it bonds",
    ("blocking", "adhesion", "sealing"),
    True,
    True,
    flammable=True,
)
BINDING_SEALER = Primer("binding sealer", ("binding", "sealing"), True)
SEALER = Primer("sealer", ("sealing",), True, True)
EDGE_SEALER = Primer("sealer for board edges", ("sealing",), True, True)
RUST_PRIMER = Primer("anti-corrosion primer", ("corrosion",), white=True, grey=True)


def _metal_primer(metal: str) -> Primer:
    return Primer(f"primer made for {metal}", ("corrosion", "adhesion"), white=True, grey=True)


class Step(NamedTuple):
    """One kind of work on one kind of ground."""

    kind: WorkKind
    product: str
    why: str


WASH = Step("wash", "degreaser, then rinse and let it dry", "paint does not hold on grease")
DEGREASE = Step("degrease", "degreaser and a clean cloth", "paint does not hold on grease")
DUST = Step("dust off", "vacuum, then a damp cloth", "dust shows in the film and weakens it")
_GRIP = "paint grips a dull surface"


def _key(grit: str, why: str = _GRIP) -> Step:
    return Step("key", grit, why)


_FINISH = (WASH, _key("P180-220"), DUST)
_SLICK = (WASH, _key("P180-240"), DUST)
_WAX_OFF = Step(
    "wax off",
    "white spirit or wax remover and clean cloths, a hidden spot first",
    "sanding rubs wax and oil into the wood, so they come off first",
)
_SILICONE_OFF = Step(
    "silicone off",
    "solvent, several wipes, a fresh cloth each time, a hidden spot first",
    "silicone makes paint crawl into fish-eyes; sanding spreads it",
)
_GRAIN = (
    Step("raise grain", "damp cloth, then let it dry", "the first wet coat raises it otherwise"),
    Step("knock back", "P240-320", "takes off the raised fibres"),
    DUST,
)
_PLATE = (DEGREASE, _key("P240-320, lightly"), DUST)

Family = Literal["unknown", "wood", "board", "filler", "coat", "wax", "slick", "metal"]


class Kind(NamedTuple):
    """What holds for every ground of one kind."""

    family: Family
    steps: tuple[Step, ...]
    primer: Primer | None = None
    why: str = ""
    """Why it needs that primer."""
    bleeds: Bleeds = "no"
    drinks: bool = False


def _wood(bleeds: Bleeds = "no", *, drinks: bool = True, why: str = "") -> Kind:
    sand = Step("sand", "P120-150-180", why or "opens the wood evenly; edges drink more than faces")
    return Kind("wood", (sand, *_GRAIN), bleeds=bleeds, drinks=drinks)


def _slick(name: str) -> Kind:
    return Kind("slick", _SLICK, BONDING, f"{name} is closed and gives paint nothing to hold")


def _metal(metal: str) -> Kind:
    return Kind("metal", _PLATE, _metal_primer(metal), f"paint does not hold on {metal} by itself")


_BOARD = (Step("sand", "P180-220", "takes the shine off the pressed face"), DUST)
_EDGE = (Step("sand", "P180", "a cut edge is furry"), DUST)
_UNKNOWN = Kind("unknown", _FINISH)
_CLEAR = Kind("coat", _FINISH, bleeds="may")
_WAXED = (_WAX_OFF, WASH, _key("P180-220"), DUST)

KINDS: dict[GroundKind, Kind] = {
    "unknown": _UNKNOWN,
    "wood": _wood(),
    "plywood": _wood(why="opens the wood evenly; its face is thin, sand lightly"),
    "veneer": _wood(why="opens the wood evenly; veneer is thin, sand lightly by hand"),
    "knots": _wood("yes", drinks=False),
    "oak": _wood("yes"),
    "walnut": _wood("yes"),
    "mahogany": _wood("yes"),
    "cherry": _wood("yes"),
    "mdf": Kind("board", _BOARD),
    "mdf edge": Kind("board", _EDGE, drinks=True),
    "chipboard": Kind("board", _BOARD, drinks=True),
    "filler": Kind(
        "filler", (Step("sand", "P180-220", "level with its surroundings"), DUST), drinks=True
    ),
    "varnish": _CLEAR,
    "lacquer": _CLEAR,
    "shellac": Kind(
        "coat",
        (
            Step("test wipe", "alcohol on a hidden spot", "shellac softens under it"),
            _key("P240-320, lightly", f"{_GRIP}; once keyed a bonding coat is safer, not needed"),
            DUST,
        ),
    ),
    "sealed": Kind("coat", _FINISH),
    "paint": Kind("coat", _FINISH),
    "gloss": Kind("coat", _SLICK, BONDING, "old gloss paint is hard and closed"),
    "two-pack": Kind("coat", _SLICK, BONDING, "two-pack finish is hard and closed"),
    "mineral paint": Kind("coat", ()),
    "waxed": Kind("wax", _WAXED, BONDING, "traces of wax keep paint from holding"),
    "oiled": Kind("wax", _WAXED, BONDING, "traces of oil keep paint from holding"),
    "polished": Kind(
        "wax",
        (_SILICONE_OFF, _key("P180-220"), DUST),
        SILICONE_SEALER,
        "traces of silicone make paint crawl into fish-eyes",
    ),
    "laminate": _slick("laminate"),
    "melamine": _slick("melamine"),
    "foil": _slick("foil"),
    "plastic": Kind(
        "slick",
        (
            DEGREASE,
            _key("P240-320"),
            DUST,
            Step("test spot", "the bonding coat and the paint", "some plastics take no paint"),
        ),
        BONDING_PLASTIC,
        "plastic gives paint nothing to hold",
    ),
    "metal": _metal("metal"),
    "steel": Kind(
        "metal",
        (
            Step("rust off", "down to bright metal", "rust goes on growing under paint"),
            Step("solvent wipe", "solvent and a clean cloth", "takes off oil and rust dust"),
        ),
        RUST_PRIMER,
        "steel rusts under paint, and water-borne paint flash-rusts it while it dries",
    ),
    "galvanised": _metal("galvanised steel"),
    "aluminium": _metal("aluminium"),
    "brass": _metal("brass"),
    "glass": Kind("slick", (DEGREASE,), BONDING_GLASS, "glass gives paint nothing to hold"),
}

CUT_BOARDS = {"mdf", "plywood", "chipboard"}
_OPEN = {"wood", "board", "filler"}
_OF_A_FILM = {"chalking", "flaking", "crazed", "soft"}
"""Conditions that only a film of old finish can have, whatever it lies on."""
_WATER_SOLUBLE = ("oak", "walnut", "cherry")


def kind_of(ground: Ground) -> Kind:
    """What holds for a patch: wood under an old finish counts as an unknown finish."""
    kind = KINDS[ground.kind]
    film = ground.condition in _OF_A_FILM
    if ground.kind == "unknown" and ground.bare and not film:
        return KINDS["wood"]
    if kind.family in _OPEN and (ground.bare is False or film):
        return Kind("unknown", _FINISH, bleeds="may" if kind.bleeds == "yes" else "no")
    return kind


def is_bare(ground: Ground) -> bool:
    """Whether wood, board or filler lies open."""
    return kind_of(ground).family in _OPEN


def is_edge(ground: Ground) -> bool:
    """Whether it is the open cut edge of a board."""
    cut = ground.edge and ground.kind in CUT_BOARDS
    return is_bare(ground) and (cut or ground.kind == "mdf edge")


def is_unsound(ground: Ground) -> bool:
    """Whether the film itself does not hold, so that no coat over it does."""
    return ground.condition in {"flaking", "crazed", "soft"}


def is_chalking(ground: Ground) -> bool:
    """Whether it has to be taken that the old paint chalks."""
    return ground.condition == "chalking" or (
        ground.kind == "mineral paint" and ground.condition is None
    )


def may_hold_lead(ground: Ground) -> bool:
    """Whether an old coating lies there: clear, painted or of unknown kind.

    Laminate, melamine, foil, plastic, glass and plating are no coatings in this sense.
    """
    family = kind_of(ground).family
    film = not ground.bare or ground.condition in _OF_A_FILM
    return family in {"unknown", "coat"} or (family == "wax" and film)


def is_plating(ground: Ground) -> bool:
    """Whether old plating or metal primer may hold cadmium or chromate."""
    return kind_of(ground).family == "metal" and ground.kind != "steel"


def drinks(ground: Ground) -> bool:
    """Whether it takes up part of the first coat and dries duller than its surroundings."""
    if ground.porous is not None and not is_edge(ground):
        return ground.porous or ground.sanded_through
    return kind_of(ground).drinks or is_edge(ground) or ground.sanded_through


def bleeds(ground: Ground, chemistry: Chemistry | None = None) -> Bleeds:
    """Whether colour comes through the topcoat, days later and through any number of coats.

    Args:
        ground: the patch.
        chemistry: of the topcoat. Shellac blocks by itself; alkyd draws up little of what
            dissolves in water, so that a test tells.
    """
    if chemistry == "shellac":
        return "no"
    grade = ground.bleeds or ("yes" if ground.stain else kind_of(ground).bleeds)
    by_water = ground.stain in {"water", "tannin"} or (
        ground.stain is None and ground.kind in _WATER_SOLUBLE
    )
    return "may" if grade == "yes" and chemistry == "alkyd" and by_water else grade


LeadState = Literal["none", "untested", "kit clear", "clear", "found"]


def lead_state(grounds: Sequence[Ground], test: LeadTest | None) -> LeadState:
    """What is known about lead in the old finish; ``none`` where there is no old finish."""
    if not any(may_hold_lead(ground) for ground in grounds):
        return "none"
    if test is None:
        return "untested"
    if test.result == "lead":
        return "found"
    return "clear" if test.kind == "laboratory" else "kit clear"
