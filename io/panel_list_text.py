"""The edgework of a panel as the word of a list, and panels as a panel list."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from panewright.io.csv_text import csv_text
from panewright.io.numbers_text import length
from panewright.io.opening_words import opening_text
from panewright.nesting.edgework import Edge
from panewright.nesting.outlines import box, is_rectangle
from panewright.nesting.panels import Panel

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
    "unit",
    "note",
)
"""Columns of a written panel list."""


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


def panel_list_text(panels: Sequence[Panel]) -> str:
    """Panels as a panel list in CSV that reads back to the same panels, ids included.

    Lengths are millimetres with up to six decimals. Panels that follow one another and differ in their
    running number alone share a row.
    """
    rows: list[list[object]] = []
    last: tuple[object, ...] = ()
    for panel in panels:
        _, _, width, height = box(panel.finished)
        square = is_rectangle(panel.finished)
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
            "mm",
            panel.note or None,
        ]
        key = (*row[:2], *row[3:])
        if key == last:
            rows[-1][2] = int(str(rows[-1][2])) + 1
        else:
            rows.append(row)
            last = key
    return csv_text(HEADER, rows)
