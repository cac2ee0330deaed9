"""The steps of a cut sequence in words, the same on screen, in files and on the drawing."""

from __future__ import annotations

from panewright.io.flaw_words import kind_word
from panewright.io.mark_words import mark_words
from panewright.io.problems import shown
from panewright.nesting.figures import thickness_of
from panewright.nesting.glass import mass_grams
from panewright.nesting.plan import CutKind, Layout, LeafKind, Plan
from panewright.nesting.shop_table import Habit
from panewright.nesting.steps import Held, Placement, Result, Step
from panewright.nesting.text import local_number, tr
from panewright.nesting.units import show, show_size


def show_mass(grams: int) -> str:
    """A mass in kg with one decimal, rounded up: nobody lifts less than it says."""
    tenths = -(-grams // 100)
    return tr("{kg} kg", kg=local_number(f"{tenths // 10}.{tenths % 10}"))


def piece_words(held: Held) -> str:
    """Where the piece in hand comes from: ``sheet``, ``left part of step 3``."""
    if held.made_by is None or held.part is None:
        return tr("the sheet")
    return tr("{part} part of step {step}", part=tr(held.part.value), step=held.made_by)


def size_words(piece: Held | Result) -> str:
    """Its size; for a piece that is no rectangle the size of the box around it."""
    size = show_size(piece.width, piece.height)
    return size if piece.is_rectangle else tr("{size} angled", size=size)


def hand_words(step: Step) -> str:
    """The piece in hand, and whether it has been waiting or is turned first."""
    said = [piece_words(step.piece)]
    if step.takes_up:
        said.append(tr("from the waiting ones"))
    if step.turns and step.placement is None:
        said.append(tr("turn it a quarter"))
    return ", ".join(said)


def placement_words(placement: Placement) -> str:
    """All marks of a placement: ``from the left edge: 402, 804 and 1206 mm``."""
    edge = tr(placement.edge.value)
    template = (
        "from the raw {edge} edge: {marks}" if placement.edge_is_raw else "from the {edge} edge: {marks}"
    )
    return tr(template, edge=edge, marks=" | ".join(show(mark) for mark in placement.marks))


def habit_words(habit: Habit) -> str:
    """How a sheet is cut, in a few words."""
    match habit:
        case Habit.STOP:
            return tr("cut by cut, against a stop")
        case Habit.STRIP:
            return tr("one placement a strip: mark and score all, then break")
        case Habit.MACHINE:
            return tr("scored by machine, then broken out")


def measure_words(step: Step) -> str:
    """Where to score, as the tape shows it: ``405.5 mm from the left edge``, or both marks of an angled score."""
    if step.placement is not None and step.mark is not None:
        return tr(
            "the mark {distance} from the {edge} edge",
            distance=show(step.mark),
            edge=tr(step.placement.edge.value),
        )
    if step.is_scored and step.table is not None and step.edge is not None:
        return tr(
            "the score {distance} from the {edge} edge",
            distance=show(step.table),
            edge=tr(step.edge.value),
        )
    if step.edge is None or step.table is None:
        return tr(
            "from {first} to {second}", first=mark_words(step.marks[0]), second=mark_words(step.marks[1])
        )
    if not step.is_square:
        template = "{distance} from the {edge} edge, square to it"
    elif step.edge_is_raw:
        template = "{distance} from the raw {edge} edge"
    else:
        template = "{distance} from the {edge} edge"
    return tr(template, distance=show(step.table), edge=tr(step.edge.value))


def kind_words(step: Step) -> str:
    """Trim, main cut with its level, last cut or shape cut."""
    match step.kind:
        case CutKind.TRIM:
            return tr("trim")
        case CutKind.MAIN:
            return tr("level {level}", level=step.level)
        case CutKind.LAST:
            return tr("last cut")
        case CutKind.SHAPE:
            return tr("shape cut")


def result_words(result: Result, step: int | None = None) -> str:
    """What a part is: the panel, the offcut with its number, cullet, or the step that cuts it on.

    `step` is that of the break: what is not cut on at once is set aside.
    """
    match result.kind:
        case LeafKind.PANEL:
            order, name = shown(result.order or "", 40), shown(result.panel_name or "", 40)
            template = "panel {order} {name}, turn over" if result.mirrored else "panel {order} {name}"
            return _flawed(tr(template, order=order, name=name), result)
        case LeafKind.OFFCUT:
            return _flawed(tr("keep as offcut {number}", number=shown(result.offcut or "", 40)), result)
        case LeafKind.CULLET:
            return tr("cullet")
        case None:
            aside = step is not None and result.next_step != step + 1
            template = "set aside until step {step}" if aside else "cut on in step {step}"
            return tr(template, step=result.next_step)


def _flawed(what: str, result: Result) -> str:
    if not result.flaws:
        return what
    return tr("{what}, with {kinds}", what=what, kinds=", ".join(kind_word(kind) for kind in result.flaws))


def stock_words(layout: Layout) -> str:
    """Where the sheet comes from."""
    if layout.is_offcut:
        return tr("offcut from the rack")
    return tr("sheet to buy") if layout.buy else tr("sheet from the rack")


def sheet_heading(plan: Plan, layout: Layout) -> str:
    """As in `sheet 2 of 7`; the number alone where the plan follows another one, so that numbers are left out."""
    count = len(plan.layouts)
    if max(x.number for x in plan.layouts) > count:
        return tr("sheet {number}", number=layout.number)
    return tr("sheet {number} of {count}", number=layout.number, count=count)


def sheet_mass(plan: Plan, layout: Layout) -> int:
    """Mass of a whole sheet. [g]"""
    return mass_grams(2 * layout.width * layout.height, thickness_of(plan, layout.glass))
