"""A reference for the bench: the edge-to-edge packers of `rectpack`, every variant, in the same run.

Eighteen packers (three choices of the free rectangle, six of the split; J. Jylanki, A Thousand Ways to
Pack the Bin, 2010), two ways to choose the sheet, six orders of the rectangles. They join free
rectangles, which can undo an earlier cut: that favours the reference alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from math import inf
from typing import Any, Final

import rectpack

from panewright.io.bench_data import Problem

_PACKERS: Final = tuple(sorted(name for name in dir(rectpack) if name.startswith("GuillotineB")))
_ORDERS: Final = ("AREA", "PERI", "DIFF", "SSIDE", "LSIDE", "RATIO")
_SHEETS: Final = ("BFF", "BBF")


def variants() -> Iterator[str]:
    """Names of all variants."""
    for packer in _PACKERS:
        for sheet in _SHEETS:
            for order in _ORDERS:
                yield f"{packer}/{sheet}/{order}"


def sheets_by_variant(problem: Problem, *, turn: bool) -> Counter[str]:
    """Sheets that every variant takes for one problem.

    Parameters
    ----------
    problem
        The rectangles; each must fit its sheet.
    turn
        Whether they may turn a quarter.
    """
    out: Counter[str] = Counter()
    for name in variants():
        packer, sheet, order = name.split("/")
        pack: Any = rectpack.newPacker(
            bin_algo=getattr(rectpack.PackingBin, sheet),
            pack_algo=getattr(rectpack, packer),
            sort_algo=getattr(rectpack, f"SORT_{order}"),
            rotation=turn,
        )
        for width, height in problem.items:
            pack.add_rect(width, height)
        pack.add_bin(problem.width, problem.height, count=inf)
        pack.pack()
        placed = sum(len(one) for one in pack)
        if placed != len(problem.items):
            raise RuntimeError(f"{name} placed {placed} of {len(problem.items)} rectangles of {problem.name}")
        out[name] = len(pack)
    return out
