"""Opening the store, and its two kinds of transaction: reading, and writing, one writer at a time.

Writers of the same store wait for each other (SQLite: BEGIN IMMEDIATE; PostgreSQL: an advisory lock), so
that a plan's commit sees a still picture and nobody waits in a circle.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final, Self

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.exc import DatabaseError, DBAPIError, NoSuchModuleError, SQLAlchemyError, StatementError

from panewright.io.store.address import Address, address_of
from panewright.io.store.errors import StoreError
from panewright.io.store.schema import HEAD
from panewright.nesting.text import tr

WAIT_SECONDS: Final = 60
"""How long a writer waits for the others."""
ASK_MILLIS: Final = 10
"""In this time SQLite asks four times whether it may write."""
LOCK: Final = 0x70616E65
"""The advisory lock of all writers of a PostgreSQL store."""
VERSIONS: Final = "alembic_version"


class Store:
    """An open store.

    Parameters
    ----------
    address
        Where it is.
    engine
        Of SQLAlchemy.
    """

    def __init__(self, address: Address, engine: Engine) -> None:
        self.address, self.engine = address, engine

    def __str__(self) -> str:
        return str(self.address)

    def close(self) -> None:
        """Let the connections go."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A still picture to read from; nothing in it is kept."""
        with self._told(), self.engine.connect() as connection:
            yield connection
            connection.rollback()

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A change that is made wholly or, on any error, not at all.

        Raises
        ------
        StoreError
            The file is read-only, the disk full, another writer does not end ...
        """
        with self._told(), self.engine.connect() as connection:
            connection = connection.execution_options(panewright_writes=True)
            with connection.begin():
                if self.engine.dialect.name == "postgresql":
                    connection.execute(text("select pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
                yield connection

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except SQLAlchemyError as error:
            fault = told(str(self.address), error)
            fault.add_note(_statement(error))
            # the driver's own words name host and user: they are no cause that a trace may show
            raise fault from None


def open_store(address: str | Address, *, create: bool = False) -> Store:
    """Open the store, bring its tables up to date, or make it.

    Parameters
    ----------
    address
        A file, or a URL.
    create
        Make the tables where there are none.

    Raises
    ------
    StoreError
        No store there, a newer one, or none that can be opened.
    """
    where = address_of(address) if isinstance(address, str) else address
    if where.path is not None:
        _check_file(where, create)
    try:
        store = Store(where, _engine(where))
    except (ImportError, NoSuchModuleError):
        raise StoreError(
            str(where),
            tr("the driver for PostgreSQL is not installed"),
            tr("install it with: pip install panewright[postgres]"),
        ) from None
    try:
        _bring_up_to_date(store, create)
    except UnicodeError:
        store.close()
        raise StoreError(str(where), tr("it does not answer"), tr("look after address and network")) from None
    except BaseException:
        store.close()
        raise
    return store


def _check_file(where: Address, create: bool) -> None:
    path = where.path
    assert path is not None
    if path.is_dir():
        raise StoreError(str(where), tr("it is a folder"), tr("give the name of a file"))
    if not path.exists():
        if not create:
            raise StoreError(
                str(where), tr("there is no such file"), tr("`panewright stock receive` makes one")
            )
        above = path.resolve().parent
        if not above.is_dir():
            raise StoreError(str(where), tr("its folder is not there"), tr("make the folder first"))
        if not os.access(above, os.W_OK):
            raise StoreError(str(where), tr("its folder cannot be written to"), tr("give another file"))
    elif path.stat().st_size and path.read_bytes()[:16] != b"SQLite format 3\x00":
        raise StoreError(str(where), tr("it is no stock store"), tr("give a store, such as stock.db"))


def _engine(where: Address) -> Engine:
    if where.path is None:
        engine = create_engine(where.url, pool_pre_ping=False, connect_args={"connect_timeout": 10})
        event.listen(engine, "begin", _wait_not_for_ever)
        return engine
    engine = create_engine(where.url, connect_args={"timeout": WAIT_SECONDS})
    event.listen(engine, "connect", _set_up_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _set_up_sqlite(connection: Any, _: Any) -> None:
    # the driver's own transactions leave out DDL and begin late: we say BEGIN ourselves
    connection.isolation_level = None
    cursor = connection.cursor()
    # a rollback journal and no write-ahead log: the store stays one file that can be copied
    for pragma in (
        "foreign_keys = on",
        "synchronous = full",
        f"busy_timeout = {WAIT_SECONDS * 1000}",
        # of a large store the whole of its items, not a part: 2,000 KiB are the rule [KiB]
        "cache_size = -16000",
    ):
        cursor.execute(f"pragma {pragma}")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("panewright_writes")
    if writes and _begun(connection.connection.driver_connection):
        return
    # here too where it is refused: SQLAlchemy then words the error
    connection.exec_driver_sql("begin immediate" if writes else "begin")


def _begun(raw: Any) -> bool:
    """Begin to write as soon as no other writer is at work.

    SQLite by itself asks every 100 ms in the end: of eight writers without a rest one waited for 25 s.
    """
    last = time.monotonic() + WAIT_SECONDS
    raw.execute(f"pragma busy_timeout = {ASK_MILLIS}")
    try:
        while time.monotonic() < last:
            try:
                raw.execute("begin immediate")
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY:
                    return False
            else:
                return True
        return False
    finally:
        raw.execute(f"pragma busy_timeout = {WAIT_SECONDS * 1000}")


def _wait_not_for_ever(connection: Connection) -> None:
    connection.exec_driver_sql(f"set local lock_timeout = '{WAIT_SECONDS}s'")
    if not connection.get_execution_options().get("panewright_writes"):
        connection.exec_driver_sql("set transaction isolation level repeatable read, read only")


def version_of(connection: Connection) -> str | None:
    """The schema of the store; None where it has no tables yet."""
    if not inspect(connection).has_table(VERSIONS):
        return None
    found = connection.execute(text(f"select version_num from {VERSIONS}")).scalar()
    return None if found is None else str(found)


def holds_nothing(where: Address) -> bool:
    """Whether there is no table at this address yet."""
    with Store(where, _engine(where)) as store, store.reading() as connection:
        return not inspect(connection).get_table_names()


def _bring_up_to_date(store: Store, create: bool) -> None:
    with store.reading() as connection:
        version = version_of(connection)
        others = version is None and bool(inspect(connection).get_table_names())
    if version == HEAD:
        return
    if others:
        raise StoreError(
            str(store), tr("it holds other tables, and no stock"), tr("give a database of its own")
        )
    if version is None and not create:
        raise StoreError(str(store), tr("it is empty"), tr("`panewright stock receive` fills it"))
    from panewright.io.store.migrating import migrate

    migrate(store, version)


def _statement(error: SQLAlchemyError) -> str:
    """Kind of a fault and the statement that met it, without its values, for a trace."""
    statement = error.statement if isinstance(error, StatementError) else None
    return f"{type(error).__name__}: {' '.join((statement or '').split())[:400]}"


def told(where: str, error: SQLAlchemyError) -> StoreError:
    """What the database said, for people: without statements, values or passwords."""
    said = str(error.orig) if isinstance(error, DBAPIError) and error.orig is not None else ""
    low = said.lower()
    for words, reason, remedy in (
        (("readonly", "read-only"), tr("it cannot be written to"), tr("give write access to the file")),
        (
            ("disk is full", "no space left", "disk full"),
            tr("the disk is full"),
            tr("make room, then say it again"),
        ),
        (("disk i/o",), tr("the disk cannot be read or written"), tr("look after the disk")),
        (
            ("locked", "lock timeout", "busy"),
            tr("another program is writing to it"),
            tr("wait until that has ended, then say it again"),
        ),
        (
            ("not a database", "malformed", "file is encrypted"),
            tr("it is no stock store, or it is damaged"),
            tr("give another file, or the last copy of it"),
        ),
        (
            ('role "', "password", "authentication"),
            tr("it refuses the user"),
            tr("correct user and password"),
        ),
        (("does not exist",), tr("there is no such database"), tr("make it, or correct the address")),
        (("unable to open",), tr("it cannot be opened"), tr("look after name and access of the file")),
        (
            (
                "connection refused",
                "could not translate",
                "failed to resolve",
                "invalid port",
                "could not connect",
                "connection failed",
                "timeout",
            ),
            tr("it does not answer"),
            tr("look after address and network"),
        ),
    ):
        if any(word in low for word in words):
            return StoreError(where, reason, remedy)
    kind = type(error.orig if isinstance(error, DatabaseError) and error.orig else error).__name__
    return StoreError(
        where, tr("the database reports a fault ({kind})", kind=kind), tr("look after the database")
    )
