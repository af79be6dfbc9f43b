"""A prediction as a terminal shows it, with the ladder in true colour if it can."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from showthrough.cli.text.common import cut, field, fitted, wrapped
from showthrough.film.coats import MOST_COATS
from showthrough.say.chances import chance_words, count_words, plural
from showthrough.say.plan import way_line
from showthrough.say.words import off, parts_words, trust

if TYPE_CHECKING:
    from showthrough.jobs.answers.prediction import (
        GreyCurve,
        LadderStep,
        PlanStep,
        Prediction,
        UndercoatOption,
        WayShown,
    )

_LEGEND = (
    "(Figures: how different from the chip the thin spots look, in CIEDE2000; up to 1 is taken to "
    "look the same. Show-through: how different the patches look from each other.)"
)
_GREYS = "(N is the lightness of a grey on the Munsell scale, 0 black to 10 white.)"

_BAR = 24
_NAME = 18


def ladder_lines(steps: list[LadderStep], *, colour: bool, width: int) -> list[str]:
    """Coats as rows, patches as columns: thin spots, with the difference to the chip."""
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
    room = max(4, min(_BAR, width - 18))
    lines = []
    for count, chance in enough.items():
        bar = "#" * round(chance * room)
        lines.append(
            f"  {count:>4} {'coat ' if count == 1 else 'coats'} {bar:<{room}} {chance:4.0%}"
        )
    return lines


def _way_lines(ways: Sequence[WayShown], width: int) -> list[str]:
    """Ways in a line each."""
    out = []
    for way in ways:
        out += textwrap.wrap(way_line(way), width, initial_indent="  ", subsequent_indent="    ")
    return out


def _step_line(step: PlanStep) -> str:
    """One step of the plan: what is done, on what, with what."""
    on = "" if step.on == ["all"] else f" {', '.join(step.on)}"
    if step.kind == "topcoat":
        return f"{plural(step.coats or 0, 'topcoat')}: {step.product}"
    count = step.coats or 1
    several = f", {plural(count, 'coat')}" if count > 1 else ""
    return f"{step.kind.capitalize()}{on}: {step.product}{several}"


def _undercoat_line(option: UndercoatOption) -> str:
    shade = " ".join(x for x in (option.munsell, option.hex) if x)
    if option.parts:
        shade += f" (about {parts_words(option.parts)})"
    saved = ""
    if option.saved:
        saved = f", saves {option.saved}" if option.saved > 0 else f", costs {-option.saved} more"
    return (
        f"{option.name}{': ' + shade if shade else ''} - {count_words(option.total)} in all"
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


def _board(steps: list[LadderStep], *, colour: bool, width: int) -> list[str]:
    """The sample board: coats as rows, patches as fields; in words where there is no colour."""
    lines = []
    for step in steps:
        name = "as it is" if step.coat == 0 else plural(step.coat, "coat")
        cells = []
        for patch in step.patches:
            close = "wanted" if patch.thin.difference <= 1.0 else "shows"
            text = f" {cut(patch.name, 14)}: {close if step.coat else 'now'} "
            cells.append(field(patch.thin.hex, text) if colour else text.strip())
        lines.append(
            f"  {name:<9}" + ("" if colour else " ") + ("" if colour else ", ").join(cells)
        )
    return fitted(lines, width)


def prediction_text(answer: Prediction, *, colour: bool, width: int, full: bool = False) -> str:
    """The plan on one screen; ``full`` for every figure."""
    chip = field(answer.topcoat.hex, f" {answer.topcoat.hex} ") if colour else ""
    lines = [answer.title] if answer.title else []
    lines.append(f"{answer.topcoat_name} {chip}".rstrip())
    if answer.topcoat_note and full:
        lines += textwrap.wrap(answer.topcoat_note, width)
    lines += textwrap.wrap(answer.headline, width)
    if answer.coats.reason and not answer.ways:
        lines += textwrap.wrap(answer.coats.reason, width)
    lines.append("")
    for step in answer.plan:
        head = f"{step.number:>2}. "
        text = _step_line(step)
        if full:
            text += f" - {step.why} ({step.source})"
        lines += textwrap.wrap(
            text if full else cut(text, width - 4),
            width,
            initial_indent=head,
            subsequent_indent="    ",
        )
    if answer.ways:
        board = answer.ways[0].ladder
        lines += ["", *_board(board if full else _few(board), colour=colour, width=width)]
    if len(answer.ways) > 1:
        lines += ["", "Other ways"]
        lines += _way_lines(answer.ways[1:] if full else answer.ways[1:4], width)
    if full:
        lines += _rest(answer, colour=colour, width=width)
        return "\n".join(fitted(lines, width)).rstrip() + "\n"
    lines += ["", "Take care"]
    shown = answer.cautions_short[:_CAUTIONS] + answer.cautions_short[-1:]
    lines += [f"  - {cut(text, width - 4)}" for text in dict.fromkeys(shown)]
    lines.append("--full for all reasons, cautions and figures")
    return "\n".join(fitted(lines, width)).rstrip() + "\n"


_CAUTIONS = 3
"""Cautions on the first screen, most serious first; the reminder always closes them."""

_BOARD = 4
"""Rows of the board on the first screen."""


def _few(steps: list[LadderStep]) -> list[LadderStep]:
    """The first rows and the last."""
    return steps if len(steps) <= _BOARD else [*steps[: _BOARD - 1], steps[-1]]


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
            mark = field(finish.hex, f" {finish.hex} ") if colour else finish.hex
            lines.append(f"  {finish.rank}. {name} {mark}")
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
