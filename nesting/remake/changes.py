"""What is otherwise than in the earlier plan, for people: what goes where, what it costs, which labels are new."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

from ..happened import AtStep
from ..plan import Layout, Plan
from .marks import Marked
from .sheets import How, Sheet
from .tree import panels_on

if TYPE_CHECKING:
    from .search import Remaking


class By(Enum):
    """From what a panel is cut; the value is the text, passed through `tr` when it is shown."""

    WASTE = "from waste of the sheet"
    ANEW = "the sheet is cut up anew"
    STOCK = "one sheet more"
    TABLE = "from a piece on the table"
    GIVEN = "an equal piece that is there"


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A panel that was missing, and where it comes from now.

    Parameters
    ----------
    panel
        Its id in the new plan; of a broken one that is given a piece, its own id.
    instead_of
        The panel in whose place it comes, or None.
    broke
        At which work that one broke, or None.
    sheet
        Number of the sheet, or None where it finds no place.
    by
        From what.
    piece
        Of a given piece: the panel that it was cut as.
    """

    panel: str
    instead_of: str | None = None
    broke: AtStep | None = None
    sheet: int | None = None
    by: By | None = None
    piece: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedSheet:
    """A sheet that is planned otherwise: its number, and the number of the sheet in whose place it comes.

    With `relaid` the cuts are the same; with `broken_off` a break ran off on it, and it is done with; with
    `around` it is the same sheet, cut otherwise for flaws marked on it.
    """

    number: int
    before: int | None
    stock: str
    buy: bool
    relaid: bool
    broken_off: bool = False
    around: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """Everything that is otherwise.

    Parameters
    ----------
    placed
        Panels that were missing.
    sheets
        That are planned otherwise, or new.
    dropped
        Numbers of sheets that are not cut any more.
    cancelled
        Panels that are wanted no longer.
    left_out
        Fillers and spares that are not planned any more.
    cost, offcuts
        What the stock taken costs more, and worth of the offcuts that are lost; less than 0 for a gain.
        [1/10,000 of the currency]
    labels
        Panels that want a new label.
    flawed
        Number and what is wrong of sheets that cannot be cut as planned.
    marked
        Sheets on which flaws were marked, and what became of their panels.
    """

    placed: tuple[Placed, ...] = ()
    sheets: tuple[ChangedSheet, ...] = ()
    dropped: tuple[int, ...] = ()
    cancelled: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    cost: int = 0
    offcuts: int = 0
    labels: tuple[str, ...] = ()
    flawed: tuple[tuple[int, str], ...] = ()
    marked: tuple[Marked, ...] = ()

    @property
    def nothing(self) -> bool:
        """Whether the plan is as it was."""
        changed = self.placed or self.sheets or self.dropped or self.cancelled or self.left_out
        return not (changed or self.marked)

    @property
    def numbers(self) -> frozenset[int]:
        """Numbers of the sheets that are cut otherwise from now on."""
        return frozenset(s.number for s in self.sheets if not s.broken_off)


def changes_of(it: Remaking, plan: Plan, sheets: Sequence[Sheet]) -> Changes:
    """What is otherwise in a plan that was made again."""
    earlier = it.request.earlier
    new = [s for s in sheets if s.changed or s.origin is None]
    on = {p: s for s in sheets for p in panels_on(s.layout)}
    before = {p for x in earlier.layouts for p in panels_on(x)}
    broken = it.request.happened.broken
    given = {g.to: g.piece for g in it.best.gifts}
    placed = []
    for need in sorted(it.best.needs, key=lambda n: n.panel.id):
        sheet = on.get(need.panel.id)
        placed.append(
            Placed(
                panel=need.panel.id,
                instead_of=need.remakes,
                broke=broken.get(need.remakes or ""),
                sheet=None if sheet is None else sheet.layout.number,
                by=None if sheet is None else _by(sheet),
            )
        )
    for to, piece in sorted(given.items()):
        placed.append(
            Placed(panel=to, broke=broken.get(to), sheet=on[piece].layout.number, by=By.GIVEN, piece=piece)
        )
    was = {x.number: x for x in earlier.layouts}
    changed = [
        ChangedSheet(
            number=s.layout.number,
            before=s.origin,
            stock=s.layout.stock,
            buy=s.layout.buy,
            relaid=s.origin is not None and s.origin in it.relaid and s.layout.cuts == was[s.origin].cuts,
            broken_off=s.broken_off,
            around=s.flawed and s.how is How.TO_CUT,
        )
        for s in new
    ]
    there = {s.origin for s in sheets}
    made = {name for n in it.best.needs for name in (n.panel.id, n.remakes)}
    gone = sorted({p for p in before if p not in on} - it.given_up - made)
    labels = [p for s in new if s.how is How.TO_CUT for p in panels_on(s.layout)]
    labels += [p.panel for p in placed if p.sheet is not None and p.by is By.TABLE]
    labels += [
        p for s in new if s.flawed and s.how is How.ON_TABLE for p in _elsewhere(was[s.origin or 0], s)
    ]
    labels += sorted(given.values())
    return Changes(
        placed=tuple(placed),
        sheets=tuple(sorted(changed, key=lambda c: c.number)),
        dropped=tuple(sorted(n for n in was if n not in there)),
        cancelled=tuple(sorted(it.given_up)),
        left_out=tuple(gone),
        cost=sum(x.cost for x in plan.layouts) - sum(x.cost for x in earlier.layouts),
        offcuts=it.judge.worth(earlier.layouts) - it.judge.worth(plan.layouts),
        labels=tuple(dict.fromkeys(labels)),
        flawed=tuple(sorted((n, why) for n, why in it.request.happened.flawed.items() if n in was)),
        marked=tuple(_now(mark, it, was[mark.number], sheets) for mark in it.marked),
    )


def _elsewhere(old: Layout, sheet: Sheet) -> list[str]:
    """Panels of a sheet that come from another place of it than before."""
    places = {leaf.panel: leaf.outline for leaf in old.leaves}
    return [v.panel for v in sheet.layout.leaves if v.panel and places.get(v.panel) != v.outline]


def _now(mark: Marked, it: Remaking, old: Layout, sheets: Sequence[Sheet]) -> Marked:
    """What became of the panels of a sheet in the end."""
    sheet = next((s for s in sheets if s.origin == mark.number and s.flawed), None)
    if sheet is None:
        return mark
    again = {n.panel.id: n.remakes for n in it.best.needs}
    there = {again.get(p) or p for p in panels_on(sheet.layout)}
    moved = tuple(p for p in panels_on(old) if p not in there and p not in it.given_up)
    return replace(mark, moved=moved, stayed=len(there & set(panels_on(old)) - set(mark.spoiled)))


def _by(sheet: Sheet) -> By:
    if sheet.how is How.ON_TABLE:
        return By.TABLE
    if sheet.origin is None:
        return By.STOCK
    return By.ANEW if sheet.anew else By.WASTE
