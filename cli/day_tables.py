"""A day on the screen: what to pull, which orders begin and close, what is late, the days to come."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from panewright.cli.tables import table
from panewright.io import day_words as words
from panewright.io.day_text import tomorrow_line
from panewright.io.problems import shown
from panewright.io.step_words import stock_words
from panewright.nesting.day.day_plan import DayPlan
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr

SHOWN_ORDERS: Final = 60
"""Orders told one by one; the list as CSV holds them all."""


def day_screen(day: DayPlan, shop: Shop, folder: Path) -> str:
    """Everything that is said on the screen."""
    parts = [_today(day, shop), _orders(day)]
    if day.late:
        parts.append(_late(day))
    parts.append(_days(day))
    parts.append("\n".join([*words.standing_lines(day), *words.notes(day)]))
    parts.append("\n".join([tr("Mind:"), *(f"  {line}" for line in words.cautions(day, shop))]))
    end = [
        tr(
            "Written to {folder}: day-{day}.txt to read and print, the lists as CSV, JSON.",
            folder=shown(folder, 300),
            day=day.on.isoformat(),
        )
    ]
    if day.today:
        end.append(tomorrow_line(day))
    return "\n\n".join(part.strip("\n") for part in [*parts, "\n".join(end)])


def _today(day: DayPlan, shop: Shop) -> str:
    rows = [
        [
            str(number),
            words.sheet_name(day, one.sheet),
            shown(one.sheet.layout.stock, 60),
            stock_words(one.sheet.layout),
            words.lift_words(one.sheet, shop),
            str(words.minutes(one.sheet.load.seconds)),
            words.metres(one.sheet.edging),
            words.names(one.opened, 16, 2),
            words.names(one.closed, 16, 2),
            str(one.open_orders),
        ]
        for number, one in enumerate(day.today, start=1)
    ]
    return table(
        tr("Day {day}: sheets to cut, in this order", day=day.on.isoformat()),
        [
            "",
            tr("sheet"),
            tr("pull"),
            tr("from"),
            tr("lift"),
            tr("min"),
            tr("edging"),
            tr("begins"),
            tr("closes"),
            tr("open"),
        ],
        rows,
        left=5,
        words=(7, 8),
    )


def _orders(day: DayPlan) -> str:
    rows = []
    for order in day.orders:
        today = order.count(first=day.on, last=day.on)
        if not today and not order.is_open:
            continue
        rows.append(
            [
                shown(order.name, 40),
                order.place or "-",
                order.due.isoformat() if order.due else "-",
                str(order.cut),
                str(today),
                str(order.count() - today),
                order.closes.isoformat() if order.closes else "-",
            ]
        )
    if len(rows) > SHOWN_ORDERS:
        more = len(rows) - SHOWN_ORDERS
        rows = [*rows[:SHOWN_ORDERS], [tr("and {count} more", count=more), "", "", "", "", "", ""]]
    return table(
        tr("Orders on the racks today"),
        [
            tr("order"),
            tr("place"),
            tr("due"),
            tr("panels cut before"),
            tr("today"),
            tr("to come"),
            tr("last cut on"),
        ],
        rows,
        left=3,
        words=(6,),
    )


def _late(day: DayPlan) -> str:
    return table(
        tr("Late"),
        [tr("order"), tr("due"), tr("cut on"), tr("panels"), tr("why")],
        [
            [
                shown(late.order, 40),
                late.due.isoformat(),
                late.day.isoformat(),
                str(len(late.panels)),
                words.late_words(late),
            ]
            for late in day.late
        ],
        left=3,
        words=(4,),
        wrap=True,
    )


def _days(day: DayPlan) -> str:
    return table(
        tr("The days to come"),
        [
            tr("day"),
            tr("sheets"),
            tr("min"),
            tr("edging"),
            tr("panels"),
            tr("most open"),
            tr("late orders"),
        ],
        [words.total_cells(one) for one in day.days],
    )
