"""`panewright stock trace`: where a panel came from, and what came from a sheet, a case or an offcut."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.stock_options import store_option
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from panewright.io.store.spread import Spread
    from panewright.io.store.tracing import Origin, PanelTrace

SHOWN_PANELS = 200
"""Panels told one by one; `--json` lists them all."""


@click.command("trace", short_help="Where a panel came from; what came from a sheet, case or offcut.")
@click.argument("name", metavar="NAME")
@store_option
@options.json_option
def command(name: str, stock: str | None, as_json: bool) -> None:
    """Tell where NAME came from and what came from it.

    NAME is a sheet as in Q7K2-9DMX.3, the number of a case or of an offcut: all panels from it are told, through its
    offcuts too. Else it is a panel, an order or a part of a panel's id: sheet, case, who cut it and when, what broke,
    what was made again.

    \b
    Example:
      panewright stock trace K-204/front/1
      panewright stock trace C-1187
    """
    from panewright.cli.output import out, out_json
    from panewright.cli.recording import opened
    from panewright.io.store.errors import UnknownName
    from panewright.io.store.spread import spread_of
    from panewright.io.store.tracing import panels_like
    from panewright.io.store.tracing_json import panel_json, spread_json

    with opened(stock) as connection:
        try:
            spread = spread_of(connection, name)
        except UnknownName:
            spread = None
        if spread is not None:
            if as_json:
                out_json({"exit_code": 0, **spread_json(spread)})
            else:
                out(_spread_text(connection, spread))
            return
        traces = panels_like(connection, name)
        cases = [_case(connection, trace) for trace in traces]
        if as_json:
            out_json(
                {
                    "exit_code": 0,
                    "panels": [panel_json(t, case) for t, case in zip(traces, cases, strict=True)],
                }
            )
            return
        texts = [_panel_text(t, case) for t, case in zip(traces, cases, strict=True)]
        more = len(texts) - SHOWN_PANELS
        out("\n\n".join(texts[:SHOWN_PANELS]))
        if more > 0:
            out(tr("and {count} more", count=more))


def _case(connection: Connection, trace: PanelTrace) -> str | None:
    from panewright.io.store.tracing import case_of

    last = trace.origins[-1].item if trace.origins else None
    return None if last is None or not last.is_one_piece else case_of(connection, last.name)


def _panel_text(trace: PanelTrace, case: str | None) -> str:
    from panewright.io.problems import shown

    due = tr("due {day}", day=trace.due.isoformat()) if trace.due else tr("no due day")
    lines = [
        tr(
            "Panel {panel}: order {order}, {glass}, {due}",
            panel=shown(trace.panel, 160),
            order=shown(trace.order, 80),
            glass=trace.glass,
            due=due,
        )
    ]
    lines += [f"  {_origin_text(one)}" for one in trace.origins]
    if case is not None:
        lines.append(f"  {tr('{name} was a sheet of case {case}', name=_last(trace), case=shown(case, 80))}")
    if not trace.origins:
        lines.append(f"  {tr('on no sheet of plan {plan}', plan=trace.plan)}")
    for event in trace.broken:
        words = tr(
            "broke at {step} on {time}, recorded by {who}",
            step=tr(event.at_step.value) if event.at_step else "-",
            time=event.at.astimezone().strftime("%Y-%m-%d %H:%M"),
            who=shown(event.who or "-", 80),
        )
        lines.append(f"  {words}{': ' + shown(event.note, 200) if event.note else ''}")
    for title, names in (
        (tr("made again for"), trace.remakes),
        (tr("made again as"), trace.remade_as),
        (tr("serves"), (trace.given_to,) if trace.given_to else ()),
    ):
        if names:
            lines.append(f"  {title} {', '.join(shown(n, 160) for n in names)}")
    return "\n".join(lines)


def _last(trace: PanelTrace) -> str:
    last = trace.origins[-1].item
    return "-" if last is None else last.name


def _origin_text(origin: Origin) -> str:
    from panewright.io.flaw_words import TOLD, flaw_words
    from panewright.io.problems import shown

    if origin.item is None:
        source = tr("{stock}, no glass", stock=shown(origin.stock, 80))
    elif origin.item.is_offcut:
        source = tr("offcut {name}", name=shown(origin.item.name, 80))
    elif origin.item.flaws:
        source = tr("sheet {name}", name=shown(origin.item.name, 80))
    else:
        source = tr("case {name}", name=shown(origin.item.name, 80))
        if origin.item.supplier:
            source = tr("{source} of {supplier}", source=source, supplier=shown(origin.item.supplier, 80))
    if origin.item is not None and origin.item.flaws:
        words = "; ".join(map(flaw_words, origin.item.flaws[:TOLD]))
        source = tr("{source} with {flaws}", source=source, flaws=words)
    if origin.cut_at is not None:
        when = tr(
            "cut on {time} by {who}",
            time=origin.cut_at.astimezone().strftime("%Y-%m-%d %H:%M"),
            who=shown(origin.cut_by or "-", 80),
        )
    else:
        when = tr(origin.state.value)
    return tr(
        "sheet {number} of plan {plan}, {when}, from {source}",
        number=origin.number,
        plan=origin.plan,
        when=when,
        source=source,
    )


def _spread_text(connection: Connection, spread: Spread) -> str:
    from panewright.cli.stock_flaw import flaws_words
    from panewright.cli.tables import table
    from panewright.io.problems import shown

    parts = []
    if spread.sheets:
        parts.append("\n".join(_origin_text(one) for one in spread.sheets))
    else:
        parts.append(tr("Nothing was or is to be cut from {name}.", name=shown(spread.name, 80)))
    if spread.items:
        flawed = any(i.flaws for i in spread.items)
        rows = [
            [
                shown(i.name, 80),
                _where(i.balance.on_hand, i.balance.expected),
                shown(i.place, 80) or "-",
                *([flaws_words(i) or "-"] if flawed else []),
            ]
            for i in spread.items
        ]
        parts.append(
            table(
                tr("Offcuts of it"),
                [tr("number"), tr("now"), tr("place"), *([tr("flaws")] if flawed else [])],
                rows,
                left=4,
            ).strip("\n")
        )
    if spread.panels:
        rows = [
            [
                shown(one.panel, 160),
                shown(one.order, 80),
                f"{one.plan}.{one.sheet}",
                tr("broken") if one.broken else tr("cut") if one.cut else tr("not cut yet"),
                shown(one.given_to, 160) if one.given_to else "-",
            ]
            for one in spread.panels[:SHOWN_PANELS]
        ]
        if len(spread.panels) > SHOWN_PANELS:
            rows.append([tr("and {count} more", count=len(spread.panels) - SHOWN_PANELS), "", "", "", ""])
        title = tr("Panels from {name}", name=shown(spread.name, 80))
        heads = [tr("panel"), tr("order"), tr("sheet"), tr("state"), tr("serves")]
        parts.append(table(title, heads, rows, left=5).strip("\n"))
    return "\n\n".join(parts)


def _where(on_hand: int, expected: int) -> str:
    if on_hand:
        return tr("in the rack")
    return tr("expected") if expected else tr("not there")
