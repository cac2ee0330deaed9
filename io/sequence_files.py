"""The cut sequence for reading: a table on screen, CSV, and a text for the cutting table."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from panewright.io import step_words as words
from panewright.io.flaw_words import goes_to, sheet_flaw_words
from panewright.io.mark_words import (
    check_words,
    error_words,
    mark_warnings,
    mark_words,
    sheet_mark_words,
    square_words,
)
from panewright.io.plan_summary import plan_warnings
from panewright.io.pocket_words import sheet_pockets
from panewright.io.problems import shown
from panewright.io.sequence_csv import sequence_csv
from panewright.io.work_words import RATES, habit_of_sheet, sheet_work, work_csv, work_words
from panewright.nesting.plan import Layout, Plan
from panewright.nesting.sequence import LIFTS, general_cautions, steps_of
from panewright.nesting.sequencing.score_path import score_path, travel
from panewright.nesting.shop_table import Lifts, Rates
from panewright.nesting.steps import Caution, Placement, Result, Step
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import show, show_size

if TYPE_CHECKING:
    from rich.console import RenderableType

LINE: Final = 78
"""Width of the text for the table. [characters]"""
_SEGMENTS: Final = {
    "0": (" _ ", "| |", "|_|"),
    "1": ("   ", "  |", "  |"),
    "2": (" _ ", " _|", "|_ "),
    "3": (" _ ", " _|", " _|"),
    "4": ("   ", "|_|", "  |"),
    "5": (" _ ", "|_ ", " _|"),
    "6": (" _ ", "|_ ", "|_|"),
    "7": (" _ ", "  |", "  |"),
    "8": (" _ ", "|_|", "|_|"),
    "9": (" _ ", "|_|", " _|"),
}


def sheet_heading(plan: Plan, layout: Layout) -> str:
    """One line about a sheet: number, stock, size, mass, where it comes from and its day."""
    parts = [
        tr("sheet {number}", number=layout.number),
        shown(layout.glass, 40),
        shown(layout.stock, 60),
        show_size(layout.width, layout.height),
        words.show_mass(words.sheet_mass(plan, layout)),
        words.stock_words(layout),
    ]
    if layout.day is not None:
        parts.append(tr("day {day}", day=layout.day.isoformat()))
    return " | ".join(parts)


def _plan_line(plan: Plan) -> str:
    return tr("plan {plan}", plan=shown(plan.id, 20))


def sequence_files(plan: Plan, *, lifts: Lifts = LIFTS, rates: Rates = RATES) -> dict[str, str]:
    """The sequence of a plan, by file name: a text for the cutting table, a CSV, and what it asks of people."""
    return {
        f"sequence-{plan.id}.txt": sequence_text(plan, lifts=lifts, rates=rates),
        f"sequence-{plan.id}.csv": sequence_csv(plan, lifts=lifts),
        f"work-{plan.id}.csv": work_csv(plan, lifts=lifts, rates=rates),
    }


# ---------------------------------------------------------------- on screen


def screen_tables(plan: Plan, *, lifts: Lifts = LIFTS) -> Iterator[RenderableType]:
    """The sequence as tables for a terminal, one a sheet, with the cautions before them.

    Yields
    ------
    RenderableType
        Of the library rich; all text is literal, never markup.
    """
    from rich import box
    from rich.table import Table
    from rich.text import Text

    yield Text(_plan_line(plan), style="bold")
    for line in (*plan_warnings(plan), *mark_warnings(plan), *general_cautions()):
        yield Text(f"  ! {line}")
    for layout in plan.layouts:
        table = Table(
            box=box.SIMPLE_HEAD,
            title=Text(sheet_heading(plan, layout)),
            title_justify="left",
            show_lines=False,
        )
        table.add_column(Text(tr("step")), justify="right", style="bold")
        for head in (tr("in hand"), tr("score"), tr("comes off"), tr("mind")):
            table.add_column(Text(head), overflow="fold")
        for step in steps_of(plan, layout, lifts=lifts):
            table.add_row(
                Text(str(step.number)),
                Text(
                    f"{words.hand_words(step)}\n{words.size_words(step.piece)}, "
                    f"{words.show_mass(step.piece.mass)}"
                ),
                Text(
                    "\n".join([*_placement_lines(step), words.measure_words(step), *_second_measures(step)])
                ),
                Text("\n".join(_part_line(result, step) for result in step.makes)),
                Text("\n".join(tr(caution.value) for caution in step.cautions)),
            )
        yield table
        for line in sheet_flaw_words(layout):
            yield Text(f"  ! {line}")
        if after := sheet_pockets(plan, layout):
            yield Text("\n  ".join([tr("After the scores, by saw, drill or water jet"), *after]))


def _placement_lines(step: Step) -> list[str]:
    """What is marked and scored before the first break of a placement, and what the break is."""
    kind = [words.kind_words(step)]
    if step.placement is None:
        return [*kind, tr("the stop stays set")] if step.stays_set else kind
    if not step.is_first:
        return kind
    marked = words.placement_words(step.placement)
    lines = [tr("lay down, mark and score all: {marks}", marks=marked), *kind]
    return [tr("turn it a quarter"), *lines] if step.turns else lines


def _part_line(result: Result, step: Step) -> str:
    return tr("{part}: {what}", part=tr(result.part.value), what=_what(result, step))


def _what(result: Result, step: Step) -> str:
    """What a part is, its size, and how far rounded marks leave it off that."""
    said = (words.result_words(result, step.number), words.size_words(result), error_words(result.error))
    what = ", ".join(one for one in said if one)
    return f"{what} {goes_to(result.rack, result.slot)}" if result.rack else what


def _second_measures(step: Step) -> list[str]:
    """What tells whether the marks of a step are right."""
    checks = [
        tr("check the {edge} edge: {measure}", edge=tr(mark.edge.value), measure=check_words(mark))
        for mark in step.marks
        if check_words(mark)
    ]
    square = square_words(step)
    return [*checks, tr("check: {measure}", measure=square)] if square else checks


# ---------------------------------------------------------------- text for the table


def sequence_text(plan: Plan, *, lifts: Lifts = LIFTS, rates: Rates = RATES) -> str:
    """The sequence as plain text of fixed width, one step a block, to be read at the cutting table."""
    sheets = [_sheet_text(plan, layout, lifts, rates) for layout in plan.layouts]
    return "\n".join(sheets) if sheets else f"{_plan_line(plan)}\n{tr('no sheets')}\n"


def _sheet_text(plan: Plan, layout: Layout, lifts: Lifts, rates: Rates) -> str:
    steps = steps_of(plan, layout, lifts=lifts)
    lines = ["=" * LINE, f"{_plan_line(plan)}   {tr('sheet {number}', number=layout.number)}"]
    facts = [
        (tr("stock"), f"{shown(layout.stock, 60)}  ({words.stock_words(layout)})"),
        (tr("glass"), shown(layout.glass, 40)),
        (
            tr("size"),
            f"{show_size(layout.width, layout.height)}   {words.show_mass(words.sheet_mass(plan, layout))}",
        ),
        (tr("habit"), words.habit_words(habit_of_sheet(plan, layout))),
        (tr("work"), work_words(sheet_work(plan, layout, lifts=lifts, rates=rates))),
    ]
    if layout.day is not None:
        facts.append((tr("day"), layout.day.isoformat()))
    marks = sheet_mark_words(plan, layout, steps)
    if marks:
        facts.append((tr("marks"), marks))
    for name, value in facts:
        lines += _hung(_head(name), value)
    first = layout.number == plan.layouts[0].number
    warnings = (*(plan_warnings(plan) if first else ()), *mark_warnings(plan, [layout]))
    for caution in (*sheet_flaw_words(layout), *warnings, *general_cautions()):
        lines += _hung(_head("!"), caution)
    if any(step.is_scored for step in steps):
        lines += ["-" * LINE, *_score_path(layout)]
    for step in steps:
        if step.placement is not None and step.is_first:
            lines += ["-" * LINE, *_laid(step, step.placement)]
        lines += ["-" * LINE, *_block(step)]
    if after := sheet_pockets(plan, layout):
        lines += ["-" * LINE, tr("AFTER THE SCORES, by saw, drill or water jet")]
        for line in after:
            lines += _hung(_head(), line)
    if not steps:
        lines += ["-" * LINE, tr("no cuts: {what}", what=tr("the whole sheet is used as it is"))]
    return "\n".join([*lines, "=" * LINE, ""])


def _score_path(layout: Layout) -> list[str]:
    """The scores of a machine table in the order and direction of its head; x from the left, y from below."""
    path = score_path(layout)
    lines = _hung(
        "",
        tr(
            "SCORES before the first break, in this order, from the lower left corner of the sheet; the head "
            "travels {empty} empty",
            empty=show(travel(path)),
        ),
    )
    for number, score in enumerate(path, start=1):
        steps = ", ".join(map(str, sorted(score.steps)))
        ends = " -> ".join(
            f"{show(x, unit=False)} | {show(y, unit=False)}" for x, y in (score.start, score.end)
        )
        lines += _hung(f"{number:>6}  ", tr("{ends} (steps {steps})", ends=ends, steps=steps))
    return lines


def _laid(step: Step, placement: Placement) -> list[str]:
    """A placement before its breaks: what is laid down, where it is marked, how often it is scored."""
    held = placement.piece
    said = [words.piece_words(held), words.size_words(held), words.show_mass(held.mass), tr(step.lift.value)]
    if step.takes_up:
        said.insert(1, tr("from the waiting ones"))
    if step.turns:
        said.append(tr("turn it a quarter"))
    lines = _hung(_head(tr("LAY")), ", ".join(said), 10)
    lines += _hung(_head(tr("MARK")), words.placement_words(placement), 10)
    count = tr_count(
        "{count} score of {length}, then break",
        "{count} scores of {length}, then break by halves",
        len(placement.marks),
        length=show(placement.score),
    )
    lines += _hung(_head(tr("SCORE")), count, 10)
    return [f"{'':<10}{line}" for line in lines]


def _block(step: Step) -> list[str]:
    """One step: its number in big figures on the left, the lines of work beside it."""
    digits = [_SEGMENTS[c] for c in str(step.number)]
    big = [" ".join(d[row] for d in digits) for row in range(3)]
    gutter = max(10, len(big[0]) + 2)
    work: list[str] = []
    held = f"{words.hand_words(step)}, {words.size_words(step.piece)}"
    work += _hung(
        _head(tr("HAND")), f"{held}, {words.show_mass(step.piece.mass)}, {tr(step.lift.value)}", gutter
    )
    for mark in step.marks:
        work += _hung(_head(tr("MARK")), mark_words(mark), gutter)
        if check := check_words(mark):
            work += _hung(_head(), tr("check: {measure}", measure=check), gutter)
    if square := square_words(step):
        work += _hung(_head(), tr("check: {measure}", measure=square), gutter)
    if step.placement is not None or step.is_scored:
        if not step.marks:
            work += _hung(_head(tr("BREAK")), words.measure_words(step), gutter)
        work += _hung(_head(), words.kind_words(step), gutter)
    else:
        if not step.marks:
            stays = tr("{measure}; the stop stays set", measure=words.measure_words(step))
            said = stays if step.stays_set else words.measure_words(step)
            work += _hung(_head(tr("MEASURE")), said, gutter)
        score = tr("score {length}, {kind}", length=show(step.score), kind=words.kind_words(step))
        work += _hung(_head(), score, gutter)
    for result in step.makes:
        work += _hung(_head("   ->"), f"{tr(result.part.value).upper()}: {_what(result, step)}", gutter)
    for caution in step.cautions:
        if caution in (Caution.TWO, Caution.CRANE):
            continue  # the first line says who lifts
        work += _hung(_head("   !"), tr(caution.value), gutter)
    rows = [*big, *[""] * (len(work) - len(big))]
    return [f"{left:<{gutter}}{right}".rstrip() for left, right in zip(rows, work, strict=True)]


def _head(word: str = "") -> str:
    """What stands in front of a line, as wide as the longest word there in the language of the run."""
    words = (
        tr("HAND"),
        tr("LAY"),
        tr("MARK"),
        tr("SCORE"),
        tr("MEASURE"),
        tr("BREAK"),
        tr("steps"),
        tr("marks"),
        tr("habit"),
    )
    return f"{word:<{1 + max(7, *map(len, words))}}"


def _hung(name: str, value: str, indent: int = 0) -> list[str]:
    """A name and its value, wrapped so that further lines stand under the value."""
    room = LINE - len(name) - indent
    lines: Sequence[str] = textwrap.wrap(value, room, break_on_hyphens=False) or [""]
    return [f"{name if i == 0 else ' ' * len(name)}{line}" for i, line in enumerate(lines)]
