"""`panewright panels`: tanks as panel lists, with thickness check, by-products and drawings."""

from __future__ import annotations

from pathlib import Path

import click

from panewright.cli import options
from panewright.cli.measured import measured_option


@click.command("panels")
@click.argument("lists", nargs=-1, required=True, metavar="LIST...", type=options.file_path)
@options.shop_option
@measured_option
@click.option(
    "--out",
    "out_path",
    type=options.file_path,
    metavar="DIR",
    help="Write the panel list, the check as JSON and an exploded drawing of every tank to this folder.",
)
@click.option("--replace", is_flag=True, help="Replace what an earlier run wrote to the folder.")
@options.json_option
@click.pass_context
def command(
    ctx: click.Context,
    lists: tuple[Path, ...],
    shop_path: Path | None,
    measured: tuple[str, ...],
    out_path: Path | None,
    replace: bool,
    as_json: bool,
) -> None:
    """Show the panels of the tanks in LISTs, tank by tank, with the thickness check.

    The check is a planning aid: a qualified person and the local codes decide. The panel list that
    --out writes can be planned as it is; `plan` reads the tank orders themselves as well.

    \b
    Example:
      panewright panels orders.csv
      panewright panels orders.csv --out week-10-panels
    """
    from panewright.cli.failures import Exit, program
    from panewright.cli.measured import measured_lines, with_measured
    from panewright.cli.output import err, out, out_json
    from panewright.cli.tank_tables import tanks_text
    from panewright.io.order_lists import read_orders
    from panewright.io.problems import Problems
    from panewright.io.tank_files import tank_files, tanks_json
    from panewright.io.tank_folder import write_tank_folder
    from panewright.nesting.text import tr
    from panewright.nesting.units import use_style

    problems = Problems()
    shop = options.choose_shop(shop_path, problems)
    use_style(shop.length_style)
    shop = with_measured(shop, measured, None, problems)
    orders = read_orders(lists, shop, problems)
    if not orders.panels and not problems:
        problems.add(
            ", ".join(map(str, lists)), tr("there is no tank or panel in it"), tr("fill in a row for each")
        )
    for line in problems.lines():
        err(line)
    if problems:
        if as_json:
            out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
        err(tr("errors: {count}; nothing was written", count=problems.error_count))
        ctx.exit(Exit.INPUT)
    if out_path is not None:
        write_tank_folder(out_path, tank_files(orders, shop, program()), replace=replace)
    for line in measured_lines(shop):
        err(line)
    if as_json:
        out_json({"exit_code": int(Exit.DONE), **tanks_json(orders, shop, program()), **problems.to_json()})
    else:
        out(tanks_text(orders, shop))
        if out_path is not None:
            out(tr("Written to {folder}: panel list, check and drawings.", folder=out_path))
    ctx.exit(Exit.DONE)
