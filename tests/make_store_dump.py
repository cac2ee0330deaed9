"""Writes tests/data/store-VERSION.sql: what this version keeps, so that later ones prove to bring it up to date.

Run it once when a migration is added, with the version before it checked out: python tests/make_store_dump.py
"""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from panewright.io.bench_store_plans import GLASS, OFFCUT_WIDTH, Wish, made_plan
from panewright.io.record_file import Event, Record, What
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.engine import open_store
from panewright.io.store.items import OFFCUT, SHEET, Item, receive
from panewright.io.store.ledger import Because
from panewright.io.store.purchases import Purchase, set_down, take_off
from panewright.io.store.recording import apply_events
from panewright.io.store.schema import HEAD
from panewright.nesting.flaws import Flaw
from panewright.nesting.happened import AtStep
from panewright.nesting.units import mm

NOW = datetime(2027, 3, 8, 7, 30, tzinfo=UTC)


def main() -> None:
    """Make the store with the program's own functions and dump it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "stock.db"
        with open_store(str(path), create=True) as store, store.writing() as connection:
            because = Because(at=NOW, who="desk")
            case = Item(
                kind=SHEET,
                name="C-1",
                glass=GLASS,
                width=mm(3210),
                height=mm(2250),
                price=1_257_300,
                since=date(2027, 3, 1),
            )
            receive(connection, case, 7, because)
            odd = Item(
                kind=OFFCUT,
                name="O'Neil; drop table item",
                glass=GLASS,
                width=mm(900),
                height=mm(700),
                since=date(2027, 3, 1),
                raw=(),
                note="%s {0} \\ --",
            )
            receive(connection, odd, 1, because)
            flaws = (Flaw(mm(100), mm(50), mm(30), mm(2), "scratch"), Flaw(mm(400), mm(90), mm(1), mm(1)))
            receive(connection, replace(odd, name="R-7", flaws=flaws), 1, because)
            receive(connection, replace(case, name="C-2", width=mm(2550), take=3), 2, because)
            first = made_plan(
                "K-1", [Wish(keeps=True), Wish(keeps=True), Wish(), Wish(width=mm(6000), buy=True)]
            )
            commit_plan(connection, first, because)
            back = made_plan("K-2", [Wish(), Wish()])
            commit_plan(connection, back, because)
            withdraw_plan(connection, back.id, because)
            kept = next(leaf.offcut for leaf in first.layouts[0].leaves if leaf.offcut)
            waits = next(leaf.offcut for leaf in first.layouts[1].leaves if leaf.offcut)
            events = (
                Event(id="e1", at=NOW, what=What.SHEET_CUT, sheet=1, who="table 1"),
                Event(id="e2", at=NOW, what=What.OFFCUT_KEPT, sheet=1, offcut=kept),
                Event(
                    id="e3",
                    at=NOW + timedelta(minutes=5),
                    what=What.PANEL_BROKEN,
                    sheet=1,
                    panel=first.panels[0].id,
                    at_step=AtStep.EDGING,
                ),
            )
            apply_events(connection, Record(plan=first.id, device="table", events=events), because)
            commit_plan(
                connection, made_plan("K-3", [Wish(), Wish(width=OFFCUT_WIDTH, offcut=waits)]), because
            )
            bought = Purchase(
                glass=GLASS,
                width=mm(3210),
                height=mm(2250),
                sheets=10,
                price=1_257_300,
                supplier="O'Neil",
                ordered=date(2027, 3, 1),
                promised=date(2027, 3, 9),
            )
            set_down(connection, [bought, bought], because)
            take_off(connection, (GLASS, mm(3210), mm(2250)), "", 12, date(2027, 3, 8))
        with closing(sqlite3.connect(path)) as file:
            lines = "\n".join(file.iterdump())
    target = Path(__file__).parent / "data" / f"store-{HEAD}.sql"
    target.write_text(lines + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
