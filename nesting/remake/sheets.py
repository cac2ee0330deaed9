"""The sheets of the earlier plan as they stand now: cut, half cut, to be cut, or lost."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from ..happened import Happened
from ..optimizer.runner import Counter
from ..panels import Panel
from ..plan import Layout, Plan
from ..shop import Shop
from ..spots import flaws_of, with_flaws
from ..stock import StockPiece
from .gate import passes
from .history import History
from .marking import Marks
from .marks import Marked
from .recut import as_stock, sheet_cut_anew
from .request import Request
from .tree import begun_cuts, panels_on, pruned, truncated


class How(Enum):
    """How far a sheet is; the order is that of what may still be changed."""

    CUT = "cut"
    ON_TABLE = "on the table"
    TO_CUT = "to be cut"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet of the plan to be.

    Parameters
    ----------
    layout
        As it is planned now.
    how
        How far it is.
    origin
        Number of the sheet of the earlier plan that it goes on from; None for one more sheet.
    changed
        Whether it is planned otherwise than before.
    done
        Steps that are done.
    broken_off
        Whether a break ran off on it, so that it ends at the last step that is done.
    anew
        Whether its cuts may be put in another order, its pieces in other places.
    flawed
        Whether flaws are marked on it: it is the sheet in hand, and keeps its number and its place.
    """

    layout: Layout
    how: How = How.TO_CUT
    origin: int | None = None
    changed: bool = False
    done: frozenset[int] = frozenset()
    anew: bool = False
    broken_off: bool = False
    flawed: bool = False

    @property
    def fixed(self) -> bool:
        """Whether nothing on it may be changed."""
        return self.how is How.CUT

    @property
    def free(self) -> bool:
        """Whether another sheet may be cut in its place; one with flaws is no sheet of the stock."""
        return self.how is How.TO_CUT and not (self.layout.flaws or self.layout.spots)


@dataclass(frozen=True, slots=True)
class Standing:
    """All sheets, what is lost, and the pieces of broken off sheets that are left on the table.

    Parameters
    ----------
    sheets
        In the order of the plan.
    lost
        Ids of the panels that lay on sheets, or parts of sheets, which are no good, by cause.
    pieces
        On the table, as stock.
    relaid
        Old numbers of sheets whose layout goes on an equal sheet.
    dropped
        Old numbers of sheets that are not cut.
    marked
        What flaws marked on sheets did to them.
    """

    sheets: tuple[Sheet, ...]
    lost: tuple[str, ...]
    pieces: tuple[StockPiece, ...]
    relaid: tuple[int, ...]
    dropped: tuple[int, ...]
    marked: tuple[Marked, ...] = ()


def left_of(stock: Sequence[StockPiece], layouts: Iterable[Layout]) -> list[StockPiece]:
    """The stock without the sheets that these layouts take."""
    out = {(s.glass, s.name): s for s in stock}
    for layout in layouts:
        piece = out.get((layout.glass, layout.stock))
        if piece is not None and piece.on_hand > 0:
            out[layout.glass, layout.stock] = replace(piece, on_hand=piece.on_hand - 1)
    return list(out.values())


def without_flawed(
    stock: Sequence[StockPiece], request: Request, dropped: Collection[int]
) -> list[StockPiece]:
    """The stock without the sheets of dropped layouts that have flaws: they are not the sound ones of that name."""
    sound = {(s.glass, s.name) for s in stock if not s.flaws}
    bad = [
        x
        for x in request.earlier.layouts
        if x.number in dropped
        and (x.glass, x.stock) in sound
        and (x.flaws or x.spots or x.number in request.happened.flaws)
    ]
    return left_of(stock, bad)


def on_table_stock(plan: Plan, happened: Happened) -> tuple[StockPiece, ...]:
    """The pieces measured on the table as stock that costs nothing, numbered by plan and sheet."""
    glass = {layout.number: layout.glass for layout in plan.layouts}
    count: dict[int, int] = {}
    out = []
    for piece in happened.pieces:
        count[piece.sheet] = count.get(piece.sheet, 0) + 1
        out.append(
            StockPiece(
                name=f"{plan.id}.{piece.sheet}.t{count[piece.sheet]}",
                glass=glass[piece.sheet],
                width=piece.width,
                height=piece.height,
                is_offcut=True,
                raw=(),
                cost=0,
                on_hand=1,
            )
        )
    return tuple(out)


def lying_offcuts(plan: Plan, happened: Happened) -> frozenset[str]:
    """Numbers of the offcuts that came off cut and half cut sheets and are cut up by no sheet of the plan.

    Nobody need have recorded them as kept: they lie at the table. Of a sheet on which a break ran off only the
    pieces that were measured count.
    """
    happened = History(plan).since(happened)
    gone = {*happened.gone, *(x.stock for x in plan.layouts)}
    measured = {piece.sheet for piece in happened.pieces} | History(plan).broken_off
    out = set()
    for layout in plan.layouts:
        if layout.number in measured:
            continue
        whole, half = layout.number in happened.cut, happened.half.get(layout.number, 0)
        off = {name for cut in layout.cuts if whole or cut.step <= half for name in cut.makes}
        out |= {leaf.offcut for leaf in layout.leaves if leaf.offcut is not None and leaf.piece in off}
    return frozenset(out - gone)


def standing(request: Request, history: History, counter: Counter) -> Standing:
    """The sheets as they stand, with all their panels; those with marked flaws planned around them."""
    plan, happened, shop = request.earlier, request.happened, request.shop
    broken_off = {piece.sheet for piece in happened.pieces}
    broken = {*happened.broken, *history.broken}
    sheets: list[Sheet | None] = []
    lost: list[str] = []
    again: list[tuple[int, Layout]] = []
    for layout in plan.layouts:
        number, rules = layout.number, shop.rules(layout.glass)
        if number in happened.cut:
            sheets.append(Sheet(layout=layout, how=How.CUT, origin=number))
        elif number in broken_off:
            steps = begun_cuts(layout, happened.half.get(number, 0), "stop")
            part = truncated(layout, {s for s in steps if s <= happened.half.get(number, 0)}, rules)
            lost += [p for p in panels_on(layout) if p not in panels_on(part)]
            off = Sheet(layout=part, how=How.CUT, origin=number, changed=part != layout, broken_off=True)
            sheets.append(off)
        elif happened.half.get(number):
            done = frozenset(begun_cuts(layout, happened.half[number], plan.habit))
            sheets.append(Sheet(layout=layout, how=How.ON_TABLE, origin=number, done=done))
        elif number in happened.flawed or (layout.is_offcut and layout.stock in happened.gone):
            again.append((len(sheets), layout))
            sheets.append(None)
        elif broken & set(panels_on(layout)):
            # it is in the cutting, and nobody said how far: it goes on as planned
            sheets.append(Sheet(layout=layout, how=How.CUT, origin=number))
        else:
            sheets.append(Sheet(layout=layout, origin=number))
    marks = Marks(request, history, broken, counter)
    for place, sheet in enumerate(sheets):
        if sheet is None or sheet.origin is None:
            continue
        if sheet.origin in happened.cut or sheet.broken_off:
            continue  # whoever cut it says what broke
        found = marks.on(sheet.layout, sheet.done, fixed=sheet.fixed)
        if found is None:
            continue
        if found.mark.useless:
            again.append((place, sheet.layout))
            sheets[place] = None
            continue
        lost += found.mark.moved
        sheets[place] = replace(
            sheet,
            layout=found.layout,
            changed=sheet.changed or found.mark.anew,
            done=found.done,
            flawed=not sheet.fixed,
        )
    _is_there(sheets, again, request)
    useless = {m.number for m in marks.found if m.useless}
    relaid, dropped = _relaid(sheets, again, lost, broken, request, history, useless)
    return Standing(
        tuple(sheet for sheet in sheets if sheet is not None),
        tuple(lost),
        on_table_stock(plan, happened),
        tuple(relaid),
        tuple(sorted(dropped)),
        tuple(marks.found),
    )


def _is_there(sheets: list[Sheet | None], again: list[tuple[int, Layout]], request: Request) -> None:
    """Sheets that are to be cut from stock which is not there any more are lost like flawed ones."""
    left = {(s.glass, s.name): (s.on_hand, s.buyable) for s in request.stock}
    for place, sheet in enumerate(sheets):
        if sheet is None or sheet.how is not How.TO_CUT:
            continue
        key = (sheet.layout.glass, sheet.layout.stock)
        on_hand, buyable = left.get(key, (0, False))
        if on_hand:
            left[key] = (on_hand - 1, buyable)
        elif not buyable:
            again.append((place, sheet.layout))
            sheets[place] = None
    again.sort(key=lambda row: row[0])


def _relaid(
    sheets: list[Sheet | None],
    again: list[tuple[int, Layout]],
    lost: list[str],
    broken: set[str],
    request: Request,
    history: History,
    useless: Collection[int],
) -> tuple[list[int], list[int]]:
    """Put layouts of lost sheets on equal ones; else their panels are lost with them."""
    relaid, dropped = [], []
    bad = [layout for _, layout in again if layout.number in useless]
    for place, layout in again:
        taken = [s.layout for s in sheets if s is not None and s.layout.number not in request.happened.cut]
        taken += bad
        equal = [
            s
            for s in left_of(request.stock, taken)
            if s.is_there and s.name not in request.happened.gone and s.take is None and _equal(s, layout)
        ]
        equal.sort(key=lambda s: (s.name != layout.stock, not s.on_hand, s.cost, s.name))
        moved = (_moved(layout, piece) for piece in equal)
        sound = (x for x in moved if not flaws_of(x) or passes(x, history.panels, request.shop))
        # what broke on it is another piece of glass now, with another id
        stays = layout.take is None and not broken & set(panels_on(layout))
        new = next(sound, None) if stays else None
        if new is None:
            lost += panels_on(layout)
            dropped.append(layout.number)
            continue
        sheets[place] = Sheet(layout=new, origin=layout.number, changed=True)
        relaid.append(layout.number)
    return relaid, dropped


def _moved(layout: Layout, piece: StockPiece) -> Layout:
    """The cuts of a sheet on another one, which has its own flaws."""
    moved = replace(layout, stock=piece.name, cost=piece.cost, is_offcut=piece.is_offcut, take=piece.take)
    return with_flaws(moved, piece.flaws)


def _equal(piece: StockPiece, layout: Layout) -> bool:
    mine = as_stock(layout)
    return (piece.glass, piece.width, piece.height, set(piece.raw), piece.trim) == (
        mine.glass,
        mine.width,
        mine.height,
        set(mine.raw),
        mine.trim,
    )


def without(
    sheets: Sequence[Sheet], gone: frozenset[str], panels: Mapping[str, Panel], shop: Shop, counter: Counter
) -> tuple[list[Sheet], list[int]]:
    """The sheets without some panels where that can be cut, and the old numbers of those that are left empty.

    Parameters
    ----------
    sheets
        All of them.
    gone
        Ids of the panels; those of cut sheets, and what came off already, stay.
    panels
        All panels by id.
    shop
        Its rules.
    counter
        Receives the nodes of the search.
    """
    out, empty = [], []
    for sheet in sheets:
        new = _without(sheet, gone, panels, shop, counter)
        if new is None:
            empty.append(sheet.origin or 0)
        else:
            out.append(new)
    return out, empty


def _without(
    sheet: Sheet, gone: frozenset[str], panels: Mapping[str, Panel], shop: Shop, counter: Counter
) -> Sheet | None:
    mine = gone & set(panels_on(sheet.layout))
    if sheet.fixed or not mine:
        return sheet
    rules = shop.rules(sheet.layout.glass)
    rest = [panels[p] for p in panels_on(sheet.layout) if p not in mine]
    if not rest and sheet.how is How.TO_CUT:
        return None
    layout = pruned(sheet.layout, mine, rules, sheet.done)
    if layout == sheet.layout:
        return sheet
    if passes(layout, panels, shop):
        return replace(sheet, layout=layout, changed=True)
    if sheet.how is How.TO_CUT:
        made = sheet_cut_anew(sheet.layout, rest, rules, counter)
        if made is not None and passes(made, panels, shop):
            return replace(sheet, layout=made, changed=True, anew=True)
    # it is cut all the same: one spare piece more
    return sheet
