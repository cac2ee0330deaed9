"""The independent checker: replays a plan with exact arithmetic and holds it against its rules.

It shares no code with the optimizer, the cut tree or the blanks: own polygons, own levels, own widths.
Every plan passes it before anything of it leaves the program.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from . import check_geometry as g
from .check_leaves import check_leaves
from .check_replay import replay
from .panels import Panel, Purpose
from .plan import Layout, LeafKind, Plan
from .plan_id import offcut_number, plan_id
from .stock import Side
from .text import tr

ALLOWED = 1000
"""A cut outline's edges lie this near to their allowance. [nm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Violation:
    """One rule broken: the rule's word, a text, and the place where there is one."""

    rule: str
    text: str
    sheet: int | None = None
    step: int | None = None
    piece: str | None = None

    def __str__(self) -> str:
        where = []
        if self.sheet is not None:
            where.append(tr("sheet {number}", number=self.sheet))
        if self.step is not None:
            where.append(tr("step {number}", number=self.step))
        if self.piece is not None:
            where.append(tr("piece {name}", name=self.piece))
        return ": ".join([*([", ".join(where)] if where else []), f"{self.rule}: {self.text}"])


def check(plan: Plan) -> list[Violation]:
    """Every violation of the plan's own rules; an empty list is a pass.

    Parameters
    ----------
    plan
        As read from its file.

    Notes
    -----
    Rules 1 to 7 of the plan file, the kinds and levels of cuts, and every rule in `Plan.rules`.
    """
    out: list[Violation] = []
    panels = {p.id: p for p in plan.panels}
    if len(panels) != len(plan.panels):
        out.append(Violation(rule="panels", text=tr("two panels have the same id")))
    for panel in panels.values():
        text = _outline_fault(panel)
        if text:
            out.append(Violation(rule="cut outline", text=f"{panel.id}: {text}"))
    placed: Counter[str] = Counter()
    for layout in plan.layouts:
        placed.update(_sheet(plan, layout, panels, out))
    _once(plan, panels, placed, out)
    _sheets(plan, out)
    _outcomes(plan, out)
    return out


def _sheet(plan: Plan, layout: Layout, panels: dict[str, Panel], out: list[Violation]) -> list[str]:
    rules = plan.rules[layout.glass]

    def report(rule: str, text: str, step: int | None, piece: str | None) -> None:
        out.append(Violation(rule=rule, text=text, sheet=layout.number, step=step, piece=piece))

    for side in Side:
        depth = getattr(layout.trim, side.value)
        if depth < 0 or (depth and side not in layout.raw):
            report("trim", tr("the side {side} has a trim and is not raw", side=side.value), None, None)
    if rules.largest_piece is not None:
        long, short = max(rules.largest_piece), min(rules.largest_piece)
        if max(layout.width, layout.height) > long or min(layout.width, layout.height) > short:
            report("largest piece", tr("the sheet fits no table of the shop"), None, None)
    return check_leaves(layout, replay(layout, rules, report), rules, panels, report)


def _once(plan: Plan, panels: dict[str, Panel], placed: Counter[str], out: list[Violation]) -> None:
    unplaced = Counter(u.panel for u in plan.unplaced)
    for panel in panels.values():
        n, m = placed[panel.id], unplaced[panel.id]
        if n > 1:
            out.append(
                Violation(
                    rule="placed once", text=tr("{panel} is cut {count} times", panel=panel.id, count=n)
                )
            )
        if panel.purpose is Purpose.ORDER and n + m == 0:
            out.append(
                Violation(rule="placed once", text=tr("{panel} is neither cut nor unplaced", panel=panel.id))
            )
        if m > 1 or (n and m):
            out.append(Violation(rule="placed once", text=tr("{panel} is cut and unplaced", panel=panel.id)))
    for entry in plan.unplaced:
        if entry.panel not in panels:
            out.append(Violation(rule="unplaced", text=tr("there is no panel {panel}", panel=entry.panel)))
        if not entry.reason or not entry.rule:
            out.append(Violation(rule="unplaced", text=tr("{panel} has no reason", panel=entry.panel)))


def _sheets(plan: Plan, out: list[Violation]) -> None:
    numbers = Counter(layout.number for layout in plan.layouts)
    for number, count in numbers.items():
        if count > 1:
            out.append(Violation(rule="sheet numbers", text=tr("used twice"), sheet=number))
    taken = Counter(layout.stock for layout in plan.layouts if layout.is_offcut)
    for stock, count in taken.items():
        if count > 1:
            out.append(Violation(rule="stock", text=tr("offcut {stock} is taken twice", stock=stock)))
    if plan.id != plan_id(plan.seed, plan.layouts):
        out.append(
            Violation(rule="plan id", text=tr("the id {plan} is not that of the pieces", plan=plan.id))
        )
    for layout in plan.layouts:
        offcuts = [leaf for leaf in layout.leaves if leaf.kind is LeafKind.OFFCUT]
        for i, leaf in enumerate(offcuts):
            if leaf.offcut != offcut_number(plan.id, layout.number, i):
                out.append(
                    Violation(
                        rule="offcut number",
                        text=tr("offcut {number} is not numbered by its plan and sheet", number=leaf.offcut),
                        sheet=layout.number,
                        piece=leaf.piece,
                    )
                )


def _outcomes(plan: Plan, out: list[Violation]) -> None:
    for glass, outcome in plan.outcomes.items():
        cost = sum(layout.cost for layout in plan.layouts if layout.glass == glass)
        sheets = sum(1 for layout in plan.layouts if layout.glass == glass)
        if cost < outcome.bound.cost or sheets < outcome.bound.sheets:
            out.append(Violation(rule="bound", text=tr("{glass} is below its own lower bound", glass=glass)))
        if outcome.optimal and cost != outcome.bound.cost:
            out.append(
                Violation(
                    rule="bound", text=tr("{glass} is called optimal above its lower bound", glass=glass)
                )
            )


def _convex(shape: g.Shape) -> bool:
    n = len(shape)
    return g.double_area(shape) > 0 and all(
        g.turn_of(shape[i - 2], shape[i - 1], shape[i]) > 0 for i in range(n)
    )


def _outline_fault(panel: Panel) -> str | None:
    """What is wrong with the cut outline of a panel, or None."""
    finished, cut = panel.finished, panel.cut
    if not _convex(cut):
        return tr("the cut outline is not convex and counter-clockwise")
    if g.double_area(finished) <= 0:
        return tr("the finished outline is not counter-clockwise")
    n = len(finished)
    if len(panel.edges) != n:
        return tr("the edges do not match the finished outline")
    convex = _convex(finished)
    if convex and len(cut) != n:
        return tr("the cut outline has other corners than the finished one")
    for i, edge in enumerate(panel.edges):
        a, b = finished[i], finished[(i + 1) % n]
        if convex:
            # both ends of the same edge of the cut outline lie at the allowance
            ends = (cut[i], cut[(i + 1) % n])
            if not all(all(g.offset_within(a, b, p, edge.allowance, ALLOWED)) for p in ends):
                return tr("edge {number} is not moved out by its allowance", number=i + 1)
        elif not any(g.offset_within(a, b, p, edge.allowance, ALLOWED)[0] for p in cut):
            return tr("the cut outline leaves no allowance at edge {number}", number=i + 1)
    if not convex and not all(
        g.turn_of(cut[k - 1], cut[k], p) >= 0 for p in finished for k in range(len(cut))
    ):
        return tr("the cut outline does not hold the finished one")
    return None
