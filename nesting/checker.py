"""The independent checker: replays a plan with exact arithmetic and holds it against its rules.

It shares no code with the optimizer, the cut tree or the blanks: own polygons, own levels, own widths.
Every plan passes it before anything of it leaves the program.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass

from .check_days import check_days
from .check_leaves import check_leaves
from .check_order import check_order
from .check_outlines import cut_outline_fault
from .check_replay import replay
from .check_spots import check_spots, check_tolerances
from .check_widths import check_widths
from .panels import Panel, Purpose
from .plan import Layout, LeafKind, Plan
from .plan_id import CROCKFORD, offcut_number, plan_id
from .stock import Side
from .text import tr

OFFCUT_NUMBER = re.compile(rf"[{CROCKFORD}]{{4}}-[{CROCKFORD}]{{4}}\.[0-9]+\.[a-z]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Violation:
    """One rule broken: the rule's word, a text, and sheet, step, piece and panel where there is one."""

    rule: str
    text: str
    sheet: int | None = None
    step: int | None = None
    piece: str | None = None
    panel: str | None = None

    def __str__(self) -> str:
        where = []
        if self.sheet is not None:
            where.append(tr("sheet {number}", number=self.sheet))
        if self.step is not None:
            where.append(tr("step {number}", number=self.step))
        if self.piece is not None:
            where.append(tr("piece {name}", name=self.piece))
        if self.panel is not None and self.panel not in self.text:
            where.append(tr("panel {name}", name=self.panel))
        return ": ".join([*([", ".join(where)] if where else []), f"{tr(self.rule)}: {self.text}"])


def check(plan: Plan) -> list[Violation]:
    """Every violation of the plan's own rules; an empty list is a pass.

    Parameters
    ----------
    plan
        As read from its file.

    Notes
    -----
    Rules 1 to 7 of the plan file (DEVELOPERS.md), the kinds and levels of cuts, and every rule in `Plan.rules`.
    """
    out: list[Violation] = []
    panels = {p.id: p for p in plan.panels}
    if len(panels) != len(plan.panels):
        out.append(Violation(rule="panels", text=tr("two panels have the same id")))
    for panel in panels.values():
        text = cut_outline_fault(panel)
        if text:
            out.append(Violation(rule="cut outline", text=text, panel=panel.id))
        text = check_tolerances(panel)
        if text:
            out.append(Violation(rule="tolerance", text=text, panel=panel.id))
    _thickness(panels, out)
    placed: Counter[str] = Counter()
    for layout in plan.layouts:
        placed.update(_sheet(plan, layout, panels, out))
    _once(plan, panels, placed, out)
    _sheets(plan, out)
    _outcomes(plan, out)
    check_order(plan, panels, lambda r, t, s, p: out.append(Violation(rule=r, text=t, sheet=s, panel=p)))
    check_days(plan, lambda rule, text: out.append(Violation(rule=rule, text=text)))
    return out


def _sheet(plan: Plan, layout: Layout, panels: dict[str, Panel], out: list[Violation]) -> list[str]:
    panel_of = {leaf.piece: leaf.panel for leaf in layout.leaves}

    def report(rule: str, text: str, step: int | None, piece: str | None) -> None:
        panel = panel_of.get(piece) if piece is not None else None
        out.append(Violation(rule=rule, text=text, sheet=layout.number, step=step, piece=piece, panel=panel))

    rules = plan.rules.get(layout.glass)
    if rules is None:
        report("glass", tr("the plan has no rules for {glass}", glass=layout.glass), None, None)
        return []
    for side in Side:
        depth = getattr(layout.trim, side.value)
        if depth < 0 or (depth and side not in layout.raw):
            report("trim", tr("the side {side} has a trim and is not raw", side=tr(side.value)), None, None)
    if rules.largest_piece is not None:
        long, short = max(rules.largest_piece), min(rules.largest_piece)
        if max(layout.width, layout.height) > long or min(layout.width, layout.height) > short:
            report("largest piece", tr("the sheet fits no table of the shop"), None, None)
    done = replay(layout, rules, report)
    check_widths(layout, done, rules, report)
    check_spots(layout, done.hands, panels, report)
    return check_leaves(layout, done, rules, panels, report)


def _thickness(panels: dict[str, Panel], out: list[Violation]) -> None:
    """Panels of one glass have one nominal thickness."""
    first: dict[str, int] = {}
    for panel in panels.values():
        if first.setdefault(panel.glass, panel.thickness) != panel.thickness:
            text = tr("{glass} has panels of two thicknesses", glass=panel.glass)
            out.append(Violation(rule="glass", text=text, panel=panel.id))


def _once(plan: Plan, panels: dict[str, Panel], placed: Counter[str], out: list[Violation]) -> None:
    """Every ordered panel is on one sheet or unplaced with a reason, none on two."""

    def bad(rule: str, text: str, panel: str) -> None:
        out.append(Violation(rule=rule, text=text, panel=panel))

    unplaced = Counter(u.panel for u in plan.unplaced)
    for name, panel in panels.items():
        n, m = placed[name], unplaced[name]
        if n > 1:
            bad("placed once", tr("{panel} is cut {count} times", panel=name, count=n), name)
        if panel.purpose is Purpose.ORDER and n + m == 0:
            bad("placed once", tr("{panel} is neither cut nor unplaced", panel=name), name)
        if n and m:
            bad("placed once", tr("{panel} is cut and unplaced", panel=name), name)
        if m > 1:
            bad("placed once", tr("{panel} is listed {count} times as unplaced", panel=name, count=m), name)
    for entry in plan.unplaced:
        if entry.panel not in panels:
            bad("unplaced", tr("there is no panel {panel}", panel=entry.panel), entry.panel)
        if not entry.reason or not entry.rule:
            bad("unplaced", tr("{panel} has no reason", panel=entry.panel), entry.panel)


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
    _offcut_numbers(plan, out)


def _offcut_numbers(plan: Plan, out: list[Violation]) -> None:
    """Every offcut has a number of its own, by plan, sheet and letter.

    A plan that follows another keeps that plan's numbers of the offcuts that it keeps.
    """
    follows = bool(plan.extra.get("follows"))
    seen: set[str | None] = set()
    for layout in plan.layouts:
        offcuts = [leaf for leaf in layout.leaves if leaf.kind is LeafKind.OFFCUT]
        own = {offcut_number(plan.id, layout.number, i) for i in range(len(offcuts))}
        for leaf in offcuts:
            known = leaf.offcut in own or (
                follows
                and leaf.offcut is not None
                and OFFCUT_NUMBER.fullmatch(leaf.offcut) is not None
                and leaf.offcut.split(".")[1] == str(layout.number)
            )
            if not known or leaf.offcut in seen:
                out.append(
                    Violation(
                        rule="offcut number",
                        text=tr("{number} is no number of an offcut of this sheet", number=leaf.offcut),
                        sheet=layout.number,
                        piece=leaf.piece,
                    )
                )
            seen.add(leaf.offcut)


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
