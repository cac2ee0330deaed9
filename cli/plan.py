"""`panewright plan`: panel lists and stock in, a checked plan with all its files out."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from panewright.cli import options
from panewright.cli.measured import measured_option


@click.command("plan")
@click.argument("lists", nargs=-1, required=True, metavar="LIST...", type=options.file_path)
@options.stock_option
@options.expected_option
@options.commit_option
@options.who_option
@options.shop_option
@options.out_option()
@options.seconds_option
@options.effort_option
@options.seed_option
@click.option("--rest", is_flag=True, help="Plan the rest where no stock can yield a panel.")
@options.keep_option
@options.sheets_option
@options.leave_out_option
@options.pin_option
@options.any_order_option
@options.orders_as_racks_option
@options.open_racks_option
@options.few_open_option
@options.own_blanks_option
@options.from_option
@options.fillers_option
@options.spares_option
@options.breakage_option
@measured_option
@options.replace_option
@options.json_option
@options.steps_option
@options.waste_option
@options.why_option
@options.print_option
@options.sheets_alone_option
@click.pass_context
def command(
    ctx: click.Context,
    lists: tuple[Path, ...],
    stock_text: str | None,
    expected: bool,
    commit: bool,
    who: str | None,
    shop_path: Path | None,
    out_path: Path,
    seconds: float | None,
    effort: int | None,
    seed: int,
    rest: bool,
    keep_path: Path | None,
    sheets: tuple[int, ...] | None,
    left_out: tuple[str, ...],
    pins: tuple[tuple[str, str], ...],
    any_order: bool,
    orders_as_racks: bool,
    open_racks: int | None,
    few_open: str | None,
    own_blanks: bool,
    start_day: date | None,
    fillers_path: Path | None,
    spares: bool,
    breakage_path: Path | None,
    measured: tuple[str, ...],
    replace: bool,
    as_json: bool,
    show_steps: bool,
    show_waste: bool,
    ask_why: bool,
    printed: bool,
    sheets_alone: bool,
) -> None:
    """Plan panel LISTs on stock: layouts, cut sequence, waste figures and drawings.

    The search ends after 20 seconds unless --seconds or --effort says otherwise, or as soon as the
    plan is proven optimal; Ctrl-C keeps the best plan so far. Everything is written to --out, or
    nothing. --keep takes over sheets of an earlier plan: the lists still hold their panels, and the
    stock list the sheets that they are cut from. With a stock store --commit reserves what the plan uses.

    \b
    Example:
      panewright plan monday.csv tuesday.csv --stock rack.csv --out week-10 --seconds 60
      panewright plan monday.csv more.csv --stock rack.csv --keep week-10 --sheets 1-4 --out week-10b
      panewright plan monday.csv --stock stock.db --commit --out week-10
    """
    from panewright.io import kernel_cache, solver_banner

    options.one_limit(seconds, effort)
    options.keep_with_sheets(keep_path, sheets)
    options.breakage_with_spares(breakage_path, spares)

    kernel_cache.prepare()
    solver_banner.hush()

    from panewright.cli.planning import Run, run_plan
    from panewright.cli.searching import Limit
    from panewright.cli.wishes import Wishes

    stock, store = options.stock_source(stock_text, expected=expected, commit=commit, who=who)
    if seconds is None and effort is None:
        seconds = options.DEFAULT_SECONDS
    code = run_plan(
        Run(
            lists=lists,
            stock=stock,
            store=store,
            shop=shop_path,
            out=out_path,
            limit=Limit(seconds, effort),
            seed=seed,
            rest=rest,
            replace=replace,
            as_json=as_json,
            show_steps=show_steps,
            show_waste=show_waste,
            ask_why=ask_why,
            panel_drawings=not sheets_alone,
            printed=printed,
            wishes=Wishes(
                keep=keep_path,
                sheets=sheets or None,
                leave_out=left_out,
                pins=pins,
                any_order=any_order,
                orders_as_racks=orders_as_racks,
                open_racks=open_racks,
                few_open=None if few_open is None else -1 if few_open == "best" else int(few_open) - 1,
                own_blanks=own_blanks,
                start_day=start_day,
                fillers=fillers_path,
                spares=spares,
                breakage=breakage_path,
                measured=measured,
            ),
        )
    )
    ctx.exit(code)
