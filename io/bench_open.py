"""The order of sheets with few open orders: stored problems of 2005, and drawn weeks.

Stored: problems of the Constraint Modelling Challenge 2005 from the public MiniZinc benchmarks (MIT), rows are
orders and columns are sheets, with the optima stored beside most of them.
Drawn: weeks of `bench_spread` nested with little and with much mixing, with the due days of their orders.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from panewright.io.bench_data import strictly, text_of
from panewright.io.bench_spread import KINDS, START, Kind, capacity, spread_week
from panewright.nesting.cutting_days import Load
from panewright.nesting.open_orders.by_day import latest_loads
from panewright.nesting.open_orders.hand_out import First, HandOut, orders_on
from panewright.nesting.open_orders.order import Ordered, fewest_open
from panewright.nesting.open_orders.weighted import weighted_nests
from panewright.nesting.open_orders.weights import CURVE
from panewright.nesting.optimizer.instance import build
from panewright.nesting.optimizer.runner import Counter
from panewright.nesting.text import tr

LONG: Final = Kind(name="40 orders, long", group=4, orders=40, tanks=(2, 8), sheet=(3210, 2250))
"""Weeks of up to 60 sheets."""
SEEDS: Final = 3
MIXED: Final = (0, 1, 2)
"""Points of the curve whose weights are used."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Orders on each sheet, what an order with a due day may have before it, and the optimum in print."""

    name: str
    sheets: tuple[frozenset[str], ...]
    latest: dict[str, Load] | None = None
    known: int | None = None


@dataclass(frozen=True, slots=True)
class Solved:
    """A problem, what was found, and the seconds that it took."""

    problem: Problem
    found: Ordered
    seconds: float


def stored(folder: Path) -> list[Problem]:
    """The stored problems by name."""
    out = []
    for path in sorted((folder / "open_stacks").glob("*.dzn")):
        with strictly(path):
            text = text_of(path)
            orders, sheets = (int(_only(rf"\b{name}\s*=\s*(\d+)", text)) for name in "cp")
            cells = re.findall(r"[01]", text[text.index("[|") :])
            if len(cells) != orders * sheets:
                raise ValueError(tr("the table has {count} cells", count=len(cells)))
            on = tuple(
                frozenset(f"{o:03d}" for o in range(orders) if cells[o * sheets + s] == "1")
                for s in range(sheets)
            )
        answer = path.with_suffix(".sol")
        known = None
        if answer.is_file():
            with strictly(answer):
                # the last of the solutions stored is the best
                known = int(re.findall(r"objective\s*=\s*(\d+)", text_of(answer))[-1])
        out.append(Problem(path.stem, on, None, known))
    return out


def _only(pattern: str, text: str) -> str:
    found = re.search(pattern, text)
    if not found:
        raise ValueError(pattern)
    return found[1]


def drawn(seed: int) -> Iterator[Problem]:
    """Nested weeks: with their due days, and without."""
    for kind in (*KINDS, LONG):
        for number in range(SEEDS):
            week = spread_week(seed + number, kind)
            instance = build(week.panels, week.stock, week.shop.rules(week.panels[0].glass))
            due: dict[str, date] = {p.order: p.due for p in week.panels if p.due is not None}
            types = {(0, t): x for t, x in enumerate(instance.types)}
            for point in MIXED:
                patterns = next(weighted_nests(instance, {}, [0], CURVE[point], capacity(1), Counter()))
                hand = HandOut(types, First.OPEN)
                on = tuple(
                    orders_on(hand.take(((0, t), n) for t, n in p.uses(instance).items())) for p in patterns
                )
                latest = latest_loads(capacity(len(on)), START, due, {})
                name = f"{week.name}, nest {point + 1}"
                yield Problem(name, on, None)
                yield Problem(tr("{name}, due days", name=name), on, latest)


def solved(problems: Iterator[Problem] | Sequence[Problem], clock: Callable[[], float]) -> Iterator[Solved]:
    """Every problem put in order."""
    for problem in problems:
        began = clock()
        found = fewest_open(problem.sheets, latest=problem.latest)
        yield Solved(problem, found, clock() - began)
