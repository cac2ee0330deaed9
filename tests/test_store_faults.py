"""What is no store, and disks, files and neighbours that bite: a clear word, and nothing half-written."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from sqlalchemy import event, text

from panewright.io.bench_store_plans import GLASS
from panewright.io.bench_store_sound import faults
from panewright.io.store import engine
from panewright.io.store.engine import Store, open_store
from panewright.io.store.errors import StoreError
from panewright.io.store.items import SHEET, Item, find_item, items_there, receive
from panewright.io.store.ledger import Because
from panewright.nesting.ledger import Balance
from panewright.nesting.units import mm

BECAUSE = Because(at=datetime(2027, 3, 8, 7, tzinfo=UTC), who="desk")


def _receive(store: Store, name: str, count: int = 5, note: str = "") -> None:
    case = Item(
        kind=SHEET,
        name=name,
        glass=GLASS,
        width=mm(3210),
        height=mm(2250),
        since=date(2027, 3, 1),
        note=note,
    )
    with store.writing() as connection:
        receive(connection, case, count, BECAUSE)


def _holds(store: Store) -> dict[str, Balance]:
    with store.reading() as connection:
        assert faults(connection) == []
        return {one.name: one.balance for one in items_there(connection)}


@pytest.fixture
def stock(tmp_path: Path) -> Path:
    """An SQLite store with one case."""
    path = tmp_path / "stock.db"
    with open_store(str(path), create=True) as store:
        _receive(store, "C-1")
    return path


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("list.csv", b"number,glass\nX-1,clear-10\n"),
        ("short.db", b"SQLite"),
        ("head.db", b"SQLite format 3\x00"),
        ("noise.db", b"SQLite format 3\x00" + bytes(range(256)) * 40),
        ("zeros.db", bytes(4096)),
    ],
)
@pytest.mark.parametrize("create", [False, True])
def test_what_is_no_store_is_left_alone(tmp_path: Path, name: str, content: bytes, create: bool) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(StoreError) as told:
        open_store(str(path), create=create)
    assert told.value.reason and told.value.remedy and str(path) in str(told.value)
    assert path.read_bytes() == content
    assert [p.name for p in tmp_path.iterdir()] == [name]


def test_nothing_and_less_than_that(tmp_path: Path) -> None:
    for path, words in (
        (tmp_path, "folder"),
        (tmp_path / "none.db", "no such file"),
        (tmp_path / "none" / "stock.db", "no such file"),
    ):
        with pytest.raises(StoreError, match=words):
            open_store(str(path))
    with pytest.raises(StoreError, match="folder is not there"):
        open_store(str(tmp_path / "none" / "stock.db"), create=True)
    empty = tmp_path / "empty.db"
    empty.touch()
    with pytest.raises(StoreError, match="it is empty"):
        open_store(str(empty))
    assert not empty.stat().st_size
    with open_store(str(empty), create=True) as store:
        assert _holds(store) == {}


def test_tables_of_another_program_are_left_alone(databases) -> None:
    address = databases.nothing()
    where = engine.address_of(address)
    with Store(where, engine._engine(where)) as other, other.writing() as connection:
        connection.execute(text("create table customers (name text)"))
        connection.execute(text("insert into customers values ('Ada')"))
    for create in (False, True):
        with pytest.raises(StoreError, match="holds other tables"):
            open_store(address, create=create)
    with Store(where, engine._engine(where)) as other, other.reading() as connection:
        assert connection.execute(text("select name from customers")).scalars().all() == ["Ada"]


@pytest.mark.parametrize("part", [0.03, 0.5, 0.97])
def test_a_truncated_store_is_told_of(stock: Path, part: float) -> None:
    whole = stock.read_bytes()
    stock.write_bytes(whole[: int(len(whole) * part)])
    with pytest.raises(StoreError, match="damaged"), open_store(str(stock)) as store:
        with store.reading() as connection:
            items_there(connection)
            faults(connection)
        _receive(store, "C-2")


def test_a_full_disk_leaves_the_store_as_it_was(stock: Path) -> None:
    with open_store(str(stock)) as store, store.reading() as connection:
        pages = connection.exec_driver_sql("pragma page_count").scalar()
    with open_store(str(stock)) as store:
        store.engine.dispose()
        # SQLite tells a file that may not grow as it tells a full disk
        event.listen(
            store.engine, "connect", lambda raw, _: raw.execute(f"pragma max_page_count = {pages + 2}")
        )
        with pytest.raises(StoreError, match="the disk is full") as told:
            for number in range(2, 400):
                _receive(store, f"C-{number}", note="x" * 400)
        assert "make room" in told.value.remedy
        held = _holds(store)
        assert held == {f"C-{k}": Balance(5) for k in range(1, len(held) + 1)}
    with open_store(str(stock)) as store:
        _receive(store, "after")
        assert len(_holds(store)) == len(held) + 1
    assert [p.name for p in stock.parent.iterdir()] == ["stock.db"]


@contextmanager
def _ordinary_user() -> Iterator[None]:
    """Root may write everywhere: be another user meanwhile."""
    if sys.platform == "win32" or os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.mark.skipif(sys.platform == "win32", reason="folders cannot be made read-only by their bits")
@pytest.mark.parametrize("what", ["file", "folder"])
def test_a_read_only_store_is_read_and_not_written(stock: Path, what: str) -> None:
    # beside the test's own folder, which another user may not enter
    with tempfile.TemporaryDirectory() as name, open_store(str(stock)) as warm:
        assert _holds(warm)
        folder = Path(name)
        path = folder / "stock.db"
        path.write_bytes(stock.read_bytes())
        path.chmod(0o444 if what == "file" else 0o666)
        folder.chmod(0o555 if what == "folder" else 0o777)
        before = path.read_bytes()
        try:
            with _ordinary_user(), open_store(str(path)) as store:
                assert _holds(store) == {"C-1": Balance(5)}
                with pytest.raises(StoreError, match=r"cannot be (written to|opened)") as told:
                    _receive(store, "C-2")
                assert told.value.remedy
                with pytest.raises(StoreError):
                    open_store(str(folder / "new.db") if what == "folder" else str(path), create=True)
                    _receive(store, "C-3")
                assert _holds(store) == {"C-1": Balance(5)}
        finally:
            folder.chmod(0o755)
        assert path.read_bytes() == before
        assert [p.name for p in folder.iterdir()] == ["stock.db"]


def test_a_writer_who_waits_in_vain_is_told_so(databases, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "WAIT_SECONDS", 1)
    address = databases.empty()
    with open_store(address) as first, open_store(address) as second:
        _receive(first, "C-1")
        with first.writing() as connection:
            assert find_item(connection, "C-1")
            # readers do not wait for a writer
            assert _holds(second) == {"C-1": Balance(5)}
            with pytest.raises(StoreError, match="another program is writing") as told:
                _receive(second, "C-2")
            assert "say it again" in told.value.remedy
        _receive(second, "C-3")
        assert set(_holds(first)) == {"C-1", "C-3"}


def test_a_reader_holds_a_still_picture(databases) -> None:
    address = databases.empty()
    written = threading.Event()

    def write() -> None:
        with open_store(address) as other:
            _receive(other, "C-2")
        written.set()

    with open_store(address) as store:
        _receive(store, "C-1")
        writer = threading.Thread(target=write)
        with store.reading() as connection:
            assert len(items_there(connection)) == 1
            writer.start()
            # the writer waits for the reader (SQLite), or writes beside it (PostgreSQL)
            written.wait(0.2)
            assert len(items_there(connection)) == 1
        writer.join()
        assert written.is_set()
        assert set(_holds(store)) == {"C-1", "C-2"}


def test_nothing_of_an_error_inside_stays(databases) -> None:
    with open_store(databases.empty()) as store:
        with contextlib.suppress(ZeroDivisionError), store.writing() as connection:
            connection.execute(text("delete from item"))
            receive(
                connection,
                Item(kind=SHEET, name="C-9", glass=GLASS, width=1, height=1, since=date(2027, 3, 1)),
                1,
                BECAUSE,
            )
            _ = 1 // 0
        assert _holds(store) == {}


def test_a_store_left_by_a_killed_writer_is_whole(stock: Path) -> None:
    """A journal that lies beside the file is played back by whoever opens it next."""
    before = stock.read_bytes()
    with closing(sqlite3.connect(stock, isolation_level=None)) as raw:
        raw.execute("pragma cache_size = 1")
        raw.execute("begin immediate")
        # more than the cache holds, so that changed pages reach the file before the end
        for number in range(300):
            raw.execute(
                "insert into item (kind, name, glass, width, height, since, note) values (?,?,?,?,?,?,?)",
                ("sheet", f"H-{number}", GLASS, 1, 1, "2027-03-01", "x" * 400),
            )
        half = stock.read_bytes()
        journal = stock.with_name("stock.db-journal").read_bytes()
        raw.execute("rollback")
    assert half != before and journal
    stock.write_bytes(half)
    stock.with_name("stock.db-journal").write_bytes(journal)
    with open_store(str(stock)) as store:
        assert _holds(store) == {"C-1": Balance(5)}
        _receive(store, "C-2")
        assert set(_holds(store)) == {"C-1", "C-2"}
