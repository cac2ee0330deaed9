"""Flaws marked on sheets of a plan: which parts of them lie in which piece in hand, which panels they spoil.

Cuts that are made divide a flaw. What came off lies in its rack and is not hit; what lies in a piece that is
still to be cut is planned around.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from ..flaws import Flaw
from ..panels import Panel
from ..plan import CutKind, Layout, LeafKind
from ..shop import Shop
from ..spots import flaws_of, with_flaws
from .flaw_boxes import clipped
from .gate import Fault, faults
from .tree import Spot, descendants, spots_of

Known = frozenset[tuple[str, str, str | None]]
"""What the checker says of a sheet: rule, text and piece; steps change their numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """Flaws marked on a sheet, and what became of its panels.

    Parameters
    ----------
    number
        Of the sheet.
    flaws
        As they were marked, those that the plan knew before left out.
    hit
        Ids of the panels that lay over one.
    crossed
        How many cuts crossed one.
    spoiled
        Ids of the panels that are cut all the same and are no good: out of a blank that is begun, or of a piece that
        can be neither cut otherwise nor left whole.
    moved
        Ids of the panels that find no place on the sheet any more.
    stayed
        How many panels the sheet still yields.
    anew
        Whether anything on it is cut otherwise.
    useless
        Whether none of its ordered panels finds a place, so that it is not cut.
    """

    number: int
    flaws: tuple[Flaw, ...]
    hit: tuple[str, ...] = ()
    crossed: int = 0
    spoiled: tuple[str, ...] = ()
    moved: tuple[str, ...] = ()
    stayed: int = 0
    anew: bool = False
    useless: bool = False


def known(found: Sequence[Fault]) -> Known:
    """Faults to be compared with those of another layout of the sheet."""
    return frozenset((rule, text, piece) for rule, text, _, piece in found)


def in_hand(layout: Layout, done: Collection[int]) -> dict[str, Spot]:
    """The rectangles that lie on the table when these steps are done."""
    made = {name: cut.step for cut in layout.cuts for name in cut.makes}
    cut_up = {cut.piece for cut in layout.cuts if cut.step in done}
    return {
        name: spot
        for name, spot in spots_of(layout).items()
        if name not in cut_up and (name == "s" or made[name] in done)
    }


def begun_blanks(layout: Layout, done: Collection[int]) -> list[set[str]]:
    """The pieces of every blank that shape cuts have begun to divide."""
    blanks = spots_of(layout)
    return [
        descendants(layout, cut.piece)
        for cut in layout.cuts
        if cut.kind is CutKind.SHAPE and cut.step in done and cut.piece in blanks
    ]


def spoiled_panels(
    layout: Layout, flaws: Sequence[Flaw], panels: Mapping[str, Panel], shop: Shop, pieces: Collection[str]
) -> list[str]:
    """Ids of the panels that these flaws spoil, among those in some pieces."""
    sound = known(faults(layout, panels, shop))
    flawed = with_flaws(layout, [*flaws_of(layout), *flaws])
    bad = [fault for fault in faults(flawed, panels, shop) if known([fault]) - sound]
    leaves = {leaf.piece: leaf.panel for leaf in layout.leaves if leaf.kind is LeafKind.PANEL}
    return [
        p for *_, step, piece in bad if step is None and piece in pieces and (p := leaves.get(piece or ""))
    ]


def laid_on(
    layout: Layout,
    flaws: Sequence[Flaw],
    done: Collection[int],
    panels: Mapping[str, Panel],
    shop: Shop,
    gone: Collection[str],
) -> tuple[Layout, list[Flaw], list[str]]:
    """The sheet with the parts of flaws that it does not have yet, those flaws, and panels that are spoiled.

    Parameters
    ----------
    layout
        The sheet.
    flaws
        Marked on it.
    done
        Steps that are done.
    panels, shop
        All panels by id; its rules.
    gone
        Ids of panels that are known to be no good.
    """
    there = list(flaws_of(layout))
    leaves = {leaf.piece: leaf for leaf in layout.leaves}
    new, spoiled = [], []
    hands, blanks = in_hand(layout, done), begun_blanks(layout, done)
    for flaw in sorted(set(flaws)):
        fresh = False
        for name, spot in sorted(hands.items()):
            part = flaw if name == "s" else clipped(flaw, spot.box)
            if part is None or any(_covers(f, part) for f in there):
                continue
            leaf = leaves.get(name)
            if leaf is not None and leaf.panel is not None and name != "s":
                continue
            there.append(part)
            fresh = True
        for blank in blanks:
            found = [p for p in _in_blank(layout, flaw, blank, done, panels, shop) if p not in gone]
            spoiled += found
            fresh = fresh or bool(found)
        if fresh:
            new.append(flaw)
    return with_flaws(layout, there), new, list(dict.fromkeys(spoiled))


def _covers(one: Flaw, other: Flaw) -> bool:
    return (
        one.kind == other.kind
        and one.x <= other.x
        and one.y <= other.y
        and other.x + other.width <= one.x + one.width
        and other.y + other.height <= one.y + one.height
    )


def _in_blank(
    layout: Layout,
    flaw: Flaw,
    blank: set[str],
    done: Collection[int],
    panels: Mapping[str, Panel],
    shop: Shop,
) -> list[str]:
    """Panels of a begun blank that a flaw spoils: those over it, and all to come where a cut would cross it."""
    made = {name: cut.step for cut in layout.cuts for name in cut.makes}
    to_come = {x.piece for x in layout.leaves if x.piece in blank and made.get(x.piece) not in done}
    out = spoiled_panels(layout, [flaw], panels, shop, to_come)
    flawed = with_flaws(layout, [*flaws_of(layout), flaw])
    sound = known(faults(layout, panels, shop))
    crossed = any(
        step is not None
        and step not in done
        and piece in blank
        and known([(rule, text, step, piece)]) - sound
        for rule, text, step, piece in faults(flawed, panels, shop)
    )
    if crossed:
        out += [x.panel for x in layout.leaves if x.panel is not None and x.piece in to_come]
    return out
