"""What the commands that look ahead share: reading, the engine with its progress, and telling the report."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.failures import Exit, reason_of
from panewright.cli.output import err, out, out_json
from panewright.cli.purchase_options import Asked
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from panewright.cli.stages import Told
    from panewright.io.purchase_desk import Desk
    from panewright.io.report.model import Report
    from panewright.nesting.shop import Shop


@contextmanager
def looking(
    ctx: click.Context, asked: Asked, shop_path: Path | None
) -> Iterator[tuple[Desk, Executor, Told]]:
    """Read everything, check the out folder, and start the engine; with errors in the lists the run ends here."""
    from panewright.cli.stages import stages
    from panewright.io import kernel_cache, solver_banner
    from panewright.io.engines import NoEngine, engine
    from panewright.io.out_folder import OutFolderRefused
    from panewright.io.problems import Problems
    from panewright.io.report.files import report_folder
    from panewright.nesting.units import use_style

    kernel_cache.prepare()
    solver_banner.hush()
    from panewright.io.nested_weeks import NestedWeeks, Remembering
    from panewright.io.purchase_desk import gather

    problems = Problems()
    shop = options.choose_shop(shop_path, problems)
    use_style(shop.length_style)
    try:
        if asked.out is not None:
            report_folder(asked.out, replace=asked.replace).check()
        desk = gather(
            orders=asked.orders,
            history=asked.history,
            stock=asked.stock,
            supply=asked.supply,
            on_order=asked.on_order,
            on=asked.on,
            shop=shop,
            problems=problems,
        )
        for line in problems.lines():
            err(line)
        if problems:
            if asked.as_json:
                out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
            err(tr("errors: {count}; nothing was written", count=problems.error_count))
            ctx.exit(Exit.INPUT)
        kept = NestedWeeks.found()
        with engine(asked.workers, asked.cluster) as pool, stages() as told:
            try:
                yield desk, Remembering(pool, kept), told
            finally:
                # after an interrupt too: the next run goes on from there
                kept.write()
    except (OutFolderRefused, NoEngine) as error:
        if asked.as_json:
            out_json({"exit_code": int(Exit.USAGE), "error": reason_of(error)})
        raise


def tell(ctx: click.Context, asked: Asked, report: Report, shop: Shop) -> None:
    """Write the report where a folder was given, and show it."""
    from panewright.cli.report_screen import report_screen
    from panewright.io.report.as_json import report_json
    from panewright.io.report.files import write_report

    files = [] if asked.out is None else write_report(report, asked.out, shop, replace=asked.replace)
    if asked.as_json:
        data = {"exit_code": 0, **report_json(report)}
        if asked.out is not None:
            data |= {"out": str(asked.out), "files": files}
        out_json(data)
        return
    out(report_screen(report))
    if files:
        out("")
        out(tr("written to {folder}: {files}", folder=asked.out, files=", ".join(files)))
