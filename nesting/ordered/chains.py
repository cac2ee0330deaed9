"""Chains: the panels of a rack, which leave the table in the order of their slots."""

from __future__ import annotations

from collections.abc import Iterable

from ..optimizer.instance import Instance
from ..panels import Panel
from ..rules import Rules
from ..stock import StockPiece


def needs_order(panels: Iterable[Panel], stock: Iterable[StockPiece], rules: Rules) -> bool:
    """Whether a glass is planned in an order: of racks, of the sheets, or by rules between its cuts."""
    return (
        rules.sheet_rules
        or any(p.rack for p in panels)
        or any(s.take is not None and s.is_there for s in stock)
    )


def chains(instance: Instance) -> list[list[int]]:
    """The types of each rack, slot by slot; racks in order of their names.

    A panel of a rack is a type of its own (`instance.panel_types`). Types without a rack are in no chain.
    """
    racks: dict[str, list[tuple[int, int]]] = {}
    for t, kind in enumerate(instance.types):
        first = kind.panels[0]
        if first.rack:
            racks.setdefault(first.rack, []).append((first.slot or 0, t))
    return [[t for _, t in sorted(racks[name])] for name in sorted(racks)]
