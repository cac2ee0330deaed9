"""What the user wants of a plan besides panels, stock and shop: sheets that stay, stock left out, pins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from panewright.cli.failures import reason_of
from panewright.io.plan_reader import load
from panewright.io.plan_values import PlanFileError
from panewright.io.problems import Problems
from panewright.nesting.kept import CannotKeep, Kept, keep_sheets
from panewright.nesting.ordered.racks import orders_as_racks
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.stock_wishes import BadStockWish, left_out, pinned
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
    leave_out
        Names of stock that is not to be taken.
    pins
        Pairs of a panel and the stock that it is to be cut from.
    any_order
        Let the cost alone decide, not the due days.
    orders_as_racks
        Make a rack of every order that has none.
    open_racks
        Racks that may be begun and not full at once, or None for any number.
    few_open
        The point of the curve of nests with few open orders (see `Planner`), or None.
    own_blanks
        Cut every angled panel from a blank of its own.
    start_day
        The first cutting day, which gives every sheet a day.
    fillers
        A list of stock items that may be cut from waste.
    spares
        Cut spares from waste where breakage makes them worth it.
    breakage
        A list of counts of breakage; None: the values of the shop file alone.
    measured
        Thicknesses of glass as measured (see `measured.with_measured`).
    """

    keep: Path | None = None
    sheets: tuple[int, ...] | None = None
    leave_out: tuple[str, ...] = ()
    pins: tuple[tuple[str, str], ...] = ()
    any_order: bool = False
    orders_as_racks: bool = False
    open_racks: int | None = None
    few_open: int | None = None
    own_blanks: bool = False
    start_day: date | None = None
    fillers: Path | None = None
    spares: bool = False
    breakage: Path | None = None
    measured: tuple[str, ...] = ()


def check_days(wishes: Wishes, shop: Shop, problems: Problems) -> None:
    """A start day is of use only where the shop says what it cuts a day."""
    if wishes.start_day is not None and not shop.cutting_days.limited:
        problems.add(
            "--from",
            tr("the shop file does not say how much is cut on a working day"),
            tr("set sheets or minutes in [cutting_days] of the shop file, or leave --from out"),
            value=wishes.start_day.isoformat(),
        )


def with_racks(wishes: Wishes, panels: Sequence[Panel], problems: Problems) -> list[Panel]:
    """The panels with orders as racks where that is wished; few open racks need racks."""
    out = orders_as_racks(panels) if wishes.orders_as_racks else list(panels)
    if wishes.open_racks is not None and not any(panel.rack for panel in out):
        problems.add(
            "--open-racks",
            tr("no panel of the lists has a rack"),
            tr("fill in the column rack, or give --orders-as-racks"),
            value=str(wishes.open_racks),
        )
    return out


def with_pins(
    wishes: Wishes, panels: Sequence[Panel], stock: Sequence[StockPiece], problems: Problems
) -> list[Panel]:
    """The panels with the pins of the lists and of the command line."""
    out, bad = pinned(panels, wishes.pins, stock)
    for wish in bad:
        where = "--pin" if _asked(wish, wishes) else tr("column from stock")
        problems.add(where, wish.reason, wish.remedy, value=wish.wish)
    return out


def _asked(wish: BadStockWish, wishes: Wishes) -> bool:
    """Whether the command line asked for it, and no list."""
    panel, _, stock = wish.wish.rpartition("=")
    return any(s == stock and (p == panel or p.startswith(f"{panel}/")) for p, s in wishes.pins)


def without_left_out(wishes: Wishes, stock: Sequence[StockPiece], problems: Problems) -> list[StockPiece]:
    """The stock that may be taken."""
    out, bad = left_out(stock, wishes.leave_out)
    for wish in bad:
        problems.add("--leave-out", wish.reason, wish.remedy, value=wish.wish)
    return out


def earlier_plan(wishes: Wishes, problems: Problems) -> Plan | None:
    """The earlier plan of which sheets stay, or None where none is wished or it cannot be read."""
    return None if wishes.keep is None else _earlier(wishes.keep, problems)


def kept_sheets(
    wishes: Wishes,
    earlier: Plan | None,
    panels: Sequence[Panel],
    stock: Sequence[StockPiece],
    shop: Shop,
    problems: Problems,
) -> Kept | None:
    """The sheets of the earlier plan that stay, or None where none is wished or something is wrong."""
    if wishes.keep is None or earlier is None:
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
