"""How many equal sheets a list of rectangles takes: the plain problem, for comparison with papers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..bounds import least_sheets
from .instance import Instance, build
from .pattern import Pattern
from .plain import plain_panel, plain_rules, plain_sheet
from .search import Search


@dataclass(frozen=True, slots=True, kw_only=True)
class EqualSheets:
    """Sheets taken, their lower bound, counted search steps, and the patterns of this instance."""

    sheets: int
    bound: int
    steps: int
    patterns: tuple[Pattern, ...]
    instance: Instance


def sheets_needed(
    width: int,
    height: int,
    items: Sequence[tuple[int, int]],
    *,
    turn: bool,
    stop: Callable[[int], bool],
    seed: int = 0,
    levels: int | None = None,
    watch: Callable[[int, int, int], None] | None = None,
) -> EqualSheets:
    """Least number of sheets found for rectangles, without trims or break-out distance.

    Parameters
    ----------
    width, height
        Of every sheet. [any unit]
    items
        Width and height of each rectangle. [same unit]
    turn
        Whether they may turn a quarter.
    stop
        Asked between slices of the search, with the steps so far; it also ends when the bound is met.
    seed
        Of the search.
    levels
        2, 3, 4 or None for free.
    watch
        Told sheets, bound and steps after the first plan and after every slice.
    """
    panels = [plain_panel(w, h, f"{i:06d}", turn=turn) for i, (w, h) in enumerate(items)]
    rules = plain_rules(width, height, levels)
    stock = [plain_sheet(width, height)]
    instance = build(panels, stock, rules)
    bound = least_sheets(
        instance.sheets[0].width,
        instance.sheets[0].height,
        [(t.width // instance.unit, t.height // instance.unit) for t in instance.types],
        instance.demand,
        [t.turns for t in instance.types],
    )
    search = Search(instance, bound=bound, seed=seed)
    search.start()
    going = True
    while going:
        if watch is not None:
            watch(len(search.keeper.best), search.bound, search.steps)
        going = not search.proven and not stop(search.steps) and search.advance()
    return EqualSheets(
        sheets=len(search.patterns),
        bound=search.bound,
        steps=search.steps,
        patterns=tuple(search.patterns),
        instance=instance,
    )
