"""Steps that were done out of turn: the sheet is put into the order that really happened.

At the table one cuts on past steps that a marked flaw holds back. A sheet so cut is one whose done steps are the
first ones, once its cuts are counted in that order: all that plans a half cut sheet again need know no other.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from ..kept import Fault
from ..plan import Layout, Plan
from ..text import tr
from .tree import ordered

Done = Mapping[int, Collection[int]]
"""Sheet number -> its steps that are done."""


def in_turn(steps: Collection[int]) -> bool:
    """Whether these are the first steps of a sheet.

    Examples
    --------
    >>> in_turn({1, 2, 3}), in_turn({1, 3}), in_turn(())
    (True, False, True)
    """
    return max(steps, default=0) == len(set(steps))


def steps_done_faults(plan: Plan, done: Done) -> list[Fault]:
    """What is wrong with steps that were done out of turn: one that is not there, or whose piece was not."""
    return [
        fault
        for layout in plan.layouts
        if not in_turn(done.get(layout.number, ()))
        for fault in _faults(layout, done[layout.number])
    ]


def _faults(layout: Layout, steps: Collection[int]) -> list[Fault]:
    where, out = tr("sheet {number}", number=layout.number), []
    made = {name: cut.step for cut in layout.cuts for name in cut.makes}
    there = {cut.step for cut in layout.cuts}
    for step in sorted(set(steps) - there)[:1]:
        reason = tr("it has no step {step}; its steps go to {last}", step=step, last=len(layout.cuts))
        out.append(Fault(where, reason, tr("give the steps that are done, as in 1-12,14-25")))
    for cut in layout.cuts:
        before = made.get(cut.piece)
        if cut.step in steps and before is not None and before not in steps:
            reason = tr(
                "step {step} cuts a piece that step {before} makes, and that one is not said to be done",
                step=cut.step,
                before=before,
            )
            out.append(
                Fault(where, reason, tr("give step {before} too, or correct the numbers", before=before))
            )
    return out


def in_order_done(plan: Plan, done: Done) -> Plan:
    """The plan with the cuts of each sheet that was cut out of turn in their real order, counted anew.

    The done steps come first, then the others, both as they were. Its panels lie where they lay, so that the plan
    keeps its id. No cut of such a sheet belongs to a placement any more: what of one is scored counts as done.

    Parameters
    ----------
    plan
        The plan.
    done
        Steps that `steps_done_faults` finds nothing wrong with; sheets that are not in the plan are passed over.
    """
    layouts = tuple(
        x if in_turn(done.get(x.number, ())) else _in_order(x, done[x.number]) for x in plan.layouts
    )
    return plan if layouts == plan.layouts else replace(plan, layouts=layouts)


def _in_order(layout: Layout, steps: Collection[int]) -> Layout:
    cuts = sorted(layout.cuts, key=lambda cut: (cut.step not in steps, cut.step))
    return ordered(layout, [replace(cut, placement=None) for cut in cuts], layout.leaves)
