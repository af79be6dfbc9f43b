"""A prediction as a terminal shows it, with the ladder in true colour if it can."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from showthrough.cli.text.common import cut, field, fitted, mark, named, numbered, wrapped
from showthrough.film.coats import MOST_COATS
from showthrough.say.chances import capital, chance_words, count_words, plural
from showthrough.say.ground import must_be_asked
from showthrough.say.plan import MOVED, first_cautions, step_line, way_line
from showthrough.say.words import off, parts_words, trust

if TYPE_CHECKING:
    from showthrough.jobs.answers.prediction import (
        GreyCurve,
        LadderStep,
        Prediction,
        UndercoatOption,
    )

_LEGEND = (
    "(Figures: how different from the chip the thinnest tenth looks, in CIEDE2000; up to 1 is "
    "taken to look the same. Show-through: how different the patches look from each other.)"
)
_GREYS = "(N is the lightness of a grey on the Munsell scale, 0 black to 10 white.)"

_BAR = 24
_NAME = 18


def ladder_lines(steps: list[LadderStep], *, colour: bool, width: int) -> list[str]:
    """Coats as rows, patches as columns: the thinnest tenth, with the difference to the chip."""
    patches = [p.name for p in steps[0].patches]
    several = len(patches) > 1
    room = max(8, min(_NAME, (width - 7 - (14 if several else 0)) // max(len(patches), 1)))
    head = "  coat " + "".join(f"{cut(name, room - 1):<{room}}" for name in patches)
    lines = [head.rstrip() + ("  show-through" if several else "")]
    for step in steps:
        cells = []
        for patch in step.patches:
            text = f" {patch.thin.hex} {off(patch.thin.difference):>4} "
            if room < len(text):
                text = f" {off(patch.thin.difference):>4} "
            text = f"{text:<{room}}"
            cells.append(field(patch.thin.hex, text) if colour else text)
        tail = f"  {off(step.show_through):>8}" if step.show_through is not None else ""
        lines.append(f"  {step.coat:>4} " + "".join(cells) + tail)
    lines += textwrap.wrap(_LEGEND, width, initial_indent="  ", subsequent_indent="  ")
    return lines


def enough_lines(enough: dict[int, float], width: int) -> list[str]:
    """The chance that each count is enough, as bars."""
    room = max(4, min(_BAR, width - 34))
    lines = []
    for count, chance in enough.items():
        bar = "#" * round(chance * room)
        coats = "coat " if count == 1 else "coats"
        lines.append(f"  {count:>4} {coats} {bar:<{room}} {chance_words(chance)}")
    return lines


def _undercoat_line(option: UndercoatOption) -> str:
    munsell = option.munsell and f"Munsell {option.munsell}"
    mix = option.parts and f"about {parts_words(option.parts)}"
    shade = ", ".join(x for x in (munsell, option.hex, mix) if x)
    saved = ""
    if option.saved:
        saved = f", saves {option.saved}" if option.saved > 0 else f", costs {-option.saved} more"
    return (
        f"{option.name}{f' ({shade})' if shade else ''}: {count_words(option.total)} in all"
        f"{saved} ({chance_words(option.chance)}). {option.why}"
    )


def grey_lines(curve: GreyCurve, width: int) -> list[str]:
    """Topcoats over each whole Munsell grey, and how wide the good range is."""
    whole = [p for p in curve.points if p.munsell_value == int(p.munsell_value)]
    if width < 11 + 5 * len(whole):
        whole = whole[1::2]
    values = " ".join(f"{f'N{p.munsell_value:g}':>4}" for p in whole)
    counts = " ".join(f"{'-' if p.topcoats is None else p.topcoats:>4}" for p in whole)
    lines = [f"  grey     {values}", f"  topcoats {counts}"]
    if curve.best_value is not None:
        least = f"  least paint over N {curve.best_value:g}"
        if curve.good_from is None:
            lines.append(f"{least}; over none do {MOST_COATS} topcoats")
        elif curve.good_from == curve.good_to:
            lines.append(f"{least}; as few topcoats: only N {curve.good_from:g}")
        else:
            span = f"N {curve.good_from:g} to N {curve.good_to:g}"
            lines.append(f"{least}; as few topcoats: {span}")
    lines += textwrap.wrap(_GREYS, width, initial_indent="  ", subsequent_indent="  ")
    return lines


_CELL = 8
"""Columns of a field of the board."""


def _board(steps: list[LadderStep], *, colour: bool, width: int, full: bool) -> list[str]:
    """The sample board: a row for each patch, a field for each count of topcoats."""
    names = [patch.name for patch in steps[0].patches]
    most = max(2, (width - 2 - _NAME) // _CELL)
    shown = steps if len(steps) <= most else [*steps[: most - 1], steps[-1]]
    room = width - 2 - _CELL * len(shown)
    room = min(room, max(len(_BOARD_HEAD), *map(len, names)) + 1)
    head = textwrap.wrap(_BOARD_HEAD, room)
    numbers = "".join(f"{step.coat:>{_CELL - 1}} " for step in shown).rstrip()
    lines = [f"  {part}" for part in head[:-1]] + [f"  {head[-1]:<{room}}{numbers}"]
    few = len(names) if full else _PATCHES
    for i, name in enumerate(names[:few]):
        first, *more = textwrap.wrap(name, room - 1)
        cells = ""
        for step in shown:
            thin = step.patches[i].thin
            text = f"{_seen(step.coat, thin.difference):>{_CELL - 1}} "
            cells += field(thin.hex, text) if colour else text
        lines += [f"  {first:<{room}}{cells}".rstrip(), *(f"  {part}" for part in more)]
    if len(names) > few:
        lines.append(f"  and {len(names) - few} more with --full")
    return lines


_BOARD_HEAD = "likely after so many topcoats"


def _seen(coat: int, delta_e: float) -> str:
    """How much of what lies under it still shows."""
    if coat and delta_e <= 1.0:
        return "hidden"
    return "nearly" if coat and delta_e <= _NEARLY else "shows"


_NEARLY = 3.0
"""CIEDE2000 up to which only a close look in good light finds what shows."""


def _head(answer: Prediction, *, colour: bool, width: int, full: bool) -> list[str]:
    """The job and its plan in a line each; of groups that differ their own plan too."""
    lines = named(answer, colour=colour, width=width)
    if answer.topcoat_note:
        lines += textwrap.wrap(answer.topcoat_note if full else MOVED, width)
    lines += textwrap.wrap(answer.headline, width)
    if answer.learned is not None:
        lines += textwrap.wrap(answer.learned.sentence, width)
    for group in answer.groups:
        if group.headline != answer.headline:
            lines += textwrap.wrap(f"{group.name}: {group.headline}", width)
    return lines


def prediction_text(answer: Prediction, *, colour: bool, width: int, full: bool = False) -> str:
    """The plan on one screen; ``full`` for every figure."""
    lines = _head(answer, colour=colour, width=width, full=full)
    if answer.coats.reason and not answer.ways:
        lines += textwrap.wrap(answer.coats.reason, width)
    why = {s.number: f". {capital(s.why)} ({s.source})." if full else "" for s in answer.plan}
    steps = [(step.number, step_line(step) + why[step.number]) for step in answer.plan]
    lines += ["", *numbered(steps, width)]
    if answer.ways:
        board = answer.ways[0].ladder
        lines += ["", *_board(board, colour=colour, width=width, full=full)]
    if len(answer.ways) > 1:
        lines += ["", "Other ways"]
        # What finished jobs changed takes the line of the last of them.
        few = _WAYS if answer.learned is None else _WAYS - 1
        for way in answer.ways[1:] if full else answer.ways[1 : 1 + few]:
            lines += textwrap.wrap(
                way_line(way), width, initial_indent="  ", subsequent_indent="    "
            )
    if full:
        lines += _rest(answer, colour=colour, width=width)
        return "\n".join(fitted(lines, width)).rstrip() + "\n"
    # The reminder always closes them; --full and the sheet have them whole.
    shown = first_cautions(answer.cautions_short, _CAUTIONS)
    more = len(answer.cautions_short) - len(dict.fromkeys(shown))
    rest = "reasons, figures, " + (plural(more, "more caution") if more else "whole cautions")
    tail = ["", f"Take care (--full for {rest})", *wrapped(dict.fromkeys(shown), width)]
    asked = wrapped(answer.questions[:1], width)
    room = len(lines) + len(tail) + len(asked) + 2 <= _SCREEN
    if asked and (room or must_be_asked(answer.questions[0])):
        lines += ["", "Worth knowing", *asked]
    return "\n".join(fitted([*lines, *tail], width)).rstrip() + "\n"


_WAYS = 3
"""Other ways on the first screen."""

_CAUTIONS = 3
"""Cautions on the first screen, most serious first."""

_PATCHES = 4
"""Rows of the board on the first screen."""

_SCREEN = 30
"""Lines of the first screen, where there is room for a question."""


def _rest(answer: Prediction, *, colour: bool, width: int) -> list[str]:
    """All that the first screen leaves out."""
    coats = answer.coats
    lines = [""]
    if answer.questions:
        lines += ["Worth knowing", *wrapped(answer.questions, width), ""]
    if not answer.hiding.measured:
        lines += [*textwrap.wrap(f"An estimate. {trust(answer.hiding)}", width), ""]
    if coats.reason and answer.ways:
        lines += textwrap.wrap(coats.reason, width)
    lines += [
        "Chance that this many topcoats are enough without an undercoat",
        *enough_lines(coats.enough, width),
        "",
        "Ladder without an undercoat",
        *ladder_lines(answer.ladder, colour=colour, width=width),
        "",
    ]
    if answer.needs:
        lines += ["The surface needs", *wrapped((n.sentence for n in answer.needs), width), ""]
    if answer.undercoats:
        lines += ["Under it", *wrapped(map(_undercoat_line, answer.undercoats), width)]
        lines += [*grey_lines(answer.grey_curve, width), ""]
    if answer.finishes:
        lines.append("Hardware finishes beside it (numbers: codes of ANSI/BHMA A156.18)")
        for finish in answer.finishes[:5]:
            name = f"{finish.code} {finish.name}" if finish.code else finish.name
            lines.append(f"  {finish.rank}. {name} {mark(finish.hex, colour=colour)}")
            why = f"{finish.why} {finish.caution or ''}".rstrip()
            lines += textwrap.wrap(why, width, initial_indent="     ", subsequent_indent="     ")
        lines.append("")
    for title, items in (
        ("Why", answer.reasons),
        ("Taken for granted", answer.assumptions),
        ("Take care", answer.cautions),
    ):
        lines += [title, *wrapped(items, width), ""]
    return lines
