"""`panewright orders`: write an order list to fill in, or check order lists."""

from __future__ import annotations

from pathlib import Path

import click

from panewright.cli import options


@click.group("orders")
def command() -> None:
    """Write an order list to fill in, or check order lists.

    \b
    Example:
      panewright orders template orders.xlsx
      panewright orders check orders.xlsx
    """


@command.command("template", short_help="Write an order list with an example row of each kind.")
@click.argument("path", metavar="[FILE]", type=options.file_path, default=Path("orders.csv"))
@click.option("--replace", is_flag=True, help="Replace the files if they are there.")
def template(path: Path, replace: bool) -> None:
    """Write an order list with an example row of each kind (default: orders.csv).

    The ending of FILE decides what it is: .csv, .xlsx, .toml or .json. Beside it comes the DXF
    drawing of a base that one of the rows names.

    \b
    Example:
      panewright orders template
      panewright orders template orders.xlsx
    """
    from panewright.cli.failures import Exit, Failure, already_there, writing
    from panewright.cli.output import err
    from panewright.io.order_template import template_files
    from panewright.nesting.text import tr

    files = template_files(path)
    if files is None:
        raise Failure(
            tr("{path} is none of .csv, .xlsx, .toml, .json; give it such an ending", path=path), Exit.USAGE
        )
    there = [] if replace else [target for target, content in files.items() if _holds_other(target, content)]
    if there:
        raise already_there(there[0])
    for target, content in files.items():
        if target != path and not replace and target.exists():
            continue  # the same drawing, from an earlier template
        with writing(target), target.open("wb" if replace else "xb") as stream:
            stream.write(content)
    err(tr("wrote {paths}: keep the rows that you need", paths=", ".join(map(str, files))))


def _holds_other(target: Path, content: bytes) -> bool:
    """Whether something else than this is there; a list is never taken for its own template."""
    if not target.exists():
        return False
    return target.suffix != ".dxf" or not target.is_file() or target.read_bytes() != content


@command.command("check", short_help="Say what is wrong with order lists.")
@click.argument("lists", nargs=-1, required=True, metavar="LIST...", type=options.file_path)
@options.shop_option
@options.json_option
@click.pass_context
def check(ctx: click.Context, lists: tuple[Path, ...], shop_path: Path | None, as_json: bool) -> None:
    """Check order LISTs, or say what is wrong with them.

    \b
    Example:
      panewright orders check orders.csv
      panewright orders check monday.csv tuesday.xlsx --json
    """
    from panewright.cli.failures import Exit
    from panewright.cli.output import err, out, out_json
    from panewright.cli.racks import ordered_line
    from panewright.io.order_lists import read_orders
    from panewright.io.problems import Problems
    from panewright.io.rack_words import ordered_json
    from panewright.nesting.text import tr
    from panewright.nesting.units import use_style

    problems = Problems()
    shop = options.choose_shop(shop_path, problems)
    use_style(shop.length_style)
    orders = read_orders(lists, shop, problems)
    tanks = sum(order.settled.built.tank.quantity for order in orders.tanks)
    if as_json:
        out_json(
            {
                "files": [str(path) for path in lists],
                **problems.to_json(),
                "tanks": tanks,
                "panels": len(orders.panels),
                **ordered_json(orders.panels),
            }
        )
    else:
        for line in problems.lines():
            err(line)
        if not problems:
            said = len(problems.warnings)
            out(
                tr(
                    "tanks: {tanks}, panels: {panels}, errors: 0, warnings: {said}",
                    tanks=tanks,
                    panels=len(orders.panels),
                    said=said,
                )
            )
            if line := ordered_line(orders.panels):
                out(line)
    ctx.exit(Exit.INPUT if problems else Exit.DONE)
