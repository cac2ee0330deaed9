"""What a nest is worth to the racks: who gets which panel, the order of its sheets, late and open orders."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from ..assemble import CutSheet, Hands
from ..due_judge import Judge
from ..kept import Kept
from ..panels import Panel
from .by_day import in_days, late_orders, latest_alone
from .closing import NODES
from .hand_out import First, HandOut, Kind, orders_of, orders_on
from .order import Ordered, fewest_open
from .table import open_along

TURNS = 2
"""Times that panels are handed out along the order of sheets found for the hand-out before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Nest:
    """Sheets in cutting order, and the panels that each of them gives.

    Parameters
    ----------
    sheets
        In cutting order.
    handed
        The panels of each sheet, by kind.
    days
        Of each sheet, where they have days.
    ordered
        Open orders; its sheets are numbered as they were before they were put in order.
    late
        Orders with a panel that is cut after its due day, or, without days, that could not be among the first.
    cost
        Of the stock taken. [1/10,000 of the currency]
    """

    sheets: tuple[CutSheet, ...]
    handed: tuple[Mapping[Kind, Sequence[Panel]], ...]
    days: tuple[date, ...] | None
    ordered: Ordered
    late: tuple[str, ...]
    cost: int

    @property
    def key(self) -> tuple[int, int, int, int]:
        """By this nests are compared: late orders, most open at once, cost, open orders on the whole."""
        return len(self.late), self.ordered.most_open, self.cost, self.ordered.sum_open

    def cut(self, hands: Sequence[Hands]) -> tuple[list[CutSheet], list[date] | None]:
        """The sheets with their days, once the panels are handed out."""
        self.hand_out(hands)
        return list(self.sheets), None if self.days is None else list(self.days)

    def hand_out(self, hands: Sequence[Hands]) -> None:
        """Let the panels go where this nest has them."""
        queues: dict[Kind, list[Panel]] = {}
        for handed in self.handed:
            for kind, panels in handed.items():
                queues.setdefault(kind, []).extend(panels)
        for (job, number), mine in sorted(queues.items()):
            given = {p.id for p in mine}
            every = hands[job].panels(number)
            hands[job].order(number, [*mine, *(p for p in every if p.id not in given)])


class RackJudge:
    """Puts the sheets of nests in the order with few late and few open orders.

    Parameters
    ----------
    judge
        Of all glasses: their jobs, the days of the table and the sheets that are kept.
    front
        The orders on the sheets that are kept.
    """

    def __init__(self, judge: Judge, front: Sequence[frozenset[str]]) -> None:
        self.judge, self.front = judge, list(front)
        self.types = {
            (j, t): kind for j, job in enumerate(judge.jobs) for t, kind in enumerate(job.instance.types)
        }
        self.due: dict[str, date] = {}
        for kind in self.types.values():
            for panel in kind.panels:
                if panel.due is not None:
                    for order in orders_of(panel):
                        self.due[order] = min(panel.due, self.due.get(order, panel.due))

    @classmethod
    def of(cls, judge: Judge, kept: Kept, panels: Iterable[Panel]) -> RackJudge:
        """The judge where some sheets are kept; `panels` are all that were ordered."""
        order = {p.id: p.order for p in panels}
        return cls(
            judge,
            [
                frozenset(order[leaf.panel] for leaf in layout.leaves if leaf.panel in order)
                for layout in kept.layouts
            ],
        )

    def nest(self, sheets: Sequence[CutSheet], *, nodes: int = NODES) -> Nest:
        """The best of some orders of these sheets and of the ways to hand equal panels out.

        Parameters
        ----------
        sheets
            In an order in which those of open orders follow each other.
        nodes
            See `fewest_open`.
        """
        found: list[Nest] = []
        for first in First:
            order = list(sheets)
            for _ in range(TURNS):
                nest = self._ordered(order, self.handed(order, first), nodes)
                found.append(nest)
                if list(nest.sheets) == order:
                    break
                order = list(nest.sheets)
        return min(found, key=lambda n: n.key)

    def quick(self, sheets: Sequence[CutSheet]) -> tuple[int, int]:
        """Late orders and most open at once in this order of the sheets."""
        handed = self.handed(sheets, First.OPEN)
        on = [*self.front, *(orders_on(h) for h in handed)]
        order = range(len(self.front), len(on))
        late = 0
        if self.judge.dated and self.judge.start is not None:
            loads = [self.judge.load(s) for s in sheets]
            slots = self.judge.days.slots(self.judge.start, loads, self.judge.set_down)
            late = len(late_orders(on, order, slots, self.due))
        counts = open_along(on)
        return late, max(counts[len(self.front) :], default=0)

    def handed(self, sheets: Sequence[CutSheet], first: First) -> list[dict[Kind, list[Panel]]]:
        """The panels of each of these sheets."""
        hand = HandOut(self.types, first)
        return [hand.take(((s.job, k), n) for k, n in s.pattern.uses(s.instance).items()) for s in sheets]

    def _ordered(
        self, sheets: Sequence[CutSheet], handed: Sequence[Mapping[Kind, Sequence[Panel]]], nodes: int
    ) -> Nest:
        on = [*self.front, *(orders_on(h) for h in handed)]
        front = len(self.front)
        days: tuple[date, ...] | None = None
        judge = self.judge
        if judge.dated and judge.start is not None:
            loads = [judge.load(s) for s in sheets]
            dated = in_days(
                on,
                due=self.due,
                days=judge.days,
                start=judge.start,
                loads=[*[loads[0]] * front, *loads],
                taken=judge.set_down,
                front=front,
                nodes=nodes,
            )
            ordered, days, late = dated.ordered, dated.days, tuple(x.order for x in dated.late)
        else:
            ordered = fewest_open(on, latest=latest_alone(on[front:], self.due), front=front, nodes=nodes)
            late = ordered.eased
        order = [s - front for s in ordered.order[front:]]
        # along the new order equal panels go to the same sheets as before
        return Nest(
            sheets=tuple(sheets[i] for i in order),
            handed=tuple(handed[i] for i in order),
            days=days,
            ordered=ordered,
            late=late,
            cost=cost_of(sheets),
        )


def cost_of(sheets: Iterable[CutSheet]) -> int:
    """Cost of the stock taken. [1/10,000 of the currency]"""
    return sum(s.instance.sheets[s.pattern.sheet].piece.cost for s in sheets)
