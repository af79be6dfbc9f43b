"""What each command does. Imports stand inside so that a command loads only what it needs."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showthrough.cli.text.common import wants_colour, width_of
from showthrough.errors import InputError, ProblemList
from showthrough.records import store as records

if TYPE_CHECKING:
    from pydantic import BaseModel

    from showthrough.colour.files.swatches import SwatchFile


def looks_like_file(text: str) -> bool:
    """Whether a word on the line names a file rather than a colour."""
    if text.lower().endswith(".toml"):
        return True
    try:
        # A word alone is a colour even where a folder has its name.
        return Path(text).is_file() or (os.sep in text and Path(text).exists())
    except (OSError, ValueError):  # too long for a name, or no name at all
        return False


def _number_or_text(text: str) -> float | str:
    """A number where it is one; else the text, so that the schema says what is wrong."""
    try:
        if text.rstrip().endswith("%"):
            return float(text.rstrip()[:-1]) / 100.0
        return float(text)
    except ValueError:
        return text


def _with_options(job: dict[str, Any], args: argparse.Namespace) -> dict[str, Any]:
    """The job with what was said on the line put in; the schema checks it later."""
    film, solids = (
        None if text is None else _number_or_text(text)
        for text in (args.wet_film_um, args.volume_solids)
    )
    said = {
        "application": {"tool": args.tool, "coat": args.coat, "wet_film_um": film},
        "topcoat": {"volume_solids": solids},
    }
    for table, options in said.items():
        stated = {key: value for key, value in options.items() if value is not None}
        held = job.get(table, {})
        if stated and isinstance(held, dict):
            job = {**job, table: {**held, **stated}}
    by = getattr(args, "by", None)
    return job if by is None else {**job, "rank_by": by}


def print_json(answer: BaseModel) -> None:
    """The answer as JSON, in ASCII where standard output could not hold it otherwise."""
    text = answer.model_dump_json(indent=2)
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        text = json.dumps(json.loads(text), indent=2)
    print(text)


def tell(
    args: argparse.Namespace, answer: BaseModel, text: Callable[..., str], **more: Any
) -> None:
    """The answer as JSON where that was asked for, else as a text that fits the terminal."""
    if args.json:
        print_json(answer)
        return
    in_colour = wants_colour(args.colour, sys.stdout)
    sys.stdout.write(text(answer, colour=in_colour, width=width_of(), **more))


def save(path: Path, content: bytes, *, replace: bool) -> None:
    """Write a file; one that is there already is kept unless ``replace``."""
    keep(path, replace=replace)
    there = path.exists()
    try:
        path.write_bytes(content)
    except OSError as error:
        if not there:
            path.unlink(missing_ok=True)  # a full disk leaves the beginning of a file
        raise InputError.at(
            "save", str(path), f"{path} cannot be written: {error.strerror or error}"
        ) from error


def keep(path: Path, *, replace: bool) -> None:
    """Refuse to write over a file unless ``replace``."""
    if path.exists() and not replace:
        raise InputError.at(
            "save", str(path), f"{path} is there already; choose another name or add --replace"
        )


def job_from_line(args: argparse.Namespace) -> tuple[Mapping[str, Any], Path | None]:
    """The job that a command line stands for, and the folder that its files lie in."""
    job, folder = job_as_said(args)
    if not getattr(args, "from_records", False):
        return job, folder

    with records.opened.open_store() as store:
        return records.lessons.taught(store, job, folder), folder


def job_as_said(args: argparse.Namespace) -> tuple[dict[str, Any], Path | None]:
    """The job that a command line stands for, without what kept jobs teach it."""
    if looks_like_file(args.job):
        from showthrough.jobs.case.resolve import load_toml

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
            f"{args.job} is no job file, and a topcoat alone is not enough: say what it goes "
            "over as well, as in showthrough predict a3b84c 6b4a2a (topcoat, then surface)",
        )
    alike = {"skin": args.skin, "ground": args.ground}
    of_each = {key: said for key, said in alike.items() if said is not None}
    patches: list[dict[str, Any]] = [{"colour": colour, **of_each} for colour in args.surface]
    if len(patches) > 1:
        patches = [{**patch, "name": f"patch {n}"} for n, patch in enumerate(patches, 1)]
    return _with_options({"topcoat": {"colour": args.job}, "surface": patches}, args), None


def predict(args: argparse.Namespace) -> None:
    """Coats, undercoats and finishes."""
    from showthrough.cli.text.prediction import prediction_text
    from showthrough.jobs.predict import predict as predict_job

    tell(args, predict_job(*job_from_line(args)), prediction_text, full=args.full)


def plan(args: argparse.Namespace) -> None:
    """The whole job: steps, paint, days and money."""
    from showthrough.cli.text.whole import whole_text
    from showthrough.jobs.case.prepared import prepare
    from showthrough.jobs.whole import calendar as calendar_of
    from showthrough.jobs.whole import planned

    job = prepare(*job_from_line(args))
    if args.ics is not None:
        save(Path(args.ics), calendar_of(job).encode("utf-8"), replace=args.replace)
    tell(args, planned(job, None)[0], whole_text, full=args.full)


def log(args: argparse.Namespace) -> None:
    """Half way: what is left."""
    from showthrough.cli.text.halfway import halfway_text
    from showthrough.jobs.halfway import half_way

    left = None if args.left is None else _number_or_text(args.left)
    job, folder = job_from_line(args)
    answer = half_way(
        job,
        folder,
        enough=args.enough,
        after=args.after,
        test_piece=args.test_piece,
        way=args.way,
        group=args.group,
        left_ml=left,  # type: ignore[arg-type] # what is no number is refused by name
    )
    if args.json:
        print_json(answer)
    else:
        sys.stdout.write(halfway_text(answer, width=width_of(), full=args.full))


def sheet(args: argparse.Namespace) -> None:
    """The printed sheet: bench, customer and shopping pages."""
    from showthrough.sheets.sheet import sheet as sheet_of

    out = Path(args.out)
    keep(out, replace=args.replace)
    job, folder = job_from_line(args)
    html = sheet_of(job, folder, pages=args.pages, paper=args.paper, money=args.money)
    save(out, html.encode("utf-8"), replace=args.replace)


def soften(args: argparse.Namespace) -> None:
    """Smallest changes that save coats."""
    from showthrough.cli.text.more import softening_text
    from showthrough.jobs.soften.soften import soften as soften_job

    job, folder = job_from_line(args)
    problems = ProblemList()
    file = _swatches_of(args.swatches, problems, strict=True)
    swatches = None if file is None else file.swatches
    with problems.collecting():
        answer = soften_job(job, folder, budget=args.budget, swatches=swatches)
    problems.raise_if_any()
    tell(args, answer, softening_text, full=args.full)


def palette(args: argparse.Namespace) -> None:
    """What sits beside the topcoat."""
    from showthrough.cli.text.more import palette_text
    from showthrough.jobs.palette import palette as palette_job

    tell(args, palette_job(*job_from_line(args)), palette_text, full=args.full)


def sweep(args: argparse.Namespace) -> None:
    """Every swatch of a file over the surface."""
    from showthrough.cli.text.more import left_out_line, sweep_text
    from showthrough.jobs.sweep.sweep import sweep as sweep_job
    from showthrough.jobs.sweep.sweep import sweep_csv

    job, folder = job_from_line(args)
    problems = ProblemList()
    swatches = _swatches_of(args.swatches, problems, strict=args.strict)
    with progress_bar("swatches") as progress, problems.collecting():
        answer = sweep_job(
            job, swatches, folder, sort=args.sort, strict=args.strict, progress=progress
        )
    problems.raise_if_any()
    if answer.left_out:
        print(left_out_line(answer), file=sys.stderr)
    if args.csv and not args.json:
        sys.stdout.write(sweep_csv(answer))
    else:
        tell(args, answer, sweep_text, most=args.most)


def _swatches_of(path: str | None, problems: ProblemList, *, strict: bool) -> SwatchFile | None:
    """The painter's own swatch file, or None for the samples."""
    if path is not None:
        from showthrough.jobs.case.readings import read_swatch_file

        with problems.collecting():
            return read_swatch_file(path, strict=strict)
    return None


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None]]:
    """A bar on standard error while it is a terminal; silent elsewhere."""
    stream = sys.stderr
    if not stream.isatty():
        yield lambda _done, _all: None
        return

    def show(done: int, every: int) -> None:
        bar = "#" * round(30 * done / max(every, 1))
        stream.write(f"\r{bar:<30} {done} of {every} {what}")
        stream.flush()

    try:
        yield show
    finally:
        stream.write("\r\x1b[K")
        stream.flush()


def serve(args: argparse.Namespace) -> None:
    """The page and the JSON service."""
    from showthrough.web.serve import serve as run

    run(args.host, args.port)


def practice(args: argparse.Namespace) -> None:
    """The model beside common practice."""
    from showthrough.jobs.practice import practice_table

    print(practice_table(markdown=args.markdown))


def colour(args: argparse.Namespace) -> None:
    """One colour in every notation."""
    from showthrough.jobs.case.readings import notations

    for name, text in notations(args.colour, args.illuminant, args.observer):
        print(f"{name:<8} {text}")
