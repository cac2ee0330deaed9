"""Panels that no blank yields alone, laid with others in a joint blank before the search.

A slight taper or a short slanted end leaves a corner that is too thin to break off beside one panel, yet
two such panels against each other leave none, or a rectangle beside it makes the waste between them wide
enough. Such panels are tied together for good: to the search their blank is a rectangle. One that is left
over stands askew in a blank of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from .angled.offers import groups_for, own_blanks
from .angled.partition import least_partition
from .blanks import Blank, fits, tilted
from .outlines import area2, box, narrower_than, rectangle
from .panels import Panel, Turn
from .plan import Unplaced
from .rules import Rules
from .stock import StockPiece, rooms_of
from .text import tr
from .units import show

HELPERS = 10
"""Kinds of other panels that are tried beside what is left."""
ANY_WORTH = 1.0
"""A joint blank may cost so much more than its panels do at their best: better than none."""
Size = tuple[int, int]
_TURNS = (Turn.ANY, Turn.QUARTER, Turn.HALF, Turn.NONE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle(Panel):
    """Panels that are cut from one blank, as the search sees them: a rectangle.

    Parameters
    ----------
    parts
        The panels, as the members of the blank lie.
    blank
        Their blank.
    """

    parts: tuple[Panel, ...]
    blank: Blank

    @property
    def cut_area2(self) -> int:
        """Twice the area of the cut outlines. [nm2]"""
        return sum(area2(p.cut) for p in self.parts)


@dataclass(frozen=True, slots=True)
class Tied:
    """What tying panels together gave: what is to be planned, and the panels for which it did not help."""

    panels: tuple[Panel, ...]
    left: tuple[Panel, ...]


def single_panels(panel: Panel) -> tuple[Panel, ...]:
    """The panels of a bundle; any other panel itself."""
    return panel.parts if isinstance(panel, Bundle) else (panel,)


def lonely(panel: Panel, rules: Rules) -> Unplaced:
    """Why a panel that needs company has none."""
    return Unplaced(
        panel=panel.id,
        rule="corner of a blank",
        reason=tr(
            "alone, every blank leaves a corner less than {depth} deep or sharper than the shop breaks off, and "
            "no other panel of this glass can lie beside it; order it in pairs, change the outline or have it "
            "ground from a larger rectangle",
            depth=show(rules.corner_depth),
        ),
    )


def needs_company(panel: Panel, rules: Rules) -> bool:
    """Whether no blank yields this panel alone, though it is wide enough and no score would be too long."""
    return (
        not panel.is_rectangle
        and not own_blanks(panel.cut, panel.turn, replace(rules, longest_cut=None, longest_angled_cut=None))
        and (panel.narrow or not narrower_than(panel.cut, rules.break_out))
    )


def tied(panels: Sequence[Panel], stock: Sequence[StockPiece], rules: Rules) -> Tied:
    """Tie panels that need company to each other, and what is left to other panels.

    Parameters
    ----------
    panels
        All of one glass.
    stock
        Sheets and offcuts of that glass.
    rules
        Of the glass.
    """
    out: list[Panel] = []
    alone: list[Panel] = []
    left: list[Panel] = []
    for p in panels:
        (alone if needs_company(p, rules) else out).append(p)
    for name in sorted({p.from_stock or "" for p in alone}):
        mine = [p for p in alone if (p.from_stock or "") == name]
        rooms = rooms_of(s for s in stock if name in ("", s.name))
        if not rooms:
            left += mine
            continue
        bundles: list[Bundle] = []
        rest = mine
        # a joint blank that fits the smaller sheets leaves the search a choice of sheets
        for held in _sizes(stock, rooms):
            if rest:
                more, rest = _bundled(rest, (), held, rules)
                bundles += more
        if rest:
            helpers = _helpers([p for p in out if (p.from_stock or "") == name], rest)
            more, rest = _bundled(rest, helpers, rooms, rules)
            used = {p.id for b in more for p in b.parts}
            out = [p for p in out if p.id not in used]
            bundles += more
        for p in rest:
            bundle = _askew(p, rooms, rules)
            if bundle is None:
                left.append(p)
            else:
                bundles.append(bundle)
        out += bundles
    return Tied(tuple(_fitting(p, stock, rules) for p in out), tuple(left))


def _sizes(stock: Sequence[StockPiece], rooms: Sequence[Size]) -> list[list[Size]]:
    """The rooms up to the area of each size of sheet, from the smallest size on."""
    whole = {w * h for w, h in rooms_of(s for s in stock if not s.is_offcut) if (w, h) in rooms}
    return [
        [r for r in rooms if r[0] * r[1] <= most] for most in sorted({*whole, max(w * h for w, h in rooms)})
    ]


def _askew(panel: Panel, rooms: Sequence[Size], rules: Rules) -> Bundle | None:
    """A panel askew in a blank of its own; None where it may not turn so, or no sheet holds such a blank."""
    blank = tilted(panel.cut, rules, tuple(rooms)) if panel.turn is Turn.ANY else None
    return None if blank is None else _bundle((panel,), blank)


def _fitting(panel: Panel, stock: Sequence[StockPiece], rules: Rules) -> Panel:
    """An angled panel whose own blanks are all too large for the stock, askew where that fits."""
    if panel.is_rectangle or panel.turn is not Turn.ANY:
        return panel
    rooms = rooms_of(s for s in stock if panel.from_stock in (None, s.name))
    if any(fits(b.width, b.height, True, rooms) for b in own_blanks(panel.cut, panel.turn, rules)):
        return panel
    return _askew(panel, rooms, rules) or panel


def _helpers(others: Sequence[Panel], alone: Sequence[Panel]) -> list[Panel]:
    """Panels that may stand beside lonely ones: those with a side like one of theirs, and not too large."""
    sides = [s for p in alone for s in _sides(p)]
    most = max(sides) * 4

    def unlike(p: Panel) -> tuple[int, int, str]:
        return min(abs(a - b) for a in _sides(p) for b in sides), max(_sides(p)), p.id

    kinds: dict[tuple[object, ...], list[Panel]] = {}
    for p in sorted(others, key=unlike):
        if max(_sides(p)) <= most and not p.narrow:
            kinds.setdefault((p.cut, p.turn, p.mirror), []).append(p)
    return [p for group in list(kinds.values())[:HELPERS] for p in group[: 2 * len(alone)]]


def _sides(panel: Panel) -> tuple[int, int]:
    x0, y0, x1, y1 = box(panel.cut)
    return x1 - x0, y1 - y0


def _bundled(
    mine: Sequence[Panel], helpers: Sequence[Panel], rooms: Sequence[Size], rules: Rules
) -> tuple[list[Bundle], list[Panel]]:
    """Bundles that hold as many of the lonely panels as they can, with the least glass; and who is left."""
    groups: dict[tuple[object, ...], list[Panel]] = {}
    for p in sorted((*mine, *helpers), key=lambda p: (p.due or date.max, p.id)):
        groups.setdefault((p.cut, p.turn, p.mirror), []).append(p)
    queues = list(groups.values())
    alone = {id(p) for p in mine}
    wanted = [id(q[0]) in alone for q in queues]
    own = [None if want else _own(q[0], rules) for q, want in zip(queues, wanted, strict=True)]
    found = groups_for([q[0] for q in queues], [len(q) for q in queues], rooms, rules, worth=ANY_WORTH)
    turns = [q[0].turn.by_quarter for q in queues]
    found = [b for b in found if fits(b.width, b.height, all(turns[k] for k, _ in b.uses), rooms)]
    offers = [b for b in found if any(wanted[k] for k, _ in b.uses)]
    if not offers:
        return [], list(mine)
    dearest = max(w * h for w, h in rooms) // 10**6
    columns = [(b.uses, b.area // 10**6) for b in offers]
    for k, blank in enumerate(own):
        area = dearest * 100 if blank is None else blank.area // 10**6
        columns.append((((k, 1),), area))
    taken = least_partition([len(q) for q in queues], columns)
    if taken is None:
        return [], list(mine)
    waiting = [list(q) for q in queues]
    bundles = []
    for blank, count in zip(offers, taken, strict=False):
        for _ in range(count):
            parts = tuple(waiting[m.kind].pop(0) for m in blank.members)
            bundles.append(_bundle(parts, blank))
    return bundles, [p for q, want in zip(waiting, wanted, strict=True) if want for p in q]


def _own(panel: Panel, rules: Rules) -> Blank | None:
    """The least blank of a panel that needs no company; of a rectangle it is the panel."""
    return next(iter(own_blanks(panel.cut, panel.turn, rules)), None)


def _bundle(parts: tuple[Panel, ...], blank: Blank) -> Bundle:
    first = parts[0]
    days = [p.due for p in parts if p.due is not None]
    turn = max((p.turn for p in parts), key=_TURNS.index)
    outline = rectangle(blank.width, blank.height)
    names = " + ".join(dict.fromkeys(p.name for p in parts))
    base = Bundle(
        id=" + ".join(p.id for p in parts),
        order=first.order,
        name=tr("{panels} together", panels=names) if len(parts) > 1 else names,
        glass=first.glass,
        thickness=first.thickness,
        finished=outline,
        cut=outline,
        edges=(),
        due=min(days) if days else None,
        purpose=first.purpose,
        turn=Turn.QUARTER if turn is Turn.ANY else turn,
        from_stock=first.from_stock,
        parts=parts,
        blank=blank,
    )
    return replace(base, narrow=all(p.narrow for p in parts))
