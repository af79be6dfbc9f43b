"""The command line: translates words into a job and an answer into text.

What a command needs is imported inside that command, so that each starts quickly.
Exit codes: 0 done, 2 something in the input is wrong.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from showthrough.errors import InputError


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


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="showthrough",
        description="How many coats a colour takes over a surface, and what goes under and beside it.",
    )
    parser.add_argument("--version", action="store_true", help="print the version")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")

    predict = commands.add_parser(
        "predict",
        help="coats, undercoats and finishes for a job",
        description=(
            "Answer a job file, or two or more colours: the topcoat first, then each patch of "
            "the surface. A colour is hex (quote the #, or leave it out), lab(66 -24 55), "
            "lch(...), xyz(...), Munsell notation, 'lrv 45', or the name of a sample swatch."
        ),
    )
    predict.add_argument("job", metavar="JOB.toml|TOPCOAT", help="a job file, or the topcoat")
    predict.add_argument("surface", nargs="*", metavar="SURFACE", help="colour of each patch")
    predict.add_argument("--skin", help="coated or bare, for patches on the line")
    predict.add_argument("--ground", help="wood, varnish, paint, laminate ... for the same")
    _add_application(predict)
    _add_output(predict)
    predict.set_defaults(run=_predict)

    serve = commands.add_parser("serve", help="the page and the JSON service on this machine")
    serve.add_argument("--host", default="127.0.0.1", help="address to bind (default: loopback)")
    serve.add_argument("--port", type=int, default=8000)
    serve.set_defaults(run=_serve)

    practice = commands.add_parser(
        "practice", help="the model beside common practice, hits and misses"
    )
    practice.add_argument("--markdown", action="store_true", help="as a Markdown table")
    practice.set_defaults(run=_practice)

    colour = commands.add_parser("colour", help="one colour in every notation")
    colour.add_argument("colour", metavar="COLOUR", help="any notation, or a swatch's name")
    colour.add_argument("--illuminant", help="D50, D65, A or C: light of the reading")
    colour.add_argument("--observer", type=int, help="2 or 10 degrees")
    colour.set_defaults(run=_colour)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    parser = _parser()
    args = parser.parse_args(argv)
    if args.version:
        from showthrough import __version__

        print(f"showthrough {__version__}")
        return 0
    if args.command is None:
        parser.print_help()
        return 2
    try:
        return int(args.run(args))
    except InputError as error:
        from showthrough.terminal import problems_text

        sys.stderr.write(problems_text(error))
        return 2
    except BrokenPipeError:
        # The reader has seen enough (for instance head); that is no fault.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _looks_like_file(text: str) -> bool:
    return text.lower().endswith(".toml") or Path(text).is_file()


def _number_or_text(text: str) -> float | str:
    """A number where it is one; else the text, so that the schema says what is wrong."""
    try:
        return float(text)
    except ValueError:
        return text


def _with_options(job: dict[str, Any], args: argparse.Namespace) -> dict[str, Any]:
    """The job with what was said on the line put in; the schema checks it later."""
    application = job.get("application", {})
    topcoat = job.get("topcoat", {})
    if isinstance(application, dict):
        given = {"tool": args.tool, "coat": args.coat}
        stated = {k: v for k, v in given.items() if v is not None}
        if args.wet_film_um is not None:
            stated["wet_film_um"] = _number_or_text(args.wet_film_um)
        if stated:
            job = {**job, "application": {**application, **stated}}
    if args.volume_solids is not None and isinstance(topcoat, dict):
        solids = _number_or_text(args.volume_solids)
        job = {**job, "topcoat": {**topcoat, "volume_solids": solids}}
    return job


def job_from_line(args: argparse.Namespace) -> tuple[dict[str, Any], Path | None]:
    """The job that a command line stands for, and the folder that its files lie in."""
    if _looks_like_file(args.job):
        from showthrough.jobs.resolve import load_toml

        path = Path(args.job)
        if args.surface:
            raise InputError.at(
                "surface",
                " ".join(args.surface),
                "a job file already holds its surface; leave the colours out",
            )
        return _with_options(load_toml(path, "job"), args), path.parent
    if not args.surface:
        raise InputError.at(
            "job",
            args.job,
            f"{args.job} is no file; for the quick form give the topcoat and the surface, as in "
            "showthrough predict a3b84c 6b4a2a",
        )
    patches: list[dict[str, Any]] = []
    for i, colour in enumerate(args.surface):
        patch: dict[str, Any] = {"colour": colour}
        if len(args.surface) > 1:
            patch["name"] = f"patch {i + 1}"
        for key in ("skin", "ground"):
            if getattr(args, key) is not None:
                patch[key] = getattr(args, key)
        patches.append(patch)
    return _with_options({"topcoat": {"colour": args.job}, "surface": patches}, args), None


def _predict(args: argparse.Namespace) -> int:
    from showthrough.jobs.predict import predict

    job, folder = job_from_line(args)
    answer = predict(job, folder)
    if args.json:
        print(answer.model_dump_json(indent=2))
        return 0
    from showthrough import terminal

    colour = terminal.wants_colour(args.colour, sys.stdout)
    sys.stdout.write(terminal.prediction_text(answer, colour=colour, width=terminal.width_of()))
    return 0


def _serve(args: argparse.Namespace) -> int:
    from showthrough.web.serve import serve

    return serve(args.host, args.port)


def _practice(args: argparse.Namespace) -> int:
    from showthrough.jobs.practice import practice_table

    print(practice_table(markdown=args.markdown))
    return 0


def _colour(args: argparse.Namespace) -> int:
    from showthrough.jobs.convert import notations

    for name, text in notations(args.colour, args.illuminant, args.observer):
        print(f"{name:<8} {text}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
