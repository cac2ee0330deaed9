"""`panewright demo`: the sample week of an invented shop, planned from the files in the package."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path
from typing import Final

import click

from panewright.cli import options

DEFAULT_EFFORT: Final = 40_000
"""Counted steps, so that two runs give the same bytes."""


@dataclass(frozen=True, slots=True)
class Sample:
    """The files of the sample week."""

    lists: tuple[Path, ...]
    stock: Path
    shop: Path


@contextmanager
def sample_files() -> Iterator[Sample]:
    """The files of the sample week, from the package, for as long as the block lasts."""
    with as_file(files("panewright.samples")) as folder:
        lists = sorted(path for path in folder.glob("week-*") if path.suffix in (".csv", ".xlsx"))
        yield Sample(tuple(lists), folder / "stock.csv", folder / "shop.toml")


@click.command("demo")
@options.out_option("panewright-demo")
@options.seconds_option
@options.effort_option
@options.replace_option
@options.json_option
@options.steps_option
@options.waste_option
@click.pass_context
def command(
    ctx: click.Context,
    out_path: Path,
    seconds: float | None,
    effort: int | None,
    replace: bool,
    as_json: bool,
    show_steps: bool,
    show_waste: bool,
) -> None:
    """Plan the sample week of an invented shop, to see what comes out.

    It stops after a counted number of steps, so that two runs write the same bytes.

    \b
    Example:
      panewright demo
      panewright demo --out try --seconds 60
    """
    from panewright.io import kernel_cache, solver_banner

    options.one_limit(seconds, effort)

    kernel_cache.prepare()
    solver_banner.hush()

    from panewright.cli.planning import Run, run_plan
    from panewright.cli.searching import Limit

    if seconds is None and effort is None:
        effort = DEFAULT_EFFORT
    with sample_files() as sample:
        code = run_plan(
            Run(
                lists=sample.lists,
                stock=sample.stock,
                shop=sample.shop,
                out=out_path,
                limit=Limit(seconds, effort),
                replace=replace,
                as_json=as_json,
                show_steps=show_steps,
                show_waste=show_waste,
                printed=True,
            )
        )
    ctx.exit(code)
