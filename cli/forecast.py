"""`panewright forecast`: the sheets that the next weeks need, and how sure that is."""

from __future__ import annotations

from pathlib import Path

import click

from panewright.cli.purchase_options import Asked, looks_ahead, offcuts_option, untested_option


@click.command("forecast", short_help="Foretell the sheets that the next weeks need, and how sure that is.")
@looks_ahead
@offcuts_option
@untested_option
@click.option(
    "--nests",
    type=click.IntRange(0, 100_000),
    default=60,
    show_default=True,
    metavar="N",
    help="Real plans for drawn weeks, those that most futures share first; the others go by the rule.",
)
def command(
    ctx: click.Context, asked: Asked, shop_path: Path | None, carried: bool, untested: bool, nests: int
) -> None:
    """Foretell the sheets that the next weeks need, from open ORDERS and the orders of the past.

    Orders to come are drawn from the order history, with all their panels, beside the orders that are booked already;
    each drawn week is turned into whole sheets by a rule that is held against real plans of past weeks. Shown are
    sheets by stock size and week with bands of 80 and 95 in 100 futures, joint totals, how long the stock lasts, and
    how well this and simpler methods would have foretold the past.

    \b
    Example:
      panewright forecast week-tanks.csv --history history.csv --stock stock.csv --on 2027-03-08 --out outlook
    """
    from panewright.cli.look import looking, tell

    with looking(ctx, asked, shop_path) as (desk, engine, told):
        from panewright.io.forecast_report import forecast_report
        from panewright.io.purchase_look import look_ahead

        look = look_ahead(
            desk,
            engine,
            weeks=asked.weeks,
            futures=asked.futures,
            seed=asked.seed,
            tested=not untested,
            carried=carried,
            nests=nests,
            told=told,
        )
        report = forecast_report(look)
    tell(ctx, asked, report, desk.shop)
