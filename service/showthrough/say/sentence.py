"""The job as one sentence, part by part, so that each part can be a control."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from showthrough.colour.names import describe_colour
from showthrough.say.chances import capital, plural
from showthrough.say.plan import coat_noun
from showthrough.say.whole import area_words, listed_plainly

if TYPE_CHECKING:
    from collections.abc import Collection

    from showthrough.jobs.answers.prediction import ColourShown, GroupShown, WayShown
    from showthrough.jobs.answers.whole import WholeJob

TOOLS = {
    "brush": "brush",
    "roller": "foam roller",
    "spray": "spray gun",
    "aerosol": "spray can",
}
TOOL_SAYS = {
    "brush": "thick coats; marks to sand out",
    "roller": "even; a fine texture",
    "spray": "thin, even, light coats",
    "aerosol": "very thin; many passes",
}

FACTS = {
    "shiny": "Shiny: you wash it and sand it dull, then it takes a bonding coat.",
    "waxy": "Waxy: the wax comes off before any sanding, then it takes a bonding coat.",
    "bare": "Bare: it is in touch with the paint itself, as raw wood and filler are.",
    "drinks": "Drinks: it is sealed first, or swallows part of the first coat.",
    "bleeds": "Bleeds: a stain-blocking sealer keeps its colour from coming through.",
}
"""What a fact of the surface adds to the work."""

_FEW = 3
"""Patches, or paints, that are named; of more the rest is counted."""

_WHOLE = "whole piece"
"""The one group of a job that names no parts."""
_UNNAMED = ("surface", "patch ")


@dataclass(frozen=True, slots=True)
class Part:
    """Words between controls, or one control."""

    text: str
    word: str = ""
    """The sheet that it opens; "" for plain words."""
    hex: str = ""
    missing: bool = False


def sentence(answer: WholeJob, tool: str, painted: Collection[int] = ()) -> tuple[Part, ...]:
    """The job as one sentence: colours, what is there now, tool and area.

    Args:
        answer: to the whole job.
        tool: what the paint is put on with.
        painted: numbers, from 1, of those groups that have a paint of their own.
    """
    parts = [*_paints(answer, painted), Part(" over ")]
    shown = answer.patches if len(answer.patches) <= _FEW + 1 else answer.patches[:_FEW]
    for n, patch in enumerate(shown, 1):
        if n > 1:
            last = n == len(shown) and len(shown) == len(answer.patches)
            parts.append(Part(" and " if last else ", "))
        own = describe_colour(patch.lab) if patch.name.startswith(_UNNAMED) else patch.name
        parts.append(Part(own, f"surface.{n}", patch.hex))
    left = len(answer.patches) - len(shown)
    if left:
        parts += [Part(" and "), Part(f"{left} more", f"surface.{len(shown) + 1}")]
    parts += [Part(", with a "), Part(TOOLS[tool], "tool")]
    if not answer.area.stated:
        parts += [Part(", "), Part("how big?", "area", missing=True)]
    else:
        total = area_words(answer.area.total_m2, answer.units)
        word = "area" if set(answer.area.groups) == {_WHOLE} else "parts"
        parts += [Part(", about "), Part(_short(total), word)]
    if len(answer.area.groups) > 1:
        parts += [Part(" in "), Part(plural(len(answer.area.groups), "part"), "parts")]
    return tuple(parts)


def by_paint(answer: WholeJob) -> list[list[GroupShown]]:
    """The groups that share a topcoat, each such row and all rows the largest first."""
    alike: dict[tuple[str, str], list[GroupShown]] = {}
    for group in sorted(answer.groups, key=lambda group: -group.area_m2):
        alike.setdefault((group.topcoat_name, group.topcoat.hex), []).append(group)
    return list(alike.values())


def _paints(answer: WholeJob, own: Collection[int]) -> list[Part]:
    """Each paint with the parts that take it; one paint for all needs no parts."""
    rows = by_paint(answer)
    if len(rows) == 1:
        return [Part(capital(answer.topcoat_name), "topcoat", answer.topcoat.hex)]
    shown = rows[:_FEW]
    left = len(rows) - len(shown)
    parts = []
    for n, row in enumerate(shown):
        number = answer.groups.index(row[0]) + 1
        name = row[0].topcoat_name
        joint = "" if not n else " and " if n == len(shown) - 1 and not left else ", "
        word = f"part.{number}" if number in own else "topcoat"
        parts += [Part(joint)] if joint else []
        parts.append(Part(name if n else capital(name), word, row[0].topcoat.hex))
        parts.append(Part(f" on {listed_plainly([group.name for group in row])}"))
    return parts + ([Part(" and "), Part(f"{left} more", "parts")] if left else [])


def unsaid(topcoat: tuple[str, str], surface: tuple[str, str], tool: str) -> tuple[Part, ...]:
    """The same sentence while some of it is still to be said.

    Args:
        topcoat: words and hex of the colour; empty where it was not said.
        surface: the same of what is there now.
        tool: what the paint is put on with.
    """
    new, old = topcoat[0] or "a new colour", surface[0] or "what is there now"
    return (
        Part(capital(new) if topcoat[0] else new, "topcoat", topcoat[1], not topcoat[0]),
        Part(" over "),
        Part(old, "surface.1", surface[1], not surface[0]),
        Part(", with a "),
        Part(TOOLS[tool], "tool"),
    )


_LEVEL, _SHOWS = 8.0, 22.0
"""Differences of L* up to which a fitting is as light as the paint, and from which it stands out
(common practice, no source)."""


def beside_words(finish: ColourShown, topcoat: ColourShown) -> str:
    """How a fitting sits beside a topcoat, in a few words."""
    lighter = finish.lab[0] - topcoat.lab[0]
    if abs(lighter) <= _LEVEL:
        return "quiet: as light as the paint"
    word = "lighter" if lighter > 0.0 else "darker"
    return f"a little {word}: it shows" if abs(lighter) < _SHOWS else f"clearly {word}: stands out"


def way_tab(way: WayShown) -> str:
    """A way in two or three words."""
    if way.kind in {"plain", "spots"}:
        return "no undercoat"
    shade = _SHADES.get(way.kind)
    return f"{shade} {coat_noun(way.name)}" if shade else way.name


_SHADES = {
    "sealer": "clear",
    "white": "white",
    "grey": "grey",
    "shop-tinted": "tinted",
    "own mix": "own mix",
}


def number_line(headline: str) -> tuple[str, str, str]:
    """A headline as the large figure, what stands beside it, and the rest.

    "3 coats: 1 white undercoat, 2 topcoats, about 9 in 10 sure. Without ..." is
    ("3", "coats: 1 white undercoat, 2 topcoats, about 9 in 10 sure.", "Without ...").
    A headline without a count has none.
    """
    head, stop, rest = headline.partition(". ")
    count, _, told = head.partition(" ")
    if not count.isdecimal() or not told.startswith("coat"):
        return "", headline, ""
    return count, told + stop.strip(), rest


def _short(area: str) -> str:
    """An area without figures that tell nothing: 2.40 m² is 2.4 m²."""
    number, _, unit = area.partition(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"
