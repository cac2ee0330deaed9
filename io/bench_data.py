"""Published problems from the shared data folder, with what is known about them.

The folder is not part of the project: `PANEWRIGHT_DATA`, else ``../shared/data`` beside the working
folder. Sizes have no unit in the bin packing problems and are millimetres in the glass lists.
"""

from __future__ import annotations

import csv
import json
import os
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from panewright.nesting.text import tr

VARIABLE: Final = "PANEWRIGHT_DATA"
GLASS_SHEET: Final = (6000, 3210)
"""Sheet of the glass lists. [mm]"""


class BenchDataMissing(Exception):
    """The data folder, or a file in it, is not there or not as described."""

    missing_input = True

    def __init__(self, path: Path, reason: str) -> None:
        self.path, self.reason = path, reason
        super().__init__(path, reason)

    def __str__(self) -> str:
        return tr(
            "{path}: {reason}; give the folder of the published problems with --data or {variable}",
            path=self.path,
            reason=self.reason,
            variable=VARIABLE,
        )


@dataclass(frozen=True, slots=True)
class Problem:
    """Rectangles to be cut from the fewest equal sheets.

    Parameters
    ----------
    name
        As published.
    group
        Class of the set.
    width, height
        Of every sheet.
    items
        Width and height of every rectangle.
    """

    name: str
    group: int
    width: int
    height: int
    items: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Published:
    """Best lower and upper bound known for a class, None where there is none; sums over its problems."""

    lower: int | None
    upper: int | None


def data_folder(given: Path | None = None) -> Path:
    """The data folder; raises `BenchDataMissing`."""
    path = given or Path(os.environ.get(VARIABLE, "../shared/data"))
    if not path.is_dir():
        raise BenchDataMissing(path, tr("there is no such folder"))
    return path


@contextmanager
def strictly(path: Path) -> Iterator[None]:
    """A block that reads this file; whatever is not as described is `BenchDataMissing`."""
    try:
        yield
    except (ValueError, KeyError, TypeError, IndexError, RecursionError, csv.Error) as error:
        raise BenchDataMissing(path, tr("not as described: {reason}", reason=error)) from error


def text_of(path: Path) -> str:
    """The text of a data file."""
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise BenchDataMissing(path, str(getattr(error, "strerror", "") or error)) from error


def rows_of(path: Path, delimiter: str = ",") -> list[dict[str, str]]:
    """The rows of a data file by heading."""
    return list(csv.DictReader(text_of(path).splitlines(), delimiter=delimiter))


def whole(value: object) -> int:
    """A whole number above zero as JSON gives it; raises ValueError."""
    if not isinstance(value, int) or isinstance(value, bool) or not 0 < value < 10**9:
        raise ValueError(tr("{value} is no whole number above zero", value=repr(value)[:40]))
    return value


def packing_class(folder: Path, group: int) -> list[Problem]:
    """The fifty problems of one class (Berkey and Wang 1987, 1 to 6; Martello and Vigo 1998, 7 to 10)."""
    path = folder / "bwmv" / f"class{group:02d}.json"
    with strictly(path):
        data: dict[str, Any] = json.loads(text_of(path))
        return [
            Problem(
                name=str(one["name"]),
                group=group,
                width=whole(data["bin_w"]),
                height=whole(data["bin_h"]),
                items=tuple((whole(w), whole(h)) for w, h in one["items"]),
            )
            for one in data["instances"]
        ]


def published_by_class(folder: Path, *, turn: bool) -> dict[int, Published]:
    """Bounds by class, edge-to-edge cuts, with or without turning."""
    mode = "RG" if turn else "OG"
    path = folder / "bwmv" / "per_class_targets.csv"

    def number(text: str) -> int | None:
        return int(text) if text else None

    with strictly(path):
        return {
            int(row["class"]): Published(number(row[f"lb_{mode}"]), number(row[f"becker_ub_{mode}"]))
            for row in rows_of(path)
            if row["class"] != "all"
        }


def published_totals(folder: Path, *, turn: bool) -> list[tuple[int, str]]:
    """Totals over all 500 problems with their sources, the best first, edge-to-edge cuts alone."""
    variant = "2BP|R|G" if turn else "2BP|O|G"
    path = folder / "bwmv" / "published_totals.csv"
    with strictly(path):
        return sorted(
            (int(row["total_bins_500"]), row["source"])
            for row in rows_of(path)
            if row["variant"].split(" ")[0] == variant and row["total_bins_500"]
        )


def lower_bounds(folder: Path, *, turn: bool) -> dict[str, int]:
    """Best lower bound known for every problem, by name."""
    mode = "R" if turn else "O"
    path = folder / "bwmv" / "best_known_per_instance.csv"
    with strictly(path):
        return {row["name"]: int(row[f"best_lb_{mode}_G"]) for row in rows_of(path)}


def glass_lists(folder: Path, names: Sequence[str] = ()) -> list[Problem]:
    """Panel lists of a glass maker (ROADEF/EURO challenge 2018, sets A and B), stacks and flaws left out.

    Parameters
    ----------
    folder
        The data folder.
    names
        Only these (``A1``, ``B13``); empty: all.
    """
    found: dict[tuple[str, int], Path] = {}
    for group in ("A", "B"):
        for path in (folder / "roadef2018" / group).glob("*_batch.csv"):
            match = re.fullmatch(rf"{group}(\d+)_batch\.csv", path.name)
            if match and (not names or f"{group}{match[1]}" in names):
                found[group, int(match[1])] = path
    if not found:
        raise BenchDataMissing(folder / "roadef2018", tr("no panel list there"))
    out = []
    for (group, number), path in sorted(found.items()):
        with strictly(path):
            items = tuple(
                (int(row["LENGTH_ITEM"]), int(row["WIDTH_ITEM"])) for row in rows_of(path, delimiter=";")
            )
        out.append(Problem(f"{group}{number}", 0, GLASS_SHEET[0], GLASS_SHEET[1], items))
    return out
