"""Tanks on the screen: the panels, the thickness check, by-products and what is to be said, tank by tank."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from panewright.cli.racks import ordered_tables
from panewright.cli.tables import table
from panewright.io.order_lists import Orders, TankOrder
from panewright.io.panel_list import Read
from panewright.io.problems import shown
from panewright.io.tank_figures import (
    CHECK_HEADINGS,
    PIECE_HEADINGS,
    SINGLE_HEADINGS,
    check_cells,
    facts,
    odd_singles,
    piece_cells,
    piece_rows,
    single_cells,
    tank_title,
)
from panewright.nesting.sequence import general_cautions
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr


def tanks_text(orders: Orders, shop: Shop) -> str:
    """Everything about the tanks of the lists, and how many panels there are in all."""
    parts = [_tank(order, shop) for order in orders.tanks]
    if odd := odd_singles(orders):
        parts.append(_singles(odd))
    single = len(orders.panels) - sum(
        len(order.settled.built.pieces) * order.settled.built.tank.quantity for order in orders.tanks
    )
    by_glass = Counter(panel.glass for panel in orders.panels)
    parts.append(
        tr(
            "{count} panels in all: {glasses}.",
            count=len(orders.panels),
            glasses=", ".join(f"{glass} {count}" for glass, count in sorted(by_glass.items())),
        )
    )
    if single:
        parts.append(tr("{count} of them are ordered as single panels, which are not checked.", count=single))
    parts += ordered_tables(orders.panels)
    if shop.work.to_the_mark:
        parts.append(
            tr(
                "Cut sizes of rectangles go up to what the tape shows where an edge is ground; so much more is"
                " ground off there."
            )
        )
    cautions = dict.fromkeys(line for order in orders.tanks for line in order.settled.check.cautions)
    lines = [*cautions, *general_cautions()]
    parts.append("\n".join([tr("Mind:"), *(f"  {line}" for line in lines)]))
    return "\n\n".join(parts)


def _singles(odd: Sequence[Read]) -> str:
    """The single panels that are no rectangles, with what is to be said of their shapes."""
    parts = [
        table(
            tr("Single panels that are no rectangles"),
            [tr(heading) for heading in SINGLE_HEADINGS],
            [single_cells(read) for read in odd],
            words=[len(SINGLE_HEADINGS) - 1],
            wrap=True,
        )
    ]
    said = [
        f"  ! {shown(f'{read.panel.order} {read.panel.name}', 100)}: {finding}"
        for read in odd
        for finding in read.findings
    ]
    return "\n\n".join([*parts, *(["\n".join(said)] if said else [])])


def _tank(order: TankOrder, shop: Shop) -> str:
    tank = order.settled.built.tank
    rows = [piece_cells(row, tank.quantity) for row in piece_rows(order, shop)]
    # no tank has openings in most weeks: an empty column tells nobody anything
    keep = [i for i, name in enumerate(PIECE_HEADINGS) if name != "openings" or any(row[i] for row in rows)]
    parts = [
        table(
            tank_title(order),
            [tr(PIECE_HEADINGS[i]) for i in keep],
            [[row[i] for i in keep] for row in rows],
            words=[len(keep) - 1],
            wrap=True,
        ),
        table(
            tr("Thickness check, water to the brim: {verdict}", verdict=order.settled.check.words),
            [tr(heading) for heading in CHECK_HEADINGS],
            check_cells(order),
            words=[len(CHECK_HEADINGS) - 2, len(CHECK_HEADINGS) - 1],
            wrap=True,
        ),
    ]
    lines = [*order.settled.advice, *facts(order, shop)]
    if tank.due is not None:
        lines.insert(0, tr("to be cut by {day}", day=tank.due.isoformat()))
    lines += [tr("! {said}", said=f) if f.loud else str(f) for f in order.findings]
    if tank.note:
        lines.append(tr("note: {note}", note=shown(tank.note, 200)))
    parts.append("\n".join(f"  {line}" for line in lines))
    return "\n\n".join(parts)
