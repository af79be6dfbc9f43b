"""Jobs: added, listed, searched, opened, saved again, duplicated, archived.

Each change is a new version, and the earlier ones stay. A change says which version it was made
from; where that is no longer the latest it is refused, and tells what changed meanwhile.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from functools import partial
from itertools import starmap
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, func, select

from showthrough.errors import InputError, ProblemList, StaleError, UnknownError, shown
from showthrough.records.store.kept.answers import (
    Reckoned,
    last_answer,
    put_answer,
    reckon,
    rerun,
)
from showthrough.records.store.kept.customers import insert_customer, one_customer
from showthrough.records.store.kept.lessons import chosen, finished_for
from showthrough.records.store.kept.reads import outcomes_of, steps_of
from showthrough.records.store.kept.search import holding, renew_search
from showthrough.records.store.opening.opened import Store, time_text
from showthrough.records.store.shape.differ import differences, told
from showthrough.records.store.shape.rows import (
    JobLine,
    JobVersion,
    PhotoLine,
    Rerun,
    State,
    StoredJob,
)
from showthrough.records.store.shape.tables import (
    CUSTOMER,
    JOB,
    JOB_PHOTO,
    JOB_VERSION,
    PHOTO,
    next_number,
)
from showthrough.records.store.shape.texts import checked_line, new_uuid, to_json

STATES: tuple[State, ...] = ("open", "done", "archived")


def add(
    store: Store,
    job: Mapping[str, Any],
    folder: Path | None = None,
    *,
    piece: str = "",
    customer: int | str | None = None,
) -> JobLine:
    """Keep a new job with its answer.

    Args:
        store: the records.
        job: as in a job file.
        folder: where files that it names are looked for; what they say is kept in the job.
        piece: which piece it is, in the painter's words.
        customer: number or name; a name that is not there yet becomes a new customer.

    Raises:
        InputError: with every problem of the job and of the texts beside it, by field.
        StoreError: the records cannot be written.
    """
    problems = ProblemList()
    piece = checked_line("piece", piece, problems)
    if isinstance(customer, str):
        customer = checked_line("customer", customer, problems, 80) or None
    reckoned = _reckoned(store, job, folder, problems)
    return keep(store, reckoned, piece=piece, customer=customer)


def _reckoned(
    store: Store,
    job: Mapping[str, Any],
    folder: Path | None,
    problems: ProblemList,
    begun: datetime | None = None,
) -> Reckoned:
    """A job answered with what the records teach it; all that is wrong is told together."""
    every = finished_for(store)  # a store that cannot be read is no fault of the job
    with problems.collecting():
        reckoned = reckon(job, folder, store.moment(), begun, partial(chosen, every))
    problems.raise_if_any()
    return reckoned


def keep(
    store: Store, reckoned: Reckoned, *, piece: str = "", customer: int | str | None = None
) -> JobLine:
    """Write a job that was answered already; as ``add``, which checks it first."""
    now = time_text(reckoned.moment)
    with store.writing() as connection:
        owner = None if customer is None else _owner(connection, customer, now)
        number = next_number(connection, JOB.c.id)
        values = {
            "id": number,
            "uuid": new_uuid(),
            "customer_id": owner,
            "state": "open",
            "version": 1,
            "created": now,
            "changed": now,
            **_told_of(reckoned, piece),
        }
        connection.execute(JOB.insert().values(values))
        _put_version(connection, number, reckoned.job, values)
        put_answer(connection, number, 1, reckoned)
        renew_search(connection, JOB.c.id == number)
        return _line(connection, number)


def _owner(connection: Connection, customer: int | str, now: str) -> int:
    try:
        return one_customer(connection, customer).number
    except UnknownError:
        text = str(customer).removeprefix("#")
        names = [name.casefold() for name in connection.execute(select(CUSTOMER.c.name)).scalars()]
        if isinstance(customer, int) or text.isdecimal() or names.count(text.casefold()) > 1:
            raise
        return insert_customer(connection, now, text).number


def _told_of(reckoned: Reckoned, piece: str) -> dict[str, Any]:
    """What a list shows of a job."""
    return {
        "title": reckoned.answer.title,
        "piece": piece,
        "colour_name": reckoned.answer.topcoat_name,
        "colour_hex": reckoned.answer.topcoat.hex,
    }


def _put_version(
    connection: Connection, number: int, job: Mapping[str, Any], values: Mapping[str, Any]
) -> None:
    connection.execute(
        JOB_VERSION.insert().values(
            job_id=number,
            version=values["version"],
            job=to_json(job),
            piece=values["piece"],
            state=values["state"],
            saved=values["changed"],
        )
    )


# --- reading ---------------------------------------------------------------------------

_LINE = (
    JOB.c.id,
    JOB.c.uuid,
    JOB.c.title,
    JOB.c.piece,
    func.coalesce(CUSTOMER.c.name, ""),
    JOB.c.state,
    JOB.c.colour_name,
    JOB.c.colour_hex,
    JOB.c.version,
    JOB.c.created,
    JOB.c.changed,
)


def _lines() -> Select[Any]:
    return select(*_LINE).outerjoin(CUSTOMER, CUSTOMER.c.id == JOB.c.customer_id)


def _line(connection: Connection, number: int) -> JobLine:
    return JobLine(*connection.execute(_lines().where(JOB.c.id == number)).one())


def listed(
    store: Store, text: str = "", *, state: State | None = None, most: int | None = None
) -> list[JobLine]:
    """Jobs, the one changed last first.

    Args:
        store: the records.
        text: words that each job must hold: in its title, piece, customer, colour or patches.
        state: only these; those that are open or done if absent.
        most: no more than so many.

    Raises:
        InputError: there is no such state.
        StoreError: the records cannot be read.
    """
    query = _lines().order_by(JOB.c.changed.desc(), JOB.c.id.desc()).limit(most)
    query = query.where(*_fitting(text, state))
    with store.reading() as connection:
        return list(starmap(JobLine, connection.execute(query).all()))


def counted(store: Store, text: str = "", *, state: State | None = None) -> int:
    """How many jobs ``listed`` would give without a bound.

    Raises:
        InputError: there is no such state.
        StoreError: the records cannot be read.
    """
    query = select(func.count()).select_from(JOB).where(*_fitting(text, state))
    with store.reading() as connection:
        return int(connection.execute(query).scalar_one())


def _check_state(state: State) -> None:
    if state not in STATES:
        raise InputError.at("state", state, f"must be {', '.join(STATES)}, not {shown(state)}")


def _fitting(text: str, state: State | None) -> list[Any]:
    if state is not None:
        _check_state(state)
    return [*holding(text), JOB.c.state == state if state else JOB.c.state != "archived"]


def number_of(connection: Connection, name: int | str) -> int:
    """The number of a job that is named by it, by its UUID, its title or words that it holds.

    Raises:
        UnknownError: no job is meant, or more than one.
    """
    text = str(name).strip()
    plain = text.removeprefix("#")
    if plain.isdecimal() and len(plain) < 10:
        found = connection.execute(select(JOB.c.id).where(JOB.c.id == int(plain))).scalars().all()
        if found:
            return int(found[0])
        raise UnknownError.at("job", text, f"there is no job {plain}")
    found = connection.execute(select(JOB.c.id).where(JOB.c.uuid == text)).scalars().all()
    if found:
        return int(found[0])
    query = select(JOB.c.id, JOB.c.title).where(*holding(text)).order_by(JOB.c.id)
    rows = connection.execute(query).all() if text else []
    exact = [row for row in rows if row.title.casefold() == text.casefold()]
    rows = exact or rows
    if len(rows) == 1:
        return int(rows[0].id)
    if not rows:
        raise UnknownError.at("job", text, f"no job is called {shown(text)}")
    known = "; ".join(f"{row.id} {shown(row.title, 30)}" for row in rows[:6])
    more = f" and {len(rows) - 6} more" if len(rows) > 6 else ""
    raise UnknownError.at(
        "job", text, f"{shown(text)} fits several jobs, give a number: {known}{more}"
    )


def opened(store: Store, name: int | str, version: int | None = None) -> StoredJob:
    """One job at its latest version, or at an earlier one.

    Raises:
        UnknownError: no job is meant, or more than one, or it has no such version.
        StoreError: the records cannot be read.
    """
    with store.reading() as connection:
        return open_job(connection, number_of(connection, name), version)


def open_job(connection: Connection, number: int, version: int | None = None) -> StoredJob:
    """As ``opened``, within a transaction."""
    line = _line(connection, number)
    wanted = line.version if version is None else version
    query = select(JOB_VERSION).where(JOB_VERSION.c.job_id == number)
    rows = {row.version: row for row in connection.execute(query.order_by(JOB_VERSION.c.version))}
    if wanted not in rows:
        raise UnknownError.at(
            "version", wanted, f"job {number} has versions 1 to {line.version}, not {shown(wanted)}"
        )
    row = rows[wanted]
    shown_of_photo = (JOB_PHOTO.c.name, PHOTO.c.width, PHOTO.c.height, JOB_PHOTO.c.added)
    photos = (
        select(JOB_PHOTO.c.sha256, *shown_of_photo)
        .join(PHOTO, PHOTO.c.sha256 == JOB_PHOTO.c.sha256)
        .where(JOB_PHOTO.c.job_id == number)
        .order_by(JOB_PHOTO.c.added, JOB_PHOTO.c.sha256)
    )
    return StoredJob(
        line,
        JobVersion(wanted, json.loads(row.job), row.piece, row.state, row.saved),
        list(rows),
        [PhotoLine(*row) for row in connection.execute(photos)],
        last_answer(connection, number, wanted),
        outcomes_of(connection, number),
        steps_of(connection, number),
    )


def reckoned_again(store: Store, name: int | str, version: int | None = None) -> Rerun | None:
    """What today's model says of a stored answer, and today's plan; None where a job has none.

    Raises:
        InputError: no job is meant, or today's model refuses it; by field.
        StoreError: the records cannot be read.
    """
    every = finished_for(store)
    with store.reading() as connection:
        found = open_job(connection, number_of(connection, name), version)
        if found.answer is None:
            return None
        job = open_job(connection, found.line.number, found.answer.job_version).shown.job
        return rerun(connection, job, found.answer, partial(chosen, every))


# --- changing --------------------------------------------------------------------------


def save(
    store: Store,
    name: int | str,
    job: Mapping[str, Any],
    folder: Path | None = None,
    *,
    made_from: int,
    piece: str | None = None,
) -> JobLine:
    """Keep a changed job as its next version.

    Args:
        store: the records.
        name: which job, as for ``opened``.
        job: the whole changed job, as in a job file.
        folder: where files that it names are looked for.
        made_from: version that the change was made from.
        piece: which piece it is; as before if absent.

    Raises:
        StaleError: it is no longer the latest; says what changed meanwhile. Nothing is lost.
        InputError: with every problem of the job, by field, or no job is meant.
        StoreError: the records cannot be written.
    """
    problems = ProblemList()
    if piece is not None:
        piece = checked_line("piece", piece, problems)
    begun = datetime.fromisoformat(opened(store, name).line.created)
    reckoned = _reckoned(store, job, folder, problems, begun)
    with store.writing() as connection:
        old = _latest(connection, name, made_from)
        kept = old.shown.piece if piece is None else piece
        change = _told_of(reckoned, kept)
        line = _next_version(store, connection, old, reckoned.job, change)
        put_answer(connection, line.number, line.version, reckoned)
        return line


def set_state(store: Store, name: int | str, state: State, *, made_from: int | None = None
              ) -> JobLine:  # fmt: skip
    """Mark a job as open, done or archived; an archived one is kept, but no longer listed.

    Args:
        store: the records.
        name: which job, as for ``opened``.
        state: what it becomes.
        made_from: version that was looked at; whatever is the latest if absent.

    Raises:
        StaleError: it was changed since that version.
        InputError: there is no such job or state.
    """
    _check_state(state)
    with store.writing() as connection:
        return put_state(store, connection, _latest(connection, name, made_from), state)


def put_state(store: Store, connection: Connection, old: StoredJob, state: State) -> JobLine:
    """As ``set_state``, within a transaction."""
    if old.line.state == state:
        return old.line
    return _next_version(store, connection, old, old.shown.job, {"state": state})


def duplicate(store: Store, name: int | str, *, title: str | None = None) -> JobLine:
    """A new job that says what another one says; without its start, customer and outcomes.

    Raises:
        InputError: no job is meant, or the title is none that can be shown.
    """
    source = opened(store, name)
    job = source.shown.job if title is None else {**source.shown.job, "title": title}
    if "start" in (days := job.get("days") or {}):
        job = {**job, "days": {key: value for key, value in days.items() if key != "start"}}
    return add(store, job, piece=source.shown.piece)


def _latest(connection: Connection, name: int | str, made_from: int | None) -> StoredJob:
    """The job as it is, where a change that was made from a version may still be put in."""
    now = open_job(connection, number_of(connection, name))
    if made_from is None or made_from == now.line.version:
        return now
    number = now.line.number
    before = open_job(connection, number, made_from)

    def all_of(one: StoredJob) -> dict[str, Any]:
        return {**one.shown.job, "piece": one.shown.piece, "state": one.shown.state}

    changed = told(list(differences(all_of(before), all_of(now)))) or "nothing but its saving"
    raise StaleError.at(
        "made_from",
        made_from,
        f"job {number} was changed since version {made_from} (now {now.line.version}, "
        f"{now.line.changed[:16].replace('T', ' ')} UTC: {changed}); open it again and put your "
        "change in, nothing is lost",
    )


def _next_version(
    store: Store,
    connection: Connection,
    old: StoredJob,
    job: Mapping[str, Any],
    change: Mapping[str, Any],
) -> JobLine:
    number = old.line.number
    values = {
        "piece": old.line.piece,
        "state": old.line.state,
        **change,
        "version": old.line.version + 1,
        "changed": store.now(),
    }
    connection.execute(JOB.update().where(JOB.c.id == number).values(values))
    _put_version(connection, number, job, values)
    renew_search(connection, JOB.c.id == number)
    return _line(connection, number)
