"""`panewright sizes`: which sheet sizes to stock, what each is worth, and what the shop's rules cost."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options, purchase_options
from panewright.cli.failures import Exit, Failure
from panewright.cli.output import err, out_json
from panewright.cli.purchase_options import Asked
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from panewright.cli.stages import Told
    from panewright.nesting.assortment.study import Study

EFFORT = 20
MOST_WEEKS = 520


@click.command("sizes", short_help="Say which sheet sizes to stock, and at which price each is worth buying.")
@purchase_options.history_option
@click.option(
    "--offers",
    "offers",
    type=options.file_path,
    metavar="FILE",
    help="List of the sizes on offer, as --supply of `panewright buy`; the sizes of the shop file are added. "
    "Default: these alone.",
)
@click.option(
    "--glass", "glasses", multiple=True, metavar="GLASS", help="Only this glass; may be given again."
)
@click.option(
    "--now",
    "now",
    multiple=True,
    metavar="SIZE",
    help="A size that is stocked now, as in 3210x2250; may be given again. Default: those of the shop file.",
)
@click.option(
    "--most",
    type=click.IntRange(1, 5),
    default=3,
    show_default=True,
    metavar="N",
    help="Most sizes of a glass in a set.",
)
@click.option(
    "--deliveries",
    type=click.IntRange(1, 365),
    default=12,
    show_default=True,
    metavar="N",
    help="Orders of a size in a year: they settle price step and freight of a sheet.",
)
@click.option(
    "--past",
    type=click.IntRange(1, MOST_WEEKS),
    default=52,
    show_default=True,
    metavar="N",
    help="Weeks of the history that are looked at, the last ones.",
)
@click.option("--no-rules", "without_rules", is_flag=True, help="Leave out what rules cost: quicker.")
@options.stock_option
@purchase_options.on_option
@click.option(
    "--effort",
    type=click.IntRange(1, 10_000),
    default=EFFORT,
    show_default=True,
    metavar="N",
    help="Slices of search for the plan of a week.",
)
@options.seed_option
@options.shop_option
@purchase_options.workers_option
@purchase_options.cluster_option
@purchase_options.out_option
@purchase_options.replace_option
@options.json_option
@click.pass_context
def command(
    ctx: click.Context,
    history: tuple[Path, ...],
    offers: Path | None,
    glasses: tuple[str, ...],
    now: tuple[str, ...],
    most: int,
    deliveries: int,
    past: int,
    without_rules: bool,
    stock_text: str | None,
    on: date | None,
    effort: int,
    seed: int,
    shop_path: Path | None,
    workers: int | None,
    cluster: str | None,
    out: Path | None,
    replace: bool,
    as_json: bool,
) -> None:
    """Say which sheet sizes to stock, by the orders of the past.

    The panels of past weeks are cut from every set of the sizes on offer: by a linear program over all cutting patterns,
    which bounds what each set costs, and for the best sets by real plans of every week. Shown are the best sets of one,
    two, three sizes with cost, yield and cutting work; for every size the price below which it is worth buying; what
    stock each size needs; and what the rules of the shop cost in a year.

    Ctrl-C stops the work; what was found is told.

    \b
    Example:
      panewright sizes --history history.csv --offers offers.csv --out sizes
      panewright sizes --history history.csv --offers offers.csv --glass clear-10 --most 2
    """
    from panewright.cli.from_store import now as this_moment
    from panewright.cli.look import looking, tell
    from panewright.io import solver_banner

    asked = Asked(
        orders=(), history=history, stock=stock_text, supply=offers, on_order=None, on=on or this_moment().date(),
        weeks=1, futures=1, seed=seed, workers=workers, cluster=cluster, out=out, replace=replace, as_json=as_json,
    )  # fmt: skip
    solver_banner.hush()
    with looking(ctx, asked, shop_path) as (desk, engine, told):
        from panewright.io.sizes_desk import chosen_studies
        from panewright.io.sizes_report import sizes_report

        found = chosen_studies(
            desk, offers, glasses, now, past=past, most=most, deliveries=deliveries, effort=effort, seed=seed
        )
        if not found.studies:
            if as_json:
                out_json({"exit_code": int(Exit.INPUT), "error": found.reason})
            raise Failure(found.reason, Exit.INPUT)
        stopped = _run(found.studies, engine, told, rules=not without_rules)
        report = sizes_report(found.studies, about=found.about, stopped=stopped)
    tell(ctx, asked, report, desk.shop)


def _run(studies: Sequence[Study], engine: Executor, told: Told, *, rules: bool) -> bool:
    """Work the studies through; whether that was stopped by hand."""
    names = {
        "demand": tr("panels"),
        "prices": tr("price-break list"),
        "sets": tr("sets of sizes"),
        "plans": tr("plans of the sets"),
        "rules": tr("plans of the rules"),
    }
    try:
        for study in studies:
            stage = "demand"

            def progress(done: int, total: int) -> None:
                told(f"{study.glass}: {names['rules' if stage == 'rules' else 'plans']}", done, total)  # noqa: B023

            for step, stage in enumerate(study.steps(engine, progress, rules=rules)):
                told(f"{study.glass}: {names[stage]}", step + 1, step + 2)
    except KeyboardInterrupt:
        err(tr("stopped; what was found so far is told"))
        return True
    return False
