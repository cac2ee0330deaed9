"""Panels that are off their sheet already and lay where a flaw is marked: somebody must look at them.

Planning goes on as if they were sound, since what is marked after a panel came off lies as a rule in what is left.
"""

from __future__ import annotations

from ..plan import LeafKind
from ..spots import flaws_of
from .history import History
from .marks import spoiled_panels
from .request import Request


def off_under_flaws(request: Request) -> dict[int, list[str]]:
    """Ids of such panels by sheet, those left out that are known to be no good.

    Parameters
    ----------
    request
        With the flaws that are marked, and how far the sheets are cut.
    """
    plan, history = request.earlier, History(request.earlier)
    happened = history.since(request.happened)
    bad = {*happened.broken, *history.broken}
    out = {}
    for layout in plan.layouts:
        number = layout.number
        flaws = [f for f in sorted(set(happened.flaws.get(number, ()))) if f not in flaws_of(layout)]
        if not flaws:
            continue
        half = happened.half.get(number, 0)
        made = {n for cut in layout.cuts if number in happened.cut or cut.step <= half for n in cut.makes}
        off = {x.piece for x in layout.leaves if x.kind is LeafKind.PANEL and x.piece in made}
        if number in happened.cut and not layout.cuts:
            off = {x.piece for x in layout.leaves}
        found = spoiled_panels(layout, flaws, history.panels, request.shop, off)
        if found := [p for p in dict.fromkeys(found) if p not in bad]:
            out[number] = found
    return out
