"""A prediction as a terminal shows it, with the ladder in true colour if it can."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from showthrough.cli.text.common import cut, field, fitted, wrapped
from showthrough.film.coats import MOST_COATS
from showthrough.say.words import headline, off, parts_words, plural, trust

if TYPE_CHECKING:
    from showthrough.jobs.answers.prediction import (
        GreyCurve,
        LadderStep,
        Prediction,
        UndercoatOption,
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


def _undercoat_line(option: UndercoatOption) -> str:
    shade = " ".join(x for x in (option.munsell, option.hex) if x)
    if option.parts:
        shade += f" (about {parts_words(option.parts)})"
    total = "more than 12" if option.total is None else f"{option.total} in all"
    saved = ""
    if option.saved:
        saved = f", saves {option.saved}" if option.saved > 0 else f", costs {-option.saved} more"
    tie = ", a tie with the one above" if option.tie else ""
    unmet = "" if option.meets_needs else "; does not give the surface what it needs"
    topcoats = "no count" if option.topcoats is None else plural(option.topcoats, "topcoat")
    return (
        f"{option.name}{': ' + shade if shade else ''} - {topcoats}, {total}{saved}"
        f" ({option.chance:.0%}){tie}{unmet}"
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


def prediction_text(answer: Prediction, *, colour: bool, width: int) -> str:
    """The whole answer on a terminal."""
    coats = answer.coats
    lines = []
    if answer.title:
        lines.append(answer.title)
    head = headline(coats)
    chip = field(answer.topcoat.hex, f" {answer.topcoat.hex} ") if colour else answer.topcoat.hex
    lines.append(f"{answer.topcoat_name} {chip}: {head}")
    if answer.topcoat_note:
        lines += textwrap.wrap(answer.topcoat_note, width)
    if not answer.hiding.measured:
        lines += textwrap.wrap(f"An estimate. {trust(answer.hiding)}", width)
    lines += ["", *textwrap.wrap(answer.recommendation, width), ""]
    if coats.reason:
        lines += textwrap.wrap(coats.reason, width)
    lines += ["Chance that this many are enough", *enough_lines(coats.enough, width), ""]
    lines += ["Ladder", *ladder_lines(answer.ladder, colour=colour, width=width), ""]
    if answer.needs:
        lines += ["The surface needs", *wrapped((n.sentence for n in answer.needs), width), ""]
    lines += [
        "Under it",
        *(
            line
            for option in answer.undercoats
            for line in textwrap.wrap(
                f"{option.rank}. {_undercoat_line(option)}",
                width,
                initial_indent="  ",
                subsequent_indent="     ",
            )
        ),
        *grey_lines(answer.grey_curve, width),
        "",
    ]
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
    return "\n".join(fitted(lines, width)).rstrip() + "\n"
