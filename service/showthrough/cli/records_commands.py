"""What the commands on records do. The database's libraries load inside them alone."""

from __future__ import annotations

import argparse
import dataclasses
import json
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showthrough.cli.commands import job_as_said, looks_like_file, save
from showthrough.cli.text.common import width_of
from showthrough.errors import InputError, ProblemList
from showthrough.records import store as records

if TYPE_CHECKING:
    from showthrough.records.store.shape.rows import JobLine


def _tell(args: argparse.Namespace, value: Any, text: Iterable[str]) -> None:
    """The value as JSON, where that was asked for, else the lines."""
    if args.json:
        print(json.dumps(value, indent=2, default=dataclasses.asdict))
    else:
        sys.stdout.write("".join(f"{line}\n" for line in text))


def _tell_line(args: argparse.Namespace, line: JobLine, what: str) -> None:
    title = f": {line.title}" if line.title else ""
    _tell(args, line, [f"Job {line.number}, version {line.version} {what}{title}"])


def job_add(args: argparse.Namespace) -> None:
    """Keep a job."""
    # What it is learned from is kept beside its answer in any case: it is none of what it says.
    job, folder = job_as_said(args)
    with records.opened.open_store() as store:
        line = records.jobs.add(store, job, folder, piece=args.piece, customer=args.customer)
    _tell_line(args, line, "is kept")


def job_list(args: argparse.Namespace) -> None:
    """Jobs in rows."""
    from showthrough.cli.text.records import jobs_text

    words = " ".join(args.words)
    with records.opened.open_store() as store:
        lines = records.jobs.listed(store, words, state=args.state, most=max(0, args.most))
        every = records.jobs.counted(store, words, state=args.state)
    _tell(args, lines, jobs_text(lines, every, width=width_of()))


def job_show(args: argparse.Namespace) -> None:
    """One job."""
    from showthrough.cli.text.records import job_text

    with records.opened.open_store() as store:
        found = records.jobs.opened(store, args.job, args.at)
        if args.toml:
            import tomli_w

            sys.stdout.write(tomli_w.dumps(found.shown.job))
            return
        problems = ProblemList()
        again = None
        with problems.collecting():
            again = records.jobs.reckoned_again(store, found.line.number, args.at)
    refused = [str(problem) for problem in problems.problems]
    value = {**dataclasses.asdict(found), "again": again, "refused": refused}
    _tell(args, value, job_text(found, again, refused, width=width_of()))


def job_edit(args: argparse.Namespace) -> None:
    """Keep a changed job."""
    from showthrough.jobs.case.resolve import load_toml

    path = Path(args.file)
    job = load_toml(path, "job")
    with records.opened.open_store() as store:
        line = records.jobs.save(
            store, args.job, job, path.parent, made_from=args.made_from, piece=args.piece
        )
    _tell_line(args, line, "is kept")


def job_copy(args: argparse.Namespace) -> None:
    """A new job that says the same."""
    with records.opened.open_store() as store:
        _tell_line(args, records.jobs.duplicate(store, args.job, title=args.title), "is kept")


def job_mark(args: argparse.Namespace) -> None:
    """Open, done or archived."""
    with records.opened.open_store() as store:
        line = records.jobs.set_state(store, args.job, args.state)
    _tell_line(args, line, f"is {line.state}")


def job_photo(args: argparse.Namespace) -> None:
    """Keep a photo."""
    from showthrough.files import read_file
    from showthrough.photo.picture.load import MAX_BYTES

    data = read_file(args.photo, "photo", MAX_BYTES)
    with records.opened.open_store() as store:
        photo = records.photos.add_photo(store, args.job, data, args.name)
    size = f"{photo.width} x {photo.height} pixels"
    _tell(args, photo, [f"Photo {photo.sha256[:12]} is kept, {size}, nothing but the picture"])


def job_log(args: argparse.Namespace) -> None:
    """How it came out, a step, or an outcome taken back."""
    from showthrough.cli.text.records import outcome_line, step_line

    with records.opened.open_store() as store:
        if args.undo:
            value: Any = records.outcomes.undo(store, args.job)
            told = [f"Taken back: {outcome_line(value)}"]
        elif args.undo_step is not None:
            value = records.outcomes.step_undone(store, args.job, args.undo_step)
            told = [f"Taken back: {step_line(value)}"]
        elif args.step is not None:
            value = records.outcomes.step_done(store, args.job, args.step, note=args.note)
            told = [f"Done: {step_line(value)}"]
        elif args.result is None or args.after is None:
            raise InputError.at(
                "log",
                "",
                "say after how many topcoats and how it looked, as --after 4 --enough (or "
                "--not-enough, --gave-up, --did-not-look); or --step, --undo or --undo-step",
            )
        else:
            value = records.outcomes.log(
                store,
                args.job,
                after=args.after,
                result=args.result,
                stopped_by=args.stopped_by,
                failed_by=args.failed_by,
                group=args.group,
                used_ml=args.used,
                area_m2=args.area,
                wet_film_um=args.wet_film_um,
                minutes=args.minutes,
                recoat_h=args.recoat_h,
                note=args.note,
            )
            line = records.jobs.opened(store, value.job).line
            told = [f"Kept: {outcome_line(value)}", f"Job {line.number} is {line.state}"]
    _tell(args, value, told)


def job_export(args: argparse.Namespace) -> None:
    """Everything as JSON."""
    from showthrough.cli.commands import keep

    if args.file != "-":
        keep(Path(args.file), replace=args.replace)
    with records.opened.open_store() as store:
        text = records.exchange.exported(store)
    if args.file == "-":
        sys.stdout.write(text)
        return
    save(Path(args.file), text.encode("ascii"), replace=args.replace)
    told = f"Everything is in {args.file} ({len(text) / 1e6:.1f} MB), with names and photos"
    _tell(args, {"file": args.file, "bytes": len(text)}, [told])


def job_import(args: argparse.Namespace) -> None:
    """Take in an export."""
    from showthrough.cli.text.records import imported_text
    from showthrough.files import read_file

    text = read_file(args.file, "export", records.exchange.MOST_BYTES)
    with records.opened.open_store() as store:
        done = records.exchange.import_all(store, text)
    _tell(args, done, imported_text(done))


def job_backup(args: argparse.Namespace) -> None:
    """A whole copy."""
    with records.opened.open_store() as store:
        path = records.backup.backup(store, args.file)
        what = "an export of the server's records" if store.path is None else "a whole copy"
    _tell(args, {"file": str(path)}, [f"{path} holds {what}"])


def paint_add(args: argparse.Namespace) -> None:
    """Put a paint on the shelf."""
    from showthrough.cli.text.records import paints_text

    folder = None
    topcoat: Any = {"colour": args.paint}
    if looks_like_file(args.paint):
        from showthrough.jobs.case.resolve import load_toml

        path = Path(args.paint)
        table, folder = load_toml(path, "paint"), path.parent
        topcoat = table.get("topcoat", {"paint": table})
    if args.volume_solids is not None and isinstance(topcoat, dict):
        topcoat = {**topcoat, "volume_solids": args.volume_solids}
    with records.opened.open_store() as store:
        paint = records.paints.add_paint(
            store,
            topcoat,
            folder,
            name=args.name,
            batch=args.batch,
            density_g_ml=args.density,
            size_ml=args.size,
            left_ml=args.left,
            price=args.price,
            opened=args.opened,
        )
    _tell(args, paint, paints_text([paint]))


def paint_list(args: argparse.Namespace) -> None:
    """What is on the shelf."""
    from showthrough.cli.text.records import paints_text

    with records.opened.open_store() as store:
        found = records.paints.listed_paints(store, " ".join(args.words), archived=args.archived)
    _tell(args, found, paints_text(found))


def paint_edit(args: argparse.Namespace) -> None:
    """What is left of a paint."""
    from showthrough.cli.text.records import paints_text

    with records.opened.open_store() as store:
        paint = records.paints.edit_paint(
            store,
            args.paint,
            made_from=args.made_from,
            left_ml=args.left,
            opened=args.opened,
            archived=args.archived,
        )
    _tell(args, paint, paints_text([paint]))


def customer_add(args: argparse.Namespace) -> None:
    """Keep a customer."""
    with records.opened.open_store() as store:
        found = records.customers.add_customer(store, args.name, args.contact)
    _tell(args, found, [f"Customer {found.number} is kept: {found.name}"])


def customer_list(args: argparse.Namespace) -> None:
    """Those that are kept."""
    from showthrough.cli.text.records import customers_text

    with records.opened.open_store() as store:
        found = records.customers.listed_customers(store)
    _tell(args, found, customers_text(found))


def customer_edit(args: argparse.Namespace) -> None:
    """Another name or contact."""
    from showthrough.cli.text.records import customers_text

    change = {"name": args.name, "contact": args.contact}
    with records.opened.open_store() as store:
        found = records.customers.edit_customer(
            store, args.customer, change, made_from=args.made_from
        )
    _tell(args, found, customers_text([found]))


def customer_erase(args: argparse.Namespace) -> None:
    """Forget a customer."""
    with records.opened.open_store() as store:
        done = records.erase.erase_customer(store, args.customer, photos=args.photos)
    kept = "Photos of their jobs are kept; --photos erases them as well"
    told = [
        f"Customer {done.number} is forgotten: name, contact, titles, pieces and notes are erased",
        *([] if args.photos else [kept]),
        "Delete backups and exports that were made before",
    ]
    _tell(args, done, told)
