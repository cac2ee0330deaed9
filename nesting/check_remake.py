"""Checks a plan that was made again against the one before: nothing that is cut has moved, every order has its piece.

It shares no code with the remaking: it reads both plans and compares them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from .check_marked import check_marked, flaws_on
from .happened import Happened
from .panels import Purpose
from .plan import Layout, LeafKind, Plan
from .text import tr


def check_remake(earlier: Plan, happened: Happened, new: Plan) -> list[str]:
    """Everything that is wrong with the new plan beside the earlier one; an empty list is a pass.

    Parameters
    ----------
    earlier
        The plan before.
    happened
        What became of it meanwhile.
    new
        The plan made again, as read from its file.
    """
    out: list[str] = []
    then = {x.number: x for x in earlier.layouts}
    now = {x.number: x for x in new.layouts}
    measured = {piece.sheet for piece in happened.pieces}
    for number, old in sorted(then.items()):
        fresh = now.get(number)
        marked = happened.flaws.get(number, ()) if number not in happened.flawed else ()
        if number in happened.cut:
            _same(old, fresh, out)
        elif number in happened.half or number in measured:
            _begun(old, fresh, happened.half.get(number, 0), number in measured, out)
            if fresh is not None and number not in measured:
                check_marked(old, fresh, marked, happened.half[number], earlier.habit, out)
        elif marked and fresh is not None and not _in_the_cutting(old, happened, earlier):
            check_marked(old, fresh, marked, 0, earlier.habit, out)
        elif fresh is not None and not _is_same(old, fresh):
            out.append(tr("sheet {number} is planned otherwise under its old number", number=number))
        elif fresh is None and _broke_on(old, happened, earlier) and number not in happened.flawed:
            out.append(tr("sheet {number} is in the cutting, and is not planned any more", number=number))
    _numbers(earlier, new, out)
    _offcuts(earlier, new, out)
    _pieces(earlier, happened, new, out)
    return out


def _is_same(old: Layout, new: Layout) -> bool:
    names = (
        "glass",
        "stock",
        "width",
        "height",
        "raw",
        "trim",
        "cuts",
        "leaves",
        "day",
        "is_offcut",
    )
    return flaws_on(old) == flaws_on(new) and all(getattr(old, name) == getattr(new, name) for name in names)


def _same(old: Layout, new: Layout | None, out: list[str]) -> None:
    if new is None:
        out.append(tr("sheet {number} is cut, and is not in the plan", number=old.number))
    elif not _is_same(old, new):
        out.append(tr("sheet {number} is cut, and is planned otherwise", number=old.number))


def _begun(old: Layout, new: Layout | None, step: int, measured: bool, out: list[str]) -> None:
    """Cuts up to a step stay; so does every panel and offcut that came off by them."""
    if new is None:
        out.append(tr("sheet {number} is half cut, and is not in the plan", number=old.number))
        return
    done = [(c.piece, c.start, c.end, c.makes) for c in old.cuts if c.step <= step]
    there = [(c.piece, c.start, c.end, c.makes) for c in new.cuts]
    # where a blank is lost, the last cut that freed it from waste is not told any more
    missing = [c for i, c in enumerate(done) if c not in there or (not measured and there[i] != c)]
    freed = {name for *_, makes in done for name in makes}
    kept = {leaf.piece: leaf for leaf in new.leaves}
    for leaf in old.leaves:
        if leaf.kind is not LeafKind.CULLET and leaf.piece in freed and kept.get(leaf.piece) != leaf:
            out.append(
                tr(
                    "piece {piece} of sheet {number} came off, and has changed",
                    piece=leaf.piece,
                    number=old.number,
                )
            )
    if missing and not (measured and all(_only_waste(c[3], old) for c in missing)):
        out.append(
            tr("sheet {number} is half cut, and cuts that are made are planned otherwise", number=old.number)
        )


def _only_waste(makes: tuple[str, str], old: Layout) -> bool:
    kinds = {leaf.piece: leaf.kind for leaf in old.leaves}
    return any(kinds.get(name) is LeafKind.CULLET for name in makes)


def _broke_on(old: Layout, happened: Happened, earlier: Plan) -> bool:
    said = _said(earlier)
    return any(
        leaf.panel in happened.broken and "broken" not in said.get(leaf.panel or "", {})
        for leaf in old.leaves
    )


def _in_the_cutting(old: Layout, happened: Happened, earlier: Plan) -> bool:
    """Whether a panel of it broke at some time, and nobody said how far the sheet is cut."""
    said = _said(earlier)
    return any(v.panel in happened.broken or "broken" in said.get(v.panel or "", {}) for v in old.leaves)


def _numbers(earlier: Plan, new: Plan, out: list[str]) -> None:
    """The line is named, and no number of it is given again."""
    follows, last = new.extra.get("follows"), earlier.extra.get("last_sheet")
    if new.id != earlier.id and not (isinstance(follows, list) and follows[:1] == [earlier.id]):
        out.append(tr("it does not say that it follows {plan}", plan=earlier.id))
    known = {x.number for x in earlier.layouts}
    greatest = max([last if isinstance(last, int) else 0, *known])
    for layout in new.layouts:
        if layout.number not in known and layout.number <= greatest:
            out.append(tr("sheet number {number} was given before", number=layout.number))


def _offcuts(earlier: Plan, new: Plan, out: list[str]) -> None:
    """An offcut that is there already keeps its number; no number stands for two."""
    count = Counter(leaf.offcut for x in new.layouts for leaf in x.leaves if leaf.offcut is not None)
    for number, times in sorted(count.items()):
        if times > 1:
            out.append(tr("offcut number {number} is given twice", number=number))
    old = {leaf.offcut: leaf.outline for x in earlier.layouts for leaf in x.leaves if leaf.offcut}
    if new.id != earlier.id:
        for layout in new.layouts:
            for leaf in layout.leaves:
                if leaf.offcut in old and old[leaf.offcut] != leaf.outline:
                    out.append(tr("offcut {number} is another piece now", number=leaf.offcut))


def _said(plan: Plan) -> Mapping[str, Mapping[str, object]]:
    found = plan.extra.get("panels")
    return found if isinstance(found, Mapping) else {}


def _pieces(earlier: Plan, happened: Happened, new: Plan, out: list[str]) -> None:
    """Every panel that is wanted has exactly one sound piece, or is unplaced; what broke is named."""
    said = _said(new)
    panels = {p.id: p for p in new.panels}
    on = {leaf.panel for x in new.layouts for leaf in x.leaves if leaf.panel is not None}
    unplaced = {u.panel for u in new.unplaced}
    before_on = {leaf.panel for x in earlier.layouts for leaf in x.leaves if leaf.panel is not None}
    for name in sorted(happened.broken):
        if name in on and "broken" not in said.get(name, {}):
            out.append(tr("panel {panel} broke, and the plan does not say so", panel=name))
    pieces: Counter[str] = Counter()
    for name in sorted(on):
        more = said.get(name, {})
        if "broken" in more:
            continue
        serves = more.get("given_to", name)
        pieces[str(serves)] += 1
    remade: dict[str, list[str]] = {}
    for name in panels:
        of = said.get(name, {}).get("remakes")
        if isinstance(of, str):
            remade.setdefault(of, []).append(name)

    def sound(name: str, seen: tuple[str, ...] = ()) -> int:
        if name in seen:
            return 0
        own = pieces[name] + (name in unplaced)
        return own + sum(sound(again, (*seen, name)) for again in remade.get(name, ()))

    for name, panel in panels.items():
        wanted = panel.purpose is Purpose.ORDER and "cancelled" not in said.get(name, {})
        # one that was lost before it was cut is not in the plan any more
        first = said.get(name, {}).get("remakes") not in panels
        if wanted and first and sound(name) != 1:
            out.append(tr("panel {panel} has {count} sound pieces", panel=name, count=sound(name)))
    for name in sorted({p.id for p in earlier.panels if p.purpose is Purpose.ORDER} - set(panels)):
        if name in before_on and _was_cut(name, earlier, happened):
            out.append(tr("panel {panel} is cut, and is not in the plan", panel=name))


def _was_cut(name: str, earlier: Plan, happened: Happened) -> bool:
    return any(leaf.panel == name for x in earlier.layouts if x.number in happened.cut for leaf in x.leaves)
