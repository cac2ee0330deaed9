"""Work at the table in the shop file: habit and times, racks, paper for the cut book and the labels."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any, Final

from panewright.io.numbers_text import decimal
from panewright.io.shop_keys import Section
from panewright.nesting.shop_table import Habit, LabelSheet, Paper, Printing, Racks, Rates, TableWork
from panewright.nesting.text import tr
from panewright.nesting.units import mm

MOST_RACKS: Final = 50
LONGEST_NAME: Final = 12
"""Of a rack. [characters]"""
PAPERS: Final = {paper.value.lower(): paper for paper in Paper}
_SECONDS: Final = {
    "setting": ("seconds_a_setting", 120),
    "mark": ("seconds_a_mark", 120),
    "turn": ("seconds_a_turn", 120),
    "turn_kg": ("seconds_a_turn_and_kg", 10),
    "grip": ("seconds_a_grip", 120),
    "grip_kg": ("seconds_a_grip_and_kg", 10),
    "slide": ("seconds_a_slide", 120),
    "slide_kg": ("seconds_a_slide_and_kg", 10),
    "score": ("seconds_a_score", 120),
    "score_metre": ("seconds_a_metre", 120),
    "snap": ("seconds_a_break", 120),
    "snap_metre": ("seconds_a_far_metre", 120),
    "hard": ("seconds_a_hard_break", 300),
    "loose": ("seconds_a_rest", 120),
    "sheet": ("seconds_a_sheet", 3600),
}
"""Key in the file and greatest value, by field of `Rates`. [s]"""


def read_table_work(part: Section) -> TableWork:
    """The table ``[table]``; what it leaves out keeps its built-in value."""
    base = TableWork()
    habits: dict[str, Habit | None] = {"by mass": None, **{h.value: h for h in Habit}}
    habit = part.word("habit", habits, base.habit)
    grams = part.number("strip_from_kg", 0, 2000)
    waiting = part.whole("waiting", 1, 50)
    scores = part.whole("scores_a_placement", 1, 50)
    mark = part.flag("to_the_mark", base.to_the_mark)
    times: dict[str, Any] = {}
    for name, (key, most) in _SECONDS.items():
        seconds = part.number(key, 0, most)
        if seconds is not None:
            times[name] = _milli(seconds)
    part.close()
    return TableWork(
        habit=habit,
        strip_from=base.strip_from if grams is None else _milli(grams),
        waiting=base.waiting if waiting is None else waiting,
        scores_a_placement=base.scores_a_placement if scores is None else scores,
        to_the_mark=bool(mark),
        rates=replace(base.rates, **times),
    )


def rates_toml(rates: Rates) -> str:
    """The times of a table as lines of the shop file."""
    lines = ["[table]"]
    for name, (key, _) in _SECONDS.items():
        lines.append(f"{key} = {decimal(getattr(rates, name), 3)}")
    return "\n".join(lines)


def _milli(value: Fraction) -> int:
    return round(1000 * value)


def read_racks(part: Section) -> Racks:
    """The table ``[racks]``."""
    base = Racks()
    names, slots = _names(part, base), part.whole("slots", 1, 1000)
    metres = part.number("edging_metres", 1, 100_000)
    part.close()
    return Racks(
        names=names,
        slots=base.slots if slots is None else slots,
        edging_metres=None if metres is None else mm(metres * 1000),
    )


def _names(part: Section, base: Racks) -> tuple[str, ...]:
    value = part.raw("names")
    if value is None:
        return base.names
    good = (
        isinstance(value, list)
        and 0 < len(value) <= MOST_RACKS
        and all(isinstance(v, str) and v.strip() and v.isprintable() for v in value)
        and all(len(v) <= LONGEST_NAME for v in value)
        and len({v.strip() for v in value}) == len(value)
    )
    if good:
        return tuple(v.strip() for v in value)
    part.bad(
        "names",
        tr("these are no different short names of racks"),
        tr('write it as in ["A", "B"]; at most {limit} characters each', limit=LONGEST_NAME),
        "",
    )
    return base.names


def read_printing(part: Section) -> Printing:
    """The tables ``[print]`` and ``[print.labels]``."""
    paper = part.word("paper", PAPERS, Paper.A4)
    labels = _labels(part.section("labels"))
    part.close()
    return Printing(paper=paper, labels=labels)


def _labels(part: Section) -> LabelSheet:
    base = LabelSheet()
    given = bool(part.table)
    kinds: dict[str, Paper | None] = {**PAPERS, "roll": None}
    paper = part.word("paper", kinds, base.paper)
    columns, rows = part.whole("columns", 1, 20), part.whole("rows", 1, 50)
    size = part.lengths("size", 2, mm(15), mm(300))
    first = part.lengths("first", 2, 0, mm(150))
    step = part.lengths("step", 2, mm(15), mm(300))
    part.close()
    width, height = size or (base.width, base.height)
    sheet = LabelSheet(
        paper=paper,
        columns=(base.columns if columns is None else columns) if paper else 1,
        rows=(base.rows if rows is None else rows) if paper else 1,
        width=width,
        height=height,
        left=first[0] if first else base.left,
        top=first[1] if first else base.top,
        across=step[0] if step else width,
        down=step[1] if step else height,
    )
    if given and paper is not None and not _fits(sheet, paper):
        part.bad(
            "size",
            tr("the labels do not fit the paper, or overlap"),
            tr("correct size, first, step, columns or rows"),
        )
        return base
    return sheet


def _fits(sheet: LabelSheet, paper: Paper) -> bool:
    width, height = paper.size
    return (
        sheet.left + (sheet.columns - 1) * sheet.across + sheet.width <= width
        and sheet.top + (sheet.rows - 1) * sheet.down + sheet.height <= height
        and (sheet.across >= sheet.width or sheet.columns == 1)
        and (sheet.down >= sheet.height or sheet.rows == 1)
    )
