"""Sheets of an earlier plan that stay as they are: out of the problem, and into the new plan unchanged.

Their panels are taken out of the lists by id, once they are seen to be the same panels, and their stock
is counted down. The new plan follows the earlier one: it keeps the numbers of these sheets and of their
offcuts, and gives no number again that any plan of the line has given.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from .checker import check
from .errors import NestingError
from .panels import Panel, Purpose
from .plan import Layout, LeafKind, Plan
from .plan_id import plan_id
from .shop import Shop
from .spots import flaws_of
from .stock import StockPiece
from .text import tr
from .to_the_mark import same_but_for_the_mark

FOLLOWS = "follows"
"""Key of the plan file: the plans that this one was made from, the nearest first."""
LAST_SHEET = "last_sheet"
"""Key of the plan file: the greatest sheet number that any plan of the line has given."""

_SAME = ("glass", "thickness", "finished", "cut", "edges", "openings", "narrow", "turn", "mirror")
"""What must not change in a panel that is on a kept sheet."""


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a sheet cannot be kept: where it stands in the plan, what is wrong, what to do."""

    where: str
    reason: str
    remedy: str


class Faults(NestingError, ValueError):
    """A wish that does not fit the earlier plan, with every fault found."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        return "\n".join(
            tr("{where}: {reason}; {remedy}", where=f.where, reason=f.reason, remedy=f.remedy)
            for f in self.faults
        )


class CannotKeep(Faults):
    """Sheets that cannot be kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What a new plan takes over from an earlier one.

    Parameters
    ----------
    layouts
        The sheets, by number.
    panels
        Ids of the panels on them.
    as_cut
        Those of them that the lists would now cut to another mark: as they are on the sheets.
    extras
        Panels on them that no list holds (fillers and spares).
    stock
        What is left of the stock.
    follows
        Ids of the earlier plan and of those that it follows, the nearest first.
    last_sheet
        Greatest sheet number given so far.
    beside
        What the earlier plan file says besides of these panels and sheets, as in `Plan.extra`.
    """

    layouts: tuple[Layout, ...] = ()
    panels: frozenset[str] = frozenset()
    as_cut: Mapping[str, Panel] = field(default_factory=dict)
    extras: tuple[Panel, ...] = ()
    stock: tuple[StockPiece, ...] = ()
    follows: tuple[str, ...] = ()
    last_sheet: int = 0
    beside: Mapping[str, object] = field(default_factory=dict)

    def rest(self, panels: Sequence[Panel]) -> list[Panel]:
        """The panels that are still to be planned."""
        return [p for p in panels if p.id not in self.panels]

    def settled(self, panels: Sequence[Panel]) -> list[Panel]:
        """All panels, those on kept sheets with the cut outline that they have there."""
        return [self.as_cut.get(p.id, p) for p in panels]

    def on(self, glass: str) -> list[Layout]:
        """The kept sheets of a glass."""
        return [x for x in self.layouts if x.glass == glass]

    @property
    def offcuts(self) -> int:
        """Offcuts that the kept sheets leave."""
        return sum(leaf.kind is LeafKind.OFFCUT for layout in self.layouts for leaf in layout.leaves)

    def extra(self) -> dict[str, object]:
        """What the new plan file says besides (see `Plan.extra`)."""
        if not self.follows:
            return {}
        return {FOLLOWS: list(self.follows), LAST_SHEET: self.last_sheet, **self.beside}


def keep_sheets(
    earlier: Plan,
    numbers: Collection[int] | None,
    panels: Sequence[Panel],
    stock: Sequence[StockPiece],
    shop: Shop,
) -> Kept:
    """Take sheets of an earlier plan out of the problem.

    Parameters
    ----------
    earlier
        The plan.
    numbers
        Of the sheets to keep; None for all.
    panels
        Everything ordered now.
    stock
        Sheets and offcuts now.
    shop
        Its rules now; a kept sheet must obey them.

    Raises
    ------
    CannotKeep
        A number that is not there, a panel or stock piece that is gone or is another one now, or a
        rule that a kept sheet breaks.
    """
    faults: list[Fault] = []
    known = {layout.number: layout for layout in earlier.layouts}
    wanted = sorted(known) if numbers is None else sorted(set(numbers))
    for number in wanted:
        if number not in known:
            has = ", ".join(map(str, sorted(known))) or "-"
            faults.append(
                Fault(
                    _sheet(number),
                    tr("plan {plan} has no such sheet; it has {numbers}", plan=earlier.id, numbers=has),
                    tr("correct --sheets"),
                )
            )
    chosen = [known[n] for n in wanted if n in known]
    extras, as_cut = _same_panels(earlier, chosen, panels, shop, faults)
    _in_their_slots(chosen, panels, faults)
    layouts, left = _counted_down(chosen, stock, faults)
    if not faults:
        now = [as_cut.get(p.id, p) for p in panels]
        _obeys(earlier, layouts, [*now, *extras], shop, faults)
    if faults:
        raise CannotKeep(faults)
    ids = {leaf.panel for layout in layouts for leaf in layout.leaves if leaf.panel is not None}
    return Kept(
        layouts=tuple(layouts),
        panels=frozenset(ids),
        as_cut=as_cut,
        extras=tuple(extras),
        stock=tuple(left),
        follows=line_ids(earlier),
        last_sheet=last_sheet(earlier),
        beside=_beside(earlier, ids, {str(layout.number) for layout in layouts}),
    )


def _sheet(number: int) -> str:
    return tr("sheet {number}", number=number)


def line_ids(plan: Plan) -> tuple[str, ...]:
    """The id of a plan and of those that it follows, the nearest first: records of any speak of its sheets."""
    before = plan.extra.get(FOLLOWS, [])
    names = [before] if isinstance(before, str) else before if isinstance(before, list) else []
    return tuple(dict.fromkeys([plan.id, *(n for n in names if isinstance(n, str))]))


def last_sheet(plan: Plan) -> int:
    """The greatest sheet number that any plan of the line has given."""
    last = plan.extra.get(LAST_SHEET)
    greatest = last if isinstance(last, int) and not isinstance(last, bool) else 0
    return max([greatest, *(layout.number for layout in plan.layouts)])


def _same_panels(
    earlier: Plan, chosen: Sequence[Layout], panels: Sequence[Panel], shop: Shop, faults: list[Fault]
) -> tuple[list[Panel], dict[str, Panel]]:
    """The panels of the chosen sheets that no list holds, and those cut to another mark than now.

    There is a fault for each that is gone or has changed.
    """
    now = {p.id: p for p in panels}
    then = {p.id: p for p in earlier.panels}
    extras, as_cut = [], {}
    for layout in chosen:
        for leaf in layout.leaves:
            if leaf.panel is None:
                continue
            old, new = then[leaf.panel], now.get(leaf.panel)
            if new is None:
                if old.purpose is Purpose.ORDER:
                    faults.append(
                        Fault(
                            _sheet(layout.number),
                            tr("panel {panel} is in the panel lists no longer", panel=old.id),
                            tr("put it back, or leave the sheet out of --sheets"),
                        )
                    )
                else:
                    extras.append(old)
                continue
            other = [name for name in _SAME if getattr(old, name) != getattr(new, name)]
            if other and set(other) <= {"cut", "edges"} and _by_another_mark(earlier, old, new, shop):
                as_cut[old.id], other = replace(new, cut=old.cut, edges=old.edges), []
            if new.from_stock not in (None, layout.stock):
                other.append("from stock")
            if other:
                faults.append(
                    Fault(
                        _sheet(layout.number),
                        tr("panel {panel} is another one now ({what})", panel=old.id, what=", ".join(other)),
                        tr("leave the sheet out of --sheets, or give the changed panel a name of its own"),
                    )
                )
    return extras, as_cut


def _in_their_slots(chosen: Sequence[Layout], panels: Sequence[Panel], faults: list[Fault]) -> None:
    """A fault for each rack of which a later slot is kept than one that is still to be planned."""
    on = {leaf.panel: layout.number for layout in chosen for leaf in layout.leaves}
    for rack in sorted({p.rack for p in panels if p.rack}):
        mine = sorted((p.slot or 0, p.id) for p in panels if p.rack == rack)
        first = next((slot for slot, name in mine if name not in on), None)
        late = [(slot, on[name]) for slot, name in mine if name in on and first is not None and slot > first]
        if late:
            slot, number = late[-1]
            faults.append(
                Fault(
                    _sheet(number),
                    tr(
                        "slot {slot} of rack {rack} is on it, slot {first} on no kept sheet: it would be cut later",
                        slot=slot, rack=rack, first=first,
                    ),
                    tr("keep the sheet of that slot as well, or leave this one out of --sheets"),
                )
            )  # fmt: skip


def _by_another_mark(earlier: Plan, old: Panel, new: Panel, shop: Shop) -> bool:
    """Whether a panel differs from then only by the mark that its cut size goes up to (see `to_the_mark`)."""
    plain = [replace(e, allowance=shop.allowance(e.work, new.thickness, e.mitre)) for e in new.edges]
    steps = (rules.mark_step for rules in (earlier.rules.get(old.glass), shop.rules(new.glass)) if rules)
    return same_but_for_the_mark(old, new, plain, tuple(steps))


def _counted_down(
    chosen: Sequence[Layout], stock: Sequence[StockPiece], faults: list[Fault]
) -> tuple[list[Layout], list[StockPiece]]:
    """The layouts, from the rack or to buy as the stock is now, and the stock without their sheets."""
    left = {(s.glass, s.name): s for s in stock}
    layouts = []
    for layout in chosen:
        key = (layout.glass, layout.stock)
        piece = left.get(key)
        reason = ""
        if piece is None:
            reason = tr("{stock} is in the stock no longer", stock=layout.stock)
        elif (piece.width, piece.height, set(piece.raw), piece.is_offcut) != (
            layout.width,
            layout.height,
            set(layout.raw),
            layout.is_offcut,
        ):
            reason = tr("{stock} is another piece now", stock=layout.stock)
        elif {f.box for f in piece.flaws} - {f.box for f in flaws_of(layout)}:
            reason = tr("{stock} has a flaw that the plan does not know", stock=layout.stock)
        elif piece.on_hand:
            left[key] = replace(piece, on_hand=piece.on_hand - 1)
        elif not piece.buyable:
            reason = tr(
                "there are fewer of {stock} than the kept sheets take, and no more can be bought",
                stock=layout.stock,
            )
        if reason:
            faults.append(
                Fault(
                    _sheet(layout.number),
                    reason,
                    tr("correct the stock list, or leave the sheet out of --sheets"),
                )
            )
        layouts.append(replace(layout, buy=piece is not None and not piece.on_hand))
    return layouts, list(left.values())


def _obeys(
    earlier: Plan, layouts: Sequence[Layout], panels: Sequence[Panel], shop: Shop, faults: list[Fault]
) -> None:
    """A fault for each rule of the shop, as it is now, that a kept sheet breaks."""
    ids = {leaf.panel for layout in layouts for leaf in layout.leaves}
    part = replace(
        earlier,
        id=plan_id(earlier.seed, layouts),
        rules={layout.glass: shop.rules_as_set(layout.glass) for layout in layouts},
        panels=tuple(p for p in panels if p.id in ids),
        layouts=tuple(layouts),
        unplaced=(),
        outcomes={},
        extra={FOLLOWS: [earlier.id], **_beside(earlier, ids, set())},
    )
    for violation in check(part):
        faults.append(
            Fault(
                earlier.id if violation.sheet is None else _sheet(violation.sheet),
                tr("it breaks a rule of the shop as it is now: {violation}", violation=violation),
                tr("leave the sheet out of --sheets, or plan with the shop file of that plan"),
            )
        )


def _beside(earlier: Plan, panels: Collection[str | None], sheets: Collection[str]) -> dict[str, object]:
    """What the earlier file says besides of these panels and sheets."""
    out: dict[str, object] = {}
    for part, names in (("panels", panels), ("sheets", sheets)):
        kept = earlier.extra.get(part)
        if isinstance(kept, dict):
            mine = {name: more for name, more in kept.items() if name in names}
            if mine:
                out[part] = mine
    return out
