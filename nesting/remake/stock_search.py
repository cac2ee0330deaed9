"""Panels of one glass on stock that is free: a first whole plan of them at once, and a search for a better one."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Sequence

from ..assemble import Hands, build_layouts, cut_sheets, missing_panels, offcuts_kept, unplaced_of
from ..feasible import impossible
from ..job import Job, Variant
from ..joint_blanks import Bundle, lonely, tied
from ..optimizer.instance import build
from ..ordered.chains import needs_order
from ..ordered.variant import InOrder, lone_in_racks
from ..panels import Panel
from ..phantoms import with_phantoms
from ..pins import settled_pins
from ..plan import Layout, Unplaced
from ..shop import Shop
from ..spots import flaws_of
from ..stock import StockPiece
from .gate import passes


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
    glass = panels[0].glass
    there = [s for s in stock if s.glass == glass]
    layouts, unplaced = yield from _planned(panels, there, shop, effort, seed)
    known = {p.id: p for p in panels}
    if any(flaws_of(x) and not passes(x, known, shop) for x in layouts):
        # what no search can be cut around is left alone
        sound = [s for s in there if not s.flaws]
        layouts, unplaced = yield from _planned(panels, sound, shop, effort, seed)
    return layouts, unplaced


def _planned(
    panels: Sequence[Panel], there: Sequence[StockPiece], shop: Shop, effort: int, seed: int
) -> Generator[int, None, tuple[list[Layout], list[Unplaced]]]:
    glass = panels[0].glass
    unplaced = impossible(panels, there, shop)
    unplaced += lone_in_racks(
        [p for p in panels if p.id not in {u.panel for u in unplaced}], shop.rules(glass)
    )
    bad = {u.panel for u in unplaced}
    racked = [p for p in panels if p.id not in bad and p.rack]
    ties = tied([p for p in panels if p.id not in bad and not p.rack], there, shop.rules(glass))
    unplaced += [lonely(p, shop.rules(glass)) for p in ties.left]
    bundles = {p.id: p for p in ties.panels if isinstance(p, Bundle)}
    for entry in impossible(bundles.values(), there, shop):
        # tied anew without what cannot be placed at all
        unplaced += [
            Unplaced(panel=p.id, rule=entry.rule, reason=entry.reason) for p in bundles.pop(entry.panel).parts
        ]
    mine = [*(p for p in ties.panels if not isinstance(p, Bundle) or p.id in bundles), *racked]
    if not mine:
        return [], unplaced
    instance = build(mine, with_phantoms(there, mine, shop), shop.rules(glass), groups=not racked)
    job = Job(glass, instance, effort)
    if by_order(glass, mine, there, shop):
        job.add(InOrder.all_of(instance, seed, None))
    else:
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
