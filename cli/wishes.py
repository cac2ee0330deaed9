"""What the user wants of a plan besides panels, stock and shop: sheets of an earlier plan that stay."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from panewright.cli.failures import reason_of
from panewright.io.plan_reader import load
from panewright.io.plan_values import PlanFileError
from panewright.io.problems import Problems
from panewright.nesting.kept import CannotKeep, Kept, keep_sheets
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.text import tr


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What a plan has to respect besides.

    Parameters
    ----------
    keep
        An earlier plan of which sheets stay, or its folder.
    sheets
        Their numbers; None for all.
    """

    keep: Path | None = None
    sheets: tuple[int, ...] | None = None


def kept_sheets(
    wishes: Wishes, panels: Sequence[Panel], stock: Sequence[StockPiece], shop: Shop, problems: Problems
) -> Kept | None:
    """The sheets of the earlier plan that stay, or None where none is wished or something is wrong."""
    if wishes.keep is None:
        return None
    earlier = _earlier(wishes.keep, problems)
    if earlier is None:
        return None
    try:
        return keep_sheets(earlier, wishes.sheets, panels, stock, shop)
    except CannotKeep as error:
        for fault in error.faults:
            reason = tr("{where}: {reason}", where=fault.where, reason=fault.reason)
            problems.add(wishes.keep, reason, fault.remedy)
        return None


def _earlier(path: Path, problems: Problems) -> Plan | None:
    try:
        return load(path)[0]
    except PlanFileError as error:
        for found in error.problems:
            problems.add(path, found.reason, found.remedy, column=found.column, value=found.value)
    except OSError as error:
        problems.add(path, reason_of(error), tr("give a plan file, or a folder with a plan.json"))
    return None
