"""Made-up plans for measurements of the stock store: sheets cut into equal panels and one offcut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

from panewright.nesting.edgework import Edge, Work
from panewright.nesting.kept import FOLLOWS
from panewright.nesting.outlines import rectangle
from panewright.nesting.panels import Panel, cut_of
from panewright.nesting.plan import Bound, Cut, CutKind, GlassOutcome, Layout, Leaf, LeafKind, Plan
from panewright.nesting.plan_id import offcut_number, plan_id
from panewright.nesting.rules import Rules
from panewright.nesting.shop import StockSize, split_key
from panewright.nesting.stock import ALL_SIDES, Side, Trim
from panewright.nesting.units import MONEY, mm

GLASS: Final = "clear-10"
PANEL: Final = (mm(600), mm(400))
OFFCUT_WIDTH: Final = mm(640)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A sheet that a made-up plan is to cut.

    Parameters
    ----------
    width, height
        Of the sheet or offcut. [nm]
    offcut
        Number of the offcut that it is cut from, or None.
    buy
        It is still to be bought.
    across, up
        Panels side by side, and one above another.
    keeps
        A piece as high as the sheet, `OFFCUT_WIDTH` wide, is kept.
    day
        The day on which it is cut.
    """

    width: int = mm(3210)
    height: int = mm(2250)
    glass: str = GLASS
    offcut: str | None = None
    buy: bool = False
    across: int = 1
    up: int = 1
    keeps: bool = False
    day: date | None = None

    @property
    def stock(self) -> str:
        """What the plan calls it."""
        return self.offcut or StockSize(glass=self.glass, width=self.width, height=self.height, price=0).name


@dataclass
class _Cutting:
    """One sheet being cut up; boxes are x, y, width, height. [nm]"""

    wish: Wish
    boxes: dict[str, tuple[int, int, int, int]] = field(default_factory=dict)
    cuts: list[Cut] = field(default_factory=list)
    leaves: list[Leaf] = field(default_factory=list)

    def upright(self, piece: str, width: int, level: int) -> tuple[str, str]:
        """Cut a width off the left; the left and the right part."""
        x, y, w, h = self.boxes.pop(piece)
        left, right = f"{piece}.1", f"{piece}.2"
        self._cut(piece, ((x + width, y), (x + width, y + h)), (left, right), level)
        self.boxes[left], self.boxes[right] = (x, y, width, h), (x + width, y, w - width, h)
        return left, right

    def level(self, piece: str, height: int, level: int) -> tuple[str, str]:
        """Cut a height off the bottom; the lower and the upper part."""
        x, y, w, h = self.boxes.pop(piece)
        upper, lower = f"{piece}.1", f"{piece}.2"
        self._cut(piece, ((x, y + height), (x + w, y + height)), (upper, lower), level)
        self.boxes[lower], self.boxes[upper] = (x, y, w, height), (x, y + height, w, h - height)
        return lower, upper

    def _cut(
        self,
        piece: str,
        line: tuple[tuple[int, int], tuple[int, int]],
        makes: tuple[str, str],
        level: int,
    ) -> None:
        self.cuts.append(
            Cut(
                step=len(self.cuts) + 1,
                piece=piece,
                start=line[0],
                end=line[1],
                makes=makes,
                kind=CutKind.MAIN,
                level=level,
            )
        )

    def leaf(self, piece: str, kind: LeafKind, panel: str | None = None) -> None:
        x, y, w, h = self.boxes.pop(piece)
        raw: tuple[Side, ...] = ()
        if kind is LeafKind.OFFCUT:
            ends = {
                Side.LEFT: x == 0,
                Side.RIGHT: x + w == self.wish.width,
                Side.BOTTOM: y == 0,
                Side.TOP: y + h == self.wish.height,
            }
            raw = tuple(side for side in _raw(self.wish) if ends[side])
        self.leaves.append(Leaf(piece=piece, outline=rectangle(w, h, x, y), kind=kind, panel=panel, raw=raw))


def _raw(wish: Wish) -> tuple[Side, ...]:
    return () if wish.offcut else ALL_SIDES


def _layout(number: int, wish: Wish, names: Sequence[str]) -> Layout:
    sheet = _Cutting(wish, {"s": (0, 0, wish.width, wish.height)})
    rest = "s"
    if wish.keeps:
        rest, kept = sheet.upright(rest, wish.width - OFFCUT_WIDTH, 1)
        sheet.leaf(kept, LeafKind.OFFCUT)
    waiting = iter(names)
    for _ in range(wish.across):
        column, rest = sheet.upright(rest, PANEL[0], 1)
        for _ in range(wish.up):
            panel, column = sheet.level(column, PANEL[1], 2)
            sheet.leaf(panel, LeafKind.PANEL, next(waiting))
        sheet.leaf(column, LeafKind.CULLET)
    sheet.leaf(rest, LeafKind.CULLET)
    return Layout(
        number=number,
        glass=wish.glass,
        stock=wish.stock,
        is_offcut=wish.offcut is not None,
        cost=60 * MONEY,
        width=wish.width,
        height=wish.height,
        raw=_raw(wish),
        trim=Trim(),
        cuts=tuple(sheet.cuts),
        leaves=tuple(sorted(sheet.leaves, key=lambda leaf: leaf.piece)),
        day=wish.day,
        buy=wish.buy,
    )


def made_plan(order: str, wishes: Sequence[Wish], *, follows: Sequence[str] = ()) -> Plan:
    """A plan of one order that cuts these sheets.

    Parameters
    ----------
    order
        Names its panels; plans of different orders have different ids.
    follows
        Ids of the plans that it was made from, the nearest first.
    """
    panels: list[Panel] = []
    layouts: list[Layout] = []
    finished = rectangle(*PANEL)
    edges = tuple(Edge(work=Work.POLISHED, allowance=0) for _ in finished)
    for number, wish in enumerate(wishes, start=1):
        names = [f"{order}/front/{len(panels) + k}" for k in range(1, wish.across * wish.up + 1)]
        panels += [
            Panel(
                id=name,
                order=order,
                name="front",
                glass=wish.glass,
                thickness=split_key(wish.glass)[1],
                finished=finished,
                cut=cut_of(finished, edges),
                edges=edges,
            )
            for name in names
        ]
        layouts.append(_layout(number, wish, names))
    name = plan_id(0, layouts)
    named = []
    for layout in layouts:
        kept = sorted(leaf.piece for leaf in layout.leaves if leaf.kind is LeafKind.OFFCUT)
        leaves = tuple(
            replace(leaf, offcut=offcut_number(name, layout.number, kept.index(leaf.piece)))
            if leaf.piece in kept
            else leaf
            for leaf in layout.leaves
        )
        named.append(replace(layout, leaves=leaves))
    counts = {x.glass: sum(y.glass == x.glass for y in layouts) for x in layouts}
    bounds = {
        g: Bound(cost=60 * MONEY * n, sheets=n, by="area", valid_for="any cutting") for g, n in counts.items()
    }
    return Plan(
        id=name,
        program="panewright",
        seed=0,
        effort=1,
        length_unit="mm",
        currency="EUR",
        rules={glass: Rules() for glass in counts},
        panels=tuple(panels),
        layouts=tuple(named),
        unplaced=(),
        outcomes={g: GlassOutcome(bound=b, optimal=False, stopped_by="made up") for g, b in bounds.items()},
        extra={FOLLOWS: list(follows)} if follows else {},
    )
