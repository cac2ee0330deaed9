"""`panewright buy`: what to order today, what the next weeks will probably ask for, and why."""

from __future__ import annotations

from pathlib import Path

import click

from panewright.cli.purchase_options import Asked, looks_ahead, offcuts_option, untested_option


@click.command("buy", short_help="Say what to buy, when and from whom, and why.")
@looks_ahead
@offcuts_option
@untested_option
@click.option(
    "--no-pairs",
    "unpaired",
    is_flag=True,
    help="Do not work out what planning two weeks together would save.",
)
def command(
    ctx: click.Context, asked: Asked, shop_path: Path | None, carried: bool, untested: bool, unpaired: bool
) -> None:
    """Say what to buy today for open ORDERS and those to come, with the reasons, and when the next orders fall due.

    Open orders are planned week by week and held against stock and sheets on order: what is short, from which day on,
    for whom, and what can wait. Futures of the order book give reorder points and quantities for the wanted service,
    with lead times that vary, cases, price steps, freight and racks. Terms of suppliers come from --supply; how the shop
    buys stands in its shop file, table buying.

    \b
    Example:
      panewright buy week-tanks.csv --history history.csv --stock stock.csv --supply supply.csv --on 2027-03-08
    """
    from panewright.cli.look import looking, tell

    with looking(ctx, asked, shop_path) as (desk, engine, told):
        from panewright.io.buy_report import buy_report
        from panewright.io.purchase_buy import buying

        found = buying(
            desk,
            engine,
            weeks=asked.weeks,
            futures=asked.futures,
            seed=asked.seed,
            tested=not untested,
            carried=carried,
            pooled=not unpaired,
            told=told,
        )
        report = buy_report(found)
    tell(ctx, asked, report, desk.shop)
