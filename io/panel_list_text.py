"""The edgework of a panel as the word of a list, and panels as a panel list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from panewright.io.csv_text import csv_text
from panewright.io.numbers_text import length
from panewright.io.opening_words import opening_text
from panewright.io.tolerance_text import tolerates_text
from panewright.nesting.cut_shape import cut_shape
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.outlines import box, is_rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.shop import Shop
from panewright.nesting.text import local_number, tr
from panewright.nesting.tips import TipRule

HEADER: Final = (
    "order",
    "panel",
    "quantity",
    "width",
    "height",
    "glass",
    "due",
    "edges",
    "corners",
    "openings",
    "tips",
    "unit",
    "note",
)
"""Columns of a written panel list."""
RACK_HEADER: Final = ("rack", "slot", "tolerates")
"""Those that it has besides where a panel has a rack or tolerates flaws."""


def edge_text(edge: Edge) -> str:
    """One edge: ``polished``, ``mitre 22.5 down``."""
    words = [edge.work.value]
    if edge.mitre:
        words.append(f"{edge.mitre / 1000:g}" if edge.mitre % 1000 else str(edge.mitre // 1000))
    if edge.small_face:
        words.append(edge.small_face)
    return " ".join(words)


def edges_text(edges: Sequence[Edge]) -> str:
    """All edges in their order, one word where they are equal: ``ground|polished|polished|polished``."""
    words = [edge_text(edge) for edge in edges]
    return words[0] if len(set(words)) == 1 else "|".join(words)


def work_words(work: Work) -> str:
    """An edgework for people."""
    return tr("as cut") if work is Work.CUT else tr(work.value)


def edges_words(edges: Sequence[Edge]) -> str:
    """As `edges_text`, for people."""
    words = []
    for edge in edges:
        angle = local_number(f"{edge.mitre / 1000:g}") if edge.mitre else ""
        side = tr(edge.small_face) if edge.small_face else ""
        words.append(" ".join(word for word in (work_words(edge.work), angle, side) if word))
    return words[0] if len(set(words)) == 1 else "|".join(words)


def tips_text(panel: Panel, shop: Shop) -> str | None:
    """What a list must say of the tips of a panel, so that it is cut as it is; None where the shop does so."""
    if is_rectangle(panel.cut):
        return None
    words: list[tuple[str | None, TipRule]] = [
        (None, shop.tips),
        ("keep", replace(shop.tips, cut_back=False)),
        ("cut back", replace(shop.tips, cut_back=True)),
    ]
    for reach in sorted({tip.reach for tip in panel.tips}):
        words.append((length(reach), TipRule(cut_back=True, times=shop.tips.times, reach=reach)))
    rules = shop.rules(panel.glass)
    for word, rule in words:
        if cut_shape(panel.finished, panel.edges, rules, panel.turn, rule).tips == panel.tips:
            return word
    return None


def panel_list_text(panels: Sequence[Panel], shop: Shop) -> str:
    """Panels as a panel list in CSV that reads back to the same panels, ids included.

    Lengths are millimetres with up to six decimals. Panels that follow one another and differ in their
    running number alone share a row.

    Parameters
    ----------
    panels
        In their order.
    shop
        The one that will read the list: its habit of cutting tips back need not be written.
    """
    tips: dict[tuple[object, ...], str | None] = {}
    rows: list[list[object]] = []
    last: tuple[object, ...] = ()
    racked = any(panel.rack or panel.tolerates for panel in panels)
    for panel in panels:
        _, _, width, height = box(panel.finished)
        square = is_rectangle(panel.finished)
        shape = (panel.glass, panel.turn, panel.finished, panel.edges, panel.cut)
        if shape not in tips:
            tips[shape] = tips_text(panel, shop)
        row: list[object] = [
            panel.order,
            panel.name,
            1,
            length(width),
            length(height),
            panel.glass,
            panel.due.isoformat() if panel.due else None,
            edges_text(panel.edges),
            None if square else " | ".join(f"{length(x)} {length(y)}" for x, y in panel.finished),
            " | ".join(opening_text(opening) for opening in panel.openings) or None,
            tips[shape],
            "mm",
            panel.note or None,
        ]
        # a row of several takes as many slots from its own on: what would be the next one's goes with it
        first = (panel.slot or 0) - (int(str(rows[-1][2])) if rows and panel.slot else 0)
        key = (*row[:2], *row[3:], panel.rack, panel.tolerates, first)
        if key == last:
            rows[-1][2] = int(str(rows[-1][2])) + 1
            continue
        if racked:
            row += [panel.rack or None, panel.slot, tolerates_text(panel.tolerates) or None]
        rows.append(row)
        last = (*key[:-1], panel.slot or 0)
    return csv_text((*HEADER, *RACK_HEADER) if racked else HEADER, rows)
