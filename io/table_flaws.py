"""What the page for the table needs to say which panels and cuts a flaw hits: exact outlines, bands, and words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from panewright.io.flaw_words import KIND_WORDS, flaw_words, kind_word
from panewright.nesting.flaw_hits import tolerated
from panewright.nesting.flaws import KINDS
from panewright.nesting.outlines import Outline, box, is_rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Layout
from panewright.nesting.spots import flaws_of


def exact_sheet(
    layout: Layout, panels: Mapping[str, Panel], index: Mapping[str, int], piece: Mapping[str, int]
) -> dict[str, object]:
    """Cuts and panels of a sheet in whole nanometres, for the script.

    Parameters
    ----------
    layout
        The sheet.
    panels
        The panels of the plan by id.
    index
        Number of each panel in the data of the page.
    piece
        Number of each piece by its name.
    """
    found = []
    for leaf in layout.leaves:
        panel = panels.get(leaf.panel or "")
        if panel is None or leaf.piece not in piece:
            continue
        told: list[object] = [index[panel.id], piece[leaf.piece], flat(leaf.outline)]
        kinds: dict[str, object] = {}
        for kind in sorted({one.kind for one in panel.tolerates}):
            taken = tolerated(panel, leaf, kind)
            if taken is not None:
                bands = None if taken.bands is None else [[*a, *b, depth] for a, b, depth in taken.bands]
                kinds[kind] = [flat(taken.outline), bands]
        found.append([*told, kinds] if kinds else told)
    return {"cuts": [[*cut.start, *cut.end] for cut in layout.cuts], "panels": found}


def flat(outline: Outline) -> Sequence[int]:
    """Corners one after the other, or x, y, width and height of a rectangle along the axes. [nm]"""
    if is_rectangle(outline):
        x0, y0, x1, y1 = box(outline)
        return [x0, y0, x1 - x0, y1 - y0]
    return [n for point in outline for n in point]


def known_flaws(layout: Layout) -> list[list[object]]:
    """Flaws that the plan knows of: words, and whether an order tolerates the kind."""
    spots = set(layout.spots)
    return [[flaw_words(one), one in spots] for one in flaws_of(layout)]


def kinds_told() -> list[list[str]]:
    """The kinds of flaws that may be chosen, with their words; the empty one last."""
    return [[kind, kind_word(kind)] for kind in (*KINDS, "") if kind in KIND_WORDS]
