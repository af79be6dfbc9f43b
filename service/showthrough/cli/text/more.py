"""Softening, palette and sweep answers as a terminal shows them."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from showthrough.cli.text.common import cut, fitted, mark, wrapped
from showthrough.errors import shown
from showthrough.say.chances import chance_words, change_words, count_words, plural, short_chance

if TYPE_CHECKING:
    from showthrough.jobs.answers.palette import Palette
    from showthrough.jobs.answers.softening import Softening
    from showthrough.jobs.sweep.sweep import Sweep

_SHOWN = 6
_FEW = 3
"""Rows of a block in the short text."""
_REST = "(--full for the rest)"
_LEAST_NAME = 12

_SOFTEN_LEGEND = (
    "(First figure: how different from the wanted colour it looks, in CIEDE2000; up to 1 is taken "
    "to look the same.)"
)
_PALETTE_LEGEND = (
    "(Figures: how much better it does with this colour than with most colours; then its harmony "
    "as such, from about -1.3, poor, to +1.5, good. Numbers of finishes: ANSI/BHMA A156.18.)"
)
_SWEEP_LEGEND = (
    "(Sure: chance that the coats are enough. Change: how different from the wanted colour; up to "
    "1 looks the same, 10 is another colour. Harmony: with the finish that gains most from it; "
    "more is better.)"
)


def softening_text(answer: Softening, *, colour: bool, width: int, full: bool = False) -> str:
    """Goals as blocks, ways as rows, smallest change first; the short text holds the least ones."""
    from showthrough.jobs.soften.soften import TAKEN_FOR_GRANTED

    coats = count_words(answer.coats)
    chip = mark(answer.wished.hex, colour=colour)
    lines = [answer.title] if answer.title else []
    lines += [f"{answer.wished_name} {chip}: {coats}", ""]
    for goal in answer.goals:
        money = "" if goal.saves_money is None else f", {goal.saves_money} {answer.currency}"
        saves = "" if goal.saves is None else f" (saves {goal.saves}{money})"
        own = f"the wanted colour itself is enough {chance_words(goal.wished_chance)}"
        lines += textwrap.wrap(f"For {plural(goal.coats, 'coat')}{saves}: {own}", width)
        reached = [a for a in goal.answers if a.difference is not None]
        reached.sort(key=lambda a: a.difference or 0.0)
        for way in reached if full else reached[:_FEW]:
            name = f"{way.words}: {way.swatch}" if way.swatch else way.words
            chip = mark(way.hex or "", colour=colour)
            change = f"{way.difference:5.1f}" if full else change_words(way.difference or 0.0)
            sure = chance_words(way.chance or 0.0)
            head = f"{change}  {chip}  {name}" if full else f"{chip}  {name}: {change}"
            lines.append(f"  {head}, {sure}")
        if full:
            missed = [a for a in goal.answers if a.difference is None]
            lines += [f"      -  {a.words}: {a.why}" for a in missed]
        lines.append("")
    if answer.goals and full:
        lines += [*textwrap.wrap(_SOFTEN_LEGEND, width), ""]
    if answer.vivid is not None:
        v = answer.vivid
        figures = (
            f": chroma {v.chroma_from:.0f} to {v.chroma_to:.0f}, a change of {v.difference:.1f}"
            if full
            else f" ({change_words(v.difference)})"
        )
        chip = mark(v.hex, colour=colour)
        lines += [f"As vivid as {chip} needs no more coats{figures}.", ""]
    lines += wrapped([n for n in answer.notes if full or n not in TAKEN_FOR_GRANTED], width)
    if not full:
        lines.append(_REST)
    return "\n".join(fitted(lines, width)).rstrip() + "\n"


def palette_text(answer: Palette, *, colour: bool, width: int, full: bool = False) -> str:
    """Finishes, second colours, woods, triples and lamps; the short text has a line for each."""
    chip = mark(answer.topcoat.hex, colour=colour)
    lines = [f"Beside {answer.topcoat_name} {chip}", ""]
    lines += [*textwrap.wrap(answer.finishes_summary, width), ""]

    def block(title: str, rows: list[tuple[str, str, float, float, str]]) -> None:
        if not rows:
            return
        lines.append(title)
        for name, hex_, advantage, harmony, why in rows[: _SHOWN if full else _FEW]:
            chip = mark(hex_, colour=colour)
            if not full:
                room = width - 3 - len(f" {hex_} ") - 2
                lines.append(f"  {chip}  {cut(name, room)}")
                continue
            lines.append(f"  {advantage:+.2f} {harmony:+.2f}  {chip}  {name}")
            lines.extend(
                textwrap.wrap(why, width, initial_indent=" " * 15, subsequent_indent=" " * 15)
            )
        lines.append("")

    block(
        "Hardware finishes",
        [
            (f"{f.code} {f.name}" if f.code else f.name, f.hex, f.advantage, f.harmony, f.why)
            for f in answer.finishes
        ],
    )
    for title, seconds in (
        ("Second colours", answer.second_colours),
        ("Woods left in sight", answer.woods),
    ):
        block(title, [(s.name, s.hex, s.advantage, s.harmony, s.why) for s in seconds])
    block(
        "Three together",
        [
            (f"{t.second} + {t.finish}", t.second_colour.hex, t.advantage, t.harmony, t.why)
            for t in answer.triples
        ],
    )
    if full:
        lines += [*textwrap.wrap(_PALETTE_LEGEND, width), ""]
    warned = [w for pair in answer.lamps for w in pair.warnings]
    remarks = dict.fromkeys(p.remark for p in answer.lamps if p.remark)
    lines.append("By day and in the evening")
    warned = warned or ["No pair among the first ones changes much."]
    lines += wrapped(warned if full else warned[:1], width)
    if full:
        lines += wrapped([r for r in remarks if r], width)
    else:
        lines.append(_REST)
    return "\n".join(fitted(lines, width)).rstrip() + "\n"


_COLUMNS = {"": 9, "coats": 5, "sure": 9, "with undercoat": 15, "change": 6, "harmony": 7}
"""Columns beside the name, with their widths."""

_FIRST_TO_GO = ("harmony", "", "sure", "change")


def sweep_text(answer: Sweep, *, colour: bool, most: int, width: int) -> str:
    """A table, one swatch a row; on a narrow terminal the least columns go."""
    widths = dict(_COLUMNS)
    for column in _FIRST_TO_GO:
        if sum(widths.values()) + 2 * len(widths) + _LEAST_NAME > width:
            del widths[column]
    room = min(32, width - sum(widths.values()) - 2 * len(widths))

    def line(name: str, cells: dict[str, str]) -> str:
        chip = [f"{cells['']:<9}"] if "" in widths else []
        rest = [f"{cells[c]:>{w}}" for c, w in widths.items() if c]
        return "  ".join([*chip, f"{cut(name, room):<{room}}", *rest])

    lines = [line("swatch", {column: column for column in widths})]
    for row in answer.rows[:most]:
        total = ">12" if row.total is None else str(row.total)
        cells = {
            "": mark(row.hex, colour=colour),
            "coats": ">12" if row.coats is None else str(row.coats),
            "sure": short_chance(row.chance),
            "with undercoat": f"{total} ({row.undercoat})",
            "change": f"{row.difference:.1f}",
            "harmony": "-" if row.harmony is None else f"{row.harmony:+.2f}",
        }
        lines.append(line(row.name, cells))
    if len(answer.rows) > most:
        lines.append(f"... and {len(answer.rows) - most} more: --csv or --json gives all")
    if answer.left_out:
        lines.append(f"Left out: {len(answer.left_out)}")
        lines += wrapped([f"{row.name}: {row.reason}" for row in answer.left_out[:_SHOWN]], width)
        if len(answer.left_out) > _SHOWN:
            lines.append(f"  ... and {len(answer.left_out) - _SHOWN} more: --json gives all")
    lines += textwrap.wrap(_SWEEP_LEGEND, width)
    return "\n".join(fitted(lines, width)) + "\n"


def left_out_line(answer: Sweep) -> str:
    """One line on the swatches that were left out."""
    count, first = len(answer.left_out), answer.left_out[0]
    every = count + len(answer.rows)
    return (
        f"{count} of {every} swatches left out, the first {shown(first.name)!r} "
        f"({shown(first.reason, 100)}); --json lists all, --strict refuses them"
    )
