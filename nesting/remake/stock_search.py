"""Panels of one glass on stock that is free: a first whole plan of them at once, and a search for a better one."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Sequence

from ..assemble import Hands, build_layouts, cut_sheets, missing_panels, offcuts_kept, unplaced_of
from ..job import Job, Variant
from ..joint_blanks import Bundle, lonely, tied
from ..optimizer.instance import build
from ..ordered.chains import needs_order
from ..panels import Panel
from ..phantoms import with_phantoms
from ..pins import settled_pins
from ..plan import Layout, Unplaced
from ..planner import impossible
from ..shop import Shop
from ..stock import StockPiece


def by_order(glass: str, panels: Iterable[Panel], stock: Iterable[StockPiece], shop: Shop) -> bool:
    """Whether the panels and the stock of a glass stand in an order that a plain search does not know."""
    mine = (p for p in panels if p.glass == glass)
    return needs_order(mine, (s for s in stock if s.glass == glass), shop.rules(glass))


def planned(
    panels: Sequence[Panel], stock: Sequence[StockPiece], shop: Shop, *, effort: int, seed: int
) -> Generator[int, None, tuple[list[Layout], list[Unplaced]]]:
    """The layouts of these panels on the stock, and what cannot be placed; yields the steps of each slice.

    Parameters
    ----------
    panels
        All that is to be placed, of one glass.
    stock
        What is free.
    shop
        Its rules.
    effort
        Search steps after the first plan; 0 for that one alone.
    seed
        Of the search.
    """
    unplaced = impossible(panels, stock, shop)
    bad = {u.panel for u in unplaced}
    glass = panels[0].glass
    there = [s for s in stock if s.glass == glass]
    ties = tied([p for p in panels if p.id not in bad], there, shop.rules(glass))
    unplaced += [lonely(p, shop.rules(glass)) for p in ties.left]
    bundles = {p.id: p for p in ties.panels if isinstance(p, Bundle)}
    for entry in impossible(bundles.values(), there, shop):
        # tied anew without what cannot be placed at all
        unplaced += [
            Unplaced(panel=p.id, rule=entry.rule, reason=entry.reason) for p in bundles.pop(entry.panel).parts
        ]
    mine = [p for p in ties.panels if not isinstance(p, Bundle) or p.id in bundles]
    if not mine:
        return [], unplaced
    instance = build(mine, with_phantoms(there, mine, shop), shop.rules(glass), groups=True)
    job = Job(glass, instance, effort)
    settled, job.spent = settled_pins(instance, seed, None)
    for sheets in settled:
        job.add(Variant.of(instance, sheets, seed, None))
    done = job.steps
    yield max(1, done)
    while effort and not job.out_of_budget and job.advance():
        yield max(1, job.steps - done)
        done = job.steps
    patterns = [job.best.with_all_stock()]
    made = cut_sheets([job], patterns)
    hands = [Hands(instance)]
    layouts = build_layouts(made, hands, offcuts_kept(made, shop.offcuts_a_plan), 1)
    return layouts, [*unplaced, *unplaced_of(missing_panels([job], patterns), [job], hands)]
