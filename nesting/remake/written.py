"""The best answer as a plan: numbers, days, cuts in a good order, and what the file says besides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..assemble import numbered
from ..kept import FOLLOWS, LAST_SHEET, last_sheet, line_ids
from ..late import CUTTING_DAYS, DUE_ORDER, LATE, late_panels, order_extra, order_of
from ..optimizer.instance import build
from ..panels import Panel, Purpose
from ..plan import Bound, GlassOutcome, Layout, Leaf, LeafKind, Plan
from ..plan_bound import bound_of
from ..plan_id import offcut_number, plan_id
from ..sequencing.arrange import sequenced
from ..shop import Shop
from ..spots import flaws_of, told_apart
from ..stock import StockPiece
from ..text import tr
from .changes import Changes, changes_of
from .history import BROKEN, BROKEN_OFF, CANCELLED, CUT, CUT_TO, GIVEN_TO, REMAKES
from .racks import out_of_order
from .recut import as_stock
from .sheets import How, Sheet
from .tree import panels_on

if TYPE_CHECKING:
    from .search import Remaking


@dataclass(frozen=True, slots=True)
class Ending:
    """The plan, and what is otherwise than before."""

    plan: Plan
    changes: Changes


def written(it: Remaking, stopped_by: str) -> Ending:
    """The plan of the best answer of a search, and the list of changes."""
    earlier, shop, best = it.request.earlier, it.shop, it.best
    sheets = it.calendar.dated(best.sheets, it.panels)
    sheets = _fewer_offcuts(sheets, shop.offcuts_a_plan)
    before = {x.number: x for x in earlier.layouts}
    sheets = [_in_order(s, before, it.panels, shop) for s in sheets]
    follows, last = line_ids(earlier), last_sheet(earlier)
    sheets = _numbered(sheets, last)
    sheets = _from_rack(sheets, it.stock)
    name = plan_id(it.request.seed, [s.layout for s in sheets])
    sheets = [_offcuts_numbered(s, name) for s in sheets]
    on = {p for s in sheets for p in panels_on(s.layout)}
    apart = told_apart([s.layout for s in sheets], [p for n, p in it.panels.items() if n in on])
    sheets = [replace(s, layout=x) for s, x in zip(sheets, apart, strict=True)]
    layouts = [s.layout for s in sheets]
    panels = _panels(it, layouts)
    extra = _extra(it, panels, sheets)
    extra[FOLLOWS] = [n for n in follows if n != name] or list(follows)
    extra[LAST_SHEET] = last
    plan = Plan(
        id=name,
        program=it.program,
        seed=it.request.seed,
        effort=it.effort,
        length_unit=shop.length_style.unit,
        currency=earlier.currency,
        rules={
            glass: shop.rules_as_set(glass)
            for glass in sorted({p.glass for p in panels} | {x.glass for x in layouts})
        },
        panels=tuple(sorted(panels, key=lambda p: (p.glass, p.order, p.name, len(p.id), p.id))),
        layouts=tuple(layouts),
        unplaced=tuple(sorted(best.left, key=lambda u: u.panel)),
        outcomes=_outcomes(it, sheets, stopped_by),
        habit=earlier.habit,
        extra=extra,
    )
    return Ending(plan, changes_of(it, plan, sheets))


def _is_new(sheet: Sheet) -> bool:
    """Whether it is another sheet, with a number of its own."""
    return _is_anew(sheet) and not sheet.flawed


def _is_anew(sheet: Sheet) -> bool:
    """Whether it has papers of its own: another sheet, or one that is to be cut otherwise."""
    return sheet.how is How.TO_CUT and (sheet.changed or sheet.origin is None)


def _fewer_offcuts(sheets: Sequence[Sheet], most: int) -> list[Sheet]:
    """No more offcuts than a plan may leave: the smallest of changed sheets are cullet."""
    rows = []
    kept = 0
    for i, sheet in enumerate(sheets):
        for leaf in sheet.layout.leaves:
            if leaf.kind is LeafKind.OFFCUT and _is_anew(sheet):
                area = (leaf.outline[2][0] - leaf.outline[0][0]) * (leaf.outline[2][1] - leaf.outline[0][1])
                rows.append((-area, i, leaf.piece))
            elif leaf.kind is LeafKind.OFFCUT:
                kept += 1
    drop = {(i, piece) for _, i, piece in sorted(rows)[max(0, most - kept) :]}

    def leaf_of(i: int, leaf: Leaf) -> Leaf:
        return replace(leaf, kind=LeafKind.CULLET, offcut=None, raw=()) if (i, leaf.piece) in drop else leaf

    return [
        replace(s, layout=replace(s.layout, leaves=tuple(leaf_of(i, v) for v in s.layout.leaves)))
        for i, s in enumerate(sheets)
    ]


def _in_order(sheet: Sheet, before: Mapping[int, Layout], panels: Mapping[str, Panel], shop: Shop) -> Sheet:
    """A changed sheet with its cuts in a good order; what is begun goes on as it is."""
    if not _is_anew(sheet):
        return sheet
    if sheet.origin is not None and sheet.layout.cuts == before[sheet.origin].cuts:
        return sheet
    mine = [panels[name] for name in panels_on(sheet.layout) if name in panels]
    permute = sheet.anew and not flaws_of(sheet.layout)
    (layout,) = sequenced([sheet.layout], shop, permute=permute, panels=mine)
    late = set(out_of_order([sheet.layout], panels))
    if set(out_of_order([layout], panels)) - late:
        return sheet
    return replace(sheet, layout=layout)


def _numbered(sheets: Sequence[Sheet], last: int) -> list[Sheet]:
    out = []
    for sheet in sheets:
        if _is_new(sheet):
            last += 1
            sheet = replace(sheet, layout=replace(sheet.layout, number=last))
        out.append(sheet)
    return out


def _from_rack(sheets: Sequence[Sheet], stock: Sequence[StockPiece]) -> list[Sheet]:
    """Changed sheets come from the rack as long as there are some, else they are to be bought."""
    left = {(s.glass, s.name): s.on_hand for s in stock}
    for sheet in sheets:
        key = (sheet.layout.glass, sheet.layout.stock)
        if not _is_new(sheet) and sheet.how is not How.CUT and not sheet.layout.buy:
            left[key] = left.get(key, 0) - 1
    out = []
    for sheet in sheets:
        if _is_new(sheet):
            key = (sheet.layout.glass, sheet.layout.stock)
            sheet = replace(sheet, layout=replace(sheet.layout, buy=left.get(key, 0) <= 0))
            left[key] = left.get(key, 0) - 1
        out.append(sheet)
    return out


def _offcuts_numbered(sheet: Sheet, plan: str) -> Sheet:
    if _is_new(sheet):
        return replace(sheet, layout=numbered(sheet.layout, plan))
    if not sheet.changed:
        return sheet
    leaves, count = [], 0
    for leaf in sheet.layout.leaves:
        if leaf.kind is LeafKind.OFFCUT and leaf.offcut is None:
            leaf = replace(leaf, offcut=offcut_number(plan, sheet.layout.number, count))
            count += 1
        leaves.append(leaf)
    return replace(sheet, layout=replace(sheet.layout, leaves=tuple(leaves)))


def _panels(it: Remaking, layouts: Sequence[Layout]) -> list[Panel]:
    """The panels of the plan: what is on sheets or wanted; no filler, spare or cancelled one that is on none."""
    on = {name for x in layouts for name in panels_on(x)}
    wanted = {u.panel for u in it.best.left}
    return [
        p for name, p in it.panels.items() if name in on or (name in wanted and p.purpose is Purpose.ORDER)
    ]


def _extra(it: Remaking, panels: Sequence[Panel], sheets: Sequence[Sheet]) -> dict[str, object]:
    earlier, layouts = it.request.earlier, [s.layout for s in sheets]
    ids, numbers = {p.id for p in panels}, {str(x.number) for x in layouts}
    left = {u.panel for u in it.best.left}
    extra = {k: v for k, v in earlier.extra.items() if k not in ("figures", "unplaced", "sheets", "panels")}
    for part, names in (("panels", ids), ("sheets", numbers), ("unplaced", left)):
        said = earlier.extra.get(part)
        rows = {n: dict(m) for n, m in said.items() if n in names} if isinstance(said, dict) else {}
        if part == "panels":
            _said_of_panels(it, ids, rows)
        elif part == "sheets":
            _said_of_sheets(it, sheets, rows)
        if rows:
            extra[part] = rows
    if it.calendar.has_days or CUTTING_DAYS in extra:
        extra[LATE] = [late.row() for late in late_panels(panels, layouts)]
    rows_before = order_of(earlier)
    if rows_before is not None:
        extra |= order_extra(panels, layouts, [(r.glass, r.due, r.alone) for r in rows_before])
    else:
        extra.pop(DUE_ORDER, None)
    return extra


def _said_of_panels(it: Remaking, ids: set[str], rows: dict[str, dict[str, object]]) -> None:
    for name in (n for n in it.broken if n in ids):
        rows.setdefault(name, {})[BROKEN] = it.request.happened.broken[name].value
    for need in it.best.needs:
        if need.remakes is not None and need.panel.id in ids:
            rows.setdefault(need.panel.id, {})[REMAKES] = need.remakes
    for gift in it.best.gifts:
        rows.setdefault(gift.piece, {})[GIVEN_TO] = gift.to
    for name in sorted(it.given_up & ids):
        rows.setdefault(name, {})[CANCELLED] = True


def _said_of_sheets(it: Remaking, sheets: Sequence[Sheet], rows: dict[str, dict[str, object]]) -> None:
    """How far the sheets are: a plan made from this one needs no record of this one's."""
    happened = it.request.happened
    for sheet in sheets:
        mark: dict[str, object] = {}
        if sheet.broken_off:
            mark[BROKEN_OFF] = True
        elif sheet.origin in happened.cut and sheet.origin not in it.history.broken_off:
            mark[CUT] = True
        elif sheet.how is How.ON_TABLE and sheet.origin is not None:
            mark[CUT_TO] = happened.half[sheet.origin]
        if mark:
            number = str(sheet.layout.number)
            rows[number] = {k: v for k, v in rows.get(number, {}).items() if k != CUT_TO} | mark


def _outcomes(it: Remaking, sheets: Sequence[Sheet], stopped_by: str) -> dict[str, GlassOutcome]:
    """Bound and status by glass: what is unchanged at its cost, the rest by a bound of its own."""
    found = {}
    for glass in sorted({s.layout.glass for s in sheets}):
        mine = [s for s in sheets if s.layout.glass == glass]
        same = [s.layout for s in mine if not _is_anew(s)]
        new = [s.layout for s in mine if _is_anew(s)]
        bound = Bound(cost=0, sheets=0, by="kept sheets", valid_for=tr("no sheet"))
        panels = [it.panels[p] for x in new for p in panels_on(x)]
        if panels:
            stock = {x.stock: as_stock(x) for x in new}
            count = {name: sum(x.stock == name for x in new) for name in stock}
            offers = [replace(s, on_hand=max(s.on_hand, count.get(s.name, 0))) for s in it.stock]
            known = {s.name for s in offers}
            offers += [replace(s, on_hand=count[n]) for n, s in sorted(stock.items()) if n not in known]
            instance = build(
                panels, [s for s in offers if s.glass == glass and s.is_there], it.shop.rules(glass)
            )
            bound = bound_of(instance, instance.demand, phantoms=False)
        cost = sum(x.cost for x in same) + bound.cost
        total = sum(s.layout.cost for s in mine)
        found[glass] = GlassOutcome(
            bound=replace(
                bound,
                cost=cost,
                sheets=len(same) + bound.sheets,
                valid_for=tr("{plans} beside the kept sheets", plans=bound.valid_for),
            ),
            optimal=cost == total,
            stopped_by="bound met" if cost == total else stopped_by,
        )
    return found
