"""The tables: made by the migrations as `schema.py` says, brought up to date from every earlier form, never half."""

from __future__ import annotations

import re
import signal
import sqlite3
import subprocess
import sys
from collections import Counter
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import insert, inspect, select, text

from panewright.io.store import engine, migrating
from panewright.io.store.engine import Store, open_store, version_of
from panewright.io.store.errors import StoreError
from panewright.io.store.items import find_item
from panewright.io.store.ledger import audit
from panewright.io.store.purchases import purchases
from panewright.io.store.schema import HEAD, metadata, movement, plan_sheet
from panewright.nesting.flaws import Flaw
from panewright.nesting.ledger import Balance
from panewright.nesting.units import mm

DATA = Path(__file__).parent / "data"
OLD = sorted(DATA.glob("store-*.sql"))
NEXT = """
import os, signal
import sqlalchemy as sa
from alembic import op
revision, down_revision, branch_labels, depends_on = "0004", "0003", None, None
def upgrade():
    op.add_column("item", sa.Column("colour", sa.String(20), nullable=False, server_default="none"))
    op.execute("update item set colour = 'clear'")
    {end}
"""


def _shape(store: Store) -> dict[str, Any]:
    """Everything that the database says of its tables."""
    with store.reading() as connection:
        told = inspect(connection)
        return {
            table: {
                "columns": [
                    (c["name"], str(c["type"]), c["nullable"], c["default"]) for c in told.get_columns(table)
                ],
                "key": told.get_pk_constraint(table)["constrained_columns"],
                "foreign": sorted(
                    (f["name"], f["constrained_columns"], f["referred_table"])
                    for f in told.get_foreign_keys(table)
                ),
                "checks": sorted(
                    (c["name"], re.sub(r"[()\s]|::\w+( varying)?", "", c["sqltext"]).lower())
                    for c in told.get_check_constraints(table)
                ),
                "indices": sorted(
                    (i["name"], i["column_names"], bool(i["unique"])) for i in told.get_indexes(table)
                ),
                "unique": sorted((u["name"], u["column_names"]) for u in told.get_unique_constraints(table)),
            }
            for table in sorted(set(told.get_table_names()) - {engine.VERSIONS})
        }


def test_migrations_make_what_the_schema_says(databases) -> None:
    with open_store(databases.nothing(), create=True) as migrated:
        with migrated.writing() as connection:
            # defaults are compared below: alembic takes an empty text for none
            context = MigrationContext.configure(connection, opts={"compare_type": True})
            assert compare_metadata(context, metadata) == []
            assert version_of(connection) == HEAD == migrating.known_versions()[-1]
        plain = Store(migrated.address, migrated.engine)
        shape = _shape(plain)
    other = engine.address_of(databases.nothing())
    with Store(other, engine._engine(other)) as made:
        with made.writing() as connection:
            metadata.create_all(connection)
        assert _shape(made) == shape
    assert {"item", "movement", "plan", "plan_sheet", "plan_panel", "event", "purchase"} == set(shape)


def test_a_newer_store_is_refused_and_left_alone(databases) -> None:
    address = databases.empty()
    with open_store(address) as store, store.writing() as connection:
        connection.execute(text(f"update {engine.VERSIONS} set version_num = '9999'"))
    before = Path(address).read_bytes() if databases.kind == "sqlite" else b""
    with pytest.raises(StoreError, match="made by a newer program") as told:
        open_store(address, create=True)
    assert "9999" in str(told.value) and "nothing was changed" in told.value.remedy
    if databases.kind == "sqlite":
        assert Path(address).read_bytes() == before
        assert [p.name for p in Path(address).parent.glob(f"{Path(address).name}*")] == [Path(address).name]


def _filled(databases, old: Path) -> str:
    """A store as an earlier version left it: its tables, and the rows of the dump."""
    version = old.stem.removeprefix("store-")
    address = databases.nothing()
    with closing(sqlite3.connect(":memory:")) as kept:
        kept.executescript(old.read_text(encoding="utf-8"))
        if databases.kind == "sqlite":
            with closing(sqlite3.connect(address)) as file:
                kept.backup(file)
            return address
        # the tables by the migrations of that version, the rows as they were kept
        where = engine.address_of(address)
        with Store(where, engine._engine(where)) as store:
            migrating.migrate(store, None, to=version)
            kept.row_factory = sqlite3.Row
            with store.writing() as connection:
                from sqlalchemy import MetaData

                known = MetaData()
                known.reflect(connection)
                for table in known.sorted_tables:
                    rows = [dict(row) for row in kept.execute(f'select * from "{table.name}"')]
                    for row in rows:
                        for name in ("is_offcut", "edged", "drilled", "stands"):
                            if name in row:
                                row[name] = bool(row[name])
                    if rows and table.name != engine.VERSIONS:
                        connection.execute(insert(table), rows)
    return address


def test_there_is_a_dump_of_every_version() -> None:
    assert [p.stem.removeprefix("store-") for p in OLD] == migrating.known_versions()


@pytest.mark.parametrize("old", OLD, ids=lambda p: p.stem)
def test_a_store_of_every_version_opens_and_keeps_what_it_holds(databases, old: Path) -> None:
    address = _filled(databases, old)
    with open_store(address) as store, store.reading() as connection:
        assert version_of(connection) == HEAD
        assert audit(connection) == []
        # as `make_store_dump.py` left them
        assert find_item(connection, "C-1").balance == Balance(6, 3, 0)
        assert find_item(connection, "C-1").price == 1_257_300
        assert find_item(connection, "O'Neil; drop table item").balance == Balance(1, 0, 0)
        states = Counter(connection.execute(select(plan_sheet.c.state)).scalars())
        assert states == {"cut": 1, "reserved": 4, "released": 2, "to buy": 1}
        assert connection.execute(select(movement.c.kind).where(movement.c.kind == "broken")).scalar()
        if old.stem >= "store-0003":
            flaws = find_item(connection, "R-7").flaws
            assert [f.kind for f in flaws] == ["scratch", ""] and flaws[0].width == mm(30)
            assert find_item(connection, "C-2").take == 3
        came = ["here", "open"] if old.stem >= "store-0002" else []
        assert sorted(p.state.value for p in purchases(connection, every=True)) == came
    if databases.kind == "sqlite" and not old.stem.endswith(HEAD):
        copy = Path(f"{address}.before-{old.stem.removeprefix('store-')}")
        with closing(sqlite3.connect(copy)) as file:
            assert file.execute("pragma integrity_check").fetchone() == ("ok",)


def test_flaws_of_an_older_store_are_read_without_a_kind(databases) -> None:
    """As 0002 wrote them: x, y, width and height; the whole sheet where nobody said where it is."""
    address = _filled(databases, next(p for p in OLD if p.stem.endswith("0002")))
    where = engine.address_of(address)
    with Store(where, engine._engine(where)) as before, before.writing() as connection:
        connection.execute(text("update item set flaws = '[[1, 2, 3, 4]]' where name like 'O''Neil%'"))
        connection.execute(text("update item set flaws = '[[0, 0, 3210000000, 2250000000]]' where id = 1"))
    with open_store(address) as store, store.reading() as connection:
        found = find_item(connection, "O'Neil; drop table item")
        assert found.flaws == (Flaw(1, 2, 3, 4, ""),) and not found.set_aside
        assert find_item(connection, "C-1").set_aside and find_item(connection, "C-1").take is None


@pytest.fixture
def next_script(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A migration after the last, as a later version may have one; with these lines at its end."""

    def make(end: str = "pass") -> Path:
        assert HEAD == "0003", "a real migration has come: let NEXT follow it"
        (tmp_path / "v0004.py").write_text(NEXT.format(end=end), encoding="utf-8")
        here = Path(migrating.__file__).parent / "migrations"
        script = ScriptDirectory(str(here), version_locations=[str(here / "versions"), str(tmp_path)])
        monkeypatch.setattr(migrating, "scripts", lambda: script)
        return tmp_path

    return make


def _colours(store: Store) -> set[str]:
    with store.reading() as connection:
        return set(connection.execute(text("select colour from item")).scalars())


def test_before_a_migration_a_copy_is_made(databases, next_script) -> None:
    address = _filled(databases, OLD[-1])
    next_script()
    with open_store(address) as store:
        migrating.migrate(store, "0003", to="0004")
        assert _colours(store) == {"clear"}
        with store.reading() as connection:
            assert version_of(connection) == "0004" and audit(connection) == []
            if databases.kind == "postgresql":
                copied = connection.execute(
                    text("select on_hand from before_0003.item order by id")
                ).scalars()
                now = connection.execute(text("select on_hand from item order by id")).scalars()
                assert list(copied) == list(now) != []
    if databases.kind == "sqlite":
        copy = f"{address}.before-0003"
        assert not Path(f"{copy}.part").exists()
        with closing(sqlite3.connect(copy)) as old:
            assert "colour" not in [row[1] for row in old.execute("pragma table_info(item)")]
        with open_store(copy) as store, store.reading() as connection:
            assert find_item(connection, "C-1").balance == Balance(6, 3, 0)


def test_a_migration_that_fails_leaves_the_old_store(databases, next_script) -> None:
    address = _filled(databases, OLD[-1])
    next_script("op.execute('select nothing from nowhere')")
    with open_store(address) as store:
        with pytest.raises(StoreError):
            migrating.migrate(store, "0003", to="0004")
        with store.reading() as connection:
            assert version_of(connection) == "0003" and audit(connection) == []
            assert "colour" not in [c["name"] for c in inspect(connection).get_columns("item")]


CHILD = """
import sys
from pathlib import Path
from alembic.script import ScriptDirectory
from panewright.io.store import migrating
from panewright.io.store.engine import open_store
here = Path(migrating.__file__).parent / "migrations"
script = ScriptDirectory(str(here), version_locations=[str(here / "versions"), sys.argv[2]])
migrating.scripts = lambda: script
migrating.migrate(open_store(sys.argv[1]), "0003", to="0004")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL on Windows")
def test_a_migration_that_is_killed_leaves_the_old_store(databases, next_script) -> None:
    address = _filled(databases, OLD[-1])
    folder = next_script("os.kill(os.getpid(), signal.SIGKILL)")
    done = subprocess.run([sys.executable, "-c", CHILD, address, folder], capture_output=True, check=False)
    assert done.returncode == -signal.SIGKILL, done.stderr
    with open_store(address) as store, store.reading() as connection:
        assert version_of(connection) == "0003" and audit(connection) == []
        assert "colour" not in [c["name"] for c in inspect(connection).get_columns("item")]
        assert find_item(connection, "C-1").balance == Balance(6, 3, 0)
