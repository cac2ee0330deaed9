"""The order of sheets with the fewest open orders at once, then the fewest on the mean, held to due days."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..cutting_days import Load
from .closing import MOST_ORDERS, NODES, Closing
from .deadlines import ENDLESS, Deadlines, relaxed
from .descent import Descent
from .least import least_open
from .table import Table

MOST_MOVED = 150
"""Units of sheets up to which they are moved for fewer open orders on the mean."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordered:
    """An order of sheets and what it is worth.

    Parameters
    ----------
    order
        Indexes of the sheets, first to last: those of fixed places, the others, then those of no order.
    open_at
        Orders open at the place of each sheet whose place was free and that holds some order.
    most_open
        The most of them.
    bound
        No order of the sheets that keeps the same due days has fewer open at once.
    eased
        Orders whose due day could not be held, and was put off, by name.
    nodes
        States that the search looked at.
    """

    order: tuple[int, ...]
    open_at: tuple[int, ...]
    bound: int
    eased: tuple[str, ...]
    nodes: int

    @property
    def most_open(self) -> int:
        """The most orders open at once, from the first free place on."""
        return max(self.open_at, default=0)

    @property
    def proven(self) -> bool:
        """Whether no order of the sheets has fewer open at once (with the due days that could be held)."""
        return self.most_open <= self.bound

    @property
    def sum_open(self) -> int:
        """Open orders summed over the sheets: the mean times their number."""
        return sum(self.open_at)

    @property
    def mean_open(self) -> Fraction:
        """Open orders on the mean of the sheets."""
        return Fraction(self.sum_open, max(1, len(self.open_at)))


def fewest_open(
    sheets: Sequence[Collection[str]],
    *,
    loads: Sequence[Load] | None = None,
    latest: Mapping[str, Load] | None = None,
    front: int = 0,
    nodes: int = NODES,
) -> Ordered:
    """Put sheets in the order with the fewest open orders at once.

    An order is open from its first sheet to its last. Equal sheets are cut back to back.

    Parameters
    ----------
    sheets
        The orders on each sheet.
    loads
        What each sheet asks of the table; default: one sheet and no seconds. Sheets of fixed places ask for
        nothing here: what they take is no longer in `latest`.
    latest
        For an order with a due day: what the table may have cut when it is complete, its own sheets
        included (see `by_day.latest_loads`). Where not all can be held, few are put off (see
        `deadlines.relaxed`), so that the search is over orders of the sheets that hold the others.
    front
        The first so many sheets keep their places: they are cut already, or begun.
    nodes
        States after which the search gives up, and the greedy order stands with the bound proven by then.

    Raises
    ------
    ValueError
        `loads` is not one a sheet, `front` is more than the sheets, or the latest loads are not comparable.

    Examples
    --------
    >>> found = fewest_open([{"a", "b"}, {"c"}, {"b", "c"}])
    >>> found.order, found.most_open, found.proven
    ((0, 2, 1), 2, True)
    """
    if not 0 <= front <= len(sheets):
        raise ValueError(f"{front} fixed places, but {len(sheets)} sheets")
    if loads is None:
        loads = [Load(1)] * len(sheets)
    if len(loads) != len(sheets):
        raise ValueError(f"{len(loads)} loads for {len(sheets)} sheets")
    table = Table.of(sheets, front)
    orders = len(table.names)
    closing = Closing(table.masks, orders, table.begun, None)
    eased: list[str] = []
    if latest:
        by_unit = [sum((loads[s] for s in unit), Load()) for unit in table.units]
        wanted = [
            latest.get(name, ENDLESS) if mask else ENDLESS for name, mask in zip(table.names, closing.holds)
        ]
        held = relaxed(by_unit, closing.holds, wanted)
        eased = [name for name, a, b in zip(table.names, wanted, held, strict=True) if a != b]
        due = Deadlines(by_unit, closing.holds, held)
        if due.levels:
            closing.due = due
    bound = least_open(table.masks, table.begun, orders)
    found = closing.search(bound, nodes if orders <= MOST_ORDERS else 0)
    order = closing.units(found.closing)
    if len(order) <= MOST_MOVED:
        sizes = [len(unit) for unit in table.units]
        order = Descent(table.masks, sizes, table.begun, found.most, closing.due).run(order)
    return Ordered(
        order=tuple(table.sheets(order)),
        open_at=tuple(table.counts(order)),
        bound=found.bound,
        eased=tuple(eased),
        nodes=found.nodes,
    )
