"""A sheet cut up in hand: for every cut the piece, what it makes, and how a person finds the score."""

from __future__ import annotations

from collections.abc import Sequence

from .handling import Cutting, kept_set, laid_down
from .marks import measured
from .once import once_a_sheet
from .pieces import CutFault, Piece, split, whole_sheet
from .plan import Layout, LeafKind, Plan
from .shop_table import Habit
from .text import tr


@once_a_sheet
def cuttings_of(plan: Plan, layout: Layout) -> Sequence[Cutting]:
    """The cuts of a sheet in their order, measured by its habit.

    Parameters
    ----------
    plan
        The plan that holds the sheet; its rules say to what marks are rounded.
    layout
        The sheet.

    Raises
    ------
    CutFault
        When the cuts of the plan cannot be made as written.
    """
    rules = plan.rules.get(layout.glass)
    step = rules.mark_step if rules else None
    habit = Habit(layout.habit or plan.habit)
    cullet = frozenset(leaf.piece for leaf in layout.leaves if leaf.kind is LeafKind.CULLET)
    pieces: dict[str, Piece] = {"s": whole_sheet(layout)}
    found: list[Cutting] = []
    for cut in layout.cuts:
        if cut.piece not in pieces:
            raise CutFault(layout.number, cut.step, tr("piece {piece} is not in hand", piece=cut.piece[:60]))
        piece = pieces.pop(cut.piece)
        parts = split(piece, cut, layout.number)
        pieces |= {parts.left.name: parts.left, parts.right.name: parts.right}
        left, right = (name in cullet for name in cut.makes)
        found.append(Cutting(cut, piece, parts, measured(piece, parts, cut, (left, right), step)))
    if habit is Habit.STRIP:
        return laid_down(found, cullet, step)
    return kept_set(found, habit)
