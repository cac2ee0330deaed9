"""What is left of a sheet, planned around its flaws with as many of its panels as possible and the least change.

The smallest piece that is not cut yet, and whose panels and later cuts are all that a flaw hits, is cut up
anew; where it does not hold all of its panels then, the piece that it is cut from, and so on up to the piece
in hand. What is cut stays.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from ..errors import NestingError
from ..optimizer.runner import Counter
from ..panels import Panel, Purpose
from ..plan import CutKind, Layout, LeafKind
from ..shop import Shop
from .gate import faults
from .insert import inserted
from .marks import Known, known
from .racks import out_of_order
from .recut import most_of_piece, piece_cut_anew, piece_wasted
from .tree import Spot, descendants, panels_on, spots_of

WIDTH = 60
"""Of the first beam that looks for a place for all panels, of few of them."""
SMALL = 20
"""Panels up to which the beam has its whole width."""
LEAST = 8
WIDER = 5
"""How many times as wide it is where all of the piece in hand, or of the sheet, is cut up anew."""
FULL = 99
"""A piece that is so full of panels cannot be cut around a flaw. [per cent]"""
MOST = 6
"""Panels up to which they are laid one by one into a piece."""
TRIED = 6
"""Places of a panel that the checker is asked about."""


class Around:
    """Plans a sheet around the flaws that it has.

    Parameters
    ----------
    layout
        The sheet, with its flaws.
    sound
        What the checker said of it without them.
    done
        Steps that are done.
    panels, shop
        All panels by id; its rules.
    counter
        Receives the nodes of the search.
    width
        Of the beam.
    """

    def __init__(
        self,
        layout: Layout,
        sound: Known,
        done: Collection[int],
        panels: Mapping[str, Panel],
        shop: Shop,
        counter: Counter,
        width: int = WIDTH,
    ) -> None:
        self.layout, self.sound = layout, sound
        self.off = {name for cut in layout.cuts if cut.step in done for name in cut.makes}
        self.panels, self.shop, self.counter, self.width = panels, shop, counter, width
        self.rules = shop.rules(layout.glass)
        self._known: tuple[Layout, Known] | None = None
        self._laid: dict[tuple[str, frozenset[str]], Layout | None] = {}
        self.given_up: list[str] = []
        """Ids of panels in pieces that can be neither cut around the flaw nor left whole."""

    def mend(self) -> None:
        """Cut up anew what the flaws hit, until nothing is hit any more."""
        while bad := self._bad(self.layout):
            before = self.layout, self.sound
            parent = {name: cut.piece for cut in self.layout.cuts for name in cut.makes}
            pieces = sorted({piece or "s" for _, _, piece in bad})
            top = next(p for p in pieces if not any(q in _above(p, parent)[1:] for q in pieces))
            self._mend(self._chain(top, parent))
            if (self.layout, self.sound) == before:
                raise NestingError(bad)

    @property
    def done(self) -> frozenset[int]:
        """Steps that are done, as the sheet is planned now."""
        return frozenset(cut.step for cut in self.layout.cuts if cut.makes[0] in self.off)

    def _bad(self, layout: Layout) -> Known:
        if layout is not self.layout:
            return known(faults(layout, self.panels, self.shop)) - self.sound
        if self._known is None or self._known[0] is not layout:
            self._known = layout, known(faults(layout, self.panels, self.shop))
        return self._known[1] - self.sound

    def _chain(self, piece: str, parent: Mapping[str, str]) -> list[Spot]:
        """The piece with those that it is cut from and that are not there yet, or are in hand; rectangles alone."""
        trimmed = {n for cut in self.layout.cuts if cut.kind is CutKind.TRIM for n in cut.makes}
        spots, out = spots_of(self.layout), []
        for name in _above(piece, parent):
            if name in spots and (name in self.off or name not in trimmed or parent.get(name) not in spots):
                out.append(spots[name])
            if name in self.off:
                break
        return out

    def _own(self, spot: Spot) -> list[Panel]:
        below = descendants(self.layout, spot.piece)
        return [self.panels[x.panel] for x in self.layout.leaves if x.panel is not None and x.piece in below]

    def _mend(self, chain: Sequence[Spot]) -> None:
        for spot in chain:
            whole = self._whole(spot, self._own(spot), WIDER if spot is chain[-1] else 1)
            if whole is not None:
                self._take(whole)
                return
        parts = [
            (tuple(-v for v in self._worth(layout)), k, n, layout)
            for k, spot in enumerate(chain)
            for n, layout in enumerate(self._parts(spot, self._own(spot)))
        ]
        for _, k, _, layout in sorted(parts, key=lambda row: row[:3]):
            if self._good(layout, chain[k]):
                self._take(layout)
                return
        # too narrow to be left whole: it goes on as planned, and its panels are no good
        hand = chain[-1]
        self.given_up += [p.id for p in self._own(hand)]
        below = descendants(self.layout, hand.piece)
        self.sound |= frozenset(row for row in self._bad(self.layout) if row[2] in below)

    def _take(self, layout: Layout) -> None:
        self.layout = layout
        self._laid.clear()

    def _worth(self, layout: Layout) -> tuple[int, int, int]:
        """Number and area of the ordered panels on it, and area of all. [nm2, doubled]"""
        mine = [self.panels[p] for p in panels_on(layout)]
        ordered = [p.cut_area2 for p in mine if p.purpose is Purpose.ORDER]
        return len(ordered), sum(ordered), sum(p.cut_area2 for p in mine)

    def _good(self, layout: Layout, spot: Spot) -> bool:
        """Whether nothing is wrong in a piece that was cut up anew, and nothing new elsewhere."""
        bad = self._bad(layout)
        inside = descendants(layout, spot.piece)
        if not bad <= self._bad(self.layout) or any(piece in inside for _, _, piece in bad):
            return False
        late = set(out_of_order([layout], self.panels))
        return late <= set(out_of_order([self.layout], self.panels))

    def _width(self, held: Sequence[Panel]) -> int:
        """Of the beam, less for many panels: it takes as long as its width times the square of their number."""
        return max(LEAST, self.width * SMALL**2 // max(SMALL, len(held)) ** 2)

    def _whole(self, spot: Spot, own: Sequence[Panel], wider: int) -> Layout | None:
        """The piece cut up anew with all its panels; fillers and spares give way where they must."""
        ordered = [p for p in own if p.purpose is Purpose.ORDER]
        for held in (own,) if len(ordered) == len(own) else (own, ordered):
            if not held:
                layout = piece_wasted(self.layout, spot, self.rules)
                if self._good(layout, spot):
                    return layout
                continue
            if 100 * sum(p.cut_area2 for p in held) > FULL * 2 * spot.width * spot.height:
                continue
            for width in sorted({self._width(held), self._width(held) * wider}):
                new = piece_cut_anew(self.layout, spot, held, self.rules, self.counter, around=width)
                if new is not None and self._good(new, spot):
                    return new
            laid = self._one_by_one(spot, held) if len(held) <= MOST else None
            if laid is not None and set(panels_on(laid)) >= {p.id for p in held}:
                return laid
        return None

    def _parts(self, spot: Spot, own: Sequence[Panel]) -> list[Layout]:
        """The piece as waste, with one panel after the other, and with the most that a search finds, unchecked."""
        found: list[Layout | None] = [piece_wasted(self.layout, spot, self.rules)]
        if len(own) <= MOST:
            found.append(self._one_by_one(spot, own))
        found.append(most_of_piece(self.layout, spot, own, self.rules, self.counter, self._width(own)))
        return [x for x in found if x is not None]

    def _one_by_one(self, spot: Spot, own: Sequence[Panel]) -> Layout | None:
        """The piece as waste, into which its panels come one after the other, as many as find room."""
        key = spot.piece, frozenset(p.id for p in own)
        if key not in self._laid:
            layout = self._laid_in(spot, own, tries=1)
            if not self._good(layout, spot):
                layout = self._laid_in(spot, own, tries=TRIED)
            self._laid[key] = layout if self._good(layout, spot) else None
        return self._laid[key]

    def _laid_in(self, spot: Spot, own: Sequence[Panel], *, tries: int) -> Layout:
        """One after the other; with several tries the checker is asked about each place."""
        layout = piece_wasted(self.layout, spot, self.rules)
        for panel in sorted(own, key=lambda p: (p.rack, p.slot or 0, -p.cut_area2, p.id)):
            below = descendants(layout, spot.piece)
            tried = list(inserted(layout, panel, self.rules, within=below))
            tried.sort(key=lambda x: _largest_waste(x, spot.piece), reverse=True)
            good = (x for x in tried[:tries] if tries == 1 or self._good(x, spot))
            layout = next(good, layout)
        return layout


def _above(piece: str, parent: Mapping[str, str]) -> list[str]:
    """A piece, the one that it is cut from, and so on."""
    out = [piece]
    while out[-1] in parent:
        out.append(parent[out[-1]])
    return out


def _largest_waste(layout: Layout, piece: str) -> tuple[int, ...]:
    """Areas of the waste in a piece, the largest first: what is left should be in one. [nm2]"""
    below, areas = descendants(layout, piece), []
    for leaf in layout.leaves:
        if leaf.kind is not LeafKind.PANEL and leaf.piece in below:
            (x0, y0), (x1, y1) = leaf.outline[0], leaf.outline[2]
            areas.append((x1 - x0) * (y1 - y0))
    return tuple(sorted(areas, reverse=True))
