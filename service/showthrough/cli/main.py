"""The command line: translates words into a job and an answer into text.

What a command needs is imported inside that command, so that each starts quickly.
Exit codes: 0 done, 1 the answer cannot be written, 2 something in the input is wrong.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import TextIO

from showthrough.cli import commands, photo_commands
from showthrough.cli.records_words import RECORDS
from showthrough.cli.text.common import OutputError, Printer, problems_text
from showthrough.cli.words import (
    FULL,
    JOB,
    JSON,
    OUTPUT,
    REPLACE,
    Command,
    add_commands,
    flag,
    one_of,
    titled,
    word,
)
from showthrough.errors import InputError

_QUICK = (
    "In the quick form the topcoat comes first, then each patch of the surface. A colour is hex "
    "(quote the #, or leave it out), 'lab(66 -24 55)', 'lch(...)', 'xyz(...)', Munsell notation, "
    "'lrv 45', or the name of a sample swatch."
)

_SWATCHES = (
    "your own colours: CSV of name,L,a,b or of name and hex or another notation, or the CGATS "
    "text of ISO 28178"
)


def _count(text: str) -> int:
    """A whole number of 0 or more; argparse names the option."""
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number of 0 or more")
    return int(text)


_PHOTO = (
    word("photo", metavar="PHOTO", help="JPEG, PNG, WebP or HEIC"),
    titled(
        "what the picture holds (places are left,top,right,bottom in fractions of it, or corners)",
        word(
            "--card",
            action="append",
            metavar="PLACE[=COLOUR]",
            help="a card of known colour; =white, =grey or =black for a typical one "
            "(default: white)",
        ),
        word("--sheet", action="append", metavar="PLACE", help="a plain, even area"),
        word(
            "--chart",
            metavar="CORNERS|find",
            help="a 24-patch chart: its corner patches, or find",
        ),
        word(
            "--chart-values",
            metavar="FILE",
            help="its 24 colours in reading order, CSV of name,L,a,b or the CGATS text of "
            "ISO 28178 (default: the average of measured charts)",
        ),
        word("--light", help="kind of light, if you know it"),
        flag(
            "--plain",
            "the file comes from a raw converter with all processing off (default: a phone's own)",
        ),
    ),
)

COMMANDS = (
    Command(
        "predict",
        "coats, undercoats and finishes for a job",
        commands.predict,
        (*JOB, *OUTPUT, flag("--full", "every reason, caution and figure")),
        f"Answer a job file, or two or more colours. {_QUICK}",
    ),
    Command(
        "plan",
        "the whole job: steps, paint and cans, days, money",
        commands.plan,
        (
            *JOB,
            *OUTPUT,
            FULL,
            word("--by", help="rank the ways by coats, money or days (default: the job's)"),
            word("--ics", metavar="FILE", help="write the days as a calendar file"),
            REPLACE,
        ),
        f"The whole job, from the lead test to the hand-over. {_QUICK}",
    ),
    Command(
        "log",
        "half way: what is left after the coats that are on",
        commands.log,
        (
            *JOB,
            titled(
                "what was seen",
                one_of(
                    word("--after", type=_count, metavar="COATS", help="topcoats on the piece"),
                    word("--test-piece", type=_count, metavar="COATS", help="or on a test piece"),
                    required=True,
                ),
                one_of(
                    flag("--enough", "it hides"),
                    flag("--not-enough", "it still shows", dest="enough", action="store_false"),
                    required=True,
                ),
                word("--way", metavar="KEY", help="the way that was taken (default: the first)"),
                word("--group", metavar="NAME", help="which group (default: the largest)"),
                word("--left", metavar="ML", help="topcoat that is left in the tins, ml"),
            ),
            FULL,
            JSON,
        ),
        f"Say what was seen once coats were dry; the rest is reckoned anew. {_QUICK}",
    ),
    Command(
        "sheet",
        "the printed sheet: bench, customer and shopping pages as one HTML file",
        commands.sheet,
        (
            *JOB,
            word("--out", metavar="FILE.html", required=True, help="where the sheet goes"),
            REPLACE,
            word(
                "--for",
                dest="pages",
                choices=("all", "bench", "customer", "shopping"),
                default="all",
                help="whose page (default: all)",
            ),
            word("--paper", choices=("a4", "letter"), help="default: letter for US units, else a4"),
            flag("--money", "price and clause on the customer's page, never costs"),
        ),
        f"The whole job on paper; print it from any browser. {_QUICK}",
    ),
    Command(
        "soften",
        "the smallest change of the colour that saves a coat",
        commands.soften,
        (
            *JOB,
            word("--budget", type=int, metavar="COATS", help="coats you want to spend"),
            word("--swatches", metavar="FILE", help=_SWATCHES),
            FULL,
            *OUTPUT,
        ),
        f"How little the topcoat must change to need fewer coats. {_QUICK}",
    ),
    Command(
        "palette",
        "finishes, second colours and woods beside the topcoat",
        commands.palette,
        (*JOB, FULL, *OUTPUT),
        f"What sits well beside the topcoat. {_QUICK}",
    ),
    Command(
        "sweep",
        "every swatch of a file over the surface",
        commands.sweep,
        (
            *JOB,
            word("--swatches", metavar="FILE", help=f"{_SWATCHES} (default: the samples)"),
            flag("--strict", "leave no impossible swatch out: refuse"),
            word("--sort", default="coats", help="coats, total, difference, harmony or name"),
            word("--most", type=_count, default=40, help="rows on the terminal (default: 40)"),
            flag("--csv", "all rows as CSV"),
            *OUTPUT,
        ),
        f"Reckon every swatch as the topcoat. {_QUICK}",
    ),
    Command(
        "serve",
        "the page and the JSON service on this machine",
        commands.serve,
        (
            word("--host", default="127.0.0.1", help="address to bind (default: loopback)"),
            word("--port", type=int, default=8000),
        ),
    ),
    Command(
        "practice",
        "the model beside common practice, hits and misses",
        commands.practice,
        (flag("--markdown", "as a Markdown table"),),
    ),
    Command(
        "colour",
        "one colour in every notation",
        commands.colour,
        (
            word("colour", metavar="COLOUR", help="any notation, or a swatch's name"),
            word("--illuminant", help="D50, D65, A or C: light of the reading"),
            word("--observer", type=int, help="2 or 10 degrees"),
        ),
    ),
    Command(
        "chip",
        "the colour of a chip or lid smear in a photo",
        photo_commands.chip,
        (
            *_PHOTO,
            word("--region", metavar="PLACE", help="where the chip lies (default: everywhere)"),
            *OUTPUT,
        ),
    ),
    Command(
        "surface",
        "the patches of a bare piece in a photo",
        photo_commands.surface,
        (
            *_PHOTO,
            word("--area", metavar="PLACE", help="the surface (default: all of it)"),
            word("--most", type=int, help="most patches, 2 to 6"),
            flag("--toml", "only the blocks for a job file"),
            *OUTPUT,
        ),
    ),
    Command(
        "drawdown",
        "measure a paint over a black and white card",
        photo_commands.drawdown,
        (
            word("readings", metavar="DRAWDOWN.toml"),
            word("--photo", metavar="PHOTO", help="where the file gives regions"),
            word("--save", metavar="PAINT.toml", help="keep the paint for job files"),
            REPLACE,
            *OUTPUT,
        ),
        "Four readings (bare_black, bare_white, over_black, over_white) or the regions of a "
        "photo, with wet_film_um and volume_solids, in a TOML file.",
    ),
    Command(
        "preview",
        "a photo as it would look after each coat",
        photo_commands.preview,
        (
            word("photo", metavar="PHOTO", help="the bare piece"),
            *JOB,
            word(
                "--area",
                action="append",
                metavar="PLACE[=PATCH]",
                required=True,
                help="what is painted, and which patch of the job it is",
            ),
            word("--coats", type=int, help="how many (default: the likely count)"),
            flag("--undercoat", "over the best undercoat"),
            word("--out", metavar="FOLDER", required=True, help="where pictures go"),
            flag("--side-by-side", "one picture for all coats"),
            flag("--replace", "in place of earlier pictures, which go"),
        ),
        _QUICK,
    ),
    *RECORDS,
)


def run() -> int:
    """Run one command as a process of its own, which is over before its garbage matters."""
    gc.set_threshold(100_000)  # looking for circles while modules load costs a thirtieth of it
    # No plugin changes what a job means; to look for one reads about every package installed.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
    return main()


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    out, told = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = Printer(out), Printer(told)
    try:
        code = _run(argv)
        sys.stdout.flush()  # a reader that has gone is met here, not at the end of Python
    except InputError as error:
        _tell(problems_text(error))
        return 2
    except OutputError as error:
        _let_go(out)
        _tell(f"{error}\n")
        return 1
    except KeyboardInterrupt:
        return 130  # as a shell counts it
    except BrokenPipeError:
        _let_go(out)  # the reader has seen enough (for instance head); that is no fault
        return 0
    finally:
        sys.stdout, sys.stderr = out, told
    return code


def _tell(text: str) -> None:
    """A text for the painter, where anybody reads it."""
    with suppress(OutputError, BrokenPipeError):
        sys.stderr.write(text)
        sys.stderr.flush()


def _let_go(stream: TextIO | None) -> None:
    """Send what is still held back nowhere: Python would try to write it once more at its end."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())  # type: ignore[union-attr] # None is caught


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="showthrough",
        description=(
            "How many coats a colour takes over a surface, and what goes under and beside it."
        ),
    )
    parser.add_argument("--version", action="store_true", help="print the version")
    add_commands(parser, COMMANDS)
    return parser


def _run(argv: Sequence[str] | None) -> int:
    parser = _parser()
    try:
        args = parser.parse_args(argv)
    except SystemExit:
        sys.stdout.flush()  # help that cannot be written is met here as well
        raise
    if args.version:
        from showthrough import __version__

        print(f"showthrough {__version__}")
        return 0
    if args.command is None:
        parser.print_help()
        return 2
    args.run(args)
    return 0


if __name__ == "__main__":
    sys.exit(run())
