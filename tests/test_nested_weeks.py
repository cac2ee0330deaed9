"""Plans of past weeks that are kept: only the same question gets the same answer."""

from __future__ import annotations

from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from panewright.io.nested_weeks import NestedWeeks, Remembering, key_of
from panewright.nesting.each import Inline
from panewright.nesting.outlines import rectangle
from panewright.nesting.rules import Rules
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import mm
from panewright.nesting.week_sheets.counts import WeekCount
from panewright.nesting.week_sheets.kinds import Kind
from panewright.nesting.week_sheets.renest import WeekTask, nest_task

STOCK = StockPiece(
    name="clear-10 3210x2250", glass="clear-10", width=mm(3210), height=mm(2250), cost=900_000, buyable=True
)
RULES = Rules(break_out=mm(30), corner_depth=mm(25), least_angle=30_000)
KIND = Kind(rectangle(mm(1000), mm(500)), "any", True, False, "", 3)
TASK = WeekTask("clear-10", ((100, (KIND,)),), (STOCK,), RULES, 20, 0)
COUNT = WeekCount(
    week=100,
    glass="clear-10",
    sheets={STOCK.name: 1},
    cut=10**18,
    sheet=7 * 10**18,
    cost=900_000,
    bound=900_000,
)


def told(path: Path) -> NestedWeeks:
    """A file that knows the task."""
    kept = NestedWeeks.read(path)
    kept.learn(TASK, [COUNT])
    kept.write()
    return kept


def test_what_was_nested_is_known_again_whatever_its_week(tmp_path: Path) -> None:
    told(tmp_path / "weeks.jsonl")
    later = replace(TASK, weeks=((105, TASK.weeks[0][1]),))
    assert NestedWeeks.read(tmp_path / "weeks.jsonl").recall(later) == [replace(COUNT, week=105)]


def test_another_price_rule_count_or_effort_is_another_question(tmp_path: Path) -> None:
    kind = TASK.weeks[0][1][0]
    others = (
        replace(TASK, stock=(replace(STOCK, cost=900_001),)),
        replace(TASK, rules=replace(RULES, break_out=mm(31))),
        replace(TASK, weeks=((100, (kind._replace(panels=4),)),)),
        replace(TASK, effort=21),
        replace(TASK, seed=1),
    )
    assert len({key_of(task) for task in (TASK, *others)}) == 6
    kept = told(tmp_path / "weeks.jsonl")
    assert [kept.recall(task) for task in others] == [None] * 5


def test_torn_and_foreign_lines_are_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "weeks.jsonl"
    told(path)
    text = path.read_text("utf-8")
    bad = text.replace('"cost":900000', '"cost":-1').replace('"key":"', '"key":"x')
    path.write_text('{"key":\n[1]\n{"key":"a","count":{"week":"b"}}\n' + bad + text + text[:40], "utf-8")
    assert list(NestedWeeks.read(path).known) == [key_of(TASK)]


def test_nothing_is_kept_twice_and_no_folder_is_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "weeks.jsonl"
    for _ in range(2):
        told(path)
    assert len(path.read_text("utf-8").splitlines()) == 1
    nowhere = told(tmp_path / "none" / "weeks.jsonl")
    assert nowhere.recall(TASK) == [COUNT]
    NestedWeeks.read(None).write()


def test_an_executor_asks_for_what_is_not_known_alone(tmp_path: Path) -> None:
    made: list[object] = []

    class Counting(Inline):
        def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
            made.append(args)
            return super().submit(fn, *args, **kwargs)

    kept = told(tmp_path / "weeks.jsonl")
    pool = Remembering(Counting(), kept)
    assert pool.submit(nest_task, TASK).result() == [COUNT] and not made
    assert pool.submit(len, "abc").result() == 3
    other = replace(TASK, effort=1)
    first = pool.submit(nest_task, other).result()
    assert first[0].sheets == {STOCK.name: 1}
    assert pool.submit(nest_task, other).result() == first and len(made) == 2
    kept.write()
    assert NestedWeeks.read(tmp_path / "weeks.jsonl").recall(other) == first


def test_the_sources_that_a_plan_is_made_of_have_a_hash(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    kept = NestedWeeks.found()
    assert not kept.known
