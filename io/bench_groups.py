"""What groups of angled panels are worth: how far their blanks are used, and how true the panels come out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import sqrt

from panewright.io.bench_angled import Week, WholeWeek, rules, sheet
from panewright.io.bench_log import Clock
from panewright.io.bench_run import Limits, pass_check, run_planner
from panewright.nesting import check_geometry as geometry
from panewright.nesting.angled.cluster import NM, Kind, kind_of
from panewright.nesting.angled.groups import Finder, find_groups
from panewright.nesting.angled.offers import own_blanks
from panewright.nesting.angled.partition import least_partition
from panewright.nesting.blanks import Blank
from panewright.nesting.errors import PlanFault
from panewright.nesting.outlines import Outline, area2
from panewright.nesting.panels import Panel
from panewright.nesting.pieces import split, whole_sheet
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.rules import Rules


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """Blanks of one week.

    Parameters
    ----------
    name
        Of the week.
    types, panels
        Different panels, and panels in all.
    area
        Of all cut outlines. [nm2]
    singles, pairs, groups
        Area of the blanks: of single panels, of groups of two and single panels, of all groups. [nm2]
    offered
        Groups that the search for all groups offers.
    seconds
        CPU time of that search and of its partition. [s]
    """

    name: str
    types: int
    panels: int
    area: int
    singles: int
    pairs: int
    groups: int
    offered: int
    seconds: float


def blanks_used(week: Week, clock: Clock) -> Used:
    """The area of the blanks of a week's angled panels, cut singly, in pairs and in groups."""
    panels = week.panels()
    types: dict[Outline, list[Panel]] = {}
    for panel in panels:
        types.setdefault(panel.cut, []).append(panel)
    firsts = [group[0] for group in types.values()]
    demand = [len(group) for group in types.values()]
    glass = rules()
    alone = [own_blanks(p.cut, p.turn, glass)[0].of_kind(k) for k, p in enumerate(firsts)]
    kinds = [kind_of(p.cut, p.turn, p.mirror, n) for p, n in zip(firsts, demand, strict=True)]
    room = sheet()
    rooms = [(room.inner_width * NM, room.inner_height * NM)]
    pairs = _pairs(kinds, alone, rooms, glass)
    began = clock()
    groups = find_groups(kinds, alone, rooms, glass)
    taken = _least_area(demand, [*alone, *groups])
    return Used(
        name=week.name,
        types=len(types),
        panels=len(panels),
        area=sum(area2(p.cut) for p in panels) // 2,
        singles=sum(b.width * b.height * n for b, n in zip(alone, demand, strict=True)),
        pairs=_least_area(demand, [*alone, *pairs]),
        groups=taken,
        offered=len(groups),
        seconds=clock() - began,
    )


def _pairs(
    kinds: Sequence[Kind], alone: Sequence[Blank], rooms: Sequence[tuple[float, float]], glass: Rules
) -> list[Blank]:
    finder = Finder(kinds, rooms, glass)
    finder.pairs(finder.singles(alone))
    finder.settle()
    return finder.offers()


def _least_area(demand: Sequence[int], blanks: Sequence[Blank]) -> int:
    """Area of the least exact partition. [nm2]"""
    taken = least_partition(demand, [(b.uses, b.width * b.height // 10**6) for b in blanks])
    if taken is None:
        raise ArithmeticError("single panels alone are a partition")
    return sum(b.width * b.height * n for b, n in zip(blanks, taken, strict=True))


def angled_cuts(plan: Plan) -> int:
    """How many cuts of a plan run at an angle to the sheet."""
    return sum(
        cut.start[0] != cut.end[0] and cut.start[1] != cut.end[1]
        for layout in plan.layouts
        for cut in layout.cuts
    )


def deviation(shape: Sequence[geometry.Vertex], cut: Outline, turned: int, mirrored: bool) -> float:
    """How far the corners of a piece lie from a panel's cut outline, laid onto it by a shift. [nm]

    Parameters
    ----------
    shape
        The piece, counter-clockwise; points on a straight edge do not count. [nm]
    cut
        The panel's cut outline. [nm]
    turned, mirrored
        How the panel lies (see `Leaf`).

    Returns
    -------
    float
        The greatest distance of a corner, with the shift that puts the panel amid the piece; without
        end when the piece has another number of corners.
    """
    p, q = geometry.tidy(geometry.moved(cut, turned, mirrored)), geometry.tidy(shape)
    n = len(p)
    if n != len(q):
        return float("inf")
    rough = [[(float(x), float(y)) for x, y in s] for s in (p, q)]

    def spread(k: int) -> float:
        matched = list(zip(rough[0], rough[1][k:] + rough[1][:k], strict=True))
        away = [[v[axis] - u[axis] for u, v in matched] for axis in (0, 1)]
        return sum(max(a) - min(a) for a in away)

    first = min(range(n), key=spread)  # which corner is which is plain; how far off they are is exact
    away = [(q[(i + first) % n][0] - p[i][0], q[(i + first) % n][1] - p[i][1]) for i in range(n)]
    x0, y0, x1, y1 = geometry.extent(away)
    cx, cy = Fraction(x0 + x1) / 2, Fraction(y0 + y1) / 2
    return sqrt(Fraction(max((x - cx) ** 2 + (y - cy) ** 2 for x, y in away)))


def deviations(plan: Plan) -> Iterable[float]:
    """How far every placed panel comes out from its cut outline when all cuts are made exactly. [nm]"""
    for layout in plan.layouts:
        pieces = {"s": whole_sheet(layout)}
        for cut in layout.cuts:
            parts = split(pieces.pop(cut.piece), cut, layout.number)
            pieces[cut.makes[0]], pieces[cut.makes[1]] = parts.left, parts.right
        for leaf in layout.leaves:
            if leaf.panel is not None:
                panel = plan.panel(leaf.panel)
                yield deviation(pieces[leaf.piece].corners, panel.cut, leaf.turned, leaf.mirrored)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One plan of a whole week; the checker has passed it.

    Parameters
    ----------
    sheets
        How many it takes.
    used
        Sheets less the largest offcut.
    cuts, angled_cuts
        All cuts, and those at an angle to the sheet.
    off
        See `deviations`: the greatest of all. [nm]
    steps, seconds, check_seconds
        Of the search, and CPU time of the search and of the checker. [s]
    """

    sheets: int
    used: Fraction
    cuts: int
    angled_cuts: int
    off: float
    steps: int
    seconds: float
    check_seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A whole week planned twice: every panel in a blank of its own, and with groups.

    Parameters
    ----------
    name, panels
        Of the week.
    area, angled
        Twice the area of its panels, and of the angled ones. [nm2]
    without, groups
        What came out.
    """

    name: str
    panels: int
    area: int
    angled: int
    without: Outcome
    groups: Outcome


def planned(week: WholeWeek, limits: Limits, *, clock: Clock, seed: int = 0) -> Planned:
    """Plan a whole week with and without groups under the same limits; raises PlanFault."""
    both = [_outcome(week, limits, clock, seed, groups) for groups in (False, True)]
    return Planned(
        name=week.name,
        panels=len(week.order.panels),
        area=week.area,
        angled=week.angled,
        without=both[0],
        groups=both[1],
    )


def _outcome(week: WholeWeek, limits: Limits, clock: Clock, seed: int, groups: bool) -> Outcome:
    order = week.order
    done = run_planner(order.panels, order.stock, order.shop, limits, clock=clock, seed=seed, groups=groups)
    plan = done.plan
    if plan.unplaced:
        raise PlanFault((f"{week.name}: {plan.unplaced[0].panel} is unplaced",))
    began = clock()
    pass_check(week.name, plan)
    seconds = clock() - began
    kept = [
        Fraction(area2(leaf.outline), 2 * layout.width * layout.height)
        for layout in plan.layouts
        for leaf in layout.leaves
        if leaf.kind is LeafKind.OFFCUT
    ]
    return Outcome(
        sheets=len(plan.layouts),
        used=len(plan.layouts) - max(kept, default=Fraction(0)),
        cuts=sum(len(layout.cuts) for layout in plan.layouts),
        angled_cuts=angled_cuts(plan),
        off=max(deviations(plan)),
        steps=done.steps,
        seconds=done.seconds,
        check_seconds=seconds,
    )
