"""Photos of a job, each kept once by the hash of its content, without what else its file said."""

from __future__ import annotations

import hashlib

from sqlalchemy import select

from showthrough.errors import ProblemList, UnknownError, shown
from showthrough.photo.picture.clean import cleaned
from showthrough.records.store.kept.jobs import number_of
from showthrough.records.store.opening.opened import Store
from showthrough.records.store.shape.rows import PhotoLine
from showthrough.records.store.shape.tables import JOB_PHOTO, PHOTO
from showthrough.records.store.shape.texts import checked_line


def add_photo(store: Store, job: int | str, data: bytes, name: str = "") -> PhotoLine:
    """Keep a photo with a job; one that is there already is kept once.

    Args:
        store: the records.
        job: which job.
        data: a JPEG, PNG, WebP or HEIC file; place, time and camera are removed before it is kept.
        name: what it shows, in the painter's words.

    Raises:
        ImageError: it is no picture that can be measured.
        InputError: no job is meant, or the name is none that can be shown.
        StoreError: the records cannot be written.
    """
    problems = ProblemList()
    name = checked_line("name", name, problems, 80)
    problems.raise_if_any()
    photo = cleaned(data)
    sha256 = hashlib.sha256(photo.content).hexdigest()
    with store.writing() as connection:
        now = store.now()
        number = number_of(connection, job)
        if not connection.execute(select(PHOTO.c.sha256).where(PHOTO.c.sha256 == sha256)).all():
            connection.execute(
                PHOTO.insert().values(
                    sha256=sha256,
                    width=photo.width,
                    height=photo.height,
                    content=photo.content,
                    created=now,
                )
            )
        link = (JOB_PHOTO.c.job_id == number) & (JOB_PHOTO.c.sha256 == sha256)
        old = connection.execute(select(JOB_PHOTO).where(link)).first()
        if old is None:
            connection.execute(
                JOB_PHOTO.insert().values(job_id=number, sha256=sha256, name=name, added=now)
            )
            return PhotoLine(sha256, name, photo.width, photo.height, now)
        if name and name != old.name:
            connection.execute(JOB_PHOTO.update().where(link).values(name=name))
        return PhotoLine(sha256, name or old.name, photo.width, photo.height, old.added)


def photo_content(store: Store, sha256: str) -> bytes:
    """The picture file of a hash, PNG or JPEG.

    Raises:
        UnknownError: no photo has that hash.
        StoreError: the records cannot be read.
    """
    with store.reading() as connection:
        query = select(PHOTO.c.content).where(PHOTO.c.sha256 == sha256)
        found = connection.execute(query).scalar()
    if found is None:
        raise UnknownError.at("sha256", sha256, f"no photo has the hash {shown(sha256)}")
    return bytes(found)
