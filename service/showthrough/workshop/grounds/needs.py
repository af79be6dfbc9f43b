"""Coats that a ground needs whatever the optics say: never an option to skip.

An undercoat mixed from topcoat, white and black neither bonds nor blocks; what a ``Need``
names is a product that exists.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from showthrough.workshop.grounds.kinds import (
    BINDING_SEALER,
    BLOCKER,
    BLOCKER_THAT_BONDS,
    BONDING,
    COMMON,
    EDGE_SEALER,
    KEPT,
    SEALER,
    SILICONE_SEALER,
    WOOD_HANDBOOK,
    Chemistry,
    Ground,
    NeedKind,
    Primer,
    bleeds,
    drinks,
    is_bare,
    is_chalking,
    is_edge,
    is_unsound,
    kind_of,
)

__all__ = ["Need", "NeedKind", "Primer", "needs_of"]

SPOTS_UNDER = 0.2
"""Part of the area from which spots are no longer coated alone (common practice, no source)."""

_ORDER: tuple[NeedKind, ...] = ("corrosion", "binding", "blocking", "adhesion", "sealing")
_ALL_OVER: tuple[Primer, ...] = (BLOCKER, BONDING, SILICONE_SEALER)
"""Products that go over any sound ground, so that they may go all over."""


class Need(NamedTuple):
    """A coat, or two, that some patches ask for."""

    kind: NeedKind
    patches: tuple[str, ...]
    """The patches that ask for it."""
    all_over: bool
    """Whether it goes over the whole surface; otherwise on these patches alone."""
    share: float
    """Part of the area that it covers, 0 to 1."""
    coats: int
    product: Primer
    why: str
    source: str = COMMON
    also: tuple[NeedKind, ...] = ()
    """Other needs that the same coat meets."""
    between: str = ""
    """Sanding between its coats."""
    instead: str = ""
    """What serves instead of it, never beside it."""


def needs_of(
    grounds: Iterable[Ground],
    *,
    topcoat_bonds: bool = False,
    topcoat_chemistry: Chemistry | None = None,
) -> tuple[Need, ...]:
    """Coats that the ground needs, in the order in which they are laid.

    A patch whose film does not hold needs none: no coat covers a loose film (see ``unsound``).

    Args:
        grounds: the patches. Where a share is not said, the rest of the area is divided evenly.
        topcoat_bonds: its own label says that it bonds to slick grounds; this replaces a plain
            bonding coat, not one made for plastic, glass or metal, nor a sealer over silicone.
        topcoat_chemistry: decides what bleeds, and whether shellac takes it.
    """
    return _needs(tuple(grounds), topcoat_chemistry, bonds=topcoat_bonds)


@lru_cache(maxsize=KEPT)
def _needs(
    grounds: tuple[Ground, ...], chemistry: Chemistry | None, *, bonds: bool
) -> tuple[Need, ...]:
    asked = _asked(grounds, topcoat_bonds=bonds, chemistry=chemistry)
    shares = _shares(grounds)
    needs = []
    for (kind, product), patches in asked.items():
        share = sum(shares[i] for i in patches)
        nicotine = kind == "blocking" and any(grounds[i].stain == "nicotine" for i in patches)
        large = product in _ALL_OVER and round(share, 9) >= SPOTS_UNDER
        all_over = nicotine or large or len(patches) == len(grounds)
        needs.append(
            Need(
                kind,
                tuple(grounds[i].name for i in patches),
                all_over,
                1.0 if all_over else share,
                2 if kind == "blocking" and not all_over else 1,
                product,
                _why(kind, [grounds[i] for i in patches]),
                WOOD_HANDBOOK if kind == "blocking" else COMMON,
            )
        )
    needs = _one_coat_for_several(needs)
    served = {i for patches in asked.values() for i in patches}
    needs = _with_sealing(needs, grounds, shares, served)
    first = {"corrosion", "binding"}
    needs.sort(key=lambda n: (n.kind not in first, n.all_over, _ORDER.index(n.kind)))
    return tuple(needs)


def _asked(
    grounds: tuple[Ground, ...], *, topcoat_bonds: bool, chemistry: Chemistry | None
) -> dict[tuple[NeedKind, Primer], list[int]]:
    """Which patches ask for which product, sealing apart."""
    asked: dict[tuple[NeedKind, Primer], list[int]] = {}
    for i, ground in enumerate(grounds):
        if is_unsound(ground):
            continue
        product = kind_of(ground).primer
        if ground.kind == "shellac" and chemistry in {"lacquer", "two-pack"}:
            product = BONDING
        if product == BONDING and (topcoat_bonds or is_chalking(ground)):
            product = None  # What chalks is no longer closed.
        if is_chalking(ground):
            asked.setdefault(("binding", BINDING_SEALER), []).append(i)
        if bleeds(ground, chemistry) == "yes":
            asked.setdefault(("blocking", BLOCKER), []).append(i)
        if product is not None:
            asked.setdefault((product.serves[0], product), []).append(i)
    return asked


def _one_coat_for_several(needs: list[Need]) -> list[Need]:
    """Let a coat that goes all over meet every need that one product can meet with it."""
    whole = next((n for n in needs if n.all_over and n.kind == "blocking"), None)
    if whole is None:
        whole = next((n for n in needs if n.all_over and n.product == SILICONE_SEALER), None)
    if whole is None:
        return needs
    others = [n for n in needs if n is not whole and n.product in _ALL_OVER]
    if not others:
        return needs
    product = whole.product
    if product == BLOCKER or any(n.product == BONDING for n in others):
        product = BLOCKER_THAT_BONDS
    merged = whole._replace(
        product=product,
        also=tuple(dict.fromkeys(n.kind for n in others if n.kind != whole.kind)),
        patches=tuple(dict.fromkeys([*whole.patches, *(p for n in others for p in n.patches)])),
        why="; ".join([whole.why, *(n.why for n in others)]),
        source=max([whole.source, *(n.source for n in others)], key=lambda s: s != COMMON),
    )
    return [merged, *(n for n in needs if n is not whole and n not in others)]


def _with_sealing(
    needs: list[Need], grounds: tuple[Ground, ...], shares: list[float], served: set[int]
) -> list[Need]:
    """Add the sealing of what drinks, where no other coat seals it."""
    thirsty = [i for i, g in enumerate(grounds) if drinks(g) and not is_unsound(g)]
    open_ = [i for i in thirsty if i not in served]
    edges = [i for i in open_ if is_edge(grounds[i])]
    plain = [i for i in open_ if i not in edges]
    whole = next((n for n in needs if n.all_over and "sealing" in n.product.serves), None)
    bonding = next((n for n in needs if n.product == BONDING), None)
    everywhere = len(served | set(open_)) == len(grounds)
    if whole is None and bonding is not None and plain and everywhere and not edges:
        # Every patch asks for a coat, and a bonding coat seals as well: one coat for all.
        whole = bonding._replace(all_over=True, share=1.0)
        needs = [whole if n is bonding else n for n in needs]
    if whole is not None and open_:
        sealing = whole._replace(also=(*whole.also, "sealing"))
        needs = [sealing if n is whole else n for n in needs]
        plain = []
    # MDF faces are open too but drink nothing: there only the spots are sealed.
    bare = everywhere and all(is_bare(g) for g in grounds)
    drink = "it drinks part of the first coat and dries duller than its surroundings"
    thinned = "the first coat of paint, thinned" if bare else ""
    cut = "cut edges drink two to three times as much as faces"
    for places, over, coats, product, why, between, instead in (
        (plain, bare, 1, SEALER, drink, "", thinned),
        (edges, False, 2 if whole is None else 1, EDGE_SEALER, cut, "P240", ""),
    ):
        all_over = over or len(places) == len(grounds)
        share = 1.0 if all_over else sum(shares[i] for i in places)
        names = tuple(grounds[i].name for i in places)
        made = Need("sealing", names, all_over, share, coats, product, why)
        needs = [*needs, *([made._replace(between=between, instead=instead)] if places else [])]
    return needs


def _shares(grounds: tuple[Ground, ...]) -> list[float]:
    said = sum(g.share for g in grounds if g.share is not None)
    unsaid = sum(g.share is None for g in grounds)
    each = max(0.0, 1.0 - said) / unsaid if unsaid else 0.0
    return [each if g.share is None else g.share for g in grounds]


_STAINS = {
    "nicotine": "nicotine comes through paint, and it is rarely on one spot alone",
    "water": "water marks come through water-borne paint",
    "ink": "ink comes through paint",
    "grease": "what is left of the grease comes through paint",
    "tannin": "tannin comes through water-borne paint",
    "old stain": "old red and dark stains come through paint",
}
_BLEEDING_WOOD = {
    "knots": "resin of knots comes through any number of coats; under white they may still show",
    "mahogany": "the red of mahogany comes through any number of coats",
}


def _why(kind: NeedKind, patches: list[Ground]) -> str:
    """Distinct reasons of the patches, in their order."""
    if kind == "binding":
        return "where it still chalks after washing, paint holds on the chalk alone"
    if kind != "blocking":
        shellac = "strong solvents soften shellac, and the film lifts"
        return "; ".join(dict.fromkeys(kind_of(g).why or shellac for g in patches))
    tannin = "wood colour comes through water-borne paint, days later, through any number of coats"
    return "; ".join(
        dict.fromkeys(
            _STAINS[g.stain] if g.stain else _BLEEDING_WOOD.get(g.kind, tannin) for g in patches
        )
    )
