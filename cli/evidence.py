"""Where the counts of breakage come from: the one place that `plan` and `stock breakage` ask."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from panewright.io.breakage_list import read_breakage_list
from panewright.io.problems import Problems
from panewright.nesting.breakage.counts import Worked
from panewright.nesting.shop import Shop


@dataclass(frozen=True, slots=True)
class Evidence:
    """Counts of work done and panels broken, and the name of the record; empty for none."""

    counts: tuple[Worked, ...] = ()
    source: str = ""


def evidence(path: Path | None, shop: Shop, problems: Problems) -> Evidence:
    """The counts of a list, or none where no list is given.

    Parameters
    ----------
    path
        List of counts (`io.breakage_list`), or None.
    shop
        Its glasses.
    problems
        Collects what is wrong with the list.
    """
    if path is None:
        return Evidence()
    return Evidence(read_breakage_list(path, shop, problems), str(path))
