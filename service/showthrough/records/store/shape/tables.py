"""The tables. Units are canonical: µm, m², ml, minor units of money; times are UTC.

A time is text in ISO 8601 with microseconds, which sorts as time does and is the same in both
databases. A document (a job, an answer) is JSON text, kept word for word. What ``migrations/``
builds is this and nothing else; a test compares the two.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Column,
    Connection,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    func,
    select,
)

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

_UUID = 36
_TIME = 27
_SHA256 = 64


def _text(name: str) -> Column[str]:
    """A text that may be empty, but is never missing."""
    return Column(name, Text, nullable=False, server_default="")


def _time(name: str, *, missing: bool = False) -> Column[str]:
    return Column(name, String(_TIME), nullable=missing)


CUSTOMER = Table(
    "customer",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("uuid", String(_UUID), nullable=False, unique=True),
    _text("name"),
    _text("contact"),
    Column("version", Integer, nullable=False),
    _time("created"),
    _time("changed"),
    _time("erased", missing=True),
)

PAINT = Table(
    "paint",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("uuid", String(_UUID), nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("topcoat", Text, nullable=False),  # as in a job file, JSON
    _text("batch"),
    Column("density_g_ml", Float),
    Column("size_ml", Float),
    Column("left_ml", Float),
    Column("price_minor", Integer),
    Column("currency", String(3)),
    Column("opened", String(10)),  # a day, ISO 8601
    Column("version", Integer, nullable=False),
    _time("created"),
    _time("changed"),
    _time("archived", missing=True),
)

JOB = Table(
    "job",
    METADATA,
    Column("id", Integer, primary_key=True),  # its number, as a painter says it
    Column("uuid", String(_UUID), nullable=False, unique=True),
    _text("title"),
    _text("piece"),
    Column("customer_id", Integer, ForeignKey("customer.id")),
    Column("state", String(8), nullable=False),
    _text("colour_name"),
    _text("colour_hex"),
    _text("search"),  # all that it is found by, without case
    Column("version", Integer, nullable=False),
    _time("created"),
    _time("changed"),
    CheckConstraint("state IN ('open', 'done', 'archived')", name="state"),
    Index("ix_job_changed", "changed"),
    Index("ix_job_customer_id", "customer_id"),
)

JOB_VERSION = Table(
    "job_version",
    METADATA,
    Column("job_id", Integer, ForeignKey("job.id"), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("job", Text, nullable=False),  # the words of the job file, JSON
    _text("piece"),
    Column("state", String(8), nullable=False),
    _time("saved"),
)

PHOTO = Table(
    "photo",
    METADATA,
    Column("sha256", String(_SHA256), primary_key=True),  # of the content
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("content", LargeBinary, nullable=False),  # PNG or JPEG, nothing but the picture
    _time("created"),
)

JOB_PHOTO = Table(
    "job_photo",
    METADATA,
    Column("job_id", Integer, ForeignKey("job.id"), primary_key=True),
    Column("sha256", String(_SHA256), ForeignKey("photo.sha256"), primary_key=True),
    _text("name"),
    _time("added"),
    Index("ix_job_photo_sha256", "sha256"),
)

MODEL = Table(
    "model",
    METADATA,
    Column("id", String(_SHA256), primary_key=True),  # of its code and tables
    Column("release", Text, nullable=False),
    Column("defaults", Text, nullable=False),  # what stood in for what was not said, JSON
    _time("first_used"),
)

ANSWER = Table(
    "answer",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("uuid", String(_UUID), nullable=False, unique=True),
    Column("job_id", Integer, nullable=False),
    Column("job_version", Integer, nullable=False),
    Column("model_id", String(_SHA256), ForeignKey("model.id"), nullable=False),
    Column("answer", LargeBinary, nullable=False),  # JSON, deflated (RFC 1950) to a tenth
    _time("made"),
    Column("finished", LargeBinary),  # what it was learned from, as the answer is kept
    ForeignKeyConstraint(["job_id", "job_version"], ["job_version.job_id", "job_version.version"]),
    Index("ix_answer_job_id", "job_id"),
)

OUTCOME = Table(
    "outcome",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("uuid", String(_UUID), nullable=False, unique=True),
    Column("job_id", Integer, nullable=False),
    Column("job_version", Integer, nullable=False),
    Column("group_name", Text),
    Column("after", Integer, nullable=False),  # topcoats
    Column("result", String(12), nullable=False),
    Column("stopped_by", String(8)),
    Column("failed_by", String(12)),
    Column("used_ml", Float),
    Column("area_m2", Float),
    Column("wet_film_um", Float),
    Column("minutes", Float),
    Column("recoat_h", Float),
    _text("note"),
    _time("logged"),
    _time("withdrawn", missing=True),
    Column("lesson", Text),  # what it teaches, JSON; reckoned anew for another model
    Column("lesson_model", String(_SHA256)),
    ForeignKeyConstraint(["job_id", "job_version"], ["job_version.job_id", "job_version.version"]),
    Index("ix_outcome_job_id", "job_id"),
)

STEP_DONE = Table(
    "step_done",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("uuid", String(_UUID), nullable=False, unique=True),
    Column("job_id", Integer, ForeignKey("job.id"), nullable=False),
    Column("step", Text, nullable=False),
    _text("note"),
    _time("done"),
    _time("withdrawn", missing=True),
    Index("ix_step_done_job_id", "job_id"),
)


def next_number(connection: Connection, column: Any) -> int:
    """The number after the greatest; a writer is alone, so nobody else is given it."""
    return (connection.execute(select(func.max(column))).scalar() or 0) + 1
