"""Which of equal panels lies on which sheet: those of open orders first, or those due first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from enum import Enum

from ..joint_blanks import single_panels
from ..optimizer.instance import PanelType
from ..panels import Panel

Kind = tuple[int, int]
"""Glass and type, by number."""


class First(Enum):
    """Who comes first of equal panels."""

    OPEN = "open"
    DUE = "due"


def orders_of(panel: Panel) -> list[str]:
    """The order of a panel; of a joint blank those of all that lie in it."""
    return sorted({p.order for p in single_panels(panel)})


class HandOut:
    """Hands panels out to sheets, one sheet after another.

    Parameters
    ----------
    types
        Of each kind, with the panels that there are.
    first
        Who comes first of equal panels.
    """

    def __init__(self, types: Mapping[Kind, PanelType], first: First) -> None:
        self._first = first
        self._left = {kind: sorted(t.panels, key=_pressing) for kind, t in types.items()}
        self._orders = {p.id: orders_of(p) for panels in self._left.values() for p in panels}
        self._to_come = Counter(o for orders in self._orders.values() for o in orders)
        self._begun: set[str] = set()

    def is_open(self, panel: Panel) -> bool:
        """Whether an order of the panel has begun; it ends with its last panel."""
        return any(o in self._begun for o in self._orders[panel.id])

    def next_of(self, kind: Kind) -> Panel | None:
        """The panel of a kind that would be handed out next, or None."""
        left = self._left[kind]
        if self._first is First.OPEN:
            return next((p for p in left if self.is_open(p)), left[0] if left else None)
        return left[0] if left else None

    @property
    def soonest(self) -> date | None:
        """The earliest due day of what is left."""
        return min((p[0].due for p in self._left.values() if p and p[0].due is not None), default=None)

    def take(self, uses: Iterable[tuple[Kind, int]]) -> dict[Kind, list[Panel]]:
        """The panels of a sheet that holds so many of each kind.

        Those of open orders first; of the others the one due first opens its order, and so on.
        """
        wanted = dict(sorted(uses))
        out: dict[Kind, list[Panel]] = {kind: [] for kind in wanted}

        def hand(kind: Kind, panel: Panel) -> None:
            self._left[kind].remove(panel)
            out[kind].append(panel)
            wanted[kind] -= 1
            for order in self._orders[panel.id]:
                self._begun.add(order)
                self._to_come[order] -= 1
                if not self._to_come[order]:
                    self._begun.discard(order)

        while any(wanted.values()):
            for kind, number in sorted(wanted.items()) if self._first is First.OPEN else ():
                for panel in [p for p in self._left[kind] if self.is_open(p)][:number]:
                    hand(kind, panel)
            # what is due first of what can be had, and of equal ones where there is no choice
            waiting = [
                (*_pressing(self._left[kind][0])[:1], len(self._left[kind]), kind)
                for kind, number in wanted.items()
                if number
            ]
            if waiting:
                kind = min(waiting)[2]
                hand(kind, self._left[kind][0])
        return out


def _pressing(panel: Panel) -> tuple[date, str, str]:
    return panel.due or date.max, min(orders_of(panel)), panel.id


def orders_on(handed: Mapping[Kind, Sequence[Panel]]) -> frozenset[str]:
    """The orders of the panels of a sheet."""
    return frozenset(o for panels in handed.values() for p in panels for o in orders_of(p))
