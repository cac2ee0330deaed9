"""`panewright shop`: write a shop file to fill in, or check one."""

from __future__ import annotations

from pathlib import Path

import click

from panewright.cli import options
from panewright.cli.failures import Exit, writing
from panewright.cli.output import err, out, out_json
from panewright.nesting.text import tr

_file = click.argument("path", metavar="[FILE]", type=options.file_path, default=Path(options.SHOP_NAME))


@click.group("shop")
def command() -> None:
    """Write a shop file to fill in, or check one.

    \b
    Example:
      panewright shop write
      panewright shop check
    """


@command.command("write", short_help="Write every setting with its value and its source.")
@_file
@click.option("--replace", is_flag=True, help="Replace the file if it is there.")
def write(path: Path, replace: bool) -> None:
    """Write every setting with its built-in value and its source (default: shop.toml).

    \b
    Example:
      panewright shop write
    """
    from panewright.io.shop_file import write_shop

    with writing(path):
        write_shop(path, replace=replace)
    err(tr("wrote {path}: put in your own stock sizes, prices and rules", path=path))


@command.command("check", short_help="Say what is wrong with a shop file.")
@_file
@options.json_option
@click.pass_context
def check(ctx: click.Context, path: Path, as_json: bool) -> None:
    """Check a shop file, or say what is wrong with it (default: shop.toml).

    \b
    Example:
      panewright shop check
      panewright shop check monday.toml --json
    """
    from panewright.cli.language import of_the_shop
    from panewright.io.problems import Problems
    from panewright.io.shop_file import read_shop

    problems = Problems()
    shop = read_shop(path, problems, speak=of_the_shop)
    if as_json:
        glasses = shop.glass_keys() if not problems else []
        out_json({"file": str(path), **problems.to_json(), "glasses": glasses})
    else:
        for line in problems.lines():
            err(line)
        if not problems:
            out(
                tr(
                    "{path}: {glasses} glasses, {sizes} stock sizes, all settings in range",
                    path=path,
                    glasses=len(shop.glass_keys()),
                    sizes=len(shop.stock_sizes),
                )
            )
    ctx.exit(Exit.INPUT if problems else Exit.DONE)
