"""Cut sizes of rectangles that a tape shows: up to the next mark, where a worked edge takes the rest off.

A cut size between two marks of the tape is marked with an error of up to half a step, and a row of such
panels is marked differently each time. Half a millimetre more to grind costs less than that.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Final

from .edgework import Edge, Work
from .offsets import cut_outline
from .outlines import Outline, box, is_rectangle
from .panels import Panel
from .rules import Rules
from .stock import Trim

SIZED: Final = (Work.GROUND, Work.POLISHED, Work.PENCIL, Work.BEVEL, Work.MITRE)
"""Work whose machine brings a panel to its size; seaming only takes the sharpness off an edge."""


def up_to(length: int, step: int) -> int:
    """The least multiple of a step at or above a length. [nm]"""
    return -(-length // step) * step


def takes_off(edge: Edge) -> bool:
    """Whether a machine grinds an edge to its place, so that it may as well grind a little more.

    A mitre counts: its allowance lies beyond the larger face, and all of it goes with the mitre.
    """
    return edge.work in SIZED and edge.allowance > 0


def to_the_mark(finished: Outline, edges: Sequence[Edge], step: int | None) -> tuple[Edge, ...]:
    """The edges of a panel, with allowances that bring its cut size to the mark.

    Parameters
    ----------
    finished
        Counter-clockwise. [nm]
    edges
        One an edge, with the allowances of the shop.
    step
        To what a tape is read; None for exact sizes. [nm]

    Returns
    -------
    tuple of Edge
        Of a rectangle along its axes: width and height go up to the next multiple of the step, each for
        itself, by less than a step. Both worked edges of a direction share that evenly, so that
        neither has much more to grind and one setting serves both; the left or lower one has the odd
        nanometre. A direction without an edge that a machine grinds stays as it is, and so does any
        other outline.
    """
    if step is None or not is_rectangle(finished):
        return tuple(edges)
    out = list(edges)
    x0, y0, x1, y1 = box(finished)
    for axis, size in ((0, x1 - x0), (1, y1 - y0)):
        # the edges across this direction are those along which the coordinate stays
        across = [i for i in range(4) if finished[i][axis] == finished[(i + 1) % 4][axis]]
        across.sort(key=lambda i: finished[i][axis])
        worked = [i for i in across if takes_off(edges[i])]
        cut = size + sum(edges[i].allowance for i in across)
        excess = up_to(cut, step) - cut
        if not worked or not excess:
            continue
        part, odd = divmod(excess, len(worked))
        for n, i in enumerate(worked):
            more = part + (odd if n == 0 else 0)
            out[i] = replace(edges[i], allowance=edges[i].allowance + more)
    return tuple(out)


def near_trims_to_the_mark(trim: Trim, step: int | None) -> Trim:
    """The trim with its left and lower strips up to the mark: from their cuts everything is measured.

    Nobody measures the far strips: they leave with the waste beside them.
    """
    if step is None:
        return trim
    return replace(trim, left=up_to(trim.left, step), bottom=up_to(trim.bottom, step))


def widths_to_the_mark(rules: Rules) -> Rules:
    """The rules with least widths up to the mark: waste that is as narrow as may be lies beside panels."""
    if rules.mark_step is None:
        return rules
    step = rules.mark_step

    def inwards(limits: tuple[int, int | None]) -> tuple[int, int | None]:
        least, most = limits
        return up_to(least, step), None if most is None else most // step * step

    return replace(
        rules,
        break_out=up_to(rules.break_out, step),
        level1_gap=inwards(rules.level1_gap),
        level1_width=inwards(rules.level1_width),
        level2_width=up_to(rules.level2_width, step),
        least_waste=up_to(rules.least_waste, step),
    )


def same_but_for_the_mark(
    one: Panel, other: Panel, plain: Sequence[Edge], steps: Collection[int | None]
) -> bool:
    """Whether two panels are one, cut by tables that are read differently.

    Parameters
    ----------
    one, other
        With the same finished outline.
    plain
        Their edges with the allowances of the shop.
    steps
        To what the tapes are read. [nm]
    """
    ways = {to_the_mark(one.finished, plain, step) for step in (None, *steps)}
    return is_rectangle(one.finished) and all(
        panel.edges in ways and panel.cut == cut_outline(panel.finished, [e.allowance for e in panel.edges])
        for panel in (one, other)
    )
