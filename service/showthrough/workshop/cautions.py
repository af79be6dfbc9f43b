"""What can hurt a furniture painter or the piece, keyed on facts of the job.

A caution is a fact of the job, what can happen, and what to do. Poison stands first, then fire,
lungs, skin and the piece; last, that these are reminders. They are not advice on law.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Literal, NamedTuple, get_args

from showthrough.workshop.grounds import (
    Chemistry,
    Ground,
    LeadTest,
    needs_of,
    preparation_of,
)
from showthrough.workshop.grounds.kinds import (
    COMMON,
    KEPT,
    LeadState,
    is_bare,
    is_plating,
    kind_of,
    lead_state,
)

About = Literal[
    "lead",
    "plating",
    "stripper",
    "flammable",
    "aerosol",
    "rags",
    "spraying",
    "isocyanates",
    "board dust",
    "wood dust",
    "dust",
    "gloves",
    "runs",
    "child",
    "antique",
    "reminder",
]
"""In the order in which they are shown: poison, fire, lungs, skin, piece."""
_ORDER: tuple[About, ...] = get_args(About)


class Caution(NamedTuple):
    """One thing that can go wrong, in a line for the screen and whole for the sheet."""

    about: About
    short: str
    whole: str
    source: str


_LIMITS = (
    "In the US paint with more than 0.06% lead has been banned for homes, toys and furniture "
    "since 28 February 1978, and the limit has been 90 ppm (0.009%) since 14 August 2009 (16 CFR "
    "1303; 73 FR 77492); in Canada it is 90 mg/kg (SOR/2016-193); other countries have dates of "
    "their own."
)
_WET_WORK = (
    "no dry or power sanding, no heat gun, no torch. Work wet, over a sheet, clean up with a HEPA "
    "vacuum, wash your hands, wash work clothes by themselves, and keep children and pregnant "
    "people away"
)
_FOR_PAY = (
    "Work for pay in homes built before 1978 may fall under 40 CFR 745, which prohibits heat guns "
    "at or above 1100 °F (593 °C) there (745.85(a)(3))."
)
_MASK = "P3/FFP3 or P100 particle mask"
_LEAD: dict[LeadState, tuple[str, str]] = {
    "untested": (
        "Old finish may hold lead: test it first; until then wet work only, no heat.",
        (
            "Old finish, clear or painted, may hold lead: test through all its layers before you "
            f"start. Until it is cleared: {_WET_WORK}. {_LIMITS} {_FOR_PAY}"
        ),
    ),
    "kit clear": (
        "A home kit found no lead, but kits miss some: wet work and a mask, no heat.",
        (
            "A home kit found no lead{when}. Kits miss some, so until a laboratory clears all "
            f"layers: {_WET_WORK}; wear a {_MASK}. {_LIMITS} {_FOR_PAY}"
        ),
    ),
    "clear": (
        "A laboratory found no lead in the old finish; keep its report with the piece.",
        (
            "A laboratory found no lead{when}. That holds for the layers and places that were "
            "sampled: a part from elsewhere needs its own test. Keep the report with the piece."
        ),
    ),
    "found": (
        "The old finish holds lead: leave it to certified practice, or wet work only.",
        (
            "{who} found lead{when}. Leave it to certified practice. If you go on: "
            f"{_WET_WORK}; wear a {_MASK}, and take the waste where lead paint is accepted. "
            f"{_LIMITS} {_FOR_PAY}"
        ),
    ),
}
_LEAD_SOURCE = (
    "16 CFR 1303; 73 FR 77492; 40 CFR 745; heat guns: 745.85(a)(3), from memory; "
    "Canada: SOR/2016-193"
)

_PLATING = Caution(
    "plating",
    "Plating and metal primer may hold cadmium or chromate: no dry sanding, no heat.",
    "Old plating, galvanising and primer on metal may hold cadmium or zinc chromate, which "
    "poison by dust and fume: no dry sanding, no heat. Key it wet and wipe up the sludge.",
    "from memory",
)
_STRIPPER = Caution(
    "stripper",
    "Strippers and bleaches poison and burn: air, gloves, goggles; never mix two.",
    "Stripper, bleach, oxalic acid and ammonia poison and burn: moving air, chemical gloves, "
    "goggles. Never mix two of them: some give off poisonous gas. Methylene chloride is "
    "restricted (in the US by 40 CFR 751): choose a stripper without it.",
    "40 CFR 751, from memory; the rest common practice, no source",
)
_FLAMMABLE = Caution(
    "flammable",
    "Solvents and shellac catch fire easily: no flame, heater or spark; moving air.",
    "Shellac, lacquer, alcohol, acetone, spray cans and most thinners are highly flammable (most "
    "flash below 23 °C, white spirit near 40 °C): no flame, heater, spark or pilot light, moving "
    "air, lids on. Their vapour goes through a particle mask; organic-vapour cartridges must fit "
    "and have a limited life.",
    "flash points from memory; masks: 42 CFR 84",
)
_AEROSOL = Caution(
    "aerosol",
    "Spray cans burst in heat: cool, out of the sun, away from any spark.",
    "Aerosol cans are pressurised and flammable: keep them cool, out of the sun and away from any "
    "spark; never pierce or burn them, empty ones included.",
    COMMON,
)
_RAGS = Caution(
    "rags",
    "Oily rags and sanding dust catch fire by themselves: flat outside or in water.",
    "Rags and sanding dust with drying oil (linseed and other oils, oil and alkyd paint) heat up "
    "and catch fire by themselves within hours. Lay them flat outside to dry, or keep them under "
    "water in a closed metal can; empty the sander's bag.",
    "29 CFR 1910.106(h)(8)(iii), closed metal cans; 1926.252(e), covered containers, from memory",
)
_SPRAYING = Caution(
    "spraying",
    "Spray mist harms the lungs: vapour and particle mask; booth or open air.",
    "Spray mist harms the lungs, that of water-borne paint too: wear a mask for organic vapour and "
    "particles (A2P3, or organic vapour with P100), spray in a booth or the open air, with no "
    "flame, heater or spark near.",
    "masks: 42 CFR 84; the rest common practice, no source",
)
_GUN = (
    " Two-pack paint with isocyanates is for trained users with supplied air. An airless gun can "
    "drive paint through the skin: that is an emergency for a hospital at once, however small the "
    "wound."
)
_ISOCYANATES = Caution(
    "isocyanates",
    "Two-pack hardeners may be isocyanates: trained users with supplied air only.",
    "Hardeners of two-pack paint may be isocyanates: one exposure too many makes lungs and skin "
    "react for life, and filters do not do. For trained users with supplied air only (in the EU "
    "training is required). Read the hardener's label.",
    "REACH Annex XVII entry 74, from memory",
)
_FILTER = (
    "A particle filter (P3/FFP3, or N95 and better) stops dust, not vapour; draw the dust off "
    "where it is made."
)
_DUST_SOURCE = "masks: 42 CFR 84.170, from memory"
_BOARD = Caution(
    "board dust",
    "MDF and chipboard dust is fine and holds formaldehyde: mask, extraction.",
    f"MDF and chipboard give very fine dust and formaldehyde: extraction and moving air. {_FILTER}",
    "from memory",
)
_WOOD = Caution(
    "wood dust",
    "Wood dust can cause cancer of the nose: particle mask and extraction.",
    f"Wood dust can cause cancer of the nose. The EU limit for hardwood dust is 2 mg/m3 "
    f"(inhalable); in the US NIOSH recommends 1 mg/m3, while the legal limit for nuisance dust is "
    f"15 mg/m3 total and 5 mg/m3 respirable. {_FILTER}",
    "Directive (EU) 2017/2398; NIOSH; OSHA limits for nuisance dust; " + _DUST_SOURCE,
)
_DUST = Caution(
    "dust",
    "Sanding dust, also between coats: particle mask; it stops dust, not vapour.",
    f"Sanding makes dust, also between coats. {_FILTER}",
    _DUST_SOURCE,
)
_GLOVES = Caution(
    "gloves",
    "Solvents and hardeners go through skin: gloves that the label names, goggles.",
    "Solvents, strippers and hardeners dry out, burn or sensitise the skin: wear the gloves that "
    "their labels name, and goggles; wash with soap, never with thinner.",
    COMMON,
)
CHILD = Caution(
    "child",
    "Child's piece: paint fit for toys, full cure before use, fixed against tipping.",
    "For a child's furniture and toys use paint declared fit for them (EN 71-3, which allows "
    "23 mg/kg of lead in scraped-off paint); let it cure fully before use, since dry is not cured; "
    "fix what can tip to the wall.",
    "EN 71-3:2019+A1:2021",
)
_ANTIQUE = Caution(
    "antique",
    "Paint can end an old piece's value: ask someone who knows before you start.",
    "Antiques, veneer and marquetry can lose their value under paint, and sanding cannot be taken "
    "back: ask someone who knows the piece before you start.",
    COMMON,
)
_REMINDER = Caution(
    "reminder",
    "Reminders, not instructions: labels, data sheets and local codes come first.",
    "These are reminders, not instructions: product labels, safety data sheets, local codes and "
    "licensed practice come first.",
    "house rule",
)

_RUNS_UM = {"brush": 150.0, "roller": 120.0, "spray": 120.0, "aerosol": 50.0}
"""Wet film that an upright face usually holds without runs, µm (from memory)."""

_SOLVENT_WORK = {"test wipe", "wax off", "silicone off", "solvent wipe"}
_SOLVENT_PAINT: set[Chemistry] = {"alkyd", "shellac", "lacquer", "two-pack"}


def cautions_for(
    grounds: Iterable[Ground],
    *,
    tool: str,
    wet_film_thickness_um: float = 0.0,
    topcoat_chemistry: Chemistry | None = None,
    lead_test: LeadTest | None = None,
    stripping: bool = False,
    oils: bool = False,
    child: bool = False,
    antique: bool = False,
) -> tuple[Caution, ...]:
    """Cautions for a job: poison, fire, lungs, skin, piece; always last that they are reminders.

    Args:
        grounds: the patches; their preparation and needs bring cautions too, by the same rules.
        tool: brush, roller, spray or aerosol.
        wet_film_thickness_um: of one coat, µm; above what usually holds, runs are warned of.
        topcoat_chemistry: of the topcoat; None where it is not said.
        lead_test: of the old finish.
        stripping: stripper, bleach, oxalic acid or ammonia will be used.
        oils: a drying oil will be used beside the paint.
        child: a child's furniture or a toy.
        antique: an antique or marquetry; veneer is known by its ground.

    Source:
        beside each caution.
    """
    return _cautions(
        tuple(grounds),
        tool,
        wet_film_thickness_um,
        topcoat_chemistry,
        lead_test,
        (stripping, oils),
        (child, antique),
    )


@lru_cache(maxsize=KEPT)
def _cautions(
    grounds: tuple[Ground, ...],
    tool: str,
    wet_film_thickness_um: float,
    topcoat_chemistry: Chemistry | None,
    lead_test: LeadTest | None,
    used: tuple[bool, bool],
    piece: tuple[bool, bool],
) -> tuple[Caution, ...]:
    (stripping, oils), (child, antique) = used, piece
    found = [
        *_poison(grounds, lead_test, stripping=stripping),
        *_fire(grounds, tool, topcoat_chemistry, oils=oils),
        *_lungs(grounds, tool, topcoat_chemistry),
        *_piece(grounds, tool, wet_film_thickness_um, child=child, antique=antique),
        _REMINDER,
    ]
    if {"stripper", "flammable"} & {caution.about for caution in found}:
        found.append(_GLOVES)
    return tuple(sorted(found, key=lambda caution: _ORDER.index(caution.about)))


def together(*cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """Cautions of several groups or products, each once, in the one order."""
    found = dict.fromkeys(caution for each in cautions for caution in each)
    return tuple(sorted(found, key=lambda caution: _ORDER.index(caution.about)))


def _poison(
    grounds: tuple[Ground, ...], lead_test: LeadTest | None, *, stripping: bool
) -> Iterator[Caution]:
    state = lead_state(grounds, lead_test)
    if state != "none":
        short, whole = _LEAD[state]
        if lead_test is not None:
            day = lead_test.date
            when = ", date not given" if day is None else f" on {day.day} {day:%B %Y}"
            who = "A home kit" if lead_test.kind == "kit" else "A laboratory"
            whole = whole.format(when=when, who=who)
        yield Caution("lead", short, whole, _LEAD_SOURCE)
    works = preparation_of(grounds, lead_test=lead_test)
    yield from _those(
        (any(is_plating(ground) for ground in grounds), _PLATING),
        (stripping or any("stripper" in work.product for work in works), _STRIPPER),
    )


def _fire(
    grounds: tuple[Ground, ...], tool: str, chemistry: Chemistry | None, *, oils: bool
) -> Iterator[Caution]:
    flammable = (
        tool == "aerosol"
        or chemistry in _SOLVENT_PAINT
        or any(work.kind in _SOLVENT_WORK for work in preparation_of(grounds))
        or any(need.product.flammable for need in needs_of(grounds, topcoat_chemistry=chemistry))
    )
    oily = oils or chemistry == "alkyd" or any(ground.kind == "oiled" for ground in grounds)
    return _those((flammable, _FLAMMABLE), (tool == "aerosol", _AEROSOL), (oily, _RAGS))


def _lungs(
    grounds: tuple[Ground, ...], tool: str, chemistry: Chemistry | None
) -> Iterator[Caution]:
    board = any(kind_of(ground).family == "board" for ground in grounds)
    wood = any((is_bare(g) and kind_of(g).family == "wood") or g.sanded_through for g in grounds)
    return _those(
        (tool == "spray", _SPRAYING._replace(whole=_SPRAYING.whole + _GUN)),
        (tool == "aerosol", _SPRAYING),
        (chemistry == "two-pack", _ISOCYANATES),
        (board, _BOARD),
        (True, _WOOD if wood else _DUST),
    )


def _piece(
    grounds: tuple[Ground, ...],
    tool: str,
    wet_film_thickness_um: float,
    *,
    child: bool,
    antique: bool,
) -> Iterator[Caution]:
    most = _RUNS_UM.get(tool)
    if most is not None and wet_film_thickness_um > most:
        yield Caution(
            "runs",
            "Coats this thick run on upright faces: plan thinner ones.",
            f"A coat of {wet_film_thickness_um:.0f} µm wet is more than usually holds by {tool} "
            f"without runs on an upright face (about {most:.0f} µm, from memory): plan thinner "
            "coats.",
            "from memory",
        )
    veneered = any(ground.kind == "veneer" for ground in grounds)
    yield from _those((child, CHILD), (antique or veneered, _ANTIQUE))


def _those(*cautions: tuple[bool, Caution]) -> Iterator[Caution]:
    """The cautions that hold."""
    return (caution for holds, caution in cautions if holds)
