"""Writes the table of defaults in DEVELOPERS.md from the one that ships.

Run by hand after a default has changed: ``python tests/reference/make_defaults_page.py``.
"""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

from showthrough.defaults import Default, every_default

GUIDE = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"
HEAD = "| what | values, with the range and the geometric sd (x/÷) | unit | source | moves |"
RULE = "|---|---|---|---|---|"


def _cell(name: str, default: Default) -> str:
    span = "" if default.low is None else f" ({default.low:g} to {default.high:g})"
    sd = "" if default.sd is None else f" x/÷ {default.sd:g}"
    return f"{name} {default.value:g}{span}{sd}"


def page() -> list[str]:
    """The table, a row for each run of a group with one unit, source and effect."""

    def about(item: tuple[str, Default]) -> tuple[str, str, str, str]:
        key, default = item
        return key.partition(".")[0], default.unit, default.source, default.moves

    rows = [HEAD, RULE]
    for (group, unit, source, moves), run in groupby(every_default().items(), key=about):
        values = "; ".join(_cell(key.partition(".")[2], default) for key, default in run)
        rows.append(f"| {group} | {values} | {unit} | {source} | {moves} |")
    return rows


def told() -> list[str]:
    """The table as the guide has it."""
    part = GUIDE.read_text("utf-8").split("\n## Defaults\n")[1].split("\n## ", maxsplit=1)[0]
    return [line for line in part.splitlines() if line.startswith("|")]


if __name__ == "__main__":
    before, head, after = GUIDE.read_text("utf-8").partition("\n## Defaults\n")
    after = after.replace("\n".join(told()), "\n".join(page()), 1)
    GUIDE.write_text(before + head + after, "utf-8")
