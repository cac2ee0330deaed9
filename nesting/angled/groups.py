"""Groups: which angled panels to lay in one blank.

Pairs, rows of equal panels, and merges of good groups, each by the best places of `side_by_side`. Which
merges are worth a try is told by the area prices of the set partition (columns are made as they pay).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from ..blanks import Blank
from ..rules import Rules
from .cluster import NM, Cluster, Joint, Kind, joints, single, together
from .convex import box_along
from .partition import Uses, area_prices, least_partition
from .placing import blank_of

LONGEST_ROW = 24
"""Most panels in a row."""
MERGED = 29
"""Groups that are merged with each other in a round."""
ROUNDS = 3
FAILED = 3
"""Clusters of one content that may fail before it is given up; where a panel has no blank alone, all may."""
BLANKS = 8
HULLS = 3
"""Clusters kept of one content, for the blank and for the hull."""
SETTLED = 30
"""Rounds in which blanks are made before the prices are taken as they are."""
PAYS = 0.9999
"""Two hulls that fill this part of what their panels cost are not worth a try."""
WORTH = 0.02
"""A group is offered when its blank costs at most this much more than its panels do at their prices."""
WORK = 300_000_000
"""Places that are looked at in all, about; half of them for pairs. A week of tanks takes a tenth of it,
polygons of many corners would take hours."""
TRIES = 4_000_000
"""Corners times corners of the groups for which cuts are looked for in all, eightfold where in vain: rules that let nothing be cut
would have every group tried."""
OFFERED = 160
"""Most groups of more than one panel that are offered."""

WIDER = 0.15
"""As `WORTH`, for what the exact partition may take: its numbers are whole, the prices know nothing of that."""
CONSIDERED = 240
"""Most groups from which the exact partition is chosen."""
EFFORT = 0.3
"""Limit of one exact partition. [units of the solver's deterministic time]"""


class _Known:
    """The clusters found so far of one content, and the blank that was made of the best of them.

    Parameters
    ----------
    blanks
        With the area of their blank, rising; those that were tried are gone. [mm2]
    hulls
        With the area of their hull, rising. [mm2]
    made
        The least blank that the rules allow, once it was tried.
    patience
        Clusters that may fail before the rest is given up.
    """

    def __init__(self, patience: int) -> None:
        self.patience = patience
        self.blanks: list[tuple[float, Cluster]] = []
        self.hulls: list[tuple[float, Cluster]] = []
        self.made: Blank | None = None
        self.failed = 0

    @property
    def area(self) -> float:
        """Area of the blank that was made, or of the least one that may be; without end for none. [mm2]"""
        return min(self.made_area, self.blanks[0][0]) if self.blanks else self.made_area

    @property
    def made_area(self) -> float:
        """Area of the blank that was made; without end for none. [mm2]"""
        return self.made.area * NM * NM if self.made else float("inf")

    @property
    def settled(self) -> bool:
        """Whether the blank was made, or none can be."""
        return not self.blanks or self.made_area <= self.blanks[0][0] * (1 + 1e-6)

    def settle(self, kinds: Sequence[Kind], rules: Rules, most: float, budget: int) -> int:
        """Try the clusters, the best first, until the best left is no better than what was made, or `most`.

        The work is counted by corners times corners; beyond the `budget` what is left is given up.
        """
        spent = 0
        while not self.settled and self.blanks[0][0] <= most:
            if self.failed >= self.patience or spent >= budget:
                self.blanks.clear()
                break
            measure, cluster = self.blanks.pop(0)
            self.failed += 1
            along = [(w * h, d) for d in cluster.directions() for w, h in [box_along(cluster.outline, *d)]]
            for area, d in sorted(along):
                if area > measure * 1.002:
                    break
                made = blank_of(cluster, d, kinds, rules)
                corners = sum(len(kinds[p.kind].shape) for p in cluster.parts)
                spent += corners**2 * (1 if made else 8)
                if made is not None:
                    self.failed -= 1
                    if self.made is None or made.area < self.made.area:
                        self.made = made
                    break
        return spent


def _keep(found: list[tuple[float, Cluster]], joint: Joint, kept: int) -> None:
    """Put a joint among the best few, unless it is as good as one that is there and has the same hull."""
    measure = joint.measure
    at = sum(1 for m, _ in found if m <= measure)
    if at >= kept:
        return
    cluster = joint.cluster()
    for m, known in found:
        near = abs(m - measure) <= 1e-9 * measure
        if near and abs(known.hull_area - cluster.hull_area) <= 1e-9 * known.hull_area:
            return
    found.insert(at, (measure, cluster))
    del found[kept:]


class Finder:
    """Looks for groups.

    Parameters
    ----------
    kinds
        The angled panels.
    rooms
        Inner sizes of the sheets. [mm]
    rules
        Of the glass.
    """

    def __init__(self, kinds: Sequence[Kind], rooms: Sequence[tuple[float, float]], rules: Rules) -> None:
        self.kinds, self.rules = kinds, rules
        self.rooms: Any = np.array(rooms, dtype=np.float64).reshape(-1, 2)
        self.demand = [k.demand for k in kinds]
        self.known: dict[Uses, _Known] = {}
        # holding the clusters keeps their ids from being given again
        self.tried: dict[tuple[int, int], tuple[Cluster, Cluster]] = {}
        self.prices: list[float] | None = None
        self.work = self.spent = 0
        self.gap = max(rules.corner_depth, rules.break_out, rules.least_waste) * NM

    def _patience(self, counts: Uses) -> int:
        lonely = any(self.known[((k, 1),)].made is None for k, _ in counts)
        return BLANKS * HULLS if lonely else FAILED

    def _enough(self, counts: Uses) -> bool:
        return all(n <= self.demand[k] for k, n in counts)

    def worth(self, counts: Uses) -> float:
        """What these panels cost at the area prices; much, before there are any. [mm2]"""
        if self.prices is None:
            return 1e300
        return sum(self.prices[k] * n for k, n in counts)

    def join(self, a: Cluster, b: Cluster, *, every: bool = False) -> bool:
        """Lay two clusters side by side; whether that may give a smaller blank for its content.

        What cannot cost less than its panels do at their prices is not tried: no blank is smaller than
        both hulls.
        """
        key = (id(a), id(b))
        counts = together(a, b)
        if key in self.tried or not self._enough(counts):
            return False
        worth = self.worth(counts)
        if a.hull_area + b.hull_area >= worth * PAYS:
            return False
        m, n = len(a.outline), len(b.outline)
        places = m * n * (m + n) ** 2 * (8 if every else 1)
        if self.work + places > (WORK // 2 if every else WORK):
            return False
        self.work += places
        self.tried[key] = (a, b)
        known = self.known.get(counts) or _Known(self._patience(counts))
        before = known.area
        blanks, hulls, clear = joints(a, b, self.rooms, every=every, gap=self.gap, most=worth)
        for joint in (*blanks, *clear) if known.failed < known.patience else ():
            if joint.measure < known.made_area:
                _keep(known.blanks, joint, BLANKS)
        for joint in hulls:
            _keep(known.hulls, joint, HULLS)
        if known.blanks or known.hulls:
            self.known[counts] = known
        return known.area < before

    def singles(self, alone: Sequence[Blank | None]) -> list[Cluster]:
        """Every kind alone, with its least blank."""
        found = [single(k, self.kinds) for k in range(len(self.kinds))]
        for c, blank in zip(found, alone, strict=True):
            known = self.known[c.counts] = _Known(FAILED)
            known.hulls, known.made = [(c.hull_area, c)], blank
        return found

    def pairs(self, alone: Sequence[Cluster]) -> None:
        """Every two kinds."""
        for i, a in enumerate(alone):
            for b in alone[i:]:
                self.join(a, b, every=True)

    def rows(self, alone: Sequence[Cluster]) -> None:
        """Rows of one kind, each from the row before."""
        for k, one in enumerate(alone):
            for n in range(1, min(LONGEST_ROW, self.demand[k])):
                row = self.known.get(((k, n),))
                if row is None:
                    break
                for c in _distinct([c for _, c in [*row.blanks[:1], *row.hulls[:2]]]):
                    self.join(c, one)

    def columns(self) -> list[tuple[Uses, float]]:
        """What was found so far, with the area of the blank; kinds that have none alone at a high price."""
        out = [(uses, known.area) for uses, known in self.known.items() if known.area < float("inf")]
        have = {uses for uses, _ in out}
        return out + [
            (((k, 1),), 4 * kind.area) for k, kind in enumerate(self.kinds) if ((k, 1),) not in have
        ]

    def _settle(self, known: _Known, most: float) -> None:
        self.spent += known.settle(self.kinds, self.rules, most, TRIES - self.spent)

    def settle(self) -> None:
        """Make the blanks that the partition would take, until all that it takes are made."""
        for _ in range(SETTLED):
            self.prices = area_prices(self.demand, self.columns())
            open_ = [
                known
                for uses, known in self.known.items()
                if not known.settled and known.area <= self.worth(uses) * (1 + 1e-6)
            ]
            if not open_:
                return
            for known in open_:
                # no further than to the next best of each: the prices rise with every blank that fails
                self._settle(known, known.blanks[0][0])

    def merges(self) -> None:
        """Merge the groups that cost little more than their panels do at their prices."""
        for _ in range(ROUNDS):
            ranked = []
            for number, (uses, known) in enumerate(self.known.items()):
                worth = self.worth(uses)
                # a hull that is full may make a good blank with another, however poor its own is
                least = min([known.area] + [area * 1.04 for area, _ in known.hulls[:1]])
                ranked.append((least / worth if worth else 2.0, number, known))
            ranked.sort(key=lambda r: r[:2])
            chosen = [
                c
                for _, _, k in ranked[:MERGED]
                for c in _distinct([c for _, c in [*k.hulls[:1], *k.blanks[:1]]])
            ]
            better = False
            for i, a in enumerate(chosen):
                for b in chosen[i:]:
                    better = self.join(a, b) or better
            self.settle()
            if not better:
                return

    def _near(self, margin: float, most: int) -> list[Uses]:
        """Contents of several panels whose blank costs little more than its panels do, the best first."""
        ranked = []
        for number, (uses, known) in enumerate(self.known.items()):
            worth = self.worth(uses)
            if sum(n for _, n in uses) > 1 and known.area <= worth * (1 + margin):
                ranked.append((known.area / worth, number, uses))
        ranked.sort(key=lambda r: r[:2])
        return [uses for _, _, uses in ranked[:most]]

    def whole(self) -> list[Uses]:
        """Contents that the least exact partition takes, all of them made.

        Eight of a kind may be two rows of four, though a row of six costs less for what it holds.
        """
        taken: list[Uses] = []
        for _ in range(SETTLED):
            near = self._near(WIDER, CONSIDERED)
            columns: list[tuple[Uses, float]] = [
                (uses, area) for uses, area in self.columns() if len(uses) == 1 and uses[0][1] == 1
            ]
            columns += [(uses, self.known[uses].area) for uses in near]
            numbers = least_partition(self.demand, [(u, _um2(a)) for u, a in columns], effort=EFFORT)
            if numbers is None:
                return taken
            taken = [uses for (uses, _), n in zip(columns, numbers, strict=True) if n and uses in self.known]
            open_ = [self.known[uses] for uses in taken if not self.known[uses].settled]
            if not open_:
                return taken
            for known in open_:
                self._settle(known, known.blanks[0][0])
        return taken

    def offers(self, margin: float = WORTH) -> list[Blank]:
        """Blanks of several panels, those first that cost least for what they hold."""
        out: list[Blank] = []
        near = self._near(margin, OFFERED)
        whole = [uses for uses in self.whole() if sum(n for _, n in uses) > 1 and uses not in near]
        for uses in [*near, *whole]:
            known = self.known[uses]
            self._settle(known, self.worth(uses) * (1 + margin))
            if known.made is not None and (known.area <= self.worth(uses) * (1 + margin) or uses in whole):
                out.append(known.made)
        return out


def _um2(area: float) -> int:
    """Whole square micrometres of square millimetres."""
    return round(area * 10**6)


def _distinct(clusters: Iterable[Cluster]) -> list[Cluster]:
    out: list[Cluster] = []
    for c in clusters:
        if not any(c is o for o in out):
            out.append(c)
    return out


def find_groups(
    kinds: Sequence[Kind],
    alone: Sequence[Blank | None],
    rooms: Sequence[tuple[float, float]],
    rules: Rules,
    *,
    worth: float = WORTH,
) -> list[Blank]:
    """Blanks that hold several angled panels and are worth offering, the best for their panels first.

    Parameters
    ----------
    kinds
        The angled panels of one glass.
    alone
        The least blank of each, or None where it has none.
    rooms
        Inner sizes of the sheets. [mm]
    rules
        Of the glass.
    worth
        How much more a blank may cost than its panels do at their prices, as a part of these.

    Returns
    -------
    list of Blank
        `Member.kind` counts the kinds.
    """
    if sum(k.demand for k in kinds) < 2:
        return []
    finder = Finder(kinds, rooms, rules)
    clusters = finder.singles(alone)
    finder.pairs(clusters)
    finder.rows(clusters)
    finder.settle()
    finder.merges()
    return finder.offers(worth)
