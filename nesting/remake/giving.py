"""A piece of one order given to another: cancelled ones and spares at once, those of later orders where it pays."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ..panels import Panel, Purpose, Turn
from ..plan import Layout, Leaf
from .history import History
from .sheets import How, Sheet

_STEPS = {Turn.QUARTER: 90 * 10**9, Turn.HALF: 180 * 10**9, Turn.NONE: 360 * 10**9}


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """A piece of glass that is to be planned.

    Parameters
    ----------
    panel
        The piece.
    remakes
        The panel in whose place it comes, or None for one that was never cut.
    """

    panel: Panel
    remakes: str | None = None

    @property
    def due(self) -> date:
        """The day on which it must be cut; far away without one."""
        return self.panel.due or date.max

    def anywhere(self) -> Need:
        """The need as it is planned: a piece that is made again has no place in the order of its rack."""
        if self.remakes is None or not self.panel.rack:
            return self
        return replace(self, panel=replace(self.panel, rack="", slot=None))


@dataclass(frozen=True, slots=True)
class Gift:
    """A piece that serves another panel from now on: ids of the panel that it was cut as, and of that panel."""

    piece: str
    to: str


@dataclass(frozen=True, slots=True)
class Found:
    """A piece on a sheet: the panel that it is, the one that it serves, its leaf and sheet."""

    panel: Panel
    serves: str
    leaf: Leaf
    sheet: Sheet

    @property
    def day(self) -> date:
        """When it is there; at once from a sheet that is cut, or in the cutting."""
        if self.sheet.how is How.TO_CUT:
            return self.sheet.layout.day or date.min
        return date.min


def same_glass(panel: Panel, wanted: Panel) -> bool:
    """Whether two panels are the same piece of glass, whatever their orders."""
    names = ("glass", "thickness", "finished", "cut", "edges", "openings", "tips")
    return all(getattr(panel, name) == getattr(wanted, name) for name in names)


def may_serve(leaf: Leaf, layout: Layout, wanted: Panel) -> bool:
    """Whether a panel may be cut as this leaf lies on this sheet."""
    step = _STEPS.get(wanted.turn)
    if step is not None and leaf.turned % step:
        return False
    return (wanted.mirror or not leaf.mirrored) and wanted.from_stock in (None, layout.stock)


def pieces(sheets: Sequence[Sheet], history: History, broken: Collection[str]) -> Iterator[Found]:
    """All sound pieces, sheet by sheet."""
    for sheet in sheets:
        for leaf in sheet.layout.leaves:
            if leaf.panel is not None and leaf.panel not in broken and leaf.panel in history.panels:
                panel = history.panels[leaf.panel]
                yield Found(panel, history.serves(leaf.panel), leaf, sheet)


def free_gifts(
    needs: Sequence[Need], found: Sequence[Found], history: History, gone: Collection[str]
) -> tuple[list[Need], list[Gift]]:
    """Needs met by pieces that nobody wants (cancelled, spare), and what is left.

    Pieces that are cut already go first; one on a sheet that is to be cut serves only in time.
    """
    free = [
        f
        for f in found
        if f.serves in gone
        or f.serves in history.cancelled
        or (f.serves in history.panels and history.panels[f.serves].purpose is Purpose.SPARE)
    ]
    free.sort(key=lambda f: (f.sheet.how is How.TO_CUT, f.day, f.sheet.layout.number, f.panel.id))
    left, gifts = [], []
    for need in sorted(needs, key=lambda n: (n.due, n.panel.id)):
        fits = (
            f
            for f in free
            if same_glass(f.panel, need.panel)
            and may_serve(f.leaf, f.sheet.layout, need.panel)
            and f.day <= need.due
        )
        taken = next(fits, None)
        if taken is None:
            left.append(need)
        else:
            free.remove(taken)
            gifts.append(Gift(taken.panel.id, need.remakes or need.panel.id))
    return left, gifts


def later_orders(
    needs: Sequence[Need], found: Sequence[Found], taken: Collection[str], gone: Collection[str]
) -> list[Found | None]:
    """For each need a piece of its own of an equal panel that is due later, the latest first; None for none."""
    out: list[Found | None] = []
    used = set(taken)
    for need in needs:
        fits = [
            f
            for f in found
            if f.panel.id not in used
            and f.serves == f.panel.id
            and f.panel.id not in gone
            and f.panel.purpose is Purpose.ORDER
            and (f.panel.due or date.max) > need.due
            and f.panel.order != need.panel.order
            and f.day <= need.due
            and same_glass(f.panel, need.panel)
            and may_serve(f.leaf, f.sheet.layout, need.panel)
        ]
        best = min(
            fits,
            key=lambda f: (
                f.sheet.how is How.TO_CUT,
                -(f.panel.due or date.max).toordinal(),
                f.sheet.layout.number,
                f.panel.id,
            ),
            default=None,
        )
        if best is not None:
            used.add(best.panel.id)
        out.append(best)
    return out


def exchanged(need: Need, giver: Found, new_id: str) -> tuple[Need, Gift]:
    """The need of the later order, and the gift by which the pressing one is met."""
    panel = replace(giver.panel, id=new_id)
    return Need(panel=panel, remakes=giver.panel.id), Gift(giver.panel.id, need.remakes or need.panel.id)
