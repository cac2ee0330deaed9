"""What `draw` makes of a plan, by name: drawings as DXF and SVG, the cut book, the labels, the page for the table.

A new output is one entry of `OUTPUTS`: its name, and a function that gives files.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from panewright.io.drawings import FORMATS, drawing_files
from panewright.nesting.plan import Plan
from panewright.nesting.sequence import LIFTS
from panewright.nesting.shop_table import Lifts, Printing
from panewright.nesting.units import LengthUnit

Files = Iterator[tuple[str, bytes]]
"""Names, which bear the id of the plan, and contents."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What is wanted of the outputs.

    Parameters
    ----------
    sheets
        Numbers of the sheets; None for all. The page for the table always holds all of them.
    panels
        Whether the panels on them are drawn as well.
    unit
        Unit of the drawings; None as the plan has it.
    printing
        Paper of the cut book and form of the labels.
    lifts
        What people lift by hand.
    first
        Position of the first label.
    slots
        Rack and slot by order, where they are known.
    warnings
        What whoever uses the plan must hear first: that it does not pass its check.
    pieces
        Panels that get a label though their sheet is not among `sheets`.
    """

    sheets: frozenset[int] | None = None
    panels: bool = True
    unit: LengthUnit | None = None
    printing: Printing = field(default_factory=Printing)
    lifts: Lifts = LIFTS
    first: int = 1
    slots: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    pieces: frozenset[str] = frozenset()


def _book(plan: Plan, wishes: Wishes) -> Files:
    from panewright.io.cut_book import book_bytes, book_name

    yield (
        book_name(plan),
        book_bytes(
            plan,
            paper=wishes.printing.paper,
            lifts=wishes.lifts,
            sheets=wishes.sheets,
            warnings=wishes.warnings,
        ),
    )


def _labels(plan: Plan, wishes: Wishes) -> Files:
    from panewright.io.piece_labels import labels_bytes, labels_name

    content = labels_bytes(
        plan,
        form=wishes.printing.labels,
        slots=wishes.slots,
        first=wishes.first,
        sheets=wishes.sheets,
        pieces=wishes.pieces,
        lifts=wishes.lifts,
    )
    yield labels_name(plan), content


def _page(plan: Plan, wishes: Wishes) -> Files:
    from panewright.io.table_page import table_page, table_page_name

    text = table_page(plan, lifts=wishes.lifts, warnings=wishes.warnings)
    yield table_page_name(plan), text.encode("utf-8")


OUTPUTS: Final[Mapping[str, Callable[[Plan, Wishes], Files]]] = {
    "book": _book,
    "labels": _labels,
    "page": _page,
}
"""Outputs of one file each; DXF and SVG, which share their scenes, come before them."""
NAMES: Final = (*FORMATS, *OUTPUTS)


def output_files(plan: Plan, names: Sequence[str], wishes: Wishes) -> Files:
    """The files of some outputs, in the order of `NAMES`.

    Parameters
    ----------
    plan
        The plan.
    names
        Some of `NAMES`.
    wishes
        What is wanted of them.

    Raises
    ------
    CutFault
        From the cut book, when the cuts of the plan cannot be made as written.
    """
    formats = [name for name in FORMATS if name in names]
    if formats:
        sheets = True if wishes.sheets is None else wishes.sheets
        yield from drawing_files(plan, formats=formats, sheets=sheets, panels=wishes.panels, unit=wishes.unit)
    for name, make in OUTPUTS.items():
        if name in names:
            yield from make(plan, wishes)
