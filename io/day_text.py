"""A day on paper: plain text of fixed width for cutter, planner, edging line and drill."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from panewright.io import day_words as words
from panewright.io.day_lists import CadNames, edging_today, tools_today
from panewright.io.problems import shown
from panewright.io.step_words import show_mass, stock_words
from panewright.nesting.day.day_plan import DatedSheet, DayPlan
from panewright.nesting.day.edging import Machine
from panewright.nesting.day.orders import DayOrder, OrderPart
from panewright.nesting.panels import Panel
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import show_size

LINE: Final = 78
"""Width of the text. [characters]"""
NAME: Final = 48
"""Longest name of a panel or order. [characters]"""


def day_text(day: DayPlan, shop: Shop) -> str:
    """Everything of the day, list after list."""
    parts = [
        _head(day, shop),
        [tr("MIND"), *(line for text in words.cautions(day, shop) for line in hung("! ", text))],
        _today(day, shop),
        _orders(day),
        _edging(day, shop),
        _tools(day),
        _coming(day),
    ]
    rule = "=" * LINE
    return "\n".join(f"{rule}\n" + "\n".join(line.rstrip() for line in part) for part in parts) + "\n"


def hung(name: str, value: str, indent: int = 0) -> list[str]:
    """A name and its value, wrapped so that further lines stand under the value."""
    room = max(20, LINE - len(name) - indent)
    lines: Sequence[str] = textwrap.wrap(value, room, break_on_hyphens=False) or [""]
    return [f"{' ' * indent}{name if i == 0 else ' ' * len(name)}{line}" for i, line in enumerate(lines)]


def columns(rows: Sequence[Sequence[str]], indent: int = 2, left: int = 1) -> list[str]:
    """Rows as columns, `left` of them to the left, the others to the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return [
        " " * indent
        + "  ".join(
            cell.ljust(width) if i < left else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        for row in rows
    ]


def _head(day: DayPlan, shop: Shop) -> list[str]:
    title = tr("DAY {day}", day=day.on.isoformat())
    lines = [f"{title}   {shown(shop.name, 50)}".rstrip()]
    plans = ", ".join(shown(plan.id, 20) for plan in day.plans)
    lines += hung(f"{tr('plan')}  ", plans)
    if day.done:
        done = ", ".join(words.sheet_name(day, sheet) for sheet in day.done)
        lines += hung(f"{tr('cut already')}  ", tr("sheets {numbers}", numbers=done))
    for line in (*words.notes(day), *words.standing_lines(day)):
        lines += hung("", line)
    if day.late:
        lines += ["", tr("LATE")]
        for late in day.late:
            head = tr(
                "{order}: due {due}, cut on {day}, {panels}: ",
                order=shown(late.order, NAME),
                due=late.due.isoformat(),
                day=late.day.isoformat(),
                panels=tr_count("{count} panel", "{count} panels", len(late.panels)),
            )
            lines += hung("! ", head + words.late_words(late))
    return lines


def _today(day: DayPlan, shop: Shop) -> list[str]:
    today = day.today
    lines = [
        tr_count(
            "TODAY: {count} sheet, {minutes} min at the table, {metres} for the edging line",
            "TODAY: {count} sheets, {minutes} min at the table, {metres} for the edging line",
            len(today),
            minutes=words.minutes(sum(one.sheet.load.seconds for one in today)),
            metres=words.metres(sum(one.sheet.edging for one in today)),
        )
    ]
    for number, one in enumerate(today, start=1):
        lines += ["-" * LINE, *_sheet(day, one, number, shop)]
    return lines


def _sheet(day: DayPlan, one: DatedSheet, number: int, shop: Shop) -> Iterator[str]:
    layout = one.sheet.layout
    pull = f"{shown(layout.stock, 60)} ({stock_words(layout)}), {show_size(layout.width, layout.height)}"
    yield tr("{number}. SHEET {sheet}", number=number, sheet=words.sheet_name(day, one.sheet))
    for name, value in (
        (tr("pull"), f"{pull}, {words.lift_words(one.sheet, shop)}"),
        (tr("time"), tr("{minutes} min, modelled", minutes=words.minutes(one.sheet.load.seconds))),
        (tr("begins"), words.names(one.opened)),
        (tr("closes"), words.names(one.closed)),
        (
            tr("open"),
            tr_count("{count} order while it is cut", "{count} orders while it is cut", one.open_orders),
        ),
        (tr("keep"), ", ".join(shown(number, 40) for number in words.offcuts_of(one.sheet)) or "-"),
    ):
        yield from hung(f"{name:<7} ", value, 3)
    rows = [
        (str(step) if step else "-", words.place_words(day, panel), panel_words(panel))
        for panel, step in zip(one.sheet.panels, one.sheet.steps, strict=True)
    ]
    if rows:
        yield from columns([(tr("step"), tr("place"), tr("panel")), *rows], 3, 3)


def panel_words(panel: Panel) -> str:
    """Order, name and number of a panel, and its mass."""
    return f"{shown(panel.id, NAME)}  {show_mass(panel.mass_grams)}"


def _orders(day: DayPlan) -> list[str]:
    lines = [tr("ORDERS, as they begin: where their panels are, and what still comes")]
    for order in day.orders:
        if order.closes is None:
            continue
        lines += _order(day, order)
    closed = [order.name for order in day.orders if order.closes is None]
    if closed:
        lines += hung("  ", tr("cut as a whole before: {orders}", orders=words.names(closed)))
    return lines


def _order(day: DayPlan, order: DayOrder) -> Iterator[str]:
    place = order.place or tr("no place free")
    due = tr("due {day}", day=order.due.isoformat()) if order.due else tr("no due day")
    yield f"  {place:<7} {shown(order.name, NAME)}  {due}{'  ' + tr('LATE') if order.late else ''}"
    for part in order.parts:
        yield from hung(f"{_when(day, part):<12}", _part(day, part), 10)
    if order.unplaced:
        unplaced = ", ".join(shown(panel, NAME) for panel in order.unplaced)
        yield from hung(f"{tr('unplaced'):<12}", unplaced, 10)


def _when(day: DayPlan, part: OrderPart) -> str:
    if part.day is None:
        return tr("cut")
    return tr("today") if part.day == day.on else part.day.isoformat()


def _part(day: DayPlan, part: OrderPart) -> str:
    return tr(
        "sheet {sheet}: {panels}",
        sheet=words.sheet_name(day, part.sheet),
        panels=", ".join(_short(panel) for panel in part.panels),
    )


def _short(panel: Panel) -> str:
    """A panel without its order."""
    own = panel.id.removeprefix(f"{panel.order}/")
    return shown(own, NAME)


def _edging(day: DayPlan, shop: Shop) -> list[str]:
    lines = [tr("EDGES OF TODAY, by machine and setting, as the panels come from the table")]
    for setting, jobs in edging_today(day, shop):
        head = tr(
            "{setting}; panels {panels}, edges {edges}, {metres}",
            setting=words.setting_words(setting),
            panels=len(jobs),
            edges=sum(len(row.job.edges) for row in jobs),
            metres=words.metres(sum(row.job.length for row in jobs)),
        )
        lines += ["-" * LINE, *hung("", head)]
        for row in jobs:
            text = ", ".join(
                [
                    shown(row.job.panel.id, NAME),
                    words.edges_words(row.job.panel, row.job.edges),
                    words.metres(row.job.length),
                    words.place_words(day, row.job.panel),
                ]
            )
            if setting.machine is Machine.HAND:
                text = f"{text} ({words.by_hand_words(row.job, shop.edging)})"
            lines += hung(f"{words.sheet_name(day, row.sheet.sheet):>6} ", text, 2)
    return lines if len(lines) > 1 else [*lines, f"  {tr('none')}"]


def _tools(day: DayPlan) -> list[str]:
    lines = [tr("HOLES, CUT-OUTS AND POCKETS OF TODAY, by tool, with the CAD file of the panel")]
    for tool, rows in tools_today(day, CadNames(day)):
        lines += ["-" * LINE, tr(tool.value)]
        for row in rows:
            head = f"{words.sheet_name(day, row.sheet.sheet):>6} "
            lines += hung(head, shown(row.job.panel.id, NAME), 2)
            lines += hung("", row.cad_file, 9)
            for line in row.lines:
                lines += hung("", line, 9)
    return lines if len(lines) > 1 else [*lines, f"  {tr('none')}"]


def _coming(day: DayPlan) -> list[str]:
    heads = (tr("day"), tr("sheets"), tr("min"), tr("edging"), tr("panels"), tr("most open"), tr("late"))
    rows = [words.total_cells(one) for one in day.days]
    lines = [tr("THE DAYS TO COME"), *columns([heads, *rows])]
    for one in day.days:
        numbers = ", ".join(words.sheet_name(day, dated.sheet) for dated in one.sheets)
        lines += hung(f"  {one.day.isoformat()}  ", tr("sheets {numbers}", numbers=numbers))
    if day.today:
        lines += ["", *hung("", tomorrow_line(day))]
    return lines


def tomorrow_line(day: DayPlan) -> str:
    """What to say tomorrow so that every order keeps its place."""
    keys = [sheet.key for sheet in (*day.done, *(one.sheet for one in day.today))]
    return tr(
        "When these are cut, tomorrow's call says so, in the order in which they were: {options}",
        options=" ".join(f"--done {text}" for text in done_texts(keys, len(day.plans) == 1)),
    )


def done_texts(keys: Sequence[tuple[str, int]], one_plan: bool) -> list[str]:
    """Sheets as the option ``--done`` takes them: runs of one plan together, in their order.

    Examples
    --------
    >>> done_texts([("A", 3), ("A", 1)], True), done_texts([("A", 3), ("B", 1), ("B", 2)], False)
    (['3,1'], ['A:3', 'B:1,2'])
    """
    runs: list[tuple[str, list[str]]] = []
    for plan, number in keys:
        if not runs or runs[-1][0] != plan:
            runs.append((plan, []))
        runs[-1][1].append(str(number))
    return [",".join(numbers) if one_plan else f"{plan}:{','.join(numbers)}" for plan, numbers in runs]
