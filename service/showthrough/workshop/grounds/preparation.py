"""Preparation of a piece, in the order of work, and what to ask before it starts.

Each patch brings the work of its kind and of its facts; the same work on several patches is one
step. Whatever is sanded is sanded wet until a laboratory has cleared the old finish of lead.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from typing import NamedTuple, get_args

from showthrough.workshop.grounds.kinds import (
    BONDING,
    COMMON,
    CUT_BOARDS,
    DEGREASE,
    KEPT,
    KINDS,
    WASH,
    Chemistry,
    Condition,
    Ground,
    LeadState,
    LeadTest,
    Step,
    WorkKind,
    bleeds,
    is_bare,
    is_chalking,
    is_edge,
    is_plating,
    is_unsound,
    kind_of,
    lead_state,
    may_hold_lead,
)

_ORDER: tuple[WorkKind, ...] = get_args(WorkKind)
_ABRADES = {"feather", "rust off", "sand", "knock back", "key"}
_WET = {
    "untested": "wet until a laboratory clears the old finish of lead",
    "kit clear": "wet and with a mask: a home kit can miss lead",
    "found": "wet: the old finish holds lead",
}
_LEAD_SOURCE = "16 CFR 1303; 40 CFR 745"


class Work(NamedTuple):
    """One step of the preparation."""

    kind: WorkKind
    on: tuple[str, ...]
    """Names of the patches."""
    everywhere: bool
    """Whether these are all patches."""
    product: str
    """What it is done with: cleaner, tool or grit."""
    why: str
    source: str = COMMON


class Unsound(NamedTuple):
    """Patches whose film does not hold, and the work before anything can be counted."""

    patches: tuple[str, ...]
    condition: Condition
    work: str


class Question(NamedTuple):
    """Something that a painter should be asked, since the answer changes the plan."""

    patches: tuple[str, ...]
    text: str


WHAT_IS_IT = "What is it: shiny plastic, waxed, or bare? It is taken as an old finish."
"""Asked of a ground that nobody named: each of the three would change the plan."""

_LOOSE_FILM: dict[Condition, tuple[Step, ...]] = {
    "flaking": (
        Step("strip", "scraper, damp: all that is loose", "no coat holds a loose film"),
        Step("feather", "P120-180 at the edges", "a step in the old film shows through paint"),
    ),
    "crazed": (
        Step("strip", "scraper, damp: what lifts at the cracks", "cracks open again under paint"),
        Step("feather", "P120-180, down to a smooth film", "a crack shows through paint"),
    ),
    "soft": (
        Step("strip", "stripper, down to what is hard", "paint cracks over a soft film"),
        Step("feather", "P120-180 at the edges", "a step in the old film shows through paint"),
    ),
}
_WORK_FIRST: dict[Condition, str] = {
    "flaking": "Take off or stabilise what is loose and feather the edges; then describe what is "
    "left. No coat covers a loose film.",
    "crazed": "Take off what lifts at the cracks and feather it smooth; then describe what is "
    "left. Cracks open again under paint.",
    "soft": "Strip the soft film down to what is hard and feather the edges; then describe what is "
    "left. Paint cracks over a soft film.",
}


def preparation_of(
    grounds: Iterable[Ground],
    *,
    lead_test: LeadTest | None = None,
    topcoat_bonds: bool = False,
    topcoat_chemistry: Chemistry | None = None,
) -> tuple[Work, ...]:
    """Work on the bare piece before the first coat, in order, merged over the patches.

    Args:
        grounds: the patches.
        lead_test: of the old finish. A laboratory's "clear" lifts wet sanding, a home kit's
            does not.
        topcoat_bonds: its own label says that it bonds; a spot of it is tested first.
        topcoat_chemistry: decides the last grit on bare wood, and what may bleed.
    """
    return _preparation(tuple(grounds), lead_test, topcoat_chemistry, bonds=topcoat_bonds)


@lru_cache(maxsize=KEPT)
def _preparation(
    grounds: tuple[Ground, ...],
    lead_test: LeadTest | None,
    topcoat_chemistry: Chemistry | None,
    *,
    bonds: bool,
) -> tuple[Work, ...]:
    """Kept, since cautions ask for it again, and every further topcoat over the same piece."""
    lead = lead_state(grounds, lead_test)
    merged: dict[tuple[WorkKind, str], tuple[dict[int, str], dict[str, None]]] = {}
    for i, ground in enumerate(grounds):
        for step in _steps(ground, lead, topcoat_chemistry, topcoat_bonds=bonds):
            patches, whys = merged.setdefault((step.kind, step.product), ({}, {}))
            patches[i] = ground.name
            whys[step.why] = None
    works = [
        Work(
            kind,
            tuple(patches.values()),
            len(patches) == len(grounds),
            product,
            "; ".join(whys),
            _LEAD_SOURCE if kind in {"lead test", "lead safety"} else COMMON,
        )
        for (kind, product), (patches, whys) in merged.items()
    ]
    return tuple(sorted(works, key=lambda work: _ORDER.index(work.kind)))


def _steps(
    ground: Ground, lead: LeadState, chemistry: Chemistry | None, *, topcoat_bonds: bool
) -> Iterator[Step]:
    """The work on one patch, in any order."""
    wet = _WET.get(lead, "")
    for step in _plain_steps(ground, chemistry, topcoat_bonds=topcoat_bonds):
        if step.kind in _ABRADES and wet:
            yield Step(step.kind, f"{step.product}, wet", f"{step.why}; {wet}")
        elif step.kind in _ABRADES and is_plating(ground):
            why = f"{step.why}; wet: old plating may hold cadmium or chromate"
            yield Step(step.kind, f"{step.product}, wet", why)
        elif step.kind == "dust off" and wet:
            yield Step(step.kind, "HEPA vacuum and a damp cloth, no brush", step.why)
        else:
            yield step
    if may_hold_lead(ground) and lead == "untested":
        yield Step("lead test", "through all layers, down to the ground", "old coats may hold lead")
    if may_hold_lead(ground) and lead == "found":
        yield Step(
            "lead safety",
            "certified practice, or wet work by hand on a sheet, with mask and HEPA vacuum",
            "the old finish holds lead",
        )


def _plain_steps(
    ground: Ground, chemistry: Chemistry | None, *, topcoat_bonds: bool
) -> Iterator[Step]:
    """The same before anything is said of lead."""
    chalks, loose = is_chalking(ground), is_unsound(ground) and ground.condition
    chalky = chalks or ground.kind == "mineral paint"
    tested = topcoat_bonds and kind_of(ground).primer == BONDING
    for holds, steps in (
        (ground.condition == "loose", (_GLUE,)),
        (loose, _LOOSE_FILM[loose] if loose else ()),
        (ground.stain, (WASH,)),
        (ground.stain == "grease", (_DEGREASE_TWICE,)),
        (chalky, _OFF_THE_CHALK),
        # Where it chalks a sealer soaks in, and there is no film to key.
        (not chalks, _of_its_kind(ground, chemistry)),
        (tested, (_TEST_SPOT,)),
        (bleeds(ground, chemistry) == "may", (_BLEED_TEST,)),
    ):
        if holds:
            yield from steps


_GLUE = Step("glue", "glue and press, then scrape off what oozes", "loose veneer lifts again")
_DEGREASE_TWICE = Step("degrease", "degreaser, twice, clean cloths each time", DEGREASE.why)
_OFF_THE_CHALK = (
    Step("brush off", "brush and plenty of water", "paint does not hold on chalk"),
    WASH,
    Step("chalk test", "wet dark cloth", "a cloth that comes away white: it still chalks"),
)
_TEST_SPOT = Step(
    "test spot",
    "the paint and, when it is dry, tape pulled off",
    "its label says that it bonds: see it first",
)
_BLEED_TEST = Step(
    "bleed test",
    "one coat on a small spot, then wait 48 hours",
    "a stain that comes through needs a stain-blocking sealer",
)


def _of_its_kind(ground: Ground, chemistry: Chemistry | None) -> Iterator[Step]:
    kind = KINDS["mdf edge"] if is_edge(ground) else kind_of(ground)
    for step in kind.steps:
        if step.kind == "degrease" and ground.stain == "grease":
            continue  # It is degreased twice already.
        if step.kind == "sand" and kind.family == "wood" and chemistry in _WETS:
            yield step._replace(product=f"{step.product}-220")
        else:
            yield step


_WETS: set[Chemistry | None] = {None, "water-borne", "mineral"}
"""Topcoats that are thinned with water, as one is unless it is said otherwise."""


def unsound(grounds: Iterable[Ground]) -> tuple[Unsound, ...]:
    """Patches whose film does not hold: they get work, and the piece no count until it is done."""
    names: dict[Condition, list[str]] = {}
    for ground in grounds:
        if is_unsound(ground) and ground.condition is not None:
            names.setdefault(ground.condition, []).append(ground.name)
    return tuple(
        Unsound(tuple(found), condition, _WORK_FIRST[condition])
        for condition, found in names.items()
    )


def questions_of(
    grounds: Iterable[Ground], *, lead_test: LeadTest | None = None
) -> tuple[Question, ...]:
    """What a painter should be asked, most telling first.

    Args:
        grounds: the patches.
        lead_test: of the old finish, where there was one.
    """
    return _questions(tuple(grounds), lead_test)


@lru_cache(maxsize=KEPT)
def _questions(grounds: tuple[Ground, ...], lead_test: LeadTest | None) -> tuple[Question, ...]:
    lead = lead_state(grounds, lead_test)

    def where(holds: Callable[[Ground], bool]) -> tuple[str, ...]:
        return tuple(ground.name for ground in grounds if holds(ground))

    asked = (
        Question(
            where(lambda g: g.kind == "unknown" and not g.bare),
            WHAT_IS_IT,
        ),
        Question(
            where(lambda g: g.kind == "metal"),
            "Which metal is it: steel, galvanised, aluminium or brass? Each has its own primer.",
        ),
        Question(
            where(lambda g: g.kind == "mineral paint" and g.condition is None),
            "Does a wet cloth come away white once it is washed? It is taken that it does.",
        ),
        Question(
            where(lambda g: bleeds(g) == "may"),
            "Has its colour come through paint before, or does a wet cloth take it up?",
        ),
        Question(
            where(lambda g: lead == "untested" and may_hold_lead(g)),
            "Has the old finish been tested for lead, by a home kit or a laboratory?",
        ),
        Question(
            where(lambda g: lead == "kit clear" and may_hold_lead(g)),
            "Will a laboratory test it for lead? Only that lifts wet sanding and the mask.",
        ),
        Question(
            where(lambda g: g.kind in CUT_BOARDS and is_bare(g) and not is_edge(g)),
            "Are cut edges painted too? They are patches of their own and drink far more.",
        ),
    )
    return tuple(question for question in asked if question.patches)
