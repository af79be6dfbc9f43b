"""Stores of every earlier version become today's with all that they hold; others are refused."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from records.stores.make_store import JOB, NOW
from showthrough.errors import StoreError
from showthrough.records.store.kept import customers, jobs, outcomes, paints, photos
from showthrough.records.store.opening import migrate
from showthrough.records.store.opening.opened import open_store
from showthrough.records.store.shape import tables

STORES = sorted(Path(__file__).with_name("stores").glob("schema_*.sql"))
VERSIONS = [re.search(r"\d{4}", path.name)[0] for path in STORES]


def restored(path, target):
    """A kept store as a SQLite file."""
    connection = sqlite3.connect(target)
    connection.executescript(path.read_text(encoding="utf-8"))
    connection.close()
    return target


def copied(source, address):
    """A kept store put into another database: its own migrations make the tables there."""
    version = re.search(r"\d{4}", source.stem)[0]
    engine = sa.create_engine(address.replace("postgresql:", "postgresql+psycopg:"))
    kept = sa.create_engine(f"sqlite:///{source}")
    metadata = sa.MetaData()
    with engine.begin() as into, kept.connect() as out:
        migrate.migrate(into, version)
        metadata.reflect(into)
        for table in metadata.sorted_tables:
            columns = [sa.column(column.name) for column in table.columns]
            query = sa.select(*columns).select_from(sa.table(table.name))
            rows = out.execute(query).mappings().all()
            if rows and table.name != "alembic_version":
                into.execute(table.insert(), [dict(row) for row in rows])
    engine.dispose()
    kept.dispose()


def contents(path):
    """Every byte that lies in the folder of a store."""
    return {p.name: p.read_bytes() for p in path.parent.iterdir() if p.is_file()}


def test_each_version_of_the_schema_is_known_and_its_store_is_kept():
    scripts = ScriptDirectory(str(Path(migrate.__file__).with_name("migrations")))
    known = [script.revision for script in scripts.walk_revisions()]
    assert scripts.get_current_head() == migrate.HEAD
    assert sorted(known) == list(migrate.KNOWN) == VERSIONS
    assert len(VERSIONS) >= 2


def test_the_migrations_make_the_tables_and_nothing_else(store):
    with store.writing() as connection:
        # SQLite tells of an empty text as a default in words of its own.
        defaults = {"compare_server_default": connection.dialect.name == "postgresql"}
        context = MigrationContext.configure(connection, opts=defaults)
        assert compare_metadata(context, tables.METADATA) == []
        constraints = sa.inspect(connection).get_check_constraints("job")
        assert [found["name"] for found in constraints] == ["ck_job_state"]


@pytest.mark.parametrize("kept", STORES, ids=VERSIONS)
def test_a_store_of_an_earlier_version_is_brought_up_to_date_with_all_it_holds(
    kept, address, tmp_path
):
    old = restored(kept, tmp_path / f"{kept.stem}.db")
    if address.startswith("postgresql"):
        copied(old, address)
    else:
        old.rename(address)
    with open_store(address) as store:
        first, twin = jobs.opened(store, 1), jobs.opened(store, 2)
        assert first.shown.job == {**JOB, "title": "Linen cupboard in green"}
        assert jobs.opened(store, 1, 1).shown.job == JOB
        assert (first.line.customer, first.shown.piece) == ("Ida Invented", "from the attic")
        assert first.line.created.startswith(f"{NOW:%Y-%m-%dT%H:%M}")
        assert (twin.line.title, twin.line.state) == ("Second cupboard", "archived")
        assert [p.name for p in first.photos] == ["chip"]
        assert photos.photo_content(store, first.photos[0].sha256).startswith(b"\x89PNG")
        (paint,) = paints.listed_paints(store)
        assert (paint.name, paint.price_minor, paint.left_ml) == ("green", 2100, 400)
        assert customers.listed_customers(store)[0].contact == "ida@example.invalid"
        assert [line.number for line in jobs.listed(store, "ida attic")] == [1]
        if kept.stem >= "schema_0002":
            assert [(o.after, o.used_ml) for o in first.outcomes] == [(4, 620)]
            assert [s.step for s in first.steps] == ["Wash"]
            assert first.answer.answer["title"] == first.line.title
        else:
            assert (first.answer, first.outcomes) == (None, [])
        # What was made since must fit in.
        outcomes.log(store, 1, after=4, result="enough")
        done = jobs.opened(store, 1).line  # what came out is done, which is a version
        assert (done.state, done.version) == ("done", first.line.version + 1)
        assert jobs.save(store, 1, first.shown.job, made_from=done.version).version == 4
        assert jobs.opened(store, 1).answer is not None
        assert jobs.duplicate(store, 1).number == 3
    with open_store(address) as store:
        assert len(jobs.listed(store)) == 2


def test_a_migration_that_breaks_off_leaves_the_store_as_it_was(tmp_path, monkeypatch):
    (tmp_path / "store").mkdir()
    path = restored(STORES[0], tmp_path / "store" / "records.db")
    real = migrate.migrate

    def breaks(connection):
        real(connection)
        raise StoreError.at("records", "", "the lamp went out")

    monkeypatch.setattr("showthrough.records.store.opening.opened.migrate", breaks)
    with pytest.raises(StoreError, match="the lamp went out"):
        open_store(path)
    monkeypatch.undo()
    connection = sqlite3.connect(path)
    (found,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    names = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
    connection.close()
    assert found == VERSIONS[0]
    assert "outcome" not in names
    with open_store(path) as store:
        assert jobs.opened(store, 1).line.title == "Linen cupboard in green"


def test_a_store_of_a_newer_version_is_refused_in_one_sentence_and_not_touched(address):
    with open_store(address) as store, store.writing() as connection:
        connection.execute(sa.text("UPDATE alembic_version SET version_num = '7000'"))
    before = None if "://" in address else contents(Path(address))
    with pytest.raises(StoreError) as caught:
        open_store(address)
    (problem,) = caught.value.problems
    assert problem.code == "newer"
    assert "was written by a newer Showthrough (schema 7000, this one knows 0003)" in str(problem)
    assert before is None or contents(Path(address)) == before


def test_another_programs_database_is_refused_and_not_touched(address):
    engine = sa.create_engine(
        address.replace("postgresql:", "postgresql+psycopg:")
        if "://" in address
        else f"sqlite:///{address}"
    )
    with engine.begin() as connection:
        connection.execute(sa.text("CREATE TABLE recipe (name TEXT)"))
    before = None if "://" in address else contents(Path(address))
    with pytest.raises(StoreError, match="holds tables of another program"):
        open_store(address)
    with engine.connect() as connection:
        assert sa.inspect(connection).get_table_names() == ["recipe"]
    engine.dispose()
    assert before is None or contents(Path(address)) == before


def test_what_is_no_database_is_refused_and_not_touched(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("Shopping: sandpaper, tack cloth.\n" * 40, encoding="utf-8")
    before = contents(path)
    with pytest.raises(StoreError, match="is no store of Showthrough; nothing was touched"):
        open_store(path)
    assert contents(path) == before
    with pytest.raises(StoreError, match="is no file; name one"):
        open_store(tmp_path)
