"""Counts of work done and of panels broken, by step, glass and size class: the evidence behind the rates."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..edgework import Work
from ..happened import AtStep
from ..outlines import is_convex
from ..panels import Panel
from .size_class import SizeClass, size_class

STEPS: tuple[AtStep, ...] = tuple(AtStep)
"""The steps in the order in which a panel passes them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """How many pieces passed a step, and how many of them broke there.

    Parameters
    ----------
    step
        The work.
    glass
        Glass key; empty where the record does not tell.
    size
        Size class; None where the record does not tell.
    done
        Pieces that the step was begun on.
    broken
        Those that broke at it.
    area2
        Twice the cut area of the pieces done, 0 where the record does not tell. [nm2]

    Raises
    ------
    ValueError
        When more broke than were worked, a number is negative, or there is a size without a glass.
    """

    step: AtStep
    glass: str = ""
    size: SizeClass | None = None
    done: int
    broken: int
    area2: int = 0

    def __post_init__(self) -> None:
        if not 0 <= self.broken <= self.done or self.area2 < 0:
            raise ValueError(f"{self.broken} broken of {self.done}")
        if self.size is not None and not self.glass:
            raise ValueError("a size class without a glass")


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What counts of a panel, for its breakage.

    Parameters
    ----------
    glass
        Glass key.
    size
        Size class.
    steps
        The steps that it passes, in the order of `STEPS`; of a panel that is not finished yet, only
        those that are behind it.
    area2
        Twice its cut area. [nm2]
    """

    glass: str
    size: SizeClass
    steps: tuple[AtStep, ...]
    area2: int = 0


def steps_of(panel: Panel) -> tuple[AtStep, ...]:
    """The steps that a panel passes.

    Edging only where an edge is worked; drilling, which stands for drill, saw and water jet, only with
    openings or inner corners.
    """
    edged = any(edge.work is not Work.CUT for edge in panel.edges)
    drilled = bool(panel.openings) or not is_convex(panel.finished)
    skipped = {AtStep.EDGING: not edged, AtStep.DRILLING: not drilled}
    return tuple(step for step in STEPS if not skipped.get(step, False))


def facts_of(panel: Panel) -> Facts:
    """What counts of a panel."""
    return Facts(glass=panel.glass, size=size_class(panel.cut), steps=steps_of(panel), area2=panel.cut_area2)


def counts_of(panels_done: Iterable[tuple[Facts, AtStep | None]]) -> tuple[Worked, ...]:
    """The counts of single panels.

    Parameters
    ----------
    panels_done
        Each panel with the step at which it broke, None for a whole one. A broken panel was worked at
        all its steps up to that one, and at none after it; handling counts as the last, since a record
        does not say between which steps it was.
    """
    out = []
    for facts, broken in panels_done:
        last = len(STEPS) if broken is None else STEPS.index(broken)
        for place, step in enumerate(STEPS):
            if step is broken or (place < last and step in facts.steps):
                out.append(
                    Worked(
                        step=step,
                        glass=facts.glass,
                        size=facts.size,
                        done=1,
                        broken=int(step is broken),
                        area2=facts.area2,
                    )
                )
    return added_up(out)


def added_up(counts: Iterable[Worked]) -> tuple[Worked, ...]:
    """One count for each step, glass and size class, in their order.

    Where one part of a sum does not tell its area, the sum does not either.
    """
    sums: dict[tuple[int, str, str], list[Worked]] = {}
    for one in counts:
        key = (STEPS.index(one.step), one.glass, one.size.value if one.size else "")
        sums.setdefault(key, []).append(one)
    return tuple(
        Worked(
            step=parts[0].step,
            glass=parts[0].glass,
            size=parts[0].size,
            done=sum(p.done for p in parts),
            broken=sum(p.broken for p in parts),
            area2=sum(p.area2 for p in parts) if all(p.area2 for p in parts if p.done) else 0,
        )
        for _, parts in sorted(sums.items(), key=lambda item: item[0])
    )
