"""What a plan file says of pieces beside their panels: broken, remade, given to another order, cancelled.

A panel id is one piece of glass. The panel that a piece serves may be another one, to whose order it was
given.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Final

from ..happened import Happened
from ..plan import Plan

BROKEN: Final = "broken"
"""Of a panel: at which work its piece broke."""
REMAKES: Final = "remakes"
"""Of a panel: the panel that its piece is made again for."""
GIVEN_TO: Final = "given_to"
"""Of a panel: the panel of another order that its piece serves."""
CANCELLED: Final = "cancelled"
"""Of a panel: its order wants it no longer, and its piece is cut already."""
CUT: Final = "cut"
"""Of a sheet: it is cut."""
CUT_TO: Final = "cut_to_step"
"""Of a sheet: the last step that is done."""
BROKEN_OFF: Final = "broken_off"
"""Of a sheet: a break ran off, and what was left on the table is stock of its own."""
_AGAIN: Final = re.compile(r"(.*[0-9])r([1-9][0-9]*)", re.DOTALL)


class History:
    """Who is served by which piece, as a plan says it.

    Parameters
    ----------
    plan
        The plan.
    """

    def __init__(self, plan: Plan) -> None:
        said = plan.extra.get("panels")
        beside = said if isinstance(said, Mapping) else {}
        self.panels = {p.id: p for p in plan.panels}
        self.on_sheet = {leaf.panel: x.number for x in plan.layouts for leaf in x.leaves if leaf.panel}

        def read(key: str) -> dict[str, str]:
            rows = {n: m.get(key) for n, m in beside.items() if isinstance(m, Mapping) and n in self.panels}
            return {n: v for n, v in rows.items() if isinstance(v, str)}

        self.broken, self.remakes, self.given_to = read(BROKEN), read(REMAKES), read(GIVEN_TO)
        self.cancelled = {
            n for n, m in beside.items() if isinstance(m, Mapping) and m.get(CANCELLED) and n in self.panels
        }

        rows = plan.extra.get("sheets")
        sheets = rows if isinstance(rows, Mapping) else {}
        marks = {x.number: m for x in plan.layouts if isinstance(m := sheets.get(str(x.number)), Mapping)}
        self.cut = frozenset(n for n, m in marks.items() if m.get(CUT))
        self.broken_off = frozenset(n for n, m in marks.items() if m.get(BROKEN_OFF))
        self.half = {n: s for n, m in marks.items() if isinstance(s := m.get(CUT_TO), int) and s > 0}

    def since(self, happened: Happened) -> Happened:
        """What happened, with what the plan says of it already."""
        half = {n: max(self.half.get(n, 0), happened.half.get(n, 0)) for n in {*self.half, *happened.half}}
        return replace(
            happened,
            cut=happened.cut | self.cut | self.broken_off,
            half=dict(sorted(half.items())),
            pieces=tuple(p for p in happened.pieces if p.sheet not in self.broken_off),
        )

    def serves(self, piece: str) -> str:
        """The panel that a piece serves: its own, or the one that it was given to."""
        return self.given_to.get(piece, piece)

    def line(self, panel: str) -> list[str]:
        """A panel with those that were made again for it, and those that it was made again for."""
        found = [panel]
        before = self.remakes.get(panel)
        while before is not None and before not in found:
            found.insert(0, before)
            before = self.remakes.get(before)
        grown = True
        while grown:
            grown = False
            for later, of in sorted(self.remakes.items()):
                if of in found and later not in found:
                    found.append(later)
                    grown = True
        return found


def again_id(panel: str, taken: Collection[str]) -> str:
    """The id of the piece that is made again for a panel.

    Examples
    --------
    >>> again_id("K-204/front/1", ()), again_id("K-204/front/1r1", ())
    ('K-204/front/1r1', 'K-204/front/1r2')
    """
    found = _AGAIN.fullmatch(panel)
    stem, number = (found[1], int(found[2])) if found else (panel, 0)
    while True:
        number += 1
        if (name := f"{stem}r{number}") not in taken:
            return name
