"""The glass-cutting challenge of 2018 (ROADEF/EURO) as panels in racks, plates with flaws, and rules of a shop.

Source: the problem description by Tlilane and Viaud, 23 February 2018, and the data of its organisers, as the
README of the shared data tells them. All sizes there are whole millimetres.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from panewright.io.bench_data import BenchDataMissing, rows_of, strictly
from panewright.io.bench_order import shop_panels
from panewright.nesting.flaws import Flaw
from panewright.nesting.optimizer.instance import Instance, build
from panewright.nesting.panels import Panel
from panewright.nesting.rules import Rules
from panewright.nesting.stock import StockPiece
from panewright.nesting.text import tr
from panewright.nesting.units import MONEY, mm

FOLDER: Final = "roadef2018"
EXAMPLE: Final = "A0"
"""The organisers' own example; it lies in a folder of its own, with a solution."""
GLASS: Final = "clear-6"
LEVELS: Final = 4
_MOST_ITEMS: Final = 10_000
_MOST_PLATES: Final = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The numbers of the rules, all but the first in millimetres.

    Parameters
    ----------
    plates
        Most plates, each with its own flaws, taken in their order.
    width, height
        Of every plate.
    least1, most1
        Width between two neighbouring 1-cuts: the least (not for waste), the greatest (not for the residual).
    least2
        Least height between two neighbouring 2-cuts (not for waste).
    waste
        Least width and height of waste.
    """

    plates: int
    width: int
    height: int
    least1: int
    most1: int
    least2: int
    waste: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A rectangle to be cut, and its place in the stack that it leaves the plates into. [mm]"""

    number: int
    length: int
    width: int
    stack: int
    sequence: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    """A flaw on the plate of this number, the first is 0. [mm]"""

    number: int
    plate: int
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Challenge:
    """One instance."""

    name: str
    limits: Limits
    items: tuple[Item, ...]
    defects: tuple[Defect, ...]

    @property
    def area(self) -> int:
        """Of all items. [mm2]"""
        return sum(i.length * i.width for i in self.items)

    @property
    def free(self) -> bool:
        """Whether every item has a stack of its own, so that none waits for another."""
        return len({i.stack for i in self.items}) == len(self.items)

    @property
    def panels(self) -> tuple[Panel, ...]:
        """The items as panels, named by their numbers; a stack of one item is no rack."""
        sizes = Counter(i.stack for i in self.items)
        bare = shop_panels(self.name, [(i.length, i.width) for i in self.items], glass=GLASS, thickness=6)
        digits = len(str(max(sizes)))
        return tuple(
            replace(panel, rack=f"stack {i.stack:0{digits}d}", slot=i.sequence)
            if sizes[i.stack] > 1
            else panel
            for panel, i in zip(bare, self.items, strict=True)
        )

    def stock(self, plates: int | None = None) -> tuple[StockPiece, ...]:
        """The first plates, all of one price; by default twice as many as the area asks for, and four more."""
        limits = self.limits
        enough = 2 * -(-self.area // (limits.width * limits.height)) + 4
        there = min(limits.plates, enough if plates is None else plates)
        flaws: list[list[Flaw]] = [[] for _ in range(limits.plates)]
        for d in self.defects:
            flaws[d.plate].append(Flaw(mm(d.x), mm(d.y), mm(d.width), mm(d.height), "seed"))
        return tuple(
            StockPiece(
                name=plate_name(plate),
                glass=GLASS,
                width=mm(limits.width),
                height=mm(limits.height),
                raw=(),
                cost=MONEY,
                on_hand=1,
                flaws=tuple(sorted(flaws[plate])),
                take=plate + 1,
            )
            for plate in range(there)
        )

    @property
    def rules(self) -> Rules:
        """The challenge's rules as those of a shop: four levels, the last for a single cut."""
        limits = self.limits
        return Rules(
            levels=LEVELS,
            last_cut=False,
            deepest_once=True,
            break_out=mm(limits.waste),
            level1_width=(mm(limits.least1), mm(limits.most1)),
            level2_width=mm(limits.least2),
            least_waste=mm(limits.waste),
        )

    def instance(self, plates: int | None = None) -> Instance:
        """What the search is given."""
        return build(self.panels, self.stock(plates), self.rules)


def plate_name(plate: int) -> str:
    """Name of the stock piece of a plate, the first is 0."""
    return f"plate {plate + 1:03d}"


# ---------------------------------------------------------------------------------------- reading, strictly


def _whole(row: dict[str, str], key: str, least: int, most: int) -> int:
    """A whole number as the files write it, with or without ``.0``; raises ValueError."""
    text = row[key]
    match = re.fullmatch(r"([0-9]{1,12})(?:\.0{1,6})?", text or "", re.ASCII)
    value = int(match[1]) if match else -1
    if not match or not least <= value <= most:
        raise ValueError(
            tr(
                "{key} {value} is no whole number from {least} to {most}",
                key=key,
                value=repr(text)[:40],
                least=least,
                most=most,
            )
        )
    return value


def _limits(path: Path) -> Limits:
    with strictly(path):
        rows = {row["NAME"]: row for row in rows_of(path, delimiter=";")}

        def value(name: str, most: int = 10**6) -> int:
            return _whole(rows[name], "VALUE", 1, most)

        found = Limits(
            plates=value("nPlates", _MOST_PLATES),
            width=value("widthPlates"),
            height=value("heightPlates"),
            least1=value("min1Cut"),
            most1=value("max1Cut"),
            least2=value("min2Cut"),
            waste=value("minWaste"),
        )
        if found.least1 > found.most1:
            raise ValueError(tr("min1Cut is more than max1Cut"))
        return found


def _items(path: Path) -> tuple[Item, ...]:
    with strictly(path):
        found = tuple(
            Item(
                number=_whole(row, "ITEM_ID", 0, _MOST_ITEMS),
                length=_whole(row, "LENGTH_ITEM", 1, 10**6),
                width=_whole(row, "WIDTH_ITEM", 1, 10**6),
                stack=_whole(row, "STACK", 0, _MOST_ITEMS),
                sequence=_whole(row, "SEQUENCE", 0, _MOST_ITEMS),
            )
            for row in rows_of(path, delimiter=";")
        )
        _once("ITEM_ID", [i.number for i in found])
        _once("STACK, SEQUENCE", [(i.stack, i.sequence) for i in found])
        if [i.number for i in found] != list(range(len(found))) or not found:
            raise ValueError(tr("the items are not numbered 0, 1, 2 ..."))
        return found


def _defects(path: Path, limits: Limits) -> tuple[Defect, ...]:
    with strictly(path):
        found = tuple(
            Defect(
                number=_whole(row, "DEFECT_ID", 0, 10**6),
                plate=_whole(row, "PLATE_ID", 0, limits.plates - 1),
                x=_whole(row, "X", 0, limits.width),
                y=_whole(row, "Y", 0, limits.height),
                width=_whole(row, "WIDTH", 0, limits.width),
                height=_whole(row, "HEIGHT", 0, limits.height),
            )
            for row in rows_of(path, delimiter=";")
        )
        _once("DEFECT_ID", [d.number for d in found])
        for d in found:
            if d.x + d.width > limits.width or d.y + d.height > limits.height:
                raise ValueError(tr("defect {number} lies beyond its plate", number=d.number))
        return found


def _once(what: str, values: Sequence[object]) -> None:
    value, count = Counter(values).most_common(1)[0] if values else (None, 0)
    if count > 1:
        raise ValueError(tr("{what} {value} is there {count} times", what=what, value=value, count=count))


def read_challenge(folder: Path, name: str) -> Challenge:
    """One instance (``A7``), or the organisers' example (``A0``); raises `BenchDataMissing`.

    Parameters
    ----------
    folder
        The data folder.
    name
        Set and number.
    """
    root = folder / FOLDER
    match = re.fullmatch(r"([A-Z])([0-9]{1,3})", name, re.ASCII)
    if match is None:
        raise BenchDataMissing(root, tr("no instance has the name {name}", name=repr(name)[:40]))
    home = root / f"example_{EXAMPLE}" if name == EXAMPLE else root / match[1]
    limits = _limits(root / "global_param.csv")
    return Challenge(
        name=name,
        limits=limits,
        items=_items(home / f"{name}_batch.csv"),
        defects=_defects(home / f"{name}_defects.csv", limits),
    )


def challenge_names(folder: Path, sets: Sequence[str] = ("A", "B")) -> list[str]:
    """The names of all instances of these sets, in order of their numbers; raises `BenchDataMissing`."""
    root = folder / FOLDER
    found = []
    for group in sets:
        if re.fullmatch("[A-Z]", group, re.ASCII) is None:
            raise BenchDataMissing(root, tr("no set has the name {name}", name=repr(group)[:40]))
        numbers = [
            int(match[1])
            for path in (root / group).glob(f"{group}*_batch.csv")
            for match in [re.fullmatch(rf"{group}([0-9]{{1,3}})_batch\.csv", path.name, re.ASCII)]
            if match
        ]
        if not numbers:
            raise BenchDataMissing(root / group, tr("no instance of the challenge there"))
        found += [f"{group}{number}" for number in sorted(numbers)]
    return found


# ------------------------------------------------------------------------------------------- best known


@dataclass(frozen=True, slots=True, kw_only=True)
class BestKnown:
    """What is in print about one instance: the table of 2018-2019.

    Parameters
    ----------
    items, stacks, defects, area
        Of the instance, to tell it by. [area: mm2]
    winner_180, best
        Objective of the winner after 180 s, and the best in the table. [mm2]
    plates, residual, recomputed
        Of the best solution in print, and the objective of that file. [mm, mm2]
    """

    items: int
    stacks: int
    defects: int
    area: int
    winner_180: int
    best: int
    plates: int
    residual: int
    recomputed: int


_COLUMNS: Final = {
    "items": "items",
    "stacks": "stacks",
    "defects": "defects",
    "area": "item_area_mm2",
    "winner_180": "winner_180s",
    "best": "best_known_2018_2019_table",
    "plates": "plates_in_that_file",
    "residual": "residual_width_in_that_file",
    "recomputed": "objective_recomputed_from_best_solution_file",
}


def best_known(folder: Path) -> dict[str, BestKnown]:
    """The table of best known values by instance; raises `BenchDataMissing`."""
    path = folder / FOLDER / "best_known.csv"
    with strictly(path):

        def one(row: dict[str, str]) -> BestKnown:
            return BestKnown(**{field: _whole(row, key, 0, 10**12) for field, key in _COLUMNS.items()})

        return {row["instance"]: one(row) for row in rows_of(path)}
