"""The columns of a waste report's tables, and rows of sums under them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from panewright.io.report.model import Column, Kind, Table, Value
from panewright.nesting.text import tr
from panewright.nesting.waste.sums import WasteSums

Take = Callable[[WasteSums], Value]
Row = tuple[tuple[Value, ...], WasteSums]
"""What stands at the left of a row, and its sums."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A column of sums; `always` shows it also where all its values are nothing."""

    name: str
    kind: Kind
    take: Take
    always: bool = True


def whole(twice: int) -> int:
    """An area as reports have it. [twice nm2 -> nm2]"""
    return twice // 2


def areas(*, sheets: bool = True) -> list[Shown]:
    """Where the glass went: volume first, for a yield says little without it."""
    found = [
        Shown(tr("sheets"), "count", lambda s: s.sheets),
        Shown(tr("panels"), "count", lambda s: s.panels),
        Shown(tr("glass"), "m2", lambda s: whole(s.sheet)),
        Shown(tr("yield"), "share", lambda s: s.gross_yield),
        Shown(tr("net yield"), "share", lambda s: s.net_yield),
        Shown(tr("in panels"), "m2", lambda s: whole(s.cut)),
        Shown(tr("spares, fillers"), "m2", lambda s: whole(s.spare + s.filler), always=False),
        Shown(tr("broken"), "m2", lambda s: whole(s.lost), always=False),
        Shown(tr("trim"), "m2", lambda s: whole(s.trim)),
        Shown(tr("cullet"), "m2", lambda s: whole(s.cullet)),
        Shown(tr("offcuts"), "m2", lambda s: whole(s.offcut)),
        Shown(tr("unavoidable"), "m2", lambda s: whole(s.unavoidable)),
        Shown(tr("over bound"), "m2", lambda s: whole(s.rest)),
        Shown(tr("scrap"), "kg", lambda s: s.scrap_grams),
    ]
    return found if sheets else found[1:]


def money() -> list[Shown]:
    """Where the money went; the parts add up to the cost."""
    return [
        Shown(tr("cost"), "money", lambda s: s.cost),
        Shown(tr("in panels"), "money", lambda s: s.in_panels),
        Shown(tr("spares, fillers"), "money", lambda s: s.in_extras, always=False),
        Shown(tr("broken"), "money", lambda s: s.in_broken, always=False),
        Shown(tr("unavoidable"), "money", lambda s: s.in_unavoidable),
        Shown(tr("over bound"), "money", lambda s: s.in_rest),
        Shown(tr("offcuts worth"), "money", lambda s: s.worth),
        Shown(tr("net cost"), "money", lambda s: s.net_cost),
        Shown(tr("net cost of a m2"), "money", lambda s: s.a_metre(s.net_cost)),
    ]


def order_columns() -> list[Shown]:
    """What an order bears: its panels, and its share of all else."""
    return [
        Shown(tr("panels"), "count", lambda s: s.panels),
        Shown(tr("panels broken"), "count", lambda s: s.broken, always=False),
        Shown(tr("finished glass"), "m2", lambda s: whole(s.finished)),
        Shown(tr("share of glass"), "m2", lambda s: whole(s.sheet)),
        Shown(tr("yield"), "share", lambda s: s.gross_yield),
        *money(),
    ]


def table_of(
    title: str,
    keys: Sequence[Column],
    rows: Iterable[Row],
    columns: Sequence[Shown],
    *,
    total: WasteSums | None = None,
    last: Sequence[tuple[Column, Callable[[Row], Value]]] = (),
    note: str = "",
) -> Table:
    """A table of sums.

    Parameters
    ----------
    title, note
        Above and below it.
    keys
        Columns at the left.
    rows
        In their order.
    columns
        Of the sums; those that may be left out are where all rows have nothing there.
    total
        Its last row, under the word for all.
    last
        Further columns at the right.
    """
    mine = list(rows)
    shows = [c for c in columns if c.always or any(c.take(sums) for _, sums in mine)]
    found = [
        (*left, *(c.take(sums) for c in shows), *(take((left, sums)) for _, take in last))
        for left, sums in mine
    ]
    end = None
    if total is not None:
        blank: list[Value] = [None] * (len(keys) - 1)
        end = (tr("all"), *blank, *(c.take(total) for c in shows), *(None for _ in last))
    return Table(
        title=title,
        columns=(
            *keys,
            *(Column(name=c.name, kind=c.kind) for c in shows),
            *(column for column, _ in last),
        ),
        rows=tuple(found),
        total=end,
        note=note,
    )


def both_tables(
    title: str, key: str, rows: Sequence[Row], total: WasteSums, *, sheets: bool = True
) -> tuple[Table, Table]:
    """The same rows twice: where their glass went, and where their money."""
    keys = [Column(name=key)]
    return (
        table_of(title, keys, rows, areas(sheets=sheets), total=total),
        table_of(tr("{title}: money", title=title), keys, rows, money(), total=total),
    )
