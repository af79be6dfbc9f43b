"""The tables. Units are canonical: µm, m², ml, minor units of money; times are UTC.

A time is text in ISO 8601 with microseconds, which sorts as time does and is the same in both
databases. A document (a job, an answer) is JSON text, kept word for word. What ``migrations/``
builds is this and nothing else; a test compares the two.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
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
