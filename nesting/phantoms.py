"""Stock that is not there: it lets a search finish where real stock runs out, and tells what is short.

A phantom costs a fortune, so that the search takes one only when the real stock is used up: the panels
on it are those that cannot be placed, and its number is the shortage.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from .feasible import impossible
from .optimizer.instance import Instance
from .optimizer.pattern import Pattern
from .panels import Panel
from .rules import RulesByGlass
from .stock import StockPiece
from .text import tr
from .units import show_size

PHANTOM = "\0short"
"""Prefix of the name of stock that is not there: panels on it are short of glass."""
PHANTOM_COST = 1_000_000


def is_phantom(piece: StockPiece) -> bool:
    """Whether this stock is not there."""
    return piece.name.startswith(PHANTOM)


def on_phantom(instance: Instance, pattern: Pattern) -> bool:
    """Whether a pattern lies on stock that is not there."""
    return is_phantom(instance.sheets[pattern.sheet].piece)


def real_sheets(instance: Instance) -> list[int]:
    """Indexes of the stock that is there or can be bought."""
    return [k for k, s in enumerate(instance.sheets) if not is_phantom(s.piece)]


def with_phantoms(
    stock: Sequence[StockPiece], panels: Sequence[Panel], shop: RulesByGlass
) -> list[StockPiece]:
    """The stock of one glass, and where it may run out, stock that is not there."""
    out = sorted((s for s in stock if s.is_there), key=lambda s: (s.is_offcut, s.name))
    limited = [s for s in out if not s.buyable]
    models = [] if len(limited) < len(out) else [s for s in limited if not s.is_offcut]
    endless = [s for s in out if s.buyable] + models
    if limited and impossible(panels, endless, shop):
        models = limited  # some panel fits nothing but stock of which there is only so much
    pinned = {p.from_stock for p in panels}
    known: set[tuple[object, ...]] = set()
    phantoms = []
    for s in models:
        bare = s.flaws or s.take is not None
        size = (s.width, s.height, s.raw, s.trim, s.cost)
        # of many sheets that differ by their flaws alone one will do
        if bare and s.name not in pinned and size in known:
            continue
        known.add(size)
        phantoms.append(
            replace(
                s,
                name=PHANTOM + s.name,
                cost=PHANTOM_COST * max(1, s.cost),
                buyable=True,
                is_offcut=False,
                on_hand=0,
                flaws=(),
                take=None,
            )
        )
    return out + phantoms


def real_name(phantom: StockPiece, instance: Instance) -> str:
    """What the stock that is not there is like; of an offcut there is only one, so its size is said."""
    name = phantom.name.removeprefix(PHANTOM)
    if any(s.piece.is_offcut and s.piece.name == name for s in instance.sheets):
        return tr("{size} (as offcut {number})", size=show_size(phantom.width, phantom.height), number=name)
    return name


def shortage(short: Mapping[str, int]) -> str:
    """The reason of panels that are short of glass, from the number of sheets missing by name."""
    rows = [tr("{count} of {stock}", count=n, stock=s) for s, n in sorted(short.items())]
    return tr(
        "the stock that holds it runs out and no more can be bought; short of about {sheets}",
        sheets=", ".join(rows),
    )
