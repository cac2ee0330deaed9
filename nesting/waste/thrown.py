"""Offcuts that a plan wanted kept and that are none now: which of their glass is trim, which cullet."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from ..figures import sheet_figures
from ..outlines import box
from ..plan import Layout, LeafKind
from .sheets import Away


def away_of(layout: Layout, thrown: Collection[str], measured: Mapping[str, int]) -> Away:
    """What offcuts thrown away, or kept smaller than planned, add to trim and cullet.

    Parameters
    ----------
    layout
        The sheet.
    thrown
        Numbers of its offcuts that were thrown away.
    measured
        Of those kept, the area that they really have where it was measured. [twice nm2]
    """
    gone = [leaf for leaf in layout.leaves if leaf.offcut in thrown]
    leaves = tuple(replace(leaf, kind=LeafKind.CULLET, offcut=None) for leaf in gone)
    found = sheet_figures(replace(layout, leaves=leaves, cuts=()), {}, 0)
    cullet = found.cullet
    for leaf in layout.leaves:
        has = measured.get(leaf.offcut or "")
        if has is not None and leaf.offcut not in thrown:
            x0, y0, x1, y1 = box(leaf.outline)
            cullet += max(0, 2 * (x1 - x0) * (y1 - y0) - has)
    return Away(found.trim, cullet)
