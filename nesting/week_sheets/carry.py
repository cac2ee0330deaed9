"""Offcuts that are carried from week to week: what is kept of a week, and what lies in the rack."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from ..cut_tree import build_layout, waste_of
from ..optimizer.instance import Instance
from ..optimizer.pattern import Pattern
from ..outlines import box
from ..plan import LeafKind
from ..shop import Shop
from ..stock import StockPiece
from .material import Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Carry:
    """How offcuts of one glass are kept.

    Parameters
    ----------
    worth
        Of a new offcut. [1/10,000 of the currency per nm2]
    a_week
        Offcuts of a week that are kept, the largest first.
    rack
        Most offcuts that the rack holds; the smallest go first.
    days
        In which the worth falls to nothing, by an equal part a day; None: it stays.
    """

    worth: Fraction
    a_week: int = 1
    rack: int = 8
    days: int | None = None


def carry_of(shop: Shop, material: Material, *, a_week: int = 1, rack: int = 8) -> Carry:
    """The shop's worth of offcuts for one glass: its share of the cheapest price per area."""
    prices = [Fraction(s.cost, s.width * s.height) for s in material.sizes]
    return Carry(
        worth=shop.offcut_worth * min(prices, default=Fraction(0)),
        a_week=a_week,
        rack=rack,
        days=shop.offcut_days,
    )


@dataclass(frozen=True, slots=True)
class Kept:
    """An offcut in the rack, and the week in which it was made."""

    piece: StockPiece
    week: int


def offcuts_of(
    patterns: Sequence[Pattern], instance: Instance, week: int, carry: Carry, glass: str
) -> list[Kept]:
    """The best offcuts of a week's plan by the shop's rule of the least offcut."""
    wastes = [w for i, p in enumerate(patterns) for w in waste_of(p, instance, i)]
    wastes.sort(key=lambda w: (-w.area, w.sheet, w.index))
    chosen = wastes[: carry.a_week]
    found: list[Kept] = []
    for sheet in sorted({w.sheet for w in chosen}):
        keep = {w.index for w in chosen if w.sheet == sheet}
        parent = instance.sheets[patterns[sheet].sheet].piece
        made = build_layout(
            patterns[sheet], instance, lambda kind: instance.types[kind].panels[0], keep, 1, False
        )
        for leaf in made.leaves:
            if leaf.kind is LeafKind.OFFCUT:
                x0, y0, x1, y1 = box(leaf.outline)
                piece = StockPiece(
                    name=f"{glass} {week}-{len(found) + 1}",
                    glass=glass,
                    width=x1 - x0,
                    height=y1 - y0,
                    is_offcut=True,
                    raw=leaf.raw,
                    trim=parent.trim.on(leaf.raw),
                    on_hand=1,
                )
                found.append(Kept(piece, week))
    return found


def in_rack(rack: Iterable[Kept], week: int, carry: Carry) -> list[StockPiece]:
    """What the rack holds at the beginning of a week, at its worth then."""
    return [replace(k.piece, cost=_worth(k, week, carry)) for k in rack]


def _worth(kept: Kept, week: int, carry: Carry) -> int:
    share = Fraction(1)
    if carry.days is not None:
        share = max(Fraction(0), 1 - Fraction(7 * (week - kept.week), carry.days))
    worth = carry.worth * share * kept.piece.width * kept.piece.height
    return int(worth + Fraction(1, 2))


def put_away(
    rack: Sequence[Kept], made: Sequence[Kept], used: Iterable[str], carry: Carry
) -> tuple[Kept, ...]:
    """The rack after a week: without what was used, with what was made, the smallest given up beyond its size."""
    gone = set(used)
    left = [k for k in rack if k.piece.name not in gone] + list(made)
    left.sort(key=lambda k: (-k.piece.width * k.piece.height, k.week, k.piece.name))
    return tuple(left[: carry.rack])
