"""Published problems from the shared data folder, with what is known about them.

The folder is not part of the project: `PANEWRIGHT_DATA`, else ``../shared/data`` beside the working
folder. Sizes have no unit in the bin packing problems and are millimetres in the glass lists.
"""

from __future__ import annotations

import csv
import json
import os
import re
from collections.abc import Sequence
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


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise BenchDataMissing(path, str(getattr(error, "strerror", "") or error)) from error


def _rows(path: Path, delimiter: str = ",") -> list[dict[str, str]]:
    return list(csv.DictReader(_text(path).splitlines(), delimiter=delimiter))


def packing_class(folder: Path, group: int) -> list[Problem]:
    """The fifty problems of one class (Berkey and Wang 1987, 1 to 6; Martello and Vigo 1998, 7 to 10)."""
    path = folder / "bwmv" / f"class{group:02d}.json"
    try:
        data: dict[str, Any] = json.loads(_text(path))
        return [
            Problem(
                name=str(one["name"]),
                group=group,
                width=int(data["bin_w"]),
                height=int(data["bin_h"]),
                items=tuple((int(w), int(h)) for w, h in one["items"]),
            )
            for one in data["instances"]
        ]
    except (ValueError, KeyError, TypeError) as error:
        raise BenchDataMissing(path, tr("not as described: {reason}", reason=error)) from error


def published_by_class(folder: Path, *, turn: bool) -> dict[int, Published]:
    """Bounds by class, edge-to-edge cuts, with or without turning."""
    mode = "RG" if turn else "OG"
    path = folder / "bwmv" / "per_class_targets.csv"

    def number(text: str) -> int | None:
        return int(text) if text else None

    return {
        int(row["class"]): Published(number(row[f"lb_{mode}"]), number(row[f"becker_ub_{mode}"]))
        for row in _rows(path)
        if row["class"] != "all"
    }


def published_totals(folder: Path, *, turn: bool) -> list[tuple[int, str]]:
    """Totals over all 500 problems with their sources, the best first, edge-to-edge cuts alone."""
    variant = "2BP|R|G" if turn else "2BP|O|G"
    path = folder / "bwmv" / "published_totals.csv"
    return sorted(
        (int(row["total_bins_500"]), row["source"])
        for row in _rows(path)
        if row["variant"].split(" ")[0] == variant and row["total_bins_500"]
    )


def lower_bounds(folder: Path, *, turn: bool) -> dict[str, int]:
    """Best lower bound known for every problem, by name."""
    mode = "R" if turn else "O"
    path = folder / "bwmv" / "best_known_per_instance.csv"
    return {row["name"]: int(row[f"best_lb_{mode}_G"]) for row in _rows(path)}


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
    return [
        Problem(
            name=f"{group}{number}",
            group=0,
            width=GLASS_SHEET[0],
            height=GLASS_SHEET[1],
            items=tuple(
                (int(row["LENGTH_ITEM"]), int(row["WIDTH_ITEM"])) for row in _rows(path, delimiter=";")
            ),
        )
        for (group, number), path in sorted(found.items())
    ]
