"""A report as files: workbook, page for the browser, PDF and data, written all together or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from panewright.io.list_folder import ListFolder
from panewright.io.numbers_text import spread
from panewright.io.report.as_json import report_json
from panewright.io.report.model import Report
from panewright.io.report.page import page_text
from panewright.io.report.paper import paper_bytes
from panewright.io.report.workbook import report_workbook
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr

CONTENTS: Final = "report-contents.txt"
"""Names of the files of an earlier run, so that no other is removed."""
STEM: Final = "report"


def report_folder(path: Path, *, replace: bool) -> ListFolder:
    """The folder of a report; an earlier one in it may only be replaced by will.

    Its `check` refuses a folder of others before the work begins.
    """
    return ListFolder(path, CONTENTS, tr("an earlier report"), replace)


def report_files(report: Report, shop: Shop) -> dict[str, str | bytes]:
    """The files of a report by name.

    Parameters
    ----------
    report
        The report.
    shop
        For its paper.
    """
    return {
        f"{STEM}.xlsx": report_workbook(report),
        f"{STEM}.html": page_text(report),
        f"{STEM}.pdf": paper_bytes(report, paper=shop.printing.paper),
        f"{STEM}.json": spread(report_json(report), 6) + "\n",
    }


def write_report(
    report: Report,
    folder: Path,
    shop: Shop,
    *,
    replace: bool = False,
    more: Mapping[str, str | bytes] | None = None,
) -> list[str]:
    """Write a report into a folder of its own, built beside it and put in place by one rename.

    Parameters
    ----------
    report, shop
        See `report_files`.
    folder
        The target; made where it does not exist.
    replace
        Whether an earlier report in it may be replaced.
    more
        Further files by name, as lists in CSV.

    Returns
    -------
    list of str
        Names of the files.

    Raises
    ------
    OutFolderRefused
        Where the folder holds a plan, files of others, or an earlier report without `replace`.
    UnsafeName
        A name in `more` that could leave the folder or is taken.
    """
    files = [*report_files(report, shop).items(), *(more or {}).items()]
    report_folder(folder, replace=replace).write(files)
    return sorted(name for name, _ in files)
