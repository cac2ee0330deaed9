"""From patterns to layouts: which waste is kept, which panel lies where, and the numbers of it all."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from .cut_tree import Waste, build_layout, waste_of
from .job import Job
from .joint_blanks import single_panels
from .optimizer.instance import Instance
from .optimizer.pattern import Pattern
from .panels import Panel
from .phantoms import on_phantom, real_name, shortage
from .plan import Layout, LeafKind, Unplaced
from .plan_id import offcut_number
from .text import tr


@dataclass(frozen=True, slots=True)
class CutSheet:
    """A sheet of the plan to be: its job, and its pattern with the instance that it belongs to."""

    job: int
    instance: Instance
    pattern: Pattern


@dataclass(frozen=True, slots=True)
class Missing:
    """Panels of a job that lie on stock that is not there, or nowhere: types with their number, and the reason."""

    job: int
    kinds: tuple[tuple[int, int], ...]
    reason: str
    rule: str = "not enough stock"


def cut_sheets(jobs: Sequence[Job], patterns: Sequence[Sequence[Pattern]]) -> list[CutSheet]:
    """The sheets that are there, job by job."""
    return [
        CutSheet(j, job.instance, p)
        for j, job in enumerate(jobs)
        for p in patterns[j]
        if not on_phantom(job.instance, p)
    ]


def missing_panels(jobs: Sequence[Job], patterns: Sequence[Sequence[Pattern]]) -> list[Missing]:
    """The panels for which there is no stock."""
    out = []
    for j, job in enumerate(jobs):
        # what an order ties to a stock piece is short of that piece alone
        short: dict[str, dict[str, int]] = {}
        kinds: dict[str, dict[int, int]] = {}
        for p in patterns[j]:
            if on_phantom(job.instance, p):
                uses = p.uses(job.instance)
                tied_to = job.instance.types[min(uses)].panels[0].from_stock or ""
                name = real_name(job.instance.sheets[p.sheet].piece, job.instance)
                sheets = short.setdefault(tied_to, {})
                sheets[name] = sheets.get(name, 0) + 1
                mine = kinds.setdefault(tied_to, {})
                for kind, count in uses.items():
                    mine[kind] = mine.get(kind, 0) + count
        out += [Missing(j, tuple(sorted(kinds[to].items())), shortage(short[to])) for to in sorted(kinds)]
        left = dict(enumerate(job.instance.demand))
        for p in patterns[j]:
            for kind, count in p.uses(job.instance).items():
                left[kind] -= count
        nowhere = tuple((kind, count) for kind, count in left.items() if count > 0)
        if nowhere:
            reason = tr("the search found no plan in which it comes in its order; plan it without one")
            if job.instance.rules.sheet_rules:
                reason = tr(
                    "the search found no plan that keeps the widths between cuts and the order; plan it without them"
                )
            out.append(Missing(j, nowhere, reason, "order of racks and sheets"))
    return out


class Hands:
    """Hands out the panels of one glass, type by type, in the order in which the sheets are cut."""

    def __init__(self, instance: Instance) -> None:
        self._queues: list[Iterator[Panel]] = [iter(t.panels) for t in instance.types]
        self._panels = [t.panels for t in instance.types]
        self._kinds = {p.id: kind for kind, t in enumerate(instance.types) for p in t.panels}

    def panels(self, kind: int) -> tuple[Panel, ...]:
        """All panels of a type."""
        return self._panels[kind]

    def order(self, kind: int, panels: Iterable[Panel]) -> None:
        """Hand the panels of a type out in this order."""
        self._queues[kind] = iter(panels)

    def draw(self, instance: Instance) -> Callable[[int], Panel]:
        """The next panel of a type of this instance, which may be another one over the same panels."""

        def next_of(kind: int) -> Panel:
            panels = instance.types[kind].panels
            mine = self._kinds.get(panels[0].id)
            if mine is None:
                mine = len(self._queues)
                self._queues.append(iter(panels))
                self._kinds |= {p.id: mine for p in panels}
            return next(self._queues[mine])

        return next_of


def offcuts_kept(sheets: Sequence[CutSheet], most: int) -> list[Waste]:
    """The largest leftovers worth keeping, as many as may be kept; `Waste.sheet` counts the sheets."""
    wastes = [w for i, s in enumerate(sheets) for w in waste_of(s.pattern, s.instance, i)]
    wastes.sort(key=lambda w: (-w.area, w.sheet, w.index))
    return wastes[: max(0, most)]


def build_layouts(
    sheets: Sequence[CutSheet], hands: Sequence[Hands], keep: Sequence[Waste], first: int
) -> list[Layout]:
    """The layouts of all sheets, numbered in this order from `first` on; what is in the rack goes first."""
    taken: dict[tuple[int, int], int] = {}
    layouts = []
    for i, sheet in enumerate(sheets):
        key = (sheet.job, sheet.pattern.sheet)
        taken[key] = taken.get(key, 0) + 1
        piece = sheet.instance.sheets[sheet.pattern.sheet].piece
        layouts.append(
            build_layout(
                sheet.pattern,
                sheet.instance,
                hands[sheet.job].draw(sheet.instance),
                {w.index for w in keep if w.sheet == i},
                first + i,
                taken[key] > piece.on_hand,
            )
        )
    return layouts


def unplaced_of(missing: Sequence[Missing], jobs: Sequence[Job], hands: Sequence[Hands]) -> list[Unplaced]:
    """The panels that are left in hand when all layouts are built."""
    out = []
    for lack in missing:
        draw = hands[lack.job].draw(jobs[lack.job].instance)
        for kind, count in lack.kinds:
            out += [
                Unplaced(panel=panel.id, rule=lack.rule, reason=lack.reason)
                for _ in range(count)
                for panel in single_panels(draw(kind))
            ]
    return out


def numbered(layout: Layout, plan: str) -> Layout:
    """The layout with the numbers of its offcuts."""
    leaves = []
    count = 0
    for leaf in layout.leaves:
        if leaf.kind is LeafKind.OFFCUT:
            leaf = replace(leaf, offcut=offcut_number(plan, layout.number, count))
            count += 1
        leaves.append(leaf)
    return replace(layout, leaves=tuple(leaves))
