"""What a ground is made of, and what it needs before any thought of colour.

Adhesion, bleeding and suction are facts of the trade (common practice, no source,
except where a line names one); they come before optics, and a coat that is needed is
not an option to skip.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

GroundKind = Literal[
    "wood",
    "varnish",
    "paint",
    "gloss",
    "laminate",
    "melamine",
    "metal",
    "waxed",
    "polished",
    "filler",
    "sealed",
]

GROUND_KINDS: tuple[str, ...] = get_args(GroundKind)

NeedKind = Literal["adhesion", "blocking", "spot sealing"]

_SLICK = {
    "gloss": "old gloss paint is hard and closed",
    "laminate": "laminate is closed and gives paint nothing to hold",
    "melamine": "melamine is closed and gives paint nothing to hold",
    "metal": "bare or plated metal gives paint little to hold and may rust through",
    "waxed": "wax keeps paint from holding",
    "polished": "silicone polish makes paint crawl",
}

_CLEAN = {
    "waxed": "Take all wax off first with a solvent that dissolves it and fresh rags, until a "
    "drop of water spreads; sanding before that rubs it in. Then scuff it",
    "polished": "Wash it with a degreaser or a silicone remover, fresh rags each time, until a "
    "drop of water spreads; sanding before that rubs it in. Then scuff it",
}
_USUAL_CLEAN = "Wash it free of grease and scuff it dull"


@dataclass(frozen=True, slots=True)
class Ground:
    """One patch of the surface, as far as it is not colour."""

    name: str
    kind: GroundKind = "varnish"
    bare: bool = False
    porous: bool = False
    bleeds: bool = False
    sanded_through: bool = False


@dataclass(frozen=True, slots=True)
class Need:
    """Something the ground asks for whatever the optics say."""

    kind: NeedKind
    patches: tuple[str, ...]
    coat: bool
    """Whether a whole coat of something is needed, so that going without is no option."""
    sentence: str


def _listed(names: Iterable[str]) -> str:
    quoted = [f"“{name}”" for name in names]
    return quoted[0] if len(quoted) == 1 else ", ".join(quoted[:-1]) + " and " + quoted[-1]


def needs_of(grounds: Iterable[Ground], *, topcoat_bonds: bool = False) -> tuple[Need, ...]:
    """What the patches need, in the order in which it is done.

    Args:
        grounds: the patches.
        topcoat_bonds: the topcoat's own label says that it holds on such grounds.

    Source:
        Common practice, no source; blocking of knots and extractives: Wood Handbook
        (FPL-GTR-190, 2010) ch. 16.
    """
    grounds = tuple(grounds)
    needs: list[Need] = []
    for kind, why in _SLICK.items():
        names = tuple(g.name for g in grounds if g.kind == kind)
        if not names:
            continue
        where = _listed(names)
        clean = f"{where}: {why}. {_CLEAN.get(kind, _USUAL_CLEAN)}"
        if topcoat_bonds:
            text = (
                f"{clean}. The topcoat's label is taken at its word that it holds there without a "
                "bonding coat; try it on a hidden spot."
            )
        else:
            text = (
                f"{clean}, and put on one bonding coat (or a topcoat whose label says that it "
                "holds there without one)."
            )
        if kind in _CLEAN:
            text += " The counts hold for a surface that is truly clean."
        needs.append(Need("adhesion", names, not topcoat_bonds, text))
    names = tuple(g.name for g in grounds if g.bleeds)
    if names:
        needs.append(
            Need(
                "blocking",
                names,
                True,
                f"{_listed(names)}: wood colour or resin can bleed through water-borne paint, "
                "days later and through any number of coats. Put a stain-blocking sealer on "
                "first; knots may still show under white.",
            )
        )
    names = tuple(g.name for g in grounds if g.porous or g.sanded_through)
    if names:
        needs.append(
            Need(
                "spot sealing",
                names,
                False,
                f"{_listed(names)}: drinks part of the first coat and dries duller than its "
                "surroundings. Seal the spots first, clear or white, so that the film sits evenly.",
            )
        )
    return tuple(needs)
