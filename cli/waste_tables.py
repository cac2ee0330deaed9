"""Waste figures on the screen: by sheet, by glass and by order, as defined in `nesting.figures`."""

from __future__ import annotations

from panewright.cli.summary import per_cent
from panewright.cli.tables import table
from panewright.io.numbers_text import kilograms, said_metres
from panewright.nesting.figures import Figures, PlanFigures
from panewright.nesting.plan import Plan
from panewright.nesting.text import local_number, tr
from panewright.nesting.units import show_money


def _row(f: Figures) -> list[str]:
    return [
        str(f.panels),
        said_metres(f.sheet, 3),
        said_metres(f.cut, 3),
        said_metres(f.trim, 3),
        said_metres(f.cullet, 3),
        said_metres(f.offcut, 3),
        per_cent(f.gross_yield),
        per_cent(f.net_yield),
        per_cent(f.finished_yield),
        local_number(kilograms(f.scrap_grams)),
        show_money(f.cost),
    ]


def _headings() -> list[str]:
    return [
        tr("panels"),
        tr("sheet area"),
        tr("cut area"),
        tr("trim"),
        tr("cullet"),
        tr("offcuts"),
        tr("yield"),
        tr("net yield"),
        tr("finished yield"),
        tr("scrap kg"),
        tr("cost"),
    ]


def waste_tables(plan: Plan, figures: PlanFigures) -> str:
    """Three tables; areas in m2, money in the plan's currency."""
    names = {layout.number: layout.stock for layout in plan.layouts}
    sheets = [[str(number), names[number], *_row(f)] for number, f in figures.by_sheet.items()]
    glasses = [[glass, *_row(f)] for glass, f in figures.by_glass.items()]
    orders = [
        [
            order,
            str(f.panels),
            said_metres(f.cut, 3),
            said_metres(f.finished, 3),
            said_metres(f.waste_share, 3),
            show_money(f.cost_share),
        ]
        for order, f in figures.by_order.items()
    ]
    unit = tr("areas in m2, money in {currency}", currency=plan.currency)
    return "\n\n".join(
        [
            table(
                tr("Waste by sheet, {unit}", unit=unit),
                [tr("sheet"), tr("stock"), *_headings()],
                sheets,
                left=2,
            ),
            table(
                tr("Waste by glass, {unit}", unit=unit),
                [tr("glass"), *_headings()],
                [*glasses, [tr("all"), *_row(figures.total)]],
            ),
            table(
                tr("Waste by order, {unit}", unit=unit),
                [
                    tr("order"),
                    tr("panels"),
                    tr("cut area"),
                    tr("finished area"),
                    tr("share of waste"),
                    tr("share of cost"),
                ],
                orders,
            ),
        ]
    )
