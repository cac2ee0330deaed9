"""Bringing an older store up to date, step by step, after a copy of it was made."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any, Final

from alembic.config import Config
from alembic.runtime.environment import EnvironmentContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, inspect, text

from panewright.io.store.engine import Store, version_of
from panewright.io.store.errors import StoreError
from panewright.io.store.schema import HEAD, metadata
from panewright.nesting.text import tr

MOST_COPIES: Final = 1000


def scripts() -> ScriptDirectory:
    """The migrations that this version knows."""
    return ScriptDirectory(str(Path(__file__).parent / "migrations"))


def known_versions() -> list[str]:
    """Their names, the oldest first."""
    return [script.revision for script in reversed(list(scripts().walk_revisions()))]


def migrate(store: Store, version: str | None, to: str = HEAD) -> None:
    """Bring a store from a version, or from nothing, up to another one, in one transaction.

    Raises
    ------
    StoreError
        The store is newer than this program; it was not touched.
    """
    if version is not None and version not in known_versions():
        raise StoreError(
            str(store),
            tr("it was made by a newer program (schema {version})", version=version[:20]),
            tr("use that program, or a newer one; nothing was changed"),
        )
    if version is not None:
        _copy_file(store, version)
    with store.writing() as connection:
        now = version_of(connection)
        if now != version:
            # somebody else was faster
            if now == to:
                return
            raise StoreError(str(store), tr("it changes at this moment"), tr("say it again"))
        if version is not None and store.address.path is None:
            _copy_tables(connection, version)
        _run(connection, to)


def _run(connection: Connection, to: str) -> None:
    script = scripts()

    def steps(revision: Any, _: Any) -> Any:
        return script._upgrade_revs(to, revision)

    with EnvironmentContext(Config(), script, fn=steps, destination_rev=to) as environment:
        environment.configure(connection=connection, target_metadata=metadata, transactional_ddl=True)
        environment.run_migrations()


def _copy_file(store: Store, version: str) -> None:
    """A copy beside the file, whole even while others write (SQLite's backup)."""
    path = store.address.path
    if path is None:
        return
    for k in range(MOST_COPIES):
        copy = path.with_name(f"{path.name}.before-{version}{f'-{k}' if k else ''}")
        if not copy.exists():
            break
    else:
        raise StoreError(str(store), tr("too many copies lie beside it"), tr("move the old copies away"))
    part = copy.with_name(copy.name + ".part")
    try:
        part.unlink(missing_ok=True)
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(part)) as target:
            source.backup(target)
        part.replace(copy)
    except (OSError, sqlite3.Error) as error:
        part.unlink(missing_ok=True)
        raise StoreError(
            str(store),
            tr("no copy of it could be made before bringing it up to date ({reason})", reason=error),
            tr("make room beside the file; nothing was changed"),
        ) from error


def _copy_tables(connection: Connection, version: str) -> None:
    """Copies of all tables in a schema of their own, in the transaction of the migration."""
    found = connection.execute(
        text("select nspname from pg_namespace where nspname like 'before\\_%'")
    ).scalars()
    taken = set(found)
    names = [f"before_{version}", *(f"before_{version}_{k}" for k in range(1, MOST_COPIES))]
    name = next(n for n in names if n not in taken)
    quote = connection.dialect.identifier_preparer.quote
    connection.execute(text(f"create schema {quote(name)}"))
    for table in sorted(inspect(connection).get_table_names()):
        connection.execute(text(f"create table {quote(name)}.{quote(table)} as select * from {quote(table)}"))
