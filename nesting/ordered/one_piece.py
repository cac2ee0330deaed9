"""One sheet or piece, filled around its flaws and in the order of the racks."""

from __future__ import annotations

from collections.abc import Sequence

from ..optimizer.instance import Instance
from ..optimizer.runner import Counter
from .laid import Laid
from .problem import ordered, sheets
from .run import Guide, Run

GUIDES = (Guide(lean=0.1, exponent=1.0), Guide(lean=0.1, exponent=1.3))
WHOLE_GUIDES = (
    Guide(exponent=0.75, foresee=True),
    Guide(exponent=1.0),
    Guide(lean=0.1, exponent=1.0),
    Guide(exponent=0.5),
)


def fill(
    instance: Instance,
    sheet: int,
    demand: Sequence[int],
    *,
    width: int = 60,
    frames: int = 3,
    whole: bool = False,
    counter: Counter,
) -> Laid | None:
    """The most area of the demand on one sheet, around its flaws; None where nothing fits.

    Parameters
    ----------
    instance
        Of which the demand is a part.
    sheet
        Index of the sheet.
    demand
        Panels of each type; of a rack those that are left.
    width
        Of the beam.
    frames
        Bit 0: first cut vertical; bit 1: horizontal.
    whole
        All of the demand, with the largest piece beyond the last strip, or None.
    counter
        Receives the nodes.
    """
    part = ordered(instance, demand)
    if part.panels == 0 or (whole and part.area > instance.sheets[sheet].area):
        return None
    numbers = sheets(instance, [sheet])
    best: Laid | None = None
    best_key: tuple[int, int] | None = None
    limit = instance.sheets[sheet].area - part.area + 1 if whole else 2**62
    for guide in WHOLE_GUIDES if whole else GUIDES:
        run = Run(part, [sheet], numbers, width, guide, limit, counter, fill=not whole, frames=frames)
        while run.advance():
            pass
        if not run.found:
            continue
        (found,) = run.patterns()
        area = sum(instance.type_area[t] * n for t, n in found.uses(instance).items())
        key = (-area, run.end)
        if best_key is None or key < best_key:
            best, best_key = found, key
        if whole:
            limit = run.end - part.area
    return best
