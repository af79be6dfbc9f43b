"""The words of the commands on records: jobs, paints and customers that are kept."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TypeAlias

from showthrough.cli import records_commands as commands

_Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"  # noqa: SLF001 - its only name

_JOB = "its number, its title, or words that only it holds"


def add_records(sub: _Commands, add_job: Callable[[argparse.ArgumentParser], None]) -> None:
    """Add the commands ``job``, ``paint`` and ``customer``.

    Args:
        sub: the commands there are.
        add_job: adds the words that a job is said in on the line.
    """
    job = sub.add_parser(
        "job",
        help="jobs that are kept: add, list, show, edit, log, export, import, backup",
        description="Jobs that are kept, with every version, answer and outcome.",
    ).add_subparsers(dest="what", metavar="WHAT", required=True)
    _add_keeping(job, add_job)
    _add_log(job)
    _add_exchange(job)
    _add_paint(sub)
    _add_customer(sub)


def _with_json(parser: argparse.ArgumentParser, run: Callable[[argparse.Namespace], int]) -> None:
    parser.add_argument("--json", action="store_true", help="as JSON")
    parser.set_defaults(run=run)


def _add_keeping(job: _Commands, add_job: Callable[[argparse.ArgumentParser], None]) -> None:
    add = job.add_parser("add", help="keep a job with its answer")
    add_job(add)
    add.add_argument("--piece", default="", help="which piece it is, in your words")
    add.add_argument("--customer", help="number or name; a new name is a new customer")
    _with_json(add, commands.job_add)

    listing = job.add_parser("list", help="jobs, the one changed last first")
    listing.add_argument("words", nargs="*", metavar="WORD", help="that each of them holds")
    listing.add_argument("--state", help="open, done or archived (default: open and done)")
    listing.add_argument("--most", type=int, default=40, help="rows (default: 40)")
    _with_json(listing, commands.job_list)

    show = job.add_parser("show", help="one job, its answer, and what today's model says")
    show.add_argument("job", metavar="JOB", help=_JOB)
    show.add_argument("--version", dest="at", type=int, metavar="N", help="an earlier version")
    show.add_argument("--toml", action="store_true", help="only the job, as a job file")
    _with_json(show, commands.job_show)

    edit = job.add_parser("edit", help="keep a changed job as its next version")
    edit.add_argument("job", metavar="JOB", help=_JOB)
    edit.add_argument("file", metavar="JOB.toml", help="the whole changed job")
    edit.add_argument(
        "--made-from", type=int, required=True, metavar="N", help="version that you changed"
    )
    edit.add_argument("--piece", help="which piece it is, in your words")
    _with_json(edit, commands.job_edit)

    copy = job.add_parser("copy", help="a new job that says the same")
    copy.add_argument("job", metavar="JOB", help=_JOB)
    copy.add_argument("--title", help="of the new job")
    _with_json(copy, commands.job_copy)

    mark = job.add_parser("mark", help="mark a job as open, done or archived")
    mark.add_argument("job", metavar="JOB", help=_JOB)
    mark.add_argument("state", metavar="STATE", help="open, done or archived (kept, not listed)")
    _with_json(mark, commands.job_mark)

    photo = job.add_parser("photo", help="keep a photo with a job, without its place and time")
    photo.add_argument("job", metavar="JOB", help=_JOB)
    photo.add_argument("photo", metavar="PHOTO", help="JPEG, PNG, WebP or HEIC")
    photo.add_argument("--name", default="", help="what it shows, in your words")
    _with_json(photo, commands.job_photo)


def _add_log(job: _Commands) -> None:
    log = job.add_parser(
        "log",
        help="how a job came out, or a step that was done",
        description=(
            "Keep how a job came out: after how many topcoats, and whether that was enough. The "
            "job is done by that unless it did not look right yet."
        ),
    )
    log.add_argument("job", metavar="JOB", help=_JOB)
    log.add_argument("--after", type=int, metavar="TOPCOATS", help="that were laid")
    how = log.add_mutually_exclusive_group()
    for word in ("enough", "not enough", "gave up", "did not look"):
        how.add_argument(
            f"--{word.replace(' ', '-')}",
            dest="result",
            action="store_const",
            const=word,
            help=_RESULTS[word],
        )
    how.add_argument("--step", metavar="STEP", help="a step of the plan that was done, no outcome")
    how.add_argument("--undo", action="store_true", help="take the last outcome back")
    how.add_argument("--undo-step", metavar="STEP", help="take a step back that was not done")
    log.add_argument(
        "--stopped-by", metavar="WHAT", help="even: no edge showed; colour: it had the chip's"
    )
    log.add_argument(
        "--failed-by", metavar="WHY", help="bleeding, adhesion, runs or other, where not by hiding"
    )
    log.add_argument("--group", help="which group of the job (default: all of it)")
    log.add_argument("--used", type=float, metavar="ML", help="paint that went into the topcoats")
    log.add_argument("--area", type=float, metavar="M2", help="that they cover")
    log.add_argument("--wet-film-um", type=float, metavar="UM", help="of a coat, by a comb")
    log.add_argument("--minutes", type=float, help="at the bench for all topcoats")
    log.add_argument("--recoat-h", type=float, metavar="HOURS", help="between coats")
    log.add_argument("--note", default="", help="anything else")
    _with_json(log, commands.job_log)


_RESULTS = {
    "enough": "it looked right then, and one coat less did not",
    "not enough": "it did not look right yet",
    "gave up": "it did not look right, and no more was laid",
    "did not look": "so many were laid without looking",
}


def _add_exchange(job: _Commands) -> None:
    export = job.add_parser("export", help="everything that is kept, as one JSON file")
    export.add_argument("file", metavar="FILE.json", help="- for standard output")
    export.add_argument("--replace", action="store_true", help="write over a file of that name")
    _with_json(export, commands.job_export)

    intake = job.add_parser("import", help="take in an export; doing it twice changes nothing")
    intake.add_argument("file", metavar="FILE.json")
    _with_json(intake, commands.job_import)

    backup = job.add_parser("backup", help="a whole copy, also while others work")
    backup.add_argument("file", metavar="FILE", help="that is not there yet")
    _with_json(backup, commands.job_backup)


def _add_paint(sub: _Commands) -> None:
    paint = sub.add_parser(
        "paint", help="the paints on the shelf", description="The paints on the shelf."
    ).add_subparsers(dest="what", metavar="WHAT", required=True)
    add = paint.add_parser("add", help="put a paint on the shelf")
    add.add_argument(
        "paint",
        metavar="COLOUR|FILE.toml",
        help="a colour; a job file, for its topcoat; or a paint measured by drawdown",
    )
    add.add_argument("--name", default="", help="what to call it")
    add.add_argument("--batch", default="", help="as the can says")
    add.add_argument("--volume-solids", type=float, metavar="PART")
    add.add_argument("--density", type=float, metavar="G_ML", help="weight of a millilitre, g")
    add.add_argument("--size", type=float, metavar="ML", help="of the full can")
    add.add_argument("--left", type=float, metavar="ML", help="that it still holds")
    add.add_argument("--price", help="of the full can, as '21.00 EUR'")
    add.add_argument("--opened", metavar="DAY", help="as 2026-05-31")
    _with_json(add, commands.paint_add)

    listing = paint.add_parser("list", help="what is there")
    listing.add_argument("words", nargs="*", metavar="WORD", help="in its name or batch")
    listing.add_argument("--archived", action="store_true", help="those off the shelf as well")
    _with_json(listing, commands.paint_list)

    edit = paint.add_parser("edit", help="what is left of a paint, or that it is used up")
    edit.add_argument("paint", metavar="PAINT", help="its number or name")
    edit.add_argument("--made-from", type=int, required=True, metavar="N", help="version you saw")
    edit.add_argument("--left", type=float, metavar="ML")
    edit.add_argument("--opened", metavar="DAY")
    shelf = edit.add_mutually_exclusive_group()
    shelf.add_argument(
        "--archive",
        dest="archived",
        action="store_const",
        const=True,
        help="take it off the shelf",
    )
    shelf.add_argument(
        "--restore",
        dest="archived",
        action="store_const",
        const=False,
        help="put it back on the shelf",
    )
    _with_json(edit, commands.paint_edit)


def _add_customer(sub: _Commands) -> None:
    customer = sub.add_parser(
        "customer",
        help="customers: add, list, edit, erase",
        description="Whom the pieces belong to.",
    ).add_subparsers(dest="what", metavar="WHAT", required=True)
    add = customer.add_parser("add", help="keep a name and how to reach them")
    add.add_argument("name")
    add.add_argument("--contact", default="", help="address, telephone, on one line")
    _with_json(add, commands.customer_add)
    _with_json(customer.add_parser("list", help="those that are kept"), commands.customer_list)
    edit = customer.add_parser("edit", help="another name or contact")
    edit.add_argument("customer", metavar="CUSTOMER", help="number or name")
    edit.add_argument("--made-from", type=int, required=True, metavar="N", help="version you saw")
    edit.add_argument("--name", help="as before if left out")
    edit.add_argument("--contact", help="as before if left out")
    _with_json(edit, commands.customer_edit)
    erase = customer.add_parser("erase", help="forget all that is personal, for good")
    erase.add_argument("customer", metavar="CUSTOMER", help="number or name")
    erase.add_argument("--photos", action="store_true", help="the photos of their jobs as well")
    _with_json(erase, commands.customer_erase)
