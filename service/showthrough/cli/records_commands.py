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

if TYPE_CHECKING:
    from showthrough.records.store.opening.opened import Store
    from showthrough.records.store.shape.rows import JobLine


def _open() -> Store:
    from showthrough.records.store.opening.opened import open_store

    return open_store()


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
    from showthrough.records.store.kept.jobs import add

    # What it is learned from is kept beside its answer in any case: it is none of what it says.
    job, folder = job_as_said(args)
    with _open() as store:
        line = add(store, job, folder, piece=args.piece, customer=args.customer)
    _tell_line(args, line, "is kept")


def job_list(args: argparse.Namespace) -> None:
    """Jobs in rows."""
    from showthrough.cli.text.records import jobs_text
    from showthrough.records.store.kept.jobs import counted, listed

    words = " ".join(args.words)
    with _open() as store:
        lines = listed(store, words, state=args.state, most=max(0, args.most))
        every = counted(store, words, state=args.state)
    _tell(args, lines, jobs_text(lines, every, width=width_of()))


def job_show(args: argparse.Namespace) -> None:
    """One job."""
    from showthrough.cli.text.records import job_text
    from showthrough.records.store.kept.jobs import opened, reckoned_again

    with _open() as store:
        found = opened(store, args.job, args.at)
        if args.toml:
            import tomli_w

            sys.stdout.write(tomli_w.dumps(found.shown.job))
            return
        problems = ProblemList()
        again = None
        with problems.collecting():
            again = reckoned_again(store, found.line.number, args.at)
    refused = [str(problem) for problem in problems.problems]
    value = {**dataclasses.asdict(found), "again": again, "refused": refused}
    _tell(args, value, job_text(found, again, refused, width=width_of()))


def job_edit(args: argparse.Namespace) -> None:
    """Keep a changed job."""
    from showthrough.jobs.case.resolve import load_toml
    from showthrough.records.store.kept.jobs import save as save_job

    path = Path(args.file)
    job = load_toml(path, "job")
    with _open() as store:
        line = save_job(
            store, args.job, job, path.parent, made_from=args.made_from, piece=args.piece
        )
    _tell_line(args, line, "is kept")


def job_copy(args: argparse.Namespace) -> None:
    """A new job that says the same."""
    from showthrough.records.store.kept.jobs import duplicate

    with _open() as store:
        _tell_line(args, duplicate(store, args.job, title=args.title), "is kept")


def job_mark(args: argparse.Namespace) -> None:
    """Open, done or archived."""
    from showthrough.records.store.kept.jobs import set_state

    with _open() as store:
        line = set_state(store, args.job, args.state)
    _tell_line(args, line, f"is {line.state}")


def job_photo(args: argparse.Namespace) -> None:
    """Keep a photo."""
    from showthrough.files import read_file
    from showthrough.photo.picture.load import MAX_BYTES
    from showthrough.records.store.kept.photos import add_photo

    data = read_file(args.photo, "photo", MAX_BYTES)
    with _open() as store:
        photo = add_photo(store, args.job, data, args.name)
    size = f"{photo.width} x {photo.height} pixels"
    _tell(args, photo, [f"Photo {photo.sha256[:12]} is kept, {size}, nothing but the picture"])


def job_log(args: argparse.Namespace) -> None:
    """How it came out, a step, or an outcome taken back."""
    from showthrough.cli.text.records import outcome_line, step_line
    from showthrough.records.store.kept import outcomes
    from showthrough.records.store.kept.jobs import opened

    with _open() as store:
        if args.undo:
            value: Any = outcomes.undo(store, args.job)
            told = [f"Taken back: {outcome_line(value)}"]
        elif args.undo_step is not None:
            value = outcomes.step_undone(store, args.job, args.undo_step)
            told = [f"Taken back: {step_line(value)}"]
        elif args.step is not None:
            value = outcomes.step_done(store, args.job, args.step, note=args.note)
            told = [f"Done: {step_line(value)}"]
        elif args.result is None or args.after is None:
            raise InputError.at(
                "log",
                "",
                "say after how many topcoats and how it looked, as --after 4 --enough (or "
                "--not-enough, --gave-up, --did-not-look); or --step, --undo or --undo-step",
            )
        else:
            value = outcomes.log(
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
            line = opened(store, value.job).line
            told = [f"Kept: {outcome_line(value)}", f"Job {line.number} is {line.state}"]
    _tell(args, value, told)


def job_export(args: argparse.Namespace) -> None:
    """Everything as JSON."""
    from showthrough.cli.commands import keep
    from showthrough.records.store.leaving.exchange import exported

    if args.file != "-":
        keep(Path(args.file), replace=args.replace)
    with _open() as store:
        text = exported(store)
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
    from showthrough.records.store.leaving.exchange import MOST_BYTES, import_all

    text = read_file(args.file, "export", MOST_BYTES)
    with _open() as store:
        done = import_all(store, text)
    _tell(args, done, imported_text(done))


def job_backup(args: argparse.Namespace) -> None:
    """A whole copy."""
    from showthrough.records.store.leaving.backup import backup

    with _open() as store:
        path = backup(store, args.file)
        what = "an export of the server's records" if store.path is None else "a whole copy"
    _tell(args, {"file": str(path)}, [f"{path} holds {what}"])


def paint_add(args: argparse.Namespace) -> None:
    """Put a paint on the shelf."""
    from showthrough.cli.text.records import paints_text
    from showthrough.records.store.kept.paints import add_paint

    folder = None
    topcoat: Any = {"colour": args.paint}
    if looks_like_file(args.paint):
        from showthrough.jobs.case.resolve import load_toml

        path = Path(args.paint)
        table, folder = load_toml(path, "paint"), path.parent
        topcoat = table.get("topcoat", {"paint": table})
    if args.volume_solids is not None and isinstance(topcoat, dict):
        topcoat = {**topcoat, "volume_solids": args.volume_solids}
    with _open() as store:
        paint = add_paint(
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
    from showthrough.records.store.kept.paints import listed_paints

    with _open() as store:
        found = listed_paints(store, " ".join(args.words), archived=args.archived)
    _tell(args, found, paints_text(found))


def paint_edit(args: argparse.Namespace) -> None:
    """What is left of a paint."""
    from showthrough.cli.text.records import paints_text
    from showthrough.records.store.kept.paints import edit_paint

    with _open() as store:
        paint = edit_paint(
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
    from showthrough.records.store.kept.customers import add_customer

    with _open() as store:
        found = add_customer(store, args.name, args.contact)
    _tell(args, found, [f"Customer {found.number} is kept: {found.name}"])


def customer_list(args: argparse.Namespace) -> None:
    """Those that are kept."""
    from showthrough.cli.text.records import customers_text
    from showthrough.records.store.kept.customers import listed_customers

    with _open() as store:
        found = listed_customers(store)
    _tell(args, found, customers_text(found))


def customer_edit(args: argparse.Namespace) -> None:
    """Another name or contact."""
    from showthrough.cli.text.records import customers_text
    from showthrough.records.store.kept.customers import edit_customer

    change = {"name": args.name, "contact": args.contact}
    with _open() as store:
        found = edit_customer(store, args.customer, change, made_from=args.made_from)
    _tell(args, found, customers_text([found]))


def customer_erase(args: argparse.Namespace) -> None:
    """Forget a customer."""
    from showthrough.records.store.leaving.erase import erase_customer

    with _open() as store:
        done = erase_customer(store, args.customer, photos=args.photos)
    told = [
        f"Customer {done.number} is forgotten: name, contact, titles, pieces and notes are erased",
        "Delete backups and exports that were made before",
    ]
    if not args.photos:
        told.insert(1, "Photos of their jobs are kept; --photos erases them as well")
    _tell(args, done, told)
