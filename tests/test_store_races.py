"""Small samples of the campaigns of `panewright bench store...`: planners at once, kills, a store with a past."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest
from click.testing import CliRunner
from sqlalchemy import select, text

from panewright.cli import bench_store
from panewright.cli.failures import Exit
from panewright.cli.main import app
from panewright.io import bench_server
from panewright.io.bench_store_fill import fill
from panewright.io.bench_store_kills import KINDS, killed
from panewright.io.bench_store_plans import OFFCUT_WIDTH, Wish, made_plan
from panewright.io.bench_store_races import raced
from panewright.io.bench_store_sound import faults
from panewright.io.shop_file import default_shop
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.engine import open_store
from panewright.io.store.items import items_there
from panewright.io.store.ledger import Because, audit
from panewright.io.store.offering import offered
from panewright.io.store.plan_lists import committed_plans, newest_of, stands_for
from panewright.io.store.schema import plan as plans
from panewright.nesting.checker import check
from panewright.nesting.ledger import PlanState, SheetState
from panewright.nesting.units import mm


def test_made_up_plans_pass_the_checker(outsider, tmp_path) -> None:
    wishes = [
        Wish(across=4, up=5, keeps=True),
        Wish(width=OFFCUT_WIDTH, offcut="X-1", up=3),
        Wish(width=mm(6000), height=mm(3210), glass="low-iron-12", buy=True, across=2),
    ]
    plan = made_plan("A", wishes)
    assert check(plan) == []
    outsider(plan, tmp_path)
    assert plan.id != made_plan("B", wishes).id and len(plan.panels) == 25


def test_planners_at_once_take_nothing_twice(databases) -> None:
    found = raced(databases.empty(), calls=40, planners=2, seed=7)
    assert found.wrong == ()
    assert sum(found.outcomes.values()) == len(found.seconds) == 40
    assert {"taken", "refused", "withdrawn"} <= set(found.outcomes)


def test_a_killed_process_leaves_a_whole_store(databases) -> None:
    found = killed(databases.empty(), kills=3, seed=7)
    assert found.wrong == ()
    assert found.kills == dict.fromkeys(KINDS, 1)
    assert sum(found.halfway.values()) + sum(found.done.values()) > 0


def test_a_long_past_is_a_sound_one(databases) -> None:
    with open_store(databases.empty()) as store:
        with store.writing() as connection:
            filled = fill(connection, 3000, 3)
        assert filled.movements >= 3000 and filled.plans == 9
        with store.reading() as connection:
            assert audit(connection) == [] and faults(connection) == []
            assert connection.execute(text("select count(*) from movement")).scalar() == filled.movements
            there = items_there(connection)
            assert len(there) == filled.there
            every = committed_plans(connection, every=True)
            assert len(every) == filled.plans and sum(sum(p.sheets.values()) for p in every) == filled.sheets
            taken = [p for p in committed_plans(connection) if SheetState.RESERVED in p.sheets]
            assert all(p.state is PlanState.OPEN and sum(p.sheets.values()) == 60 for p in taken)
            free = sum(i.balance.free for i in there if not i.is_offcut)
            may = offered(connection, default_shop(), day=there[0].since, expected=True)
            assert sum(p.on_hand for p in may.pieces if not p.is_offcut) == free
        # a commit and its withdrawal leave every balance as it was
        before = {i.name: i.balance for i in there}
        plan = made_plan("B", [Wish(across=2, keeps=k % 2 == 0) for k in range(60)])
        because = Because(at=datetime(2027, 3, 8, 7, tzinfo=UTC), who="desk")
        with store.writing() as connection:
            taken_now = commit_plan(connection, plan, because)
        assert len(taken_now.reserved) == 60 and not taken_now.to_buy
        with store.writing() as connection:
            assert withdraw_plan(connection, plan.id, because) == []
        with store.reading() as connection:
            assert {i.name: i.balance for i in items_there(connection)} == before and faults(connection) == []


def test_the_newest_of_a_line_of_plans(databases) -> None:
    with open_store(databases.empty()) as store:
        with store.writing() as connection:
            rows = [
                ("a", "followed", None, 1),
                ("b", "followed", "a", 2),
                ("c", "open", "b", 3),
                ("d", "withdrawn", "c", 4),
                ("e", "open", "a", 1),
                ("f", "open", None, 9),
                ("x", "followed", "y", 1),
                ("y", "followed", "x", 1),
            ]
            for name, state, follows, at in rows:
                connection.execute(
                    plans.insert().values(id=name, state=state, follows=follows, committed=at, file="")
                )
        with store.reading() as connection:
            names = list(connection.execute(select(plans.c.id)).scalars())
            newest = newest_of(connection, names)
            assert newest == {n: stands_for(connection, n) for n in names}
            assert [newest[n] for n in "abcdef"] == ["c", "c", "c", "d", "e", "f"]
            assert newest_of(connection, []) == {} and newest_of(connection, ["none"]) == {"none": "none"}


def test_bench_tells_what_it_saw(monkeypatch: pytest.MonkeyPatch) -> None:
    def running():
        raise bench_server.NoServer("none here")

    monkeypatch.setattr(bench_server, "running", running)
    monkeypatch.setattr(bench_store, "RUNS", 1)
    done = CliRunner().invoke(app, ["bench", "store", "--sample", "1000", "--json"])
    assert done.exit_code == 0, done.output
    (name, told), *rest = json.loads(done.stdout)["stores"].items()
    assert name == "SQLite" and not rest and "none here" in done.stderr
    assert told["adds_up"] and told["movements"] >= 1000 and len(told["times"]) == 14


def test_bench_writes_only_to_an_empty_database(postgres) -> None:
    postgres.create("held")
    open_store(postgres.url("held"), create=True).close()
    done = CliRunner().invoke(app, ["bench", "store", "--server", postgres.url("held")])
    postgres.drop("held")
    assert done.exit_code == Exit.USAGE and "give an empty one" in done.stderr
