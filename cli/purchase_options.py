"""What `forecast`, `buy` and `sizes` share: where orders, stock and terms come from, and how the work is run."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import update_wrapper
from pathlib import Path
from typing import Any, Final

import click

from panewright.cli import options

WEEKS: Final = 8
FUTURES: Final = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the command line asks of a command that looks ahead.

    Parameters
    ----------
    orders, history
        Order lists: what is open, and what was cut in the past.
    stock
        Stock list or address of a store, or None.
    supply, on_order
        Lists of terms of suppliers, and of sheets that are on order, or None.
    on
        The day of the look.
    weeks, futures, seed
        Of the forecast.
    workers, cluster
        Processes (None: one a core), or the address of a cluster.
    out
        Folder for the report, or None.
    replace
        Whether an earlier report may be replaced.
    as_json
        One JSON object instead of tables.
    """

    orders: tuple[Path, ...]
    history: tuple[Path, ...]
    stock: str | None
    supply: Path | None
    on_order: Path | None
    on: date
    weeks: int
    futures: int
    seed: int
    workers: int | None
    cluster: str | None
    out: Path | None
    replace: bool
    as_json: bool


orders_argument = click.argument("orders", nargs=-1, type=options.file_path, metavar="[ORDERS]...")
history_option = click.option(
    "--history",
    "history",
    multiple=True,
    type=options.file_path,
    metavar="FILE",
    help="Order list with the days on which orders came in and were cut; may be given again. Default: the orders "
    "of the plans in the stock store.",
)
supply_option = click.option(
    "--supply",
    "supply",
    type=options.file_path,
    metavar="FILE",
    help="List of what can be bought: sizes, prices, cases, days to come; default: the sizes of the shop file.",
)
on_order_option = click.option(
    "--on-order",
    "on_order",
    type=options.file_path,
    metavar="FILE",
    help="List of sheets that are on order; default: what the stock store knows.",
)
on_option = click.option(
    "--on", "on", callback=options.read_day, metavar="DAY", help="Day of the look.  [default: today]"
)
weeks_option = click.option(
    "--weeks",
    type=click.IntRange(1, 26),
    default=WEEKS,
    show_default=True,
    metavar="N",
    help="Weeks to look ahead, this one included.",
)
futures_option = click.option(
    "--futures",
    type=click.IntRange(20, 20_000),
    default=FUTURES,
    show_default=True,
    metavar="N",
    help="Futures that are drawn: 200 for bands, 500 for 95 in 100, 1000 for 99.",
)
workers_option = click.option(
    "--workers",
    type=click.IntRange(1, 1000),
    metavar="N",
    help="Processes that share the work.  [default: one a core]",
)
cluster_option = click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Dask cluster that does the work instead, as in tcp://127.0.0.1:8786 (extra cluster).",
)
out_option = click.option(
    "--out",
    "out",
    type=options.file_path,
    metavar="DIR",
    help="Folder for the report: workbook, page for the browser, PDF.",
)
offcuts_option = click.option(
    "--offcuts",
    "carried",
    is_flag=True,
    help="Offcuts pass from week to week: past weeks are nested one after another, and less is bought.",
)
untested_option = click.option(
    "--no-test",
    "untested",
    is_flag=True,
    help="Leave the back-test out: quicker, and the simulation of orders is used for every glass.",
)
replace_option = click.option("--replace", is_flag=True, help="Replace an earlier report in the out folder.")

_SHARED: Final = (
    orders_argument,
    history_option,
    options.stock_option,
    supply_option,
    on_order_option,
    on_option,
    weeks_option,
    futures_option,
    options.seed_option,
    options.shop_option,
    workers_option,
    cluster_option,
    out_option,
    replace_option,
    options.json_option,
)


def looks_ahead(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the shared arguments and options, as one `Asked`; `shop_path` and its own stay apart."""

    def run(
        ctx: click.Context,
        orders: tuple[Path, ...],
        history: tuple[Path, ...],
        stock_text: str | None,
        supply: Path | None,
        on_order: Path | None,
        on: date | None,
        weeks: int,
        futures: int,
        seed: int,
        workers: int | None,
        cluster: str | None,
        out: Path | None,
        replace: bool,
        as_json: bool,
        **own: Any,
    ) -> None:
        from panewright.cli.from_store import now

        asked = Asked(
            orders=orders,
            history=history,
            stock=stock_text,
            supply=supply,
            on_order=on_order,
            on=on or now().date(),
            weeks=weeks,
            futures=futures,
            seed=seed,
            workers=workers,
            cluster=cluster,
            out=out,
            replace=replace,
            as_json=as_json,
        )
        function(ctx, asked, **own)

    wrapped: Any = update_wrapper(run, function)
    for option in reversed(_SHARED):
        wrapped = option(wrapped)
    return click.pass_context(wrapped)
