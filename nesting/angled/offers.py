"""What the optimizer is offered for angled panels: their own blanks, and the groups that pay."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from ..blanks import COSTLY, Blank, candidates, least_rectangle, tilted
from ..outlines import Outline, box
from ..panels import Panel, Turn
from ..rules import Rules
from .cluster import NM, kind_of
from .groups import WORTH, find_groups

MANY = 60
"""Kinds of angled panels beyond which groups are looked for among those with the largest area alone."""
ROOMS = 6
"""Sheet sizes that a group may be made for, the largest."""


@lru_cache(maxsize=4096)
def own_blanks(cut: Outline, turn: Turn, rules: Rules) -> tuple[Blank, ...]:
    """The blanks of a panel alone (see `candidates`), before them one in which it stands askew if that is smaller.

    Where a small corner cannot be broken off, what is flush with another edge may be twice as large.
    """
    found = candidates(cut, turn, rules)
    if found and turn is Turn.ANY and found[0].area > COSTLY * least_rectangle(cut, turn)[0]:
        askew = tilted(cut, rules, ())
        if askew is not None and askew.area < found[0].area:
            return askew, *found
    return tuple(found)


def groups_for(
    panels: Sequence[Panel],
    demand: Sequence[int],
    rooms: Sequence[tuple[int, int]],
    rules: Rules,
    *,
    worth: float = WORTH,
) -> list[Blank]:
    """Groups of these panels that are worth offering.

    Parameters
    ----------
    panels
        One of each kind.
    demand
        How many there are of each.
    rooms
        Inner sizes of the sheets. [nm]
    rules
        Of the glass.
    worth
        See `find_groups`.

    Returns
    -------
    list of Blank
        `Member.kind` is the place among the panels.
    """
    order = sorted(range(len(panels)), key=lambda k: (-_area(panels[k]) * demand[k], k))[:MANY]
    order.sort()
    sizes = sorted({(max(r), min(r)) for r in rooms}, key=lambda r: (-r[0] * r[1], r))[:ROOMS]
    chosen = tuple((panels[k].cut, panels[k].turn, panels[k].mirror, demand[k]) for k in order)
    found = _found(chosen, tuple(sizes), rules, worth)
    return [b.of_kinds(order) for b in found]


def _area(panel: Panel) -> int:
    x0, y0, x1, y1 = box(panel.cut)
    return (x1 - x0) * (y1 - y0)


@lru_cache(maxsize=64)
def _found(
    chosen: tuple[tuple[Outline, Turn, bool, int], ...],
    rooms: tuple[tuple[int, int], ...],
    rules: Rules,
    worth: float,
) -> tuple[Blank, ...]:
    kinds = [kind_of(cut, turn, mirror, n) for cut, turn, mirror, n in chosen]
    alone = [
        next((b.of_kind(k) for b in own_blanks(cut, turn, rules)), None)
        for k, (cut, turn, _, _) in enumerate(chosen)
    ]
    sizes = [(w * NM, h * NM) for w, h in rooms]
    return tuple(find_groups(kinds, alone, sizes, rules, worth=worth))
