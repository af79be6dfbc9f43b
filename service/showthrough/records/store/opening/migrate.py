"""The schema's version, and the way from an earlier one to today's."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, inspect, text

from showthrough.errors import StoreError

HEAD = "0003"
"""Today's version; a test holds it to the newest of ``migrations/``."""

KNOWN = ("0001", "0002", "0003")
"""Every version that there was, in order."""

_FOLDER = Path(__file__).with_name("migrations")


def revision_of(connection: Connection) -> str | None:
    """Version of the schema that a database holds; None where it holds none of ours."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def refuse_foreign(connection: Connection, revision: str | None, place: str) -> None:
    """Refuse what a newer version wrote, and what is another program's.

    Raises:
        StoreError: it is one of both; nothing was touched.
    """
    if revision in KNOWN:
        return
    if revision is not None:
        raise StoreError.at(
            "records",
            place,
            f"{place}: was written by a newer Showthrough (schema {revision}, this one knows "
            f"{HEAD}); update Showthrough, nothing was touched",
            "newer",
        )
    if inspect(connection).get_table_names():
        raise StoreError.at(
            "records",
            place,
            f"{place}: holds tables of another program; give Showthrough a place of its own, "
            "nothing was touched",
        )


def migrate(connection: Connection, version: str = "head") -> None:
    """Bring the schema up to a version inside the connection's own transaction."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    # A percent sign would be read as the start of a name by the file format behind it.
    config.set_main_option("script_location", str(_FOLDER).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, version)
