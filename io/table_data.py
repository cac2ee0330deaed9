"""What the page for the table shows, as plain values: sheets, pieces, steps in words, panels, offcuts.

Every figure comes from `steps_of`, every word from the functions that word the printed sequence.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from hashlib import sha256
from typing import Any

from panewright.io import step_words as words
from panewright.io.flaw_words import place_words
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
from panewright.io.record_code import subjects_of
from panewright.io.sheet_scene import panel_size, sheet_scene
from panewright.io.table_drawing import compact_scene, line_numbers, outline_numbers
from panewright.io.table_flaws import exact_sheet, kinds_told, known_flaws
from panewright.nesting.figures import thickness_of
from panewright.nesting.glass import mass_grams
from panewright.nesting.happened import AtStep
from panewright.nesting.ordered.rack_list import leaves_table, racks_in_order
from panewright.nesting.outlines import box
from panewright.nesting.panels import Panel
from panewright.nesting.pieces import Corner, CutFault, Direction, Piece, split, whole_sheet
from panewright.nesting.plan import Layout, LeafKind, Plan
from panewright.nesting.plan_id import compact_json
from panewright.nesting.remake.history import History
from panewright.nesting.sequence import LIFTS, general_cautions, steps_of
from panewright.nesting.shop_table import Habit, Lifts
from panewright.nesting.steps import Caution, Lift, Mark, Placement, Result, Step
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import current_style, show, show_size

NAME = 200
"""Characters of a name that the page shows."""
_KINDS = {LeafKind.PANEL: "panel", LeafKind.OFFCUT: "offcut", LeafKind.CULLET: "cullet", None: "on"}


def page_data(plan: Plan, *, lifts: Lifts = LIFTS, warnings: tuple[str, ...] = ()) -> dict[str, Any]:
    """Everything that the page shows of a plan, ready for JSON.

    Parameters
    ----------
    plan
        The plan.
    lifts
        What people lift by hand.
    warnings
        Shown before all others, as that the plan does not pass its check.
    """
    subjects = subjects_of(plan)
    panel_at = {panel: i for i, panel in enumerate(subjects.panels)}
    offcut_at = {number: i for i, number in enumerate(subjects.offcuts)}
    layouts = sorted(plan.layouts, key=lambda layout: layout.number)
    by_id = {panel.id: panel for panel in plan.panels}
    sheets = [_Sheet(plan, layout, lifts, panel_at, offcut_at, by_id) for layout in layouts]
    where: dict[int, tuple[int, int]] = {}
    offcut_where: dict[int, tuple[int, int]] = {}
    data = []
    known = History(plan)
    for i, sheet in enumerate(sheets):
        # a sheet on which a break ran off is done with too
        number = sheet.layout.number
        begun = {"begun": known.half[number]} if number in known.half else {}
        data.append({**sheet.data(), "cut": number in known.cut or number in known.broken_off, **begun})
        where |= {p: (i, step) for p, step in sheet.panels.items()}
        offcut_where |= {o: (i, step) for o, step in sheet.offcuts.items()}
    sizes = {
        leaf.offcut: show_size(x1 - x0, y1 - y0)
        for layout in layouts
        for leaf in layout.leaves
        for x0, y0, x1, y1 in [box(leaf.outline)]
        if leaf.offcut is not None
    }
    return {
        "plan": plan.id,
        "sequence": _fingerprint(layouts),
        "warnings": [*warnings, *plan_warnings(plan)],
        "cautions": list(general_cautions()),
        "minds": [tr(caution.value) for caution in Caution],
        "at_steps": [[a.value, tr(a.value)] for a in AtStep],
        "kinds": kinds_told(),
        "left_out": [[shown(u.panel, NAME), u.reason] for u in plan.unplaced],
        "sheets": data,
        "panels": [_panel(by_id[p], *where.get(i, (0, 0))) for p, i in panel_at.items()],
        "offcuts": [[n, sizes[n], *offcut_where.get(i, (0, 0))] for n, i in offcut_at.items()],
        **_racks(plan, panel_at),
    }


def _panel(panel: Panel, sheet: int, step: int) -> list[object]:
    """Id, order, name and size; sheet and step where it comes off; what is to know of it."""
    notes = []
    if panel.due is not None:
        notes.append(tr("due {day}", day=panel.due.isoformat()))
    if panel.openings:
        one, many = "{count} opening to drill or saw", "{count} openings to drill or saw"
        notes.append(tr_count(one, many, len(panel.openings)))
    names = [shown(panel.order, NAME), shown(panel.name, NAME), panel_size(panel, None)]
    place = [place_words(panel.rack, panel.slot)] if panel.rack else []
    return [panel.id, *names, sheet, step, "; ".join(notes), *place]


def _racks(plan: Plan, panel_at: dict[str, int]) -> dict[str, object]:
    """The racks of the plan, each with slots and panels in their order; nothing without racks."""
    found = racks_in_order(leaves_table(plan))
    told = [
        [shown(rack, NAME), [[p.slot, panel_at[p.panel]] for p in places if p.panel in panel_at]]
        for rack, places in found.items()
    ]
    return {"racks": told} if told else {}


def _fingerprint(layouts: list[Layout]) -> str:
    """Of the order of all cuts: places kept in a browser hold for that order alone."""
    cuts = [[layout.number, [[c.piece, c.makes[0], c.makes[1]] for c in layout.cuts]] for layout in layouts]
    return sha256(compact_json(cuts).encode()).hexdigest()[:16]


@dataclass(slots=True)
class _Sheet:
    """One sheet on its way into the data; `panels` and `offcuts` tell at which step each comes off."""

    plan: Plan
    layout: Layout
    lifts: Lifts
    panel_at: dict[str, int]
    offcut_at: dict[str, int]
    by_id: dict[str, Panel]

    @property
    def panels(self) -> dict[int, int]:
        return {
            self.panel_at[leaf.panel]: self._freed_by(leaf.piece)
            for leaf in self.layout.leaves
            if leaf.panel is not None
        }

    @property
    def offcuts(self) -> dict[int, int]:
        return {
            self.offcut_at[leaf.offcut]: self._freed_by(leaf.piece)
            for leaf in self.layout.leaves
            if leaf.kind is LeafKind.OFFCUT and leaf.offcut is not None
        }

    def _freed_by(self, piece: str) -> int:
        """Index of the cut that makes a piece from 1; 0 for the whole sheet."""
        return next((i for i, c in enumerate(self.layout.cuts, start=1) if piece in c.makes), 0)

    def data(self) -> dict[str, Any]:
        """The sheet as the page takes it."""
        layout, plan = self.layout, self.plan
        scene = sheet_scene(plan, layout)
        try:
            steps, fault = steps_of(plan, layout, lifts=self.lifts), ""
        except CutFault as error:
            steps, fault = (), str(error)
        pieces, scores = self._pieces() if steps else ([whole_sheet(layout)], [])
        index = {piece.name: i for i, piece in enumerate(pieces)}
        thickness = thickness_of(plan, layout.glass)
        placements: dict[int, Placement] = {s.placement.number: s.placement for s in steps if s.placement}
        order = sorted(placements)
        cullet = {leaf.piece for leaf in layout.leaves if leaf.kind is LeafKind.CULLET}
        rows = []
        for step, score in zip(steps, scores, strict=True):
            row = self._step(step, index)
            row["line"] = line_numbers(*score)
            row["dim"] = _dimension(step, pieces, index, score)
            if step.placement is not None:
                row["placement"] = order.index(step.placement.number)
            gone = [pieces[index[part.name]] for part in step.makes if part.name in cullet]
            row["cullet"] = sum(mass_grams(round(piece.area2), thickness) for piece in gone)
            rows.append(row)
        facts = [
            shown(layout.glass, 40),
            show_size(layout.width, layout.height),
            words.show_mass(words.sheet_mass(plan, layout)),
        ]
        if layout.day is not None:
            facts.append(tr("day {day}", day=layout.day.isoformat()))
        habit = Habit(layout.habit or plan.habit)
        warnings = [*([fault] if fault else []), *mark_warnings(plan, [layout])]
        return {
            "number": layout.number,
            "stock": shown(layout.stock, 60),
            "source": words.stock_words(layout),
            "facts": facts,
            "habit": habit.value,
            "how": words.habit_words(habit),
            "warnings": warnings,
            "marks": sheet_mark_words(plan, layout, steps),
            "pockets": sheet_pockets(plan, layout),
            "cullet": sum(mass_grams(round(p.area2), thickness) for p in pieces if p.name in cullet),
            "drawing": compact_scene(scene),
            "pieces": [outline_numbers(piece.corners) for piece in pieces],
            "placements": [_placement(placements[k], pieces, index) for k in order],
            "steps": rows,
            "panels": sorted(self.panels, key=lambda p: (self.panels[p], p)),
            "offcuts": sorted(self.offcuts, key=lambda o: (self.offcuts[o], o)),
            "exact": exact_sheet(
                layout if steps else replace(layout, cuts=()), self.by_id, self.panel_at, index
            ),
            **({"flaws": known_flaws(layout)} if layout.flaws or layout.spots else {}),
        }

    def _pieces(self) -> tuple[list[Piece], list[tuple[Corner, Corner]]]:
        """Piece 0 is the sheet, 2k - 1 and 2k are what cut k makes; and the ends of every score."""
        pieces = [whole_sheet(self.layout)]
        at = {"s": pieces[0]}
        scores = []
        for cut in self.layout.cuts:
            parts = split(at[cut.piece], cut, self.layout.number)
            pieces += [parts.left, parts.right]
            at |= {parts.left.name: parts.left, parts.right.name: parts.right}
            scores.append(parts.score)
        return pieces, scores

    def _step(self, step: Step, index: dict[str, int]) -> dict[str, Any]:
        out: dict[str, Any] = {
            "step": step.number,
            "piece": index[step.piece.name],
            "hand": words.piece_words(step.piece),
            "size": words.size_words(step.piece),
            "mass": words.show_mass(step.piece.mass),
            "lift": tr(step.lift.value),
            "score": tr("score {length}, {kind}", length=show(step.score), kind=words.kind_words(step)),
            "parts": [self._part(part, step.number, index) for part in step.makes],
        }
        if step.measure is not None and step.measured_from is not None:
            raw = step.edge_is_raw if step.placement is None else step.placement.edge_is_raw
            out |= {
                "figure": show(step.measure, unit=False),
                "from": _edge_words(step.measured_from, raw=raw, square=not step.is_square),
            }
        else:
            out["marks"] = [_mark(mark) for mark in step.marks]
            if square := square_words(step):
                out["square"] = square
        minds = list(Caution)
        # who lifts stands beside the mass already
        if told := [minds.index(c) for c in step.cautions if c not in (Caution.TWO, Caution.CRANE)]:
            out["minds"] = told
        for key, value in (
            ("first", step.is_first),
            ("heavy", step.lift is not Lift.ONE),
            ("scored", step.is_scored or step.placement is not None),
            ("stays", step.stays_set),
            ("turn", step.turns),
            ("take", step.takes_up),
        ):
            if value:
                out[key] = 1
        if step.waiting:
            out["waiting"] = [index[name] for name in step.waiting]
        return out

    def _part(self, part: Result, step: int, index: dict[str, int]) -> list[object]:
        """Piece, where it lies, what it is, its size, kind, panel or offcut (or -1), what rounded marks do."""
        subject = -1
        if part.panel is not None:
            subject = self.panel_at[part.panel]
        elif part.kind is LeafKind.OFFCUT and part.offcut is not None:
            subject = self.offcut_at[part.offcut]
        what = words.result_words(part, step)
        told = [
            index[part.name],
            tr(part.part.value),
            what,
            words.size_words(part),
            _KINDS[part.kind],
            subject,
        ]
        error = error_words(part.error)
        return [*told, error] if error else told


def _edge_words(edge: Direction, *, raw: bool, square: bool) -> str:
    if square:
        return tr("from the {edge} edge, square to it", edge=tr(edge.value))
    if raw:
        return tr("from the raw {edge} edge", edge=tr(edge.value))
    return tr("from the {edge} edge", edge=tr(edge.value))


def _mark(mark: Mark) -> list[object]:
    """The figure, empty at a corner; the whole mark in words; the second measure; from the corner to the mark."""
    at_corner = not mark.table or mark.table == mark.edge_length
    told = ["" if at_corner else show(mark.table, unit=False), mark_words(mark), check_words(mark)]
    return [*told, line_numbers(mark.corner, mark.at)]


def _dimension(
    step: Step, pieces: list[Piece], index: dict[str, int], score: tuple[Corner, Corner]
) -> list[int] | None:
    """The line along which the measure is taken: from the edge to the score, at its middle."""
    if step.measure is None:
        return None
    (x0, y0), (x1, y1) = score
    mx, my = (float(x0 + x1) / 2, float(y0 + y1) / 2)
    dx, dy = float(x1 - x0), float(y1 - y0)
    long = (dx * dx + dy * dy) ** 0.5
    held = step.placement.piece.name if step.placement is not None else step.piece.name
    # makes[0] lies on the side of the edge that is measured from; that of a placement is known by its name
    x, y, xx, yy = (float(v) for v in pieces[index[held]].extent)
    towards = {
        Direction.LEFT: (x, my),
        Direction.RIGHT: (xx, my),
        Direction.BOTTOM: (mx, y),
        Direction.TOP: (mx, yy),
    }.get(step.measured_from or Direction.LEFT)
    if towards is None or step.placement is None:
        part = pieces[index[step.makes[0].name]]
        cx = sum(float(c[0]) for c in part.corners) / len(part.corners)
        cy = sum(float(c[1]) for c in part.corners) / len(part.corners)
        side = 1 if dx * (cy - my) - dy * (cx - mx) > 0 else -1
        towards = (mx - side * dy / long * step.measure, my + side * dx / long * step.measure)
    return line_numbers((round(towards[0]), round(towards[1])), (round(mx), round(my)))


def _placement(placement: Placement, pieces: list[Piece], index: dict[str, int]) -> dict[str, Any]:
    piece = index[placement.piece.name]
    x0, y0, x1, y1 = pieces[piece].extent
    mx, my, most = Fraction(x0 + x1) / 2, Fraction(y0 + y1) / 2, max(placement.marks)
    match placement.edge:
        case Direction.LEFT:
            lines = [line_numbers((x0 + mark, y0), (x0 + mark, y1)) for mark in placement.marks]
            dim = line_numbers((x0, my), (x0 + most, my))
        case Direction.RIGHT:
            lines = [line_numbers((x1 - mark, y0), (x1 - mark, y1)) for mark in placement.marks]
            dim = line_numbers((x1, my), (x1 - most, my))
        case Direction.TOP:
            lines = [line_numbers((x0, y1 - mark), (x1, y1 - mark)) for mark in placement.marks]
            dim = line_numbers((mx, y1), (mx, y1 - most))
        case _:
            lines = [line_numbers((x0, y0 + mark), (x1, y0 + mark)) for mark in placement.marks]
            dim = line_numbers((mx, y0), (mx, y0 + most))
    return {
        "piece": piece,
        "from": _edge_words(placement.edge, raw=placement.edge_is_raw, square=False),
        "edge": placement.edge.value,
        "figures": [show(mark, unit=False) for mark in placement.marks],
        "lines": lines,
        "dim": dim,
        "score": show(placement.score),
    }


def unit_word() -> str:
    """The unit of the figures, as it stands behind them."""
    return '"' if current_style().unit == "in" else current_style().unit
