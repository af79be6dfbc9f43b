"""The sample board: the ground, each coat as it dries at the thin spots, the wanted colour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

from showthrough.colour.space import lab_to_xyz
from showthrough.jobs.answers.prediction import ColourReached, ColourShown, GroupShown, WayShown
from showthrough.jobs.answers.whole import WholeJob
from showthrough.say.chances import chance_words, coats_of, plural
from showthrough.say.sentence import by_paint
from showthrough.say.whole import listed_plainly

_Colour = ColourShown | ColourReached

INK, PAPER = "#141414", "#ffffff"
"""What stands on paint: near black or white."""

_MOST_BANDS = 6
"""Coats that each get a band; of more the first three and the last two are shown."""

_HALF = 0.5 - 1e-9

_INK_Y = 0.007
"""Luminance of the ink; white has 1."""


@dataclass(frozen=True, slots=True)
class Band:
    """One row of the board: touching fields of the patches under one label."""

    label: str
    fields: tuple[dict[str, Any], ...]
    """Colour and part of the width of each: ``hex``, and ``share``, 0 to 1."""
    ink: str
    chance: str = ""
    chance_ink: str = INK
    enough: bool = False
    gap: bool = False
    """Coats are left out here; it has no fields."""


@dataclass(frozen=True, slots=True)
class Board:
    """The ground on top, a band for each coat, the wanted colour beside all of them."""

    bands: tuple[Band, ...]
    wanted: str
    wanted_ink: str
    part: str
    """Group that it is of, "" where there is one alone."""
    patches: tuple[tuple[str, str, str], ...]
    """Name, hex and share in words of each patch."""
    others: tuple[Board, ...] = ()
    """The topcoats of those parts that take another paint; theirs is no ground."""


def board_of(answer: WholeJob, part: str) -> Board:
    """The board of the largest group, from the ladder of its leading way, and the other paints'.

    Args:
        answer: to the whole job.
        part: name of that group; "" where it is the only one and its name tells nothing.
    """
    patches = answer.patches
    shares = [patch.share for patch in patches]
    bands = [_band("as it stands", patches, shares)]
    if answer.ways:
        chances = {n: chance_words(chance) for n, chance in answer.enough.items()}
        bands += _under(answer.ways[0], shares) + _coats(answer.ways[0], chances, shares)
    return Board(
        tuple(bands),
        answer.topcoat.hex,
        _ink([answer.topcoat]),
        part,
        tuple((p.name, p.hex, f"{p.share:.0%}") for p in patches),
        tuple(
            _other(answer, row)
            for row in by_paint(answer)
            if not any(group.ways == answer.ways and group.name == part for group in row)
        )
        if part
        else (),
    )


def _other(answer: WholeJob, row: Sequence[GroupShown]) -> Board:
    """The topcoats of parts that take another paint than the largest; the largest of them rules.

    Its answer holds the chance of its count alone. Patches that are the largest group's too are
    as wide as there; of others no share is told.
    """
    group = row[0]
    bands: list[Band] = []
    if group.ways:
        way = group.ways[0]
        told = {patch.name: patch.share for patch in answer.patches}
        names = [patch.name for patch in way.ladder[0].patches]
        alike = list(told) == names
        shares = [told[name] if alike else 1.0 / len(names) for name in names]
        chances = {way.topcoats: chance_words(way.chance)} if way.topcoats else {}
        bands = _coats(way, chances, shares)
    names_of = listed_plainly([each.name for each in row])
    return Board(tuple(bands), group.topcoat.hex, _ink([group.topcoat]), names_of, ())


def _under(way: WayShown, shares: Sequence[float]) -> list[Band]:
    """What the topcoat meets, where a coat changes it."""
    if not way.hex:
        return []
    name = way.name if way.undercoats == 1 else coats_of(way.undercoats, way.name)
    return [_band(name, [p.thin for p in way.ladder[0].patches], shares)]


def _coats(way: WayShown, chances: Mapping[int, str], shares: Sequence[float]) -> list[Band]:
    last = way.topcoats or way.ladder[-1].coat
    shown = [step for step in way.ladder if 1 <= step.coat <= last]
    bands = [
        _band(
            plural(step.coat, "topcoat"),
            [p.thin for p in step.patches],
            shares,
            chance=chances.get(step.coat, ""),
            enough=step.coat == way.topcoats,
        )
        for step in shown
    ]
    if len(bands) > _MOST_BANDS:
        return [*bands[:3], Band("and so on", (), INK, gap=True), *bands[-2:]]
    return bands


def _band(
    label: str,
    colours: Sequence[_Colour],
    shares: Sequence[float],
    *,
    chance: str = "",
    enough: bool = False,
) -> Band:
    pairs = zip(colours, shares, strict=True)
    fields = tuple({"hex": colour.hex, "share": share} for colour, share in pairs)
    # A label is read against what it lies on: the left half, or the right.
    left, right = _half(colours, shares), _half(colours[::-1], shares[::-1])
    return Band(label, fields, _ink(left), chance, _ink(right), enough)


def _half(colours: Sequence[_Colour], shares: Sequence[float]) -> list[_Colour]:
    """The colours that lie in the first half of the width."""
    starts = accumulate(shares, initial=0.0)
    return [colour for colour, start in zip(colours, starts, strict=False) if start < _HALF]


def _ink(colours: Sequence[_Colour]) -> str:
    """Ink or white, whichever is read better where it is read worst (WCAG 2 contrast)."""
    lums = [float(lab_to_xyz(colour.lab)[1]) / 100.0 for colour in colours]
    dark = min((y + 0.05) / (_INK_Y + 0.05) for y in lums)
    light = min(1.05 / (y + 0.05) for y in lums)
    return INK if dark >= light else PAPER
