"""Panels that are off their sheet already and lay where a flaw is marked: somebody must look at them.

Planning goes on as if they were sound, since what is marked after a panel came off lies as a rule in what is left.
"""

from __future__ import annotations

from ..flaw_hits import hits
from ..happened import Happened
from ..plan import Plan
from ..spots import flaws_of
from .history import History


def off_under_flaws(plan: Plan, happened: Happened) -> dict[int, list[str]]:
    """Ids of such panels by sheet, those left out that are known to be no good.

    Parameters
    ----------
    plan
        The plan.
    happened
        With the flaws that are marked, and how far the sheets are cut.
    """
    history = History(plan)
    happened = history.since(happened)
    bad = {*happened.broken, *history.broken}
    out = {}
    for layout in plan.layouts:
        number = layout.number
        flaws = [f for f in happened.flaws.get(number, ()) if f not in flaws_of(layout)]
        if not flaws:
            continue
        whole, half = number in happened.cut, happened.half.get(number, 0)
        made = {name for cut in layout.cuts if whole or cut.step <= half for name in cut.makes}
        off = {x.panel for x in layout.leaves if x.piece in made or (whole and not layout.cuts)}
        found = [p for p in hits(layout, plan.panels, *flaws).panels if p in off and p not in bad]
        if found:
            out[number] = found
    return out
