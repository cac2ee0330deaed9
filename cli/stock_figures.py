"""`panewright stock figures`: yield, waste, offcuts and breakage of a period, beside what was planned."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import click

from panewright.cli import options
from panewright.cli.stock_options import store_option
from panewright.nesting.text import local_number, tr

if TYPE_CHECKING:
    from panewright.io.store.offcut_flow import OffcutFlow
    from panewright.io.store.period import GlassPeriod, Period
    from panewright.nesting.figures import Figures


@click.command("figures", short_help="Yield, waste, offcuts and breakage of some days, beside the plan.")
@click.option(
    "--from", "first", callback=options.read_day, required=True, metavar="DAY", help="The first day."
)
@click.option("--to", "last", callback=options.read_day, required=True, metavar="DAY", help="The last day.")
@store_option
@options.json_option
def command(first: date, last: date, stock: str | None, as_json: bool) -> None:
    """Tell what was planned and what was really cut on some days, by glass and in total.

    Planned are the sheets of plans in the store by their cutting day, those without one by the day of the commit.
    Recorded are the sheets that were cut, with broken panels and offcuts thrown away counted as waste.

    \b
    Example:
      panewright stock figures --from 2027-03-01 --to 2027-03-31
    """
    from panewright.cli.output import out, out_json
    from panewright.cli.recording import opened
    from panewright.io.store.period import figures_over

    if last < first:
        raise click.UsageError(tr("--to lies before --from"))
    with opened(stock) as connection:
        period = figures_over(connection, _start_of(first), _start_of(last + timedelta(days=1)))
    if as_json:
        out_json({"exit_code": 0, **period_json(period)})
    else:
        out(_text(period))


def _start_of(day: date) -> datetime:
    """The first moment of a day on this machine."""
    return datetime.combine(day, time()).astimezone()


def _text(period: Period) -> str:
    from panewright.cli.summary import per_cent
    from panewright.cli.tables import table
    from panewright.io.numbers_text import kilograms, said_metres

    rows: list[list[str]] = []
    breakage: list[list[str]] = []
    offcuts: list[list[str]] = []
    lines = [*period.by_glass.items()]
    if len(lines) != 1:
        lines.append((tr("all"), period.total))
    for glass, one in lines:
        for kind, f in ((tr("planned"), one.planned), (tr("recorded"), one.recorded)):
            rows.append(
                [
                    glass,
                    kind,
                    str(f.sheets),
                    said_metres(f.sheet),
                    per_cent(f.gross_yield if f.sheet else None),
                    per_cent(f.net_yield if f.sheet - f.offcut else None),
                    per_cent(f.finished_yield if f.sheet else None),
                    said_metres(f.offcut),
                    said_metres(f.cullet),
                    said_metres(f.trim),
                    local_number(kilograms(f.scrap_grams)),
                ]
            )
        flow = one.offcuts
        offcuts.append(
            [
                glass,
                _pieces(flow.made, flow.made_area),
                _pieces(flow.used, flow.used_area),
                _pieces(flow.thrown, flow.thrown_area),
                str(flow.unsaid),
                _pieces(flow.in_rack, flow.rack_area),
                "-" if flow.mean_age is None else _tenths(flow.mean_age),
            ]
        )
        for step, count in one.broken.items():
            breakage.append([glass, tr(step.value), str(count)])
    days = tr("{first} to {last}", first=period.first.isoformat(), last=period.last.isoformat())
    parts = [
        table(
            tr("Glass from {days}", days=days),
            [
                tr("glass"),
                "",
                tr("sheets"),
                tr("m2"),
                tr("yield"),
                tr("net yield"),
                tr("finished yield"),
                tr("offcuts m2"),
                tr("cullet m2"),
                tr("trim m2"),
                tr("scrap kg"),
            ],
            rows,
            left=2,
        ),
        table(
            tr("Offcuts"),
            [
                tr("glass"),
                tr("kept"),
                tr("used"),
                tr("thrown"),
                tr("nothing said"),
                tr("in the rack"),
                tr("mean age in days"),
            ],
            offcuts,
        ),
    ]
    if breakage:
        parts.append(table(tr("Panels broken"), [tr("glass"), tr("at"), tr("panels")], breakage, left=2))
    if period.total.scrapped:
        parts.append(
            tr(
                "Sheets scrapped or broken in the rack: {pieces} m2.",
                pieces=_pieces(period.total.scrapped, period.total.scrapped_area),
            )
        )
    return "\n\n".join(part.strip("\n") for part in parts)


def _tenths(value: Fraction) -> str:
    tenths = (value * 20 + 1) // 2
    return local_number(f"{tenths // 10}.{tenths % 10}")


def _pieces(count: int, area: int) -> str:
    from panewright.io.numbers_text import said_metres

    return tr("{count}, {area}", count=count, area=said_metres(area)) if count else "0"


def period_json(period: Period) -> dict[str, Any]:
    """For programs; areas in m2."""
    return {
        "from": period.first.isoformat(),
        "to": period.last.isoformat(),
        "total": _glass_json(period.total),
        "by_glass": {glass: _glass_json(one) for glass, one in period.by_glass.items()},
    }


def _glass_json(one: GlassPeriod) -> dict[str, Any]:
    from panewright.io.numbers_text import square_metres

    return {
        "planned": _figures_json(one.planned),
        "recorded": _figures_json(one.recorded),
        "offcuts": _flow_json(one.offcuts),
        "broken": {step.value: count for step, count in one.broken.items()},
        "scrapped": one.scrapped,
        "scrapped_area_m2": square_metres(one.scrapped_area),
    }


def _figures_json(f: Figures) -> dict[str, Any]:
    from panewright.io.numbers_text import kilograms, money, ratio, square_metres

    def share(value: Fraction, of: int) -> Any:
        return ratio(value if of else None)

    return {
        "sheets": f.sheets,
        "sheet_area_m2": square_metres(f.sheet),
        "cut_area_m2": square_metres(f.cut),
        "finished_area_m2": square_metres(f.finished),
        "trim_area_m2": square_metres(f.trim),
        "cullet_area_m2": square_metres(f.cullet),
        "offcut_area_m2": square_metres(f.offcut),
        "spare_area_m2": square_metres(f.spare),
        "filler_area_m2": square_metres(f.filler),
        "yield": share(f.gross_yield, f.sheet),
        "net_yield": share(f.net_yield, f.sheet - f.offcut),
        "finished_yield": share(f.finished_yield, f.sheet),
        "scrap_kg": kilograms(f.scrap_grams),
        "cost": money(f.cost),
    }


def _flow_json(flow: OffcutFlow) -> dict[str, Any]:
    from panewright.io.numbers_text import ratio, square_metres

    return {
        "kept": flow.made,
        "kept_area_m2": square_metres(flow.made_area),
        "used": flow.used,
        "used_area_m2": square_metres(flow.used_area),
        "thrown": flow.thrown,
        "thrown_area_m2": square_metres(flow.thrown_area),
        "nothing_said": flow.unsaid,
        "in_rack": flow.in_rack,
        "in_rack_area_m2": square_metres(flow.rack_area),
        "mean_age_days": ratio(flow.mean_age, 3),
    }
