"""Racks and flaws on the screen: of order lists, and of a plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from panewright.cli.tables import table
from panewright.io.problems import shown
from panewright.io.rack_words import around, flawed, in_panels, kinds_text, racks_of, tolerating
from panewright.io.tolerance_text import tolerates_words
from panewright.nesting.ordered.rack_list import RackPlace, leaves_table, open_racks, racks_in_order
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan
from panewright.nesting.text import tr, tr_count

SHOWN: Final = 30
"""Racks and sheets told one by one; files list them all."""


def ordered_tables(panels: Sequence[Panel]) -> list[str]:
    """Racks and tolerated flaws of what is ordered; nothing where there are none."""
    parts = []
    racks = racks_of(panels)
    if racks:
        rows = [[shown(r.name, 60), r.glass, str(len(r.panels)), shown(r.slots, 60)] for r in racks[:SHOWN]]
        parts.append(
            table(
                tr("Racks and slots"),
                [tr("rack"), tr("glass"), tr("pieces"), tr("slots")],
                [*rows, *_more(len(racks), 4)],
                left=2,
            )
        )
    taken = tolerating(panels)
    if taken:
        rows = [
            [shown(f"{p.order} {p.name}", 100), str(count), tolerates_words(p.tolerates)]
            for p, count in taken[:SHOWN]
        ]
        parts.append(
            table(
                tr("Tolerated flaws"),
                [tr("panel"), tr("pieces"), tr("flaws")],
                [*rows, *_more(len(taken), 3)],
                left=1,
                words=[2],
                wrap=True,
            )
        )
    return parts


def ordered_line(panels: Sequence[Panel]) -> str:
    """How many racks and tolerating panels there are; empty where there are none."""
    racks = racks_of(panels)
    tolerant = sum(count for _, count in tolerating(panels))
    if not racks and not tolerant:
        return ""
    return tr(
        "racks: {racks}, panels on them: {placed}, panels that tolerate flaws: {tolerant}",
        racks=len(racks),
        placed=sum(len(rack.panels) for rack in racks),
        tolerant=tolerant,
    )


def plan_tables(plan: Plan) -> list[str]:
    """The racks of a plan, the most open at once, and its sheets with flaws; nothing where there are none."""
    parts = []
    places = leaves_table(plan)
    if places:
        parts.append(_racks(places))
    sheets = flawed(plan)
    if sheets:
        rows = [
            [str(x.number), shown(x.stock, 60), kinds_text(around(x)), kinds_text(in_panels(x))]
            for x in sheets[:SHOWN]
        ]
        parts.append(
            table(
                tr("Sheets with flaws"),
                [tr("sheet"), tr("stock"), tr("planned around"), tr("tolerated by a panel")],
                [*rows, *_more(len(sheets), 4)],
                words=[1, 2, 3],
                wrap=True,
            )
        )
    return parts


def _racks(places: Sequence[RackPlace]) -> str:
    racks = racks_in_order(places)
    rows = []
    for rack, found in list(racks.items())[:SHOWN]:
        there = sorted((p for p in found if p.turn is not None), key=lambda p: p.turn or 0)
        rows.append(
            [
                shown(rack, 60),
                found[0].glass,
                str(len(found)),
                _when(there[0]) if there else "-",
                _when(there[-1]) if there else "-",
            ]
        )
    most = max((len(o.racks) for o in open_racks(places)), default=0)
    told = table(
        tr("Racks"),
        [tr("rack"), tr("glass"), tr("pieces"), tr("first one free after"), tr("last one free after")],
        [*rows, *_more(len(racks), 5)],
        left=2,
    )
    if not any(p.turn is not None for p in places):
        return told
    said = tr_count("At most {count} rack is open at once.", "At most {count} racks are open at once.", most)
    if not most:
        said = tr("No rack stays open: one cut frees all of its panels.")
    return f"{told.rstrip()}\n{said}"


def too_many_open(plan: Plan, limit: int | None) -> str:
    """That more racks of a glass are open at once than was asked for, if so; else empty."""
    if limit is None:
        return ""
    places = leaves_table(plan)
    most = {
        glass: max((len(o.racks) for o in open_racks([p for p in places if p.glass == glass])), default=0)
        for glass in sorted({p.glass for p in places})
    }
    over = [f"{glass}: {count}" for glass, count in most.items() if count > limit]
    if not over:
        return ""
    return tr(
        "more than {limit} racks are open at once ({found}): --open-racks could not be kept on the way these sheets are cut",
        limit=limit,
        found=", ".join(over),
    )


def _when(place: RackPlace) -> str:
    return tr("sheet {sheet}, step {step}", sheet=place.sheet, step=place.step)


def _more(count: int, columns: int) -> list[list[str]]:
    """A last row that counts what is not shown."""
    if count <= SHOWN:
        return []
    return [[tr("and {count} more", count=count - SHOWN), *[""] * (columns - 1)]]
