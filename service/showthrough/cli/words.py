"""How the words of a command line are told to ``argparse``: as tables, a command a row."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeAlias

Run = Callable[[argparse.Namespace], None]
"""What a command does."""
_Container: TypeAlias = "argparse._ActionsContainer"  # noqa: SLF001 - its only name
Word = Callable[[_Container], object]
"""Adds an option, or several that belong together."""


@dataclass(frozen=True, slots=True)
class Command:
    """One command, or several under one name."""

    name: str
    help: str
    run: Run | None = None
    """None where others stand under it."""
    words: tuple[Word, ...] = ()
    description: str | None = None
    under: tuple[Command, ...] = ()


def word(*names: str, **settings: Any) -> Word:
    """One option or place of the line, as ``add_argument`` takes it."""
    return lambda container: container.add_argument(*names, **settings)


def flag(name: str, said: str, **settings: Any) -> Word:
    """An option that takes no value."""
    return word(name, **{"action": "store_true", "help": said, **settings})


def titled(title: str, *words: Word) -> Word:
    """Options under a title of their own."""
    return lambda container: _add(container.add_argument_group(title), words)


def one_of(*words: Word, required: bool = False) -> Word:
    """Options of which one may be given."""
    return lambda container: _add(container.add_mutually_exclusive_group(required=required), words)


def _add(container: _Container, words: Iterable[Word]) -> None:
    for each in words:
        each(container)


def add_commands(
    parser: argparse.ArgumentParser,
    commands: Iterable[Command],
    dest: str = "command",
    *,
    required: bool = False,
) -> None:
    """Add commands with all their words; those under another are told by ``what``."""
    sub = parser.add_subparsers(dest=dest, metavar=dest.upper(), required=required)
    for each in commands:
        made = sub.add_parser(each.name, help=each.help, description=each.description)
        _add(made, each.words)
        if each.under:
            add_commands(made, each.under, "what", required=True)
        else:
            made.set_defaults(run=each.run)


JSON = flag("--json", "the answer as JSON")
FULL = flag("--full", "everything, not the first few")
REPLACE = flag("--replace", "write over a file of that name")
OUTPUT = (
    JSON,
    word(
        "--colour",
        choices=("auto", "always", "never"),
        default="auto",
        help="true colour in the ladder (auto: where the terminal shows it)",
    ),
)
JOB = (
    word("job", metavar="JOB.toml|TOPCOAT", help="a job file, or the topcoat"),
    word("surface", nargs="*", metavar="SURFACE", help="colour of each patch"),
    word("--skin", help="coated or bare, for patches on the line"),
    word("--ground", help="wood, varnish, paint, laminate ... for the same"),
    flag("--from-records", "learn from the finished jobs that are kept (job log)"),
    titled(
        "how the paint is put on (also overrides a job file)",
        word("--tool", help="brush, roller, spray or aerosol"),
        word("--coat", help="light or full"),
        word("--wet-film-um", metavar="UM", help="wet film of one coat, µm"),
        word("--volume-solids", metavar="PART", help="part of the wet paint that stays"),
    ),
)
"""A job as it is said on the line."""
