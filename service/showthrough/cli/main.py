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
from typing import TextIO, TypeAlias

from showthrough.cli import commands, photo_commands
from showthrough.cli.records_parser import add_records
from showthrough.cli.text.common import OutputError, Printer, problems_text
from showthrough.errors import InputError

_Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"  # noqa: SLF001 - its only name

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


def _add_job(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB.toml|TOPCOAT", help="a job file, or the topcoat")
    parser.add_argument("surface", nargs="*", metavar="SURFACE", help="colour of each patch")
    parser.add_argument("--skin", help="coated or bare, for patches on the line")
    parser.add_argument("--ground", help="wood, varnish, paint, laminate ... for the same")
    parser.add_argument(
        "--from-records",
        action="store_true",
        help="learn from the finished jobs that are kept (job log)",
    )
    _add_application(parser)


def _add_application(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("how the paint is put on (also overrides a job file)")
    group.add_argument("--tool", help="brush, roller, spray or aerosol")
    group.add_argument("--coat", help="light or full")
    group.add_argument("--wet-film-um", metavar="UM", help="wet film of one coat, µm")
    group.add_argument("--volume-solids", metavar="PART", help="part of the wet paint that stays")


def _add_output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="the answer as JSON")
    parser.add_argument(
        "--colour",
        choices=("auto", "always", "never"),
        default="auto",
        help="true colour in the ladder (auto: where the terminal shows it)",
    )


def _add_full(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--full", action="store_true", help="everything, not the first few")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="showthrough",
        description=(
            "How many coats a colour takes over a surface, and what goes under and beside it."
        ),
    )
    parser.add_argument("--version", action="store_true", help="print the version")
    sub = parser.add_subparsers(dest="command", metavar="COMMAND")

    predict = sub.add_parser(
        "predict",
        help="coats, undercoats and finishes for a job",
        description=f"Answer a job file, or two or more colours. {_QUICK}",
    )
    _add_job(predict)
    _add_output(predict)
    predict.add_argument("--full", action="store_true", help="every reason, caution and figure")
    predict.set_defaults(run=commands.predict)

    plan = sub.add_parser(
        "plan",
        help="the whole job: steps, paint and cans, days, money",
        description=f"The whole job, from the lead test to the hand-over. {_QUICK}",
    )
    _add_job(plan)
    _add_output(plan)
    _add_full(plan)
    plan.add_argument("--by", help="rank the ways by coats, money or days (default: the job's)")
    plan.add_argument("--ics", metavar="FILE", help="write the days as a calendar file")
    plan.add_argument("--replace", action="store_true", help="write over a file of that name")
    plan.set_defaults(run=commands.plan)

    _add_log(sub)
    _add_sheet(sub)

    soften = sub.add_parser(
        "soften",
        help="the smallest change of the colour that saves a coat",
        description=f"How little the topcoat must change to need fewer coats. {_QUICK}",
    )
    _add_job(soften)
    soften.add_argument("--budget", type=int, metavar="COATS", help="coats you want to spend")
    soften.add_argument("--swatches", metavar="FILE", help=_SWATCHES)
    _add_full(soften)
    _add_output(soften)
    soften.set_defaults(run=commands.soften)

    palette = sub.add_parser(
        "palette",
        help="finishes, second colours and woods beside the topcoat",
        description=f"What sits well beside the topcoat. {_QUICK}",
    )
    _add_job(palette)
    _add_full(palette)
    _add_output(palette)
    palette.set_defaults(run=commands.palette)

    sweep = sub.add_parser(
        "sweep",
        help="every swatch of a file over the surface",
        description=f"Reckon every swatch as the topcoat. {_QUICK}",
    )
    _add_job(sweep)
    sweep.add_argument("--swatches", metavar="FILE", help=f"{_SWATCHES} (default: the samples)")
    sweep.add_argument(
        "--strict", action="store_true", help="leave no impossible swatch out: refuse"
    )
    sweep.add_argument("--sort", default="coats", help="coats, total, difference, harmony or name")
    sweep.add_argument("--most", type=_count, default=40, help="rows on the terminal (default: 40)")
    sweep.add_argument("--csv", action="store_true", help="all rows as CSV")
    _add_output(sweep)
    sweep.set_defaults(run=commands.sweep)

    serve = sub.add_parser("serve", help="the page and the JSON service on this machine")
    serve.add_argument("--host", default="127.0.0.1", help="address to bind (default: loopback)")
    serve.add_argument("--port", type=int, default=8000)
    serve.set_defaults(run=commands.serve)

    _add_lookups(sub)
    _add_photo_commands(sub)
    add_records(sub, _add_job)
    return parser


def _add_lookups(sub: _Commands) -> None:
    practice = sub.add_parser("practice", help="the model beside common practice, hits and misses")
    practice.add_argument("--markdown", action="store_true", help="as a Markdown table")
    practice.set_defaults(run=commands.practice)

    colour = sub.add_parser("colour", help="one colour in every notation")
    colour.add_argument("colour", metavar="COLOUR", help="any notation, or a swatch's name")
    colour.add_argument("--illuminant", help="D50, D65, A or C: light of the reading")
    colour.add_argument("--observer", type=int, help="2 or 10 degrees")
    colour.set_defaults(run=commands.colour)


def _add_log(sub: _Commands) -> None:
    log = sub.add_parser(
        "log",
        help="half way: what is left after the coats that are on",
        description=f"Say what was seen once coats were dry; the rest is reckoned anew. {_QUICK}",
    )
    _add_job(log)
    seen = log.add_argument_group("what was seen")
    where = seen.add_mutually_exclusive_group(required=True)
    where.add_argument("--after", type=_count, metavar="COATS", help="topcoats on the piece")
    where.add_argument("--test-piece", type=_count, metavar="COATS", help="or on a test piece")
    how = seen.add_mutually_exclusive_group(required=True)
    how.add_argument("--enough", action="store_true", help="it hides")
    how.add_argument("--not-enough", dest="enough", action="store_false", help="it still shows")
    seen.add_argument("--way", metavar="KEY", help="the way that was taken (default: the first)")
    seen.add_argument("--group", metavar="NAME", help="which group (default: the largest)")
    seen.add_argument("--left", metavar="ML", help="topcoat that is left in the tins, ml")
    _add_full(log)
    log.add_argument("--json", action="store_true", help="the answer as JSON")
    log.set_defaults(run=commands.log)


def _add_sheet(sub: _Commands) -> None:
    sheet = sub.add_parser(
        "sheet",
        help="the printed sheet: bench, customer and shopping pages as one HTML file",
        description=f"The whole job on paper; print it from any browser. {_QUICK}",
    )
    _add_job(sheet)
    sheet.add_argument("--out", metavar="FILE.html", required=True, help="where the sheet goes")
    sheet.add_argument("--replace", action="store_true", help="write over a file of that name")
    sheet.add_argument(
        "--for",
        dest="pages",
        choices=("all", "bench", "customer", "shopping"),
        default="all",
        help="whose page (default: all)",
    )
    sheet.add_argument(
        "--paper", choices=("a4", "letter"), help="default: letter for US units, else a4"
    )
    sheet.add_argument(
        "--money", action="store_true", help="price and clause on the customer's page, never costs"
    )
    sheet.set_defaults(run=commands.sheet)


def _add_photo(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("photo", metavar="PHOTO", help="JPEG, PNG, WebP or HEIC")
    group = parser.add_argument_group(
        "what the picture holds (places are left,top,right,bottom in fractions of it, or corners)"
    )
    group.add_argument(
        "--card",
        action="append",
        metavar="PLACE[=COLOUR]",
        help="a card of known colour; =white, =grey or =black for a typical one (default: white)",
    )
    group.add_argument("--sheet", action="append", metavar="PLACE", help="a plain, even area")
    group.add_argument(
        "--chart", metavar="CORNERS|find", help="a 24-patch chart: its corner patches, or find"
    )
    group.add_argument(
        "--chart-values",
        metavar="FILE",
        help="its 24 colours in reading order, CSV of name,L,a,b or the CGATS text of ISO 28178 "
        "(default: the average of measured charts)",
    )
    group.add_argument("--light", help="kind of light, if you know it")
    group.add_argument(
        "--plain",
        action="store_true",
        help="the file comes from a raw converter with all processing off (default: a phone's own)",
    )


def _add_photo_commands(sub: _Commands) -> None:
    chip = sub.add_parser("chip", help="the colour of a chip or lid smear in a photo")
    _add_photo(chip)
    chip.add_argument("--region", metavar="PLACE", help="where the chip lies (default: everywhere)")
    _add_output(chip)
    chip.set_defaults(run=photo_commands.chip)

    surface = sub.add_parser("surface", help="the patches of a bare piece in a photo")
    _add_photo(surface)
    surface.add_argument("--area", metavar="PLACE", help="the surface (default: all of it)")
    surface.add_argument("--most", type=int, help="most patches, 2 to 6")
    surface.add_argument("--toml", action="store_true", help="only the blocks for a job file")
    _add_output(surface)
    surface.set_defaults(run=photo_commands.surface)

    drawdown = sub.add_parser(
        "drawdown",
        help="measure a paint over a black and white card",
        description=(
            "Four readings (bare_black, bare_white, over_black, over_white) or the regions of a "
            "photo, with wet_film_um and volume_solids, in a TOML file."
        ),
    )
    drawdown.add_argument("readings", metavar="DRAWDOWN.toml")
    drawdown.add_argument("--photo", metavar="PHOTO", help="where the file gives regions")
    drawdown.add_argument("--save", metavar="PAINT.toml", help="keep the paint for job files")
    drawdown.add_argument("--replace", action="store_true", help="write over a file of that name")
    _add_output(drawdown)
    drawdown.set_defaults(run=photo_commands.drawdown)

    preview = sub.add_parser(
        "preview", help="a photo as it would look after each coat", description=_QUICK
    )
    preview.add_argument("photo", metavar="PHOTO", help="the bare piece")
    _add_job(preview)
    preview.add_argument(
        "--area",
        action="append",
        metavar="PLACE[=PATCH]",
        required=True,
        help="what is painted, and which patch of the job it is",
    )
    preview.add_argument("--coats", type=int, help="how many (default: the likely count)")
    preview.add_argument("--undercoat", action="store_true", help="over the best undercoat")
    preview.add_argument("--out", metavar="FOLDER", required=True, help="where pictures go")
    preview.add_argument("--side-by-side", action="store_true", help="one picture for all coats")
    preview.add_argument(
        "--replace", action="store_true", help="in place of earlier pictures, which go"
    )
    preview.set_defaults(run=photo_commands.preview)


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
    return int(args.run(args))


if __name__ == "__main__":
    sys.exit(run())
